/* What is being traced, and the way back. Everything that must survive a reload stands in `state`. */

let state = emptyState();
const past = [], future = [];
const listeners = [];
/* What the screen shows now; lost with the page. */
const ui = { picture: 0, mode: 'first', stage: 'wake', zoom: 1, x: 0, y: 0, hand: null };

function emptyState() {
  return { version: 1, sheet: { unit: '', night: '', participant: '', zone: '', reader: '', pass: '1' }, pictures: [], changes: [], shown: {}, next: 1 };
}

/* Changes the state by a function, so that one `undo` takes it back. */
function commit(change) {
  past.push(JSON.stringify(state));
  if (past.length > 500) { past.shift(); }
  future.length = 0;
  change(state);
  tell();
}

function step(from, to) {
  if (!from.length) { return false; }
  to.push(JSON.stringify(state));
  state = JSON.parse(from.pop());
  ui.picture = Math.max(0, Math.min(ui.picture, state.pictures.length - 1));
  if (!state.changes.some(function (c) { return c.id === ui.hand; })) { ui.hand = null; }
  tell();
  return true;
}

function tell() { listeners.forEach(function (listener) { listener(); }); }

function replaceState(other) {
  state = other;
  past.length = 0;
  future.length = 0;
  ui.picture = 0;
  ui.hand = null;
  tell();
}

function current() { return state.pictures[ui.picture] || null; }
