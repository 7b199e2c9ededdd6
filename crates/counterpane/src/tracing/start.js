/* Puts the page together. This file comes last. */

function byId(id) { return document.getElementById(id); }

const known = JSON.parse(byId('known').textContent);

function withKnown(fresh) {
  FIELDS.forEach(function (name) { if (known[name]) { fresh.sheet[name] = known[name]; } });
  return fresh;
}

function drawAll() {
  const all = scales();
  drawTools();
  drawView();
  drawWhole(all);
  drawList(all);
  drawTotals(all);
  drawSheet(all);
}

async function start() {
  replaceState(withKnown(emptyState()));
  makeTotals();
  listenForPictures();
  listenToTools();
  listenToView();
  listeners.push(drawAll);
  const back = await bringBack();
  listeners.push(keepState);
  drawAll();
  if (back && current()) { ui.mode = modeFor(current()); fitPicture(); drawAll(); }
  document.documentElement.dataset.ready = 'yes';
}

start();
