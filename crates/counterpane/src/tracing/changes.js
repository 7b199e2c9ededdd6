/* The changes of stage, and what lies between them. */

/* Changes with their minute, in the order of time; those of a picture without times are left out. */
function timed(all) {
  return state.changes.filter(function (c) { return all[c.picture] && !all[c.picture].why; })
    .map(function (c) { return Object.assign({ minute: toMinute(all[c.picture], c.x) }, c); })
    .sort(function (a, b) { return a.minute - b.minute || a.id - b.id; });
}

/* Stretches [from, to) of one stage: each change lasts to the next, and `end` lasts for nothing. */
function stretches(all) {
  const rows = timed(all);
  const out = [];
  rows.forEach(function (row, i) {
    if (row.stage !== 'end' && i + 1 < rows.length) {
      out.push({ from: row.minute, to: rows[i + 1].minute, stage: row.stage, sure: row.sure, id: row.id });
    }
  });
  return out;
}

function addChange(picture, x, stage, coarse) {
  const id = state.next;
  commit(function (s) {
    s.next += 1;
    if (stage === 'end') { s.changes = s.changes.filter(function (c) { return c.stage !== 'end'; }); }
    s.changes.push({ id: id, picture: picture.id, x: x, stage: stage, sure: true, coarse: coarse });
  });
  ui.hand = id;
}

function editChange(id, edit) {
  commit(function (s) { s.changes.filter(function (c) { return c.id === id; }).forEach(edit); });
}

function dropChange(id) {
  const next = neighbour(1);
  commit(function (s) { s.changes = s.changes.filter(function (c) { return c.id !== id; }); });
  if (ui.hand === id) { take(next === id ? null : next); }
}

/* The change before or after the one in hand, else the one nearest to the crosshair. */
function neighbour(direction, only) {
  const all = scales();
  const rows = timed(all).filter(only || function () { return true; });
  const hand = state.changes.find(function (c) { return c.id === ui.hand; });
  if (!rows.length) { return null; }
  const at = hand && !all[hand.picture].why ? toMinute(all[hand.picture], hand.x)
    : current() && !all[current().id].why ? toMinute(all[current().id], ui.x) : rows[0].minute;
  const ahead = rows.filter(function (r) { return r.id !== ui.hand && (direction > 0 ? r.minute >= at : r.minute <= at); });
  const found = direction > 0 ? ahead[0] : ahead[ahead.length - 1];
  return found ? found.id : ui.hand !== null && rows.some(function (r) { return r.id === ui.hand; }) ? ui.hand : rows[0].id;
}
