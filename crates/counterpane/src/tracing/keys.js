/* Keys while the picture has the focus. Fields keep their own keys. */

function onKey(event) {
  const ctrl = event.ctrlKey || event.metaKey;
  if (ctrl) { if (undoKey(event)) { event.preventDefault(); } return; }
  if (!current()) { return; }
  const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
  if (way) { event.preventDefault(); arrow(way, event); return; }
  const deed = event.altKey ? null : DEEDS[event.key] || DEEDS[event.key.toLowerCase()];
  if (deed) { event.preventDefault(); deed(); return; }
  const stage = event.altKey || event.key.length > 1 ? null : stageOfKey(event.key);
  if (stage) { event.preventDefault(); letter(stage, ui.coarse || 0); }
}

function undoKey(event) {
  const key = event.key.toLowerCase();
  if (key === 'z' && !event.shiftKey) { say(step(past, future) ? 'Taken back.' : 'Nothing to take back.'); return true; }
  if (key === 'y' || (key === 'z' && event.shiftKey)) { say(step(future, past) ? 'Done again.' : 'Nothing to do again.'); return true; }
  return false;
}

function arrow(way, event) {
  const n = event.shiftKey ? 10 : 1;
  const hand = event.altKey && inHand();
  if (hand && way[0]) {
    editChange(hand.id, function (c) { c.x += way[0] * n; });
    ui.x = Math.floor(inHand().x);
    const scale = scales()[hand.picture];
    if (!scale.why) { say(nameOf(hand.stage) + ' from ' + clockText(nightOf(), toMinute(scale, inHand().x)) + '.'); }
    tell();
  } else if (!event.altKey) { moveTo(ui.x + way[0] * n, ui.y + way[1] * n); }
  bringIntoSight(ui.x, ui.y);
}

/* The crosshair moved by keys stands on a pixel: nothing of the screen's coarseness is left. */
function moveTo(x, y) {
  const picture = current();
  ui.x = Math.max(0, Math.min(picture.width - 1, x));
  ui.y = Math.max(0, Math.min(picture.height - 1, y));
  ui.coarse = 0;
  drawCross();
}

const DEEDS = {
  1: function () { setMode('first'); },
  2: function () { setMode('second'); },
  3: function () { setMode('stages'); },
  4: function () { setMode('changes'); },
  0: function () { fitPicture(); },
  '+': function () { zoomBy(1.5); },
  '=': function () { zoomBy(1.5); },
  '-': function () { zoomBy(1 / 1.5); },
  home: function () { moveTo(0, ui.y); bringIntoSight(ui.x, ui.y); },
  end: function () { moveTo(current().width - 1, ui.y); bringIntoSight(ui.x, ui.y); },
  enter: function () {
    const hand = inHand();
    if (hand && !hand.sure) { keep(hand.id); } else if (hand && Math.floor(hand.x) === ui.x) { goOn(); } else { act(ui.x, ui.y, 0); }
  },
  n: function () { take(neighbour(1)); },
  p: function () { take(neighbour(-1)); },
  delete: function () { if (inHand()) { dropChange(ui.hand); } },
  backspace: function () { if (inHand()) { dropChange(ui.hand); } },
  escape: function () { ui.hand = null; say(''); tell(); },
};
