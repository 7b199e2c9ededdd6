/* Fields and buttons above the picture. */

const FIELDS = ['unit', 'night', 'participant', 'zone', 'reader', 'pass'];
const TASKS = {
  first: 'Click where the picture shows a time that you can read, then type that time and press Enter.',
  second: 'Click at a later known time, as far from the first as the picture allows, and type it.',
  stages: 'For each stage, click where it is drawn: on its row, or on its colour.',
  changes: 'Click where a stage begins, on its row or colour; or put the crosshair there and press its letter.',
};

function drawTools() {
  FIELDS.forEach(function (name) { if (document.activeElement !== byId(name)) { byId(name).value = state.sheet[name]; } });
  const shifted = nightOf().shifts.length;
  byId('zone-said').hidden = !shifted;
  byId('zone-said').textContent = shifted ? 'The clocks changed in this night. Times run on evenly in the picture; write known times as the wall clock showed them.' : '';
  drawPictures();
  const picture = current();
  if (!picture) { return; }
  document.querySelectorAll('input[name=mode]').forEach(function (i) { i.checked = i.value === ui.mode; });
  byId('task').textContent = TASKS[ui.mode];
  const time = ui.mode === 'first' ? 0 : ui.mode === 'second' ? 1 : null;
  byId('time-of').hidden = time === null;
  if (time !== null && document.activeElement !== byId('time')) { byId('time').value = picture.times[time] ? picture.times[time].text : ''; }
  drawLetters(picture);
  byId('propose').hidden = ui.mode !== 'changes' || !Object.keys(picture.stages).length;
  byId('undo').disabled = !past.length;
  byId('redo').disabled = !future.length;
}

function drawPictures() {
  const box = byId('pictures');
  const had = box.contains(document.activeElement) ? Array.from(box.children).indexOf(document.activeElement) : -1;
  box.textContent = '';
  state.pictures.forEach(function (p, i) {
    const one = button(i + 1 + ': ' + p.name, function () { ui.picture = i; ui.mode = modeFor(p); ui.hand = null; tell(); fitPicture(); });
    one.setAttribute('aria-pressed', i === ui.picture);
    box.append(one);
  });
  if (!state.pictures.length) { return; }
  if (ui.picture > 0) { box.append(button('Earlier', function () { swapPictures(ui.picture - 1); }, 'Put this picture before the one before it')); }
  box.append(button('Remove', removePicture, 'Remove this picture and its changes'));
  if (had >= 0 && box.children[had]) { box.children[had].focus(); }
}

function swapPictures(at) {
  commit(function (s) { s.pictures.splice(at, 0, s.pictures.splice(at + 1, 1)[0]); });
  ui.picture = at;
  tell();
}

function removePicture() {
  const id = current().id;
  commit(function (s) {
    s.pictures = s.pictures.filter(function (p) { return p.id !== id; });
    s.changes = s.changes.filter(function (c) { return c.picture !== id; });
  });
  ui.picture = 0;
  ui.hand = null;
  tell();
  fitPicture();
}

function drawLetters(picture) {
  const box = byId('letters');
  const had = box.contains(document.activeElement) ? document.activeElement.dataset.stage : null;
  box.hidden = ui.mode !== 'stages' && ui.mode !== 'changes';
  box.textContent = '';
  Object.keys(STAGES).forEach(function (s) {
    if (ui.mode === 'stages' && s === 'end') { return; }
    if (STAGES[s].more && !ui.more && !picture.stages[s] && !state.changes.some(function (c) { return c.stage === s; })) { return; }
    const one = button('', function () {
      if (ui.mode === 'stages') { ui.stage = s; tell(); } else { letter(s, ui.coarse || 0); }
    });
    const look = ui.mode === 'stages' && picture.stages[s];
    const patch = swatch(s);
    if (look) { patch.style.background = 'rgb(' + look.rgb.join(',') + ')'; }
    one.append(patch, nameOf(s), ' ');
    one.append(Object.assign(document.createElement('kbd'), { textContent: STAGES[s].key.toUpperCase() }));
    if (look) { one.append(' ', Object.assign(document.createElement('small'), { textContent: 'marked' })); }
    if (ui.mode === 'stages') { one.setAttribute('aria-pressed', s === ui.stage); }
    one.dataset.stage = s;
    box.append(one);
  });
  if (!ui.more) { box.append(button('More', function () { ui.more = true; tell(); }, 'More stages: non-REM, N1, N2, N3')); }
  const again = had && box.querySelector('[data-stage=' + had + ']');
  if (again) { again.focus(); }
}

function listenToTools() {
  FIELDS.forEach(function (name) {
    byId(name).addEventListener('change', function () { const value = this.value.trim(); commit(function (s) { s.sheet[name] = value; }); });
  });
  byId('pass').addEventListener('change', function () {
    if (this.value !== known.pass) { tellKept('A second reading is blind on a page of its own: counterpane sheet trace --pass ' + this.value); }
  });
  document.querySelectorAll('input[name=mode]').forEach(function (i) { i.addEventListener('change', function () { setMode(i.value); }); });
  const time = byId('time');
  /* What Enter took is not taken again when the field loses the focus. */
  let settled = false;
  time.addEventListener('keydown', function (event) {
    if (event.key !== 'Enter' && event.key !== 'Escape') { return; }
    event.preventDefault();
    settled = true;
    if (event.key === 'Escape' || typeTime(time.value)) { byId('view').focus({ preventScroll: true }); }
  });
  time.addEventListener('input', function () { settled = false; });
  time.addEventListener('change', function () { if (!settled && time.value.trim() && current()) { typeTime(time.value); } });
  byId('propose').addEventListener('click', propose);
  byId('in').addEventListener('click', function () { zoomBy(1.5); });
  byId('out').addEventListener('click', function () { zoomBy(1 / 1.5); });
  byId('fit').addEventListener('click', fitPicture);
  byId('undo').addEventListener('click', function () { step(past, future); });
  byId('redo').addEventListener('click', function () { step(future, past); });
  byId('rare').addEventListener('click', function () { ui.rare = true; tell(); });
  byId('save').addEventListener('click', saveSheet);
  byId('fresh').addEventListener('click', startAgain);
  byId('look').addEventListener('click', nextLook);
}

function propose() {
  if (!state.pictures.some(function (p) { return !scales()[p.id].why; })) { say('Mark two known times first.'); return; }
  const n = proposeChanges();
  if (!n) { say('Nothing new is found along the marked rows.'); return; }
  const first = timed(scales()).find(function (c) { return !c.sure; });
  take(first.id);
  say(n + (n === 1 ? ' change' : ' changes') + ' proposed. Enter keeps the one in hand, Delete drops it, a letter gives another stage.');
  byId('view').focus({ preventScroll: true });
}

/* Two presses: what was traced is gone afterwards. */
function startAgain() {
  const fresh = byId('fresh');
  if (!fresh.dataset.sure) { fresh.dataset.sure = 'yes'; fresh.textContent = 'Start again: press once more to drop the pictures and all changes'; return; }
  delete fresh.dataset.sure;
  fresh.textContent = 'Start again';
  const gone = forget();
  replaceState(withKnown(emptyState()));
  gone.then(function () { tellKept('Nothing of this night is kept in this browser any more.'); });
}

function nextLook() {
  const looks = ['', 'light', 'dark'], names = ['as the system', 'light', 'dark'];
  const root = document.documentElement;
  const next = (looks.indexOf(root.dataset.look || '') + 1) % 3;
  if (looks[next]) { root.dataset.look = looks[next]; } else { delete root.dataset.look; }
  byId('look').textContent = 'Colours: ' + names[next];
}
