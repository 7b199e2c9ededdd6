/* Keeps the state and the pictures in this browser, so that closing the page loses nothing.
   One place for each unit, night and pass that the page was made for. */

const PLACE = 'counterpane-trace';
let base = null;
let timer = 0;

function slot() { return [known.participant, known.night, known.unit, known.pass].join('/'); }

function openBase() {
  return new Promise(function (done) {
    let request;
    try { request = indexedDB.open(PLACE, 1); } catch (_) { done(null); return; }
    request.onupgradeneeded = function () { request.result.createObjectStore('kept'); };
    request.onsuccess = function () { done(request.result); };
    request.onerror = request.onblocked = function () { done(null); };
  });
}

function store(mode) { return base.transaction('kept', mode).objectStore('kept'); }

function ask(request) {
  return new Promise(function (done) {
    request.onsuccess = function () { done(request.result); };
    request.onerror = function (event) { event.preventDefault(); done(undefined); };
  });
}

function keepPicture(id, blob) {
  if (base) { ask(store('readwrite').put(blob, slot() + '#' + id)); }
}

function keepState() {
  if (!base) { return; }
  clearTimeout(timer);
  document.documentElement.dataset.kept = 'not yet';
  timer = setTimeout(function () {
    ask(store('readwrite').put(JSON.stringify(state), slot())).then(function () { document.documentElement.dataset.kept = 'yes'; });
  }, 150);
}

/* Brings back what was kept; false when there was nothing. */
async function bringBack() {
  base = await openBase();
  if (!base) { tellKept('This browser keeps nothing for this page: download the sheet before you close it.'); return false; }
  const text = await ask(store('readonly').get(slot()));
  if (!text) { return false; }
  const kept = JSON.parse(text);
  if (kept.version !== 1) { return false; }
  const there = [];
  for (const picture of kept.pictures) {
    const blob = await ask(store('readonly').get(slot() + '#' + picture.id));
    try { await look(picture.id, blob); there.push(picture); } catch (_) { tellKept(picture.name + ' is no longer kept; open it again.'); }
  }
  if (!there.length && !kept.changes.length) { return false; }
  kept.pictures = there;
  kept.changes = kept.changes.filter(function (c) { return there.some(function (p) { return p.id === c.picture; }); });
  replaceState(kept);
  tellKept('Brought back as you left it.');
  return true;
}

/* Forgets at once what is on the page, and promises that the browser has, too. What is opened meanwhile comes after it. */
function forget() {
  clearTimeout(timer);
  const gone = base ? ask(store('readwrite').delete(IDBKeyRange.bound(slot(), slot() + '#\uffff'))) : Promise.resolve();
  Object.keys(shots).forEach(function (id) { URL.revokeObjectURL(shots[id].url); delete shots[id]; });
  return gone;
}

function tellKept(text) { byId('kept').textContent = text; }
