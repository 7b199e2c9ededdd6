/* The list of changes. */

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

/* What was kept or dropped has no button any more: the focus goes on to where the hand is. */
function focusHand() {
  const row = byId('list').querySelector('.in-hand');
  (row && (row.querySelector('[data-at$=k]') || row.querySelector('.at')) || byId('view')).focus();
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
  const also = nameOf(row.stage) + ' from ' + time;
  const keeps = button('Keep', function () { keep(row.id); focusHand(); }, 'Keep ' + also);
  const drops = button('\u00d7', function () { ui.hand = row.id; dropChange(row.id); focusHand(); }, 'Drop ' + also);
  keeps.dataset.at = row.id + 'k';
  drops.dataset.at = row.id + 'x';
  cell(tr, 'td', row.sure ? 'kept' : keeps);
  cell(tr, 'td', drops);
  return tr;
}
