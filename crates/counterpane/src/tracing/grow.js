/* Hypnograms: the one that grows under the picture, on its columns, and the whole night. */

const GROW_HEIGHT = 76;

function drawGrow(picture) {
  const svg = byId('grow');
  const width = picture.width * ui.zoom;
  svg.setAttribute('width', width);
  svg.setAttribute('height', GROW_HEIGHT);
  svg.textContent = '';
  const all = scales();
  if (all[picture.id].why) {
    make(svg, 'text', { x: byId('view').scrollLeft + 8, y: 24, 'font-size': 13, fill: 'var(--faint)' }, 'The hypnogram grows here: ' + all[picture.id].why + '.');
    return;
  }
  drawStairs(svg, all, function (minute) { return toX(all[picture.id], minute) * ui.zoom; }, 4, GROW_HEIGHT - 8);
}

function drawStairs(svg, all, at, top, height) {
  const row = height / 5;
  let before = null;
  stretches(all).forEach(function (s) {
    const x = at(s.from), w = Math.max(0.5, at(s.to) - x);
    const y = top + row * (s.stage ? STAGES[s.stage].height : 4);
    const ink = s.stage ? STAGES[s.stage].ink : '--note';
    make(svg, 'rect', Object.assign({ x: x, y: y, width: w, height: row - 2, fill: 'var(' + ink + ')' },
      s.sure && s.stage ? {} : { 'fill-opacity': 0.35, stroke: 'var(' + ink + ')', 'stroke-dasharray': '3 2' }));
    if (before) { make(svg, 'line', { x1: x, x2: x, y1: Math.min(before, y) + row - 2, y2: Math.max(before, y), stroke: 'var(--line)' }); }
    before = y;
  });
}

function drawWhole(all) {
  const svg = byId('whole');
  svg.textContent = '';
  const rows = stretches(all);
  svg.setAttribute('height', 0);
  svg.removeAttribute('viewBox');
  if (!rows.length) { return; }
  const narrow = document.documentElement.clientWidth < 600;
  const width = narrow ? 340 : 960, left = 62, high = 130;
  svg.setAttribute('viewBox', '0 0 ' + width + ' ' + (high + 26));
  svg.removeAttribute('height');
  const from = rows[0].from, to = rows[rows.length - 1].to;
  const at = function (minute) { return left + (minute - from) / (to - from) * (width - left - 8); };
  [['Wake', 0], ['REM', 1], ['Light', 2], ['Deep', 3], ['Other', 4]].forEach(function (r) {
    const y = 4 + high / 5 * r[1];
    make(svg, 'text', { x: 0, y: y + 16, 'font-size': 13, fill: 'var(--faint)' }, r[0]);
    make(svg, 'line', { x1: left, x2: width - 8, y1: y + high / 5 - 1, y2: y + high / 5 - 1, stroke: 'var(--grid)' });
  });
  const night = nightOf();
  const each = (narrow ? 120 : 60) * Math.ceil((to - from) / 960);
  for (let m = Math.ceil((night.begins + from) / 60) * 60 - night.begins; m <= to; m += each) {
    make(svg, 'line', { x1: at(m), x2: at(m), y1: 4, y2: high + 4, stroke: 'var(--grid)' });
    make(svg, 'text', { x: Math.min(at(m), width - 20), y: high + 21, 'font-size': 13, fill: 'var(--faint)', 'text-anchor': 'middle' }, clockText(night, m));
  }
  drawStairs(svg, all, at, 4, high);
}
