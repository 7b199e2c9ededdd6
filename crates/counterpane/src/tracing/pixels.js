/* Colours of a picture. Pixels live outside the state: they never change. */

const shots = {};

function colourAt(shot, x, y) {
  const at = (Math.max(0, Math.min(shot.height - 1, y)) * shot.width + Math.max(0, Math.min(shot.width - 1, x))) * 4;
  return [shot.data[at], shot.data[at + 1], shot.data[at + 2]];
}

function apart(a, b) { return Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]); }

/* The mean of like pixels beside it: one pixel of a compressed picture is not its colour. */
function meanColour(shot, x, y) {
  const middle = colourAt(shot, x, y);
  const like = [];
  for (let dx = -3; dx <= 3; dx += 1) {
    const one = colourAt(shot, x + dx, y);
    if (apart(one, middle) < 30) { like.push(one); }
  }
  return [0, 1, 2].map(function (i) { return Math.round(like.reduce(function (sum, c) { return sum + c[i]; }, 0) / like.length); });
}

/* A click beside a thin line means the line: the strongest one within a few pixels that has the clicked colour
   on both of its sides. In a broad patch of colour nothing is found, and the click stands. */
function onRow(shot, x, y) {
  return y + offLine(function (d) { return colourAt(shot, x, y + d); }, 6);
}

/* The same for an upright line, such as the mark of a time. */
function onColumn(shot, x, y) {
  return x + offLine(function (d) { return colourAt(shot, x + d, y); }, 4);
}

function offLine(colour, reach) {
  const clicked = colour(0);
  let best = 0, strongest = 20;
  [-1, 1].forEach(function (way) {
    for (let d = 1; d <= reach; d += 1) {
      const here = apart(colour(way * d), clicked);
      if (here <= strongest) { continue; }
      for (let beyond = d + 1; beyond <= d + reach; beyond += 1) {
        if (apart(colour(way * beyond), clicked) < here / 3) { strongest = here; best = way * d; break; }
      }
    }
  });
  return best;
}

/* The colour that a row shows most, those given left out; null when nothing else is there. */
function groundOf(shot, y, others) {
  const counts = new Map();
  for (let x = 0; x < shot.width; x += 1) {
    const c = colourAt(shot, x, y);
    if (others.some(function (o) { return apart(o, c) < 24; })) { continue; }
    const bin = (c[0] >> 4 << 8) + (c[1] >> 4 << 4) + (c[2] >> 4);
    const seen = counts.get(bin) || { n: 0, colour: c };
    seen.n += 1;
    counts.set(bin, seen);
  }
  let most = null;
  counts.forEach(function (seen) { if (!most || seen.n > most.n) { most = seen; } });
  return most && most.n > shot.width / 50 ? most.colour : null;
}

/* The stage whose look is nearest to a point: by its row first, and where rows coincide by its colour. */
function stageAt(picture, x, y) {
  const shot = shots[picture.id];
  const looks = Object.keys(picture.stages).map(function (s) { return Object.assign({ stage: s }, picture.stages[s]); });
  if (!looks.length || !shot) { return null; }
  const nearest = Math.min.apply(null, looks.map(function (l) { return Math.abs(l.y - y); }));
  const same = looks.filter(function (l) { return Math.abs(l.y - y) <= nearest + 4; });
  const here = colourAt(shot, x, y);
  same.sort(function (a, b) { return apart(a.rgb, here) - apart(b.rgb, here); });
  return same[0].stage;
}
