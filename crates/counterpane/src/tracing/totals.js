/* What the screen shows beside what was traced. */

/* kind `length` is hours and minutes, `clock` a time of day, `share` per cent, `count` a number. */
const SHOWN = [
  { what: 'total sleep', name: 'Total sleep', kind: 'length' },
  { what: 'wake', name: 'Wake', kind: 'length' },
  { what: 'rem', name: 'REM', kind: 'length' },
  { what: 'light', name: 'Light', kind: 'length' },
  { what: 'deep', name: 'Deep', kind: 'length' },
  { what: 'time in bed', name: 'Time in bed', kind: 'length', rare: true },
  { what: 'efficiency', name: 'Efficiency', kind: 'share', rare: true },
  { what: 'awakenings', name: 'Awakenings', kind: 'count', rare: true },
  { what: 'start', name: 'Start', kind: 'clock', rare: true },
  { what: 'end', name: 'End', kind: 'clock', rare: true },
];
const KINDS = {
  length: { read: readLength, told: lengthText, wanted: 'a length; write 83 or 1:23' },
  clock: { read: readClock, told: function (m) { return clockText({ begins: 0, shifts: [] }, m); }, wanted: 'a time; write 23:06' },
  share: { read: readNumber, told: function (n) { return Math.round(n) + ' %'; }, wanted: 'a share; write 93' },
  count: { read: readNumber, told: String, wanted: 'a count; write 4' },
};

function readNumber(text) {
  const found = /^\s*(\d+(?:[.,]\d+)?)\s*%?\s*$/.exec(text);
  return found ? Number(found[1].replace(',', '.')) : null;
}

/* What was traced, in the unit of the kind; null where nothing was. */
function tracedOf(all, what) {
  const rows = stretches(all);
  if (!rows.length) { return null; }
  const first = rows[0], last = rows[rows.length - 1];
  const minutes = function (stages) { return rows.reduce(function (sum, s) { return sum + (stages.includes(s.stage) ? s.to - s.from : 0); }, 0); };
  const wall = function (minute) { const n = nightOf(); return (((n.begins + minute + shiftAt(n, minute)) % 1440) + 1440) % 1440; };
  if (PARTS[what]) { return minutes(PARTS[what]); }
  if (what === 'time in bed') { return last.to - first.from; }
  if (what === 'efficiency') { return 100 * minutes(PARTS['total sleep']) / (last.to - first.from); }
  if (what === 'start') { return wall(first.from); }
  if (what === 'end') { return wall(last.to); }
  return rows.filter(function (s, i) { return s.stage === 'wake' && i > 0 && i < rows.length - 1; }).length;
}

/* How far traced and shown may lie apart by reading alone: half a minute of rounding on either side, and the
   precision for each edge, adding up as independent errors do. */
function roomOf(all, one) {
  if (one.kind === 'count') { return 0; }
  if (one.kind === 'share') { return 1; }
  const stages = PARTS[one.what];
  const edges = stages ? 2 * stretches(all).filter(function (s) { return stages.includes(s.stage); }).length : 2;
  return 1 + fineness(all) * Math.sqrt(Math.max(1, edges));
}

/* What to say of a total, and whether it is amiss. */
function verdict(all, one) {
  const typed = state.shown[one.what] || '';
  if (!typed) { return { text: '', amiss: false }; }
  const shown = KINDS[one.kind].read(typed);
  if (shown === null) { return { text: 'not ' + KINDS[one.kind].wanted, amiss: true }; }
  const traced = tracedOf(all, one.what);
  if (traced === null) { return { text: '', amiss: false }; }
  let off = traced - shown;
  if (one.kind === 'clock') { off = ((off + 2160) % 1440) - 720; }
  if (Math.abs(off) <= roomOf(all, one)) { return { text: 'fits', amiss: false }; }
  const much = one.kind === 'clock' ? lengthText(off) : (off < 0 ? '\u2212' : '') + KINDS[one.kind].told(Math.abs(off));
  return { text: much + (one.kind === 'count' ? '; screens count these in their own way' : ', look again'), amiss: one.kind !== 'count' };
}

/* The rows stay; only what they say changes, so that typing into a field is not disturbed. */
function makeTotals() {
  const body = byId('totals').tBodies[0];
  SHOWN.forEach(function (one) {
    const tr = document.createElement('tr');
    tr.dataset.what = one.what;
    const head = cell(tr, 'th', one.name);
    head.scope = 'row';
    if (STAGES[one.what] && one.what !== 'end') { head.prepend(swatch(one.what)); }
    cell(tr, 'td', '');
    const field = document.createElement('input');
    field.setAttribute('aria-label', 'The screen shows for ' + one.name);
    field.autocomplete = 'off';
    field.addEventListener('change', function () { commit(function (s) { s.shown[one.what] = field.value.trim(); }); });
    cell(tr, 'td', field);
    cell(tr, 'td', '');
    body.append(tr);
  });
}

function drawTotals(all) {
  SHOWN.forEach(function (one, i) {
    const tr = byId('totals').tBodies[0].rows[i];
    const field = tr.querySelector('input');
    if (document.activeElement !== field) { field.value = state.shown[one.what] || ''; }
    const traced = tracedOf(all, one.what);
    tr.cells[1].textContent = traced === null ? '' : KINDS[one.kind].told(traced);
    const said = verdict(all, one);
    tr.cells[3].className = said.amiss ? 'off' : '';
    tr.cells[3].textContent = said.text;
    tr.hidden = Boolean(one.rare) && !ui.rare && !field.value;
  });
  byId('rare').hidden = Boolean(ui.rare);
}
