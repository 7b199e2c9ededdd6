/* The picture on the screen: zoom, crosshair, magnifying glass, marks. */

const SVG = 'http://www.w3.org/2000/svg';

function make(parent, name, facts, text) {
  const e = document.createElementNS(SVG, name);
  Object.keys(facts).forEach(function (k) { e.setAttribute(k, facts[k]); });
  if (text !== undefined) { e.textContent = text; }
  parent.appendChild(e);
  return e;
}

function fitPicture() {
  const picture = current();
  if (picture) { ui.zoom = Math.min(2, (byId('view').clientWidth - 1) / picture.width); drawView(); }
}

function zoomBy(factor) {
  const view = byId('view');
  const old = ui.zoom;
  const picture = current();
  ui.zoom = Math.max(Math.min(0.1, 300 / picture.width), Math.min(8, ui.zoom * factor));
  const inSight = ui.x * old >= view.scrollLeft && ui.x * old <= view.scrollLeft + view.clientWidth;
  const at = inSight ? ui.x * old - view.scrollLeft : view.clientWidth / 2;
  const x = inSight ? ui.x : (view.scrollLeft + at) / old;
  const up = ui.y * old - view.scrollTop;
  drawView();
  view.scrollLeft = x * ui.zoom - at;
  view.scrollTop = ui.y * ui.zoom - Math.max(0, Math.min(up, view.clientHeight - 90));
}

function bringIntoSight(x, y) {
  const view = byId('view'), room = 40;
  const left = x * ui.zoom, top = y * ui.zoom, under = GROW_HEIGHT + room;
  if (left < view.scrollLeft + room) { view.scrollLeft = left - view.clientWidth / 3; }
  if (left > view.scrollLeft + view.clientWidth - room) { view.scrollLeft = left - view.clientWidth * 2 / 3; }
  if (top < view.scrollTop + room) { view.scrollTop = top - room; }
  if (top > view.scrollTop + view.clientHeight - under) { view.scrollTop = top - view.clientHeight + under; }
  drawCross();
}

function drawView() {
  const picture = current();
  byId('work').hidden = !picture;
  if (!picture || !shots[picture.id]) { return; }
  const shot = byId('shot');
  if (shot.src !== shots[picture.id].url) { shot.src = shots[picture.id].url; }
  shot.className = ui.zoom > 1.5 ? 'large' : '';
  const width = picture.width * ui.zoom, height = picture.height * ui.zoom;
  shot.style.width = width + 'px';
  shot.style.height = height + 'px';
  const over = byId('over');
  over.setAttribute('width', width);
  over.setAttribute('height', height);
  over.textContent = '';
  drawMarks(over, picture, width, height);
  make(over, 'g', { id: 'cross' });
  drawCross();
  drawGrow(picture);
}

/* A line that can be seen on light and on dark: dark on a light edge. A bare one hides less of a small picture. */
function line(over, x1, y1, x2, y2, ink, dash, bare) {
  if (bare) { make(over, 'line', { x1: x1, y1: y1, x2: x2, y2: y2, stroke: '#8a8391', 'stroke-width': 1 }); return; }
  make(over, 'line', { x1: x1, y1: y1, x2: x2, y2: y2, stroke: '#fff', 'stroke-width': 3, 'stroke-opacity': 0.5 });
  make(over, 'line', Object.assign({ x1: x1, y1: y1, x2: x2, y2: y2, stroke: ink, 'stroke-width': 1.3 }, dash ? { 'stroke-dasharray': dash } : {}));
}

function label(over, x, y, text) {
  make(over, 'text', { x: x, y: y, 'font-size': 12, 'font-weight': 600, fill: '#111', stroke: '#fff', 'stroke-width': 3, 'paint-order': 'stroke' }, text);
}

function drawMarks(over, picture, width, height) {
  picture.times.forEach(function (t) {
    if (!t) { return; }
    line(over, t.x * ui.zoom, 0, t.x * ui.zoom, height, '#7a3b9a', '6 4');
    label(over, t.x * ui.zoom + 4, byId('view').scrollTop + 14, t.text || '?');
  });
  Object.keys(picture.stages).forEach(function (s) {
    const look = picture.stages[s];
    const x = (look.x + 0.5) * ui.zoom, y = (look.y + 0.5) * ui.zoom;
    line(over, x - 9, y, x + 9, y, '#111');
    label(over, x + 12, y + 4, nameOf(s));
  });
  state.changes.forEach(function (c) {
    if (c.picture !== picture.id) { return; }
    const hand = c.id === ui.hand;
    line(over, c.x * ui.zoom, 0, c.x * ui.zoom, height, hand ? '#b04a00' : '#111', c.sure ? '' : '3 3', ui.zoom < 0.6 && !hand);
    if (hand) { label(over, c.x * ui.zoom + 5, byId('view').scrollTop + 30, nameOf(c.stage) + (c.sure ? '' : '?')); }
  });
}

function drawCross() {
  const cross = byId('cross'), picture = current();
  if (!cross || !picture) { return; }
  cross.textContent = '';
  const x = (ui.x + 0.5) * ui.zoom, y = (ui.y + 0.5) * ui.zoom;
  line(cross, x, 0, x, picture.height * ui.zoom, '#0072b2');
  line(cross, 0, y, picture.width * ui.zoom, y, '#0072b2');
  drawGlass(picture);
}

function drawGlass(picture) {
  const glass = byId('glass'), shot = shots[picture.id];
  const context = glass.getContext('2d'), by = 8;
  const w = glass.width / by, h = glass.height / by;
  context.imageSmoothingEnabled = false;
  context.clearRect(0, 0, glass.width, glass.height);
  context.drawImage(shot.canvas, ui.x + 0.5 - w / 2, ui.y + 0.5 - h / 2, w, h, 0, 0, glass.width, glass.height);
  context.strokeStyle = '#fff';
  context.lineWidth = 3;
  context.strokeRect(glass.width / 2 - 4, glass.height / 2 - 4, 8, 8);
  context.strokeStyle = '#0072b2';
  context.lineWidth = 1.5;
  context.strokeRect(glass.width / 2 - 4, glass.height / 2 - 4, 8, 8);
  const scale = scales()[picture.id];
  const stage = stageAt(picture, ui.x, ui.y);
  byId('where').textContent = (scale.why ? 'no times yet' : clockText(nightOf(), toMinute(scale, ui.x + 0.5), scale.perPixel < 1))
    + '\n' + (stage ? 'row of ' + nameOf(stage).toLowerCase() : 'pixel ' + ui.x + ', ' + ui.y);
}

function listenToView() {
  const view = byId('view');
  const point = function (event) {
    const box = byId('paper').getBoundingClientRect();
    const picture = current();
    /* A pointer that stands on a pixel of the screen stands on its middle. */
    const middle = function (at) { return Number.isInteger(at) ? at + 0.5 : at; };
    ui.x = Math.max(0, Math.min(picture.width - 1, Math.floor((middle(event.clientX) - box.left) / ui.zoom)));
    ui.y = Math.max(0, Math.min(picture.height - 1, Math.floor((middle(event.clientY) - box.top) / ui.zoom)));
    ui.coarse = Math.max(1, 1 / ui.zoom);
  };
  /* When the picture scrolls under a resting mouse, the browser tells of a move: the crosshair of the keys must not follow it. */
  let rested = '';
  view.addEventListener('pointermove', function (event) {
    const place = event.clientX + ' ' + event.clientY;
    if (!current() || event.pointerType !== 'mouse' || place === rested) { return; }
    rested = place;
    point(event);
    drawCross();
  });
  view.addEventListener('click', function (event) {
    if (!current() || event.detail === 0) { return; }
    point(event);
    drawCross();
    act(ui.x, ui.y, ui.coarse);
  });
  view.addEventListener('keydown', onKey);
  view.addEventListener('scroll', function () { drawView(); }, { passive: true });
  new ResizeObserver(function () { if (current() && ui.zoom < (view.clientWidth - 1) / current().width && ui.zoom < 0.99) { fitPicture(); } }).observe(view);
}
