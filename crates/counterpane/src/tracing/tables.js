/* The list of changes and the totals beside what the screen shows. */

function cell(row, name, content) {
  const e = document.createElement(name);
  e.append(content);
  row.append(e);
  return e;
}

function button(text, deed, label) {
  const e = document.createElement('button');
  e.type = 'button';
  e.textContent = text;
  if (label) { e.setAttribute('aria-label', label); }
  e.addEventListener('click', deed);
  return e;
}

function swatch(stage) {
  const e = document.createElement('span');
  e.className = 'swatch';
  e.style.background = 'var(' + (stage ? STAGES[stage].ink : '--note') + ')';
  return e;
}

function drawList(all) {
  const body = byId('list').tBodies[0];
  const rows = timed(all);
  const focused = body.contains(document.activeElement) ? document.activeElement.dataset.at : null;
  byId('list-box').hidden = !rows.length;
  const open = rows.filter(function (r) { return !r.sure; }).length;
  byId('counted').textContent = !rows.length ? 'None yet.'
    : rows.length + (rows.length === 1 ? ' change' : ' changes') + (open ? ', of which ' + open + ' proposed and not kept yet. Look at each: Enter on the picture keeps it and goes to the next.' : '.');
  body.textContent = '';
  rows.forEach(function (row) { body.append(listRow(row, all)); });
  const again = focused && body.querySelector('[data-at="' + focused + '"]');
  if (again) { again.focus(); }
  const hand = body.querySelector('.in-hand');
  const box = byId('list-box');
  if (hand && (hand.offsetTop < box.scrollTop || hand.offsetTop > box.scrollTop + box.clientHeight - 60)) { box.scrollTop = hand.offsetTop - 80; }
}

function listRow(row, all) {
  const tr = document.createElement('tr');
  tr.className = (row.id === ui.hand ? 'in-hand ' : '') + (row.sure ? '' : 'proposed');
  const time = clockText(nightOf(), row.minute, all[row.picture].perPixel < 1);
  const at = button(time, function () { take(row.id); }, time + ', show on the picture');
  at.className = 'at';
  at.dataset.at = row.id + 'a';
  cell(tr, 'td', at);
  const select = document.createElement('select');
  select.setAttribute('aria-label', 'Stage from ' + time);
  select.dataset.at = row.id + 's';
  if (!row.stage) { select.add(new Option('nothing drawn', '')); }
  Object.keys(STAGES).forEach(function (s) { select.add(new Option(nameOf(s), s, false, s === row.stage)); });
  select.addEventListener('change', function () { editChange(row.id, function (c) { c.stage = select.value; c.sure = true; }); });
  const stage = cell(tr, 'td', swatch(row.stage));
  stage.append(select);
  cell(tr, 'td', row.sure ? 'kept' : button('Keep', function () { keep(row.id); }, 'Keep ' + nameOf(row.stage) + ' from ' + time));
  cell(tr, 'td', button('\u00d7', function () { dropChange(row.id); }, 'Drop ' + nameOf(row.stage) + ' from ' + time));
  return tr;
}

/* The rows stay; only what they say changes, so that typing into a field is not disturbed. */
const TOTALS = ['wake', 'rem', 'light', 'deep', 'asleep-all'];

function makeTotals() {
  const body = byId('totals').tBodies[0];
  TOTALS.forEach(function (what) {
    const tr = document.createElement('tr');
    tr.dataset.what = what;
    const name = what === 'asleep-all' ? 'All sleep' : nameOf(what);
    const head = cell(tr, 'th', name);
    head.scope = 'row';
    if (what !== 'asleep-all') { head.prepend(swatch(what)); }
    cell(tr, 'td', '');
    const field = document.createElement('input');
    field.setAttribute('aria-label', 'The screen shows for ' + name);
    field.autocomplete = 'off';
    field.addEventListener('change', function () { commit(function (s) { s.shown[what] = field.value.trim(); }); });
    cell(tr, 'td', field);
    cell(tr, 'td', '');
    body.append(tr);
  });
}

function drawTotals(all) {
  const minutes = minutesBy(all);
  minutes['asleep-all'] = SLEEP.reduce(function (sum, s) { return sum + (minutes[s] || 0); }, 0);
  Array.from(byId('totals').tBodies[0].rows).forEach(function (tr) {
    const what = tr.dataset.what;
    const typed = state.shown[what] || '';
    const shown = readLength(typed);
    const field = tr.querySelector('input');
    if (document.activeElement !== field) { field.value = typed; }
    tr.cells[1].textContent = lengthText(minutes[what] || 0);
    const off = shown === null ? null : (minutes[what] || 0) - shown;
    const wide = off !== null && Math.abs(off) > room(all, what);
    tr.cells[3].className = wide || (typed && shown === null) ? 'off' : '';
    tr.cells[3].textContent = typed && shown === null ? 'not a length; write 83 or 1:23' : off === null ? ''
      : wide ? lengthText(off) + ', look again' : 'fits';
  });
}

/* How far a traced total may lie from the shown one by reading alone: half a minute of rounding on the screen, and
   the precision for each edge, adding up as independent errors do. */
function room(all, what) {
  const edges = 2 * stretches(all).filter(function (s) { return what === 'asleep-all' ? SLEEP.includes(s.stage) : s.stage === what; }).length;
  return 1 + fineness(all) * Math.sqrt(Math.max(1, edges));
}
