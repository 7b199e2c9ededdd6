/* The sheet: the only place that knows its form. */

const HEAD = ['unit', 'participant', 'night', 'zone', 'reader', 'pass', 'precision', 'picture'];

/* What must be done before the sheet is whole, in words. */
function lacking(all) {
  const out = [];
  const rows = timed(all);
  if (!state.pictures.length) { return ['open a picture']; }
  state.pictures.forEach(function (p) { if (all[p.id].why) { out.push(p.name + ': ' + all[p.id].why); } });
  const open = rows.filter(function (r) { return !r.sure; }).length;
  if (open) { out.push(open + (open === 1 ? ' proposal is' : ' proposals are') + ' neither kept nor dropped'); }
  if (!rows.some(function (r) { return r.stage !== 'end'; })) { out.push('mark the changes of stage'); }
  const end = rows.findIndex(function (r) { return r.stage === 'end'; });
  if (end < 0) { out.push('mark the end of the recording (E)'); }
  else if (end < rows.length - 1) { out.push('a change stands after the end'); }
  rows.forEach(function (r, i) {
    const next = rows[i + 1];
    if (next && written(all, r) === written(all, next)) { out.push('two changes stand at ' + written(all, r)); }
    if (next && next.stage === r.stage) { out.push(nameOf(r.stage) + ' at ' + written(all, next) + ' changes nothing'); }
  });
  SHOWN.forEach(function (one) {
    const typed = state.shown[one.what];
    if (typed && KINDS[one.kind].read(typed) === null) { out.push(one.name + ': \u201c' + typed + '\u201d is not ' + KINDS[one.kind].wanted); }
  });
  if (rows.length && rows[rows.length - 1].minute - rows[0].minute > 1440) { out.push('the changes span more than a day: look at the known times'); }
  return out;
}

/* Seconds are written where the picture shows them. */
function written(all, row) { return clockText(nightOf(), row.minute, fineness(all) < 1); }

/* The form is docs/sheets.md: what kind of line, where, and what. */
function sheetText(all) {
  const lines = [['line', 'at', 'is'], ['sheet', 'form', 'changes 1']];
  const head = Object.assign({}, state.sheet, {
    precision: finenessText(fineness(all)),
    picture: state.pictures.map(function (p) { return p.name; }).join(', '),
  });
  HEAD.forEach(function (field) { if (head[field]) { lines.push(['head', field, head[field]]); } });
  SHOWN.forEach(function (one) {
    const typed = state.shown[one.what];
    if (typed) { lines.push(['shown', one.what, shownText(one, typed)]); }
  });
  timed(all).forEach(function (row) { lines.push(['change', written(all, row), row.stage]); });
  return lines.map(function (cells) { return cells.map(plain).join('\t') + '\n'; }).join('');
}

function shownText(one, typed) {
  const value = KINDS[one.kind].read(typed);
  return one.kind === 'length' || one.kind === 'clock' ? KINDS[one.kind].told(value) : String(value);
}

/* No cell can end its line or begin another column. */
function plain(text) { return String(text).replace(/[\t\r\n]+/g, ' ').trim(); }

function sheetName() {
  const parts = [state.sheet.night || 'night', state.sheet.unit || 'unit', 'pass' + state.sheet.pass];
  return parts.join('-').replace(/[^\w.-]+/g, '_') + '.tsv';
}

/* Tenths of a minute, rounded up: the sheet never claims to be finer than it is. */
function finenessText(minutes) { return String(Math.max(0.1, Math.ceil(minutes * 10 - 1e-9) / 10)); }

function saveSheet() {
  const all = scales();
  const url = URL.createObjectURL(new Blob([sheetText(all)], { type: 'text/tab-separated-values' }));
  const link = document.createElement('a');
  link.href = url;
  link.download = sheetName();
  link.click();
  setTimeout(function () { URL.revokeObjectURL(url); }, 10000);
  byId('saved').textContent = 'Downloaded as ' + link.download + '.';
}

function drawSheet(all) {
  const worst = fineness(all);
  byId('fineness').textContent = worst ? 'One pixel of the picture is ' + worst.toFixed(2) + ' minutes as it was read, so the sheet says that it could be read to '
    + finenessText(worst) + ' minutes.' : 'How finely the picture could be read follows from its known times.';
  const list = byId('lacking');
  const missing = lacking(all);
  list.textContent = '';
  missing.slice(0, 12).forEach(function (text) { list.append(Object.assign(document.createElement('li'), { textContent: 'Still to do: ' + text })); });
  byId('save').disabled = missing.length > 0;
}
