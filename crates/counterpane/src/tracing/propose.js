/* Proposes changes from the pixels along the marked rows. Each column of the picture shows one stage, several
   (a stroke from row to row crosses it) or none; short unclear pieces go to the stages beside them. */

/* Returns stretches [{from, to, stage}] in columns; `gap` is how many columns of nothing are a gap. */
function readRuns(shot, stages, gap) {
  const looks = looksOf(shot, stages);
  if (!looks.length) { return []; }
  const runs = [];
  for (let x = 0; x < shot.width; x += 1) {
    const said = columnAt(shot, looks, x);
    const last = runs[runs.length - 1];
    if (last && last.stage === said) { last.to = x + 1; } else { runs.push({ from: x, to: x + 1, stage: said }); }
  }
  return settle(shot, looks, runs, gap);
}

/* Adds to each look how far a colour may be from it: half the way to whatever else its row shows. */
function looksOf(shot, stages) {
  const looks = Object.keys(stages).map(function (s) { return Object.assign({ stage: s }, stages[s]); });
  looks.forEach(function (look) {
    look.rivals = looks.filter(function (o) { return Math.abs(o.y - look.y) <= 4; });
    const ground = groundOf(shot, look.y, look.rivals.map(function (r) { return r.rgb; }));
    const near = look.rivals.filter(function (r) { return r !== look; }).map(function (r) { return apart(r.rgb, look.rgb); });
    if (ground) { near.push(apart(ground, look.rgb)); }
    look.reach = Math.max(10, Math.min(80, Math.min.apply(null, near.concat(160)) / 2));
  });
  return looks;
}

/* The stages that a column shows: none, one, or several joined by a blank. */
function columnAt(shot, looks, x) {
  return looks.filter(function (look) {
    const d = nearestOf(shot, look, x);
    return d < look.reach && look.rivals.every(function (r) { return r === look || nearestOf(shot, r, x) > d; });
  }).map(function (look) { return look.stage; }).join(' ');
}

/* How near a column comes to a look: the best of five rows, as a thin line may lie a pixel beside the click. */
function nearestOf(shot, look, x) {
  let best = Infinity;
  for (let dy = -2; dy <= 2; dy += 1) { best = Math.min(best, apart(colourAt(shot, x, look.y + dy), look.rgb)); }
  return best;
}

function settle(shot, looks, runs, gap) {
  const clear = runs.filter(function (run) { return run.stage && !crosses(run) && !isBlend(shot, looks, runs, run); });
  const out = [];
  clear.forEach(function (run) {
    const last = out[out.length - 1];
    if (last) { join(looks, runs, gap, out, last, run); }
    const before = out[out.length - 1];
    if (before && before.stage === run.stage) { before.to = run.to; } else { out.push({ from: before ? before.to : run.from, to: run.to, stage: run.stage }); }
  });
  return out;
}

function crosses(run) { return run.stage.includes(' '); }

/* Settles what lies between two clear pieces: nothing drawn, a peak too narrow to be clear, or a stroke, whose middle counts. */
function join(looks, runs, gap, out, last, run) {
  const between = runs.filter(function (r) { return r.from >= last.to && r.to <= run.from; });
  const peak = peakOf(looks, runs, between, last, run);
  if (peak) {
    last.to = peak.from;
    out.push(peak);
  } else if (run.from - last.to > gap && !between.some(crosses)) {
    out.push({ from: last.to, to: run.from, stage: '' });
  } else { last.to = (last.to + run.from) / 2; }
}

/* Strokes cross only the rows between two stages. A row beyond both that is reached there is a stage of its own,
   so short that the strokes on its two sides touch; they are as wide as strokes usually are. */
function peakOf(looks, runs, between, last, run) {
  const rowOf = function (stage) { return looks.find(function (l) { return l.stage === stage; }).y; };
  const rows = [rowOf(last.stage || run.stage), rowOf(run.stage)];
  const beyond = function (stage) { return Math.max(Math.min.apply(null, rows) - rowOf(stage), rowOf(stage) - Math.max.apply(null, rows)); };
  let peak = null;
  between.filter(crosses).forEach(function (r) {
    r.stage.split(' ').forEach(function (stage) {
      if (beyond(stage) > 4 && (!peak || beyond(stage) > beyond(peak.stage))) { peak = { from: r.from, to: r.to, stage: stage }; }
      else if (peak && peak.stage === stage) { peak.to = r.to; }
    });
  });
  if (!peak) { return null; }
  const half = Math.min(strokeOf(runs), peak.to - peak.from - 1) / 2;
  return { from: peak.from + half, to: peak.to - half, stage: peak.stage };
}

/* How wide a stroke from row to row is: the middle one of all crossings. */
function strokeOf(runs) {
  const wide = runs.filter(crosses).map(function (r) { return r.to - r.from; }).sort(function (a, b) { return a - b; });
  return wide.length ? wide[wide.length >> 1] : 0;
}

/* A piece of three columns or fewer whose colour lies between those of its neighbours is their blend, not a stage. */
function isBlend(shot, looks, runs, run) {
  if (run.to - run.from > 3) { return false; }
  const look = looks.find(function (l) { return l.stage === run.stage; });
  /* Alone on its row, a look has nothing to be a blend of: a single column counts when its colour is plain. */
  if (look.rivals.length < 2) { return run.to - run.from < 2 && nearestOf(shot, look, run.from) > look.reach / 2; }
  const beside = [colourAt(shot, run.from - 3, look.y), colourAt(shot, run.to + 2, look.y)];
  if (apart(beside[0], beside[1]) < look.reach) { return run.to - run.from < 2; }
  const middle = colourAt(shot, (run.from + run.to - 1) >> 1, look.y);
  return apart(beside[0], middle) + apart(middle, beside[1]) < 1.25 * apart(beside[0], beside[1]);
}

/* Joins the stretches of all pictures: where two show the same time, the earlier picture is followed to its end. */
function proposals(all) {
  const out = [];
  let until = -Infinity, last = null;
  state.pictures.forEach(function (picture) {
    const scale = all[picture.id], shot = shots[picture.id];
    if (scale.why || !shot || !Object.keys(picture.stages).length) { return; }
    readRuns(shot, picture.stages, Math.max(6, 2 / scale.perPixel)).forEach(function (run) {
      const from = toMinute(scale, run.from), to = toMinute(scale, run.to);
      if (to <= until + scale.perPixel) { return; }
      if (last && from > until + Math.max(2, 3 * scale.perPixel)) { out.push({ picture: last.picture, x: last.x, stage: '' }); }
      const x = Math.max(run.from, toX(scale, Math.max(until, from)));
      const before = out[out.length - 1];
      if (!before || before.stage !== run.stage) { out.push({ picture: picture.id, x: x, stage: run.stage }); }
      until = to;
      last = { picture: picture.id, x: run.to };
    });
  });
  if (last) { out.push({ picture: last.picture, x: last.x, stage: 'end' }); }
  return out;
}

/* Puts proposals in place of those that nobody has kept yet; what stands is not proposed again. */
function proposeChanges() {
  const all = scales();
  const found = proposals(all);
  const sure = state.changes.filter(function (c) { return c.sure; });
  const fresh = found.filter(function (p) {
    const at = toMinute(all[p.picture], p.x);
    return !sure.some(function (c) {
      const scale = all[c.picture];
      return (p.stage === 'end' && c.stage === 'end') || (!scale.why && Math.abs(toMinute(scale, c.x) - at) < 3 * scale.perPixel);
    });
  });
  commit(function (s) {
    s.changes = sure.concat(fresh.map(function (p, i) {
      return { id: s.next + i, picture: p.picture, x: p.x, stage: p.stage, sure: false, coarse: 0 };
    }));
    s.next += fresh.length;
  });
  return fresh.length;
}
