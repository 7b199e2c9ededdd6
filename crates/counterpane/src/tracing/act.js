/* What a click, `Enter` and a letter do, each by what is being marked. */

const MODES = ['first', 'second', 'stages', 'changes'];

function setMode(mode) {
  ui.mode = mode;
  if (mode === 'stages') { ui.stage = nextUnmarked(); }
  tell();
}

function nextUnmarked() {
  const there = current() ? current().stages : {};
  return USUAL.find(function (s) { return !there[s]; }) || null;
}

/* Which mode helps most with a picture: what it lacks, in order. */
function modeFor(picture) {
  if (!picture.times[0] || !picture.times[0].text) { return 'first'; }
  if (!picture.times[1] || !picture.times[1].text) { return 'second'; }
  return Object.keys(picture.stages).length ? 'changes' : 'stages';
}

/* `coarse`: how many pixels of the picture one of the screen covered, 0 when the crosshair moved by keys. */
function act(x, y, coarse) {
  const picture = current();
  if (!picture) { return; }
  if (ui.mode === 'first' || ui.mode === 'second') { markTime(picture, ui.mode === 'first' ? 0 : 1, x, y, coarse); }
  else if (ui.mode === 'stages') { if (ui.stage) { markStage(picture, ui.stage, x, y); } else { say('Choose a stage first, or press 4 to go on to the changes.'); } }
  else { clickChange(picture, x, y, coarse); }
}

function markTime(picture, which, x, y, coarse) {
  const column = onColumn(shots[picture.id], x, y);
  commit(function (s) {
    const times = s.pictures[ui.picture].times;
    times[which] = { x: column + 0.5, text: times[which] ? times[which].text : '' };
    times[which].coarse = column === x ? coarse : 0;
  });
  byId('time').focus();
  byId('time').select();
}

function typeTime(text) {
  const which = ui.mode === 'first' ? 0 : 1;
  if (readClock(text) === null) { say('\u201c' + text + '\u201d is not a time; write it as 23:00, 2300 or 11:00 pm.'); return false; }
  const times = current().times;
  if (!times[which]) { say('Click on the picture where it is that time, then type the time.'); return false; }
  if (times[which].text !== text.trim()) {
    commit(function (s) { s.pictures[ui.picture].times[which].text = text.trim(); });
  }
  const scale = scales()[current().id];
  if (scale.why && times[1 - which] && times[1 - which].text) { say('These two times do not give a scale: ' + scale.why + '.'); return false; }
  say('');
  setMode(modeFor(current()));
  return true;
}

function markStage(picture, stage, x, y) {
  const shot = shots[picture.id];
  const row = onRow(shot, x, y);
  commit(function (s) { s.pictures[ui.picture].stages[stage] = { x: x, y: row, rgb: meanColour(shot, x, row) }; });
  ui.stage = nextUnmarked();
  say(nameOf(stage) + ' looks like this.' + (ui.stage ? ' Next: ' + nameOf(ui.stage) + ', if the night has it.' : ''));
  tell();
}

function clickChange(picture, x, y, coarse) {
  const all = scales();
  const near = coarse && state.changes.filter(function (c) { return c.picture === picture.id && Math.abs(c.x - x - 0.5) <= 4 * coarse; })
    .sort(function (a, b) { return Math.abs(a.x - x) - Math.abs(b.x - x); })[0];
  if (near) { take(near.id); return; }
  if (all[picture.id].why) { say('This picture has no times yet: ' + all[picture.id].why + '.'); return; }
  const stage = stageAt(picture, x + Math.max(1, Math.ceil(coarse)), y);
  if (!stage) { say('Press a letter for the stage that begins here: W, L, D, R, A, U, O, or E for the end.'); return; }
  newChange(picture, x, stage, coarse);
}

function newChange(picture, x, stage, coarse) {
  const all = scales();
  if (all[picture.id].why) { say('This picture has no times yet: ' + all[picture.id].why + '.'); return; }
  const there = state.changes.find(function (c) { return c.picture === picture.id && Math.abs(c.x - x - 0.5) < 0.6; });
  if (there) { editChange(there.id, function (c) { c.stage = stage; c.sure = true; }); ui.hand = there.id; }
  else { addChange(picture, x + 0.5, stage, coarse); }
  say(nameOf(stage) + ' from ' + clockText(nightOf(), toMinute(all[picture.id], x + 0.5)) + '.');
  tell();
}

/* A letter: the look of a stage, the stage of the change in hand when that is a proposal, else a new change. */
function letter(stage, coarse) {
  const picture = current();
  if (!picture) { return; }
  if (ui.mode === 'stages' && stage !== 'end') { markStage(picture, stage, ui.x, ui.y); return; }
  const hand = inHand();
  if (hand && !hand.sure) { keep(hand.id, stage); return; }
  ui.mode = 'changes';
  newChange(picture, ui.x, stage, coarse);
}

/* Keeps a proposal, and goes to the next. */
function keep(id, stage) {
  const change = state.changes.find(function (c) { return c.id === id; });
  if (!stage && !change.stage) { say('Nothing is drawn here; press a letter for what it is, such as U for unscored, or Delete.'); return; }
  editChange(id, function (c) { c.sure = true; c.stage = stage || c.stage; });
  goOn();
}

/* To the next proposal that nobody has settled. */
function goOn() {
  const next = neighbour(1, function (c) { return !c.sure; });
  if (next !== null) { take(next); } else { ui.hand = null; say('Every proposal is settled.'); tell(); }
}

function inHand() { return state.changes.find(function (c) { return c.id === ui.hand; }); }

/* Takes a change into the hand and brings it into sight. */
function take(id) {
  ui.hand = id;
  const hand = inHand();
  if (hand) {
    ui.picture = state.pictures.findIndex(function (p) { return p.id === hand.picture; });
    ui.mode = 'changes';
    ui.x = Math.floor(hand.x);
    const look = current().stages[hand.stage];
    if (look) { ui.y = look.y; }
    const scale = scales()[hand.picture];
    say((hand.sure ? '' : 'Proposed: ') + nameOf(hand.stage) + (scale.why ? '' : ' from ' + clockText(nightOf(), toMinute(scale, hand.x)))
      + (hand.sure ? '' : hand.stage ? '. Enter keeps it.' : '. Press a letter for what it is.'));
  }
  tell();
  if (hand) { bringIntoSight(ui.x, ui.y); }
}

function say(text) { byId('said').textContent = text; }
