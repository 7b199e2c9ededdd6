/* From columns of a picture to minutes: a straight line through two known times.
   Pictures stand in the order of time, so the first time of each is looked for from that of the one before. */

function scales() {
  const night = nightOf();
  const out = {};
  let from = 0;
  state.pictures.forEach(function (picture) {
    const scale = scaleOf(night, picture, from);
    out[picture.id] = scale;
    if (!scale.why) { from = scale.first; }
  });
  return out;
}

function scaleOf(night, picture, from) {
  const marked = picture.times.filter(function (t) { return t && t.x !== null; });
  if (marked.length < 2) { return { why: 'mark two known times' }; }
  const marks = marked.slice().sort(function (a, b) { return a.x - b.x; });
  const clocks = marks.map(function (t) { return readClock(t.text); });
  if (clocks.includes(null)) { return { why: 'type the time of both marks, such as 23:00' }; }
  if (marks[1].x - marks[0].x < 2) { return { why: 'mark two times that stand apart' }; }
  const first = minuteOf(night, clocks[0], from);
  const second = first === null ? null : minuteOf(night, clocks[1], first + 0.01);
  if (second === null) { return { why: 'one of the times never happened on that night' }; }
  return { first: first, x: marks[0].x, perPixel: (second - first) / (marks[1].x - marks[0].x) };
}

function toMinute(scale, x) { return scale.first + (x - scale.x) * scale.perPixel; }
function toX(scale, minute) { return scale.x + (minute - scale.first) / scale.perPixel; }

/* What is known of the night; a plain clock of 24 hours where nothing is. */
function nightOf() {
  const same = known.clock && state.sheet.night === known.night && state.sheet.zone === known.zone;
  return same ? known.clock : { begins: 0, shifts: [] };
}

/* How finely the picture could be read, in minutes: one of its pixels, or the coarser one that was on the screen. */
function fineness(all) {
  let worst = 0;
  state.pictures.forEach(function (p) {
    if (all[p.id].why) { return; }
    p.times.forEach(function (t) { worst = Math.max(worst, all[p.id].perPixel * Math.max(1, t.coarse || 0)); });
  });
  state.changes.forEach(function (c) {
    const scale = all[c.picture];
    if (scale && !scale.why && c.coarse) { worst = Math.max(worst, scale.perPixel * c.coarse); }
  });
  return worst;
}
