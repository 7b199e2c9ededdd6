/* Times of day as they are typed and shown, and minutes since the start of the night's window.
   A night is { begins: local minute of the day at its start, shifts: [[minute, offset against the start], ...] }. */

function readClock(text) {
  const found = /^\s*(\d{1,2})(?:[:.h]?(\d{2}))(?:[:.](\d{2}))?\s*(?:([ap])\.?m\.?)?\s*$/i.exec(text);
  if (!found) { return null; }
  let hours = Number(found[1]);
  const minutes = Number(found[2]), seconds = Number(found[3] || 0);
  if (found[4]) {
    if (hours < 1 || hours > 12) { return null; }
    hours = hours % 12 + (found[4].toLowerCase() === 'p' ? 12 : 0);
  }
  return hours < 24 && minutes < 60 && seconds < 60 ? hours * 60 + minutes + seconds / 60 : null;
}

/* A total: `83`, `83 min`, `1:23`, `1 h 23 min`, `7,5 h` are minutes. */
function readLength(text) {
  const parts = /^\s*(?:(\d+)\s*[:h]\s*(?:([0-5]?\d)\s*(?:m|min)?\.?)?|(\d+(?:[.,]\d+)?)\s*(h|m|min)?\.?)\s*$/i.exec(text);
  if (!parts) { return null; }
  if (parts[1] !== undefined) { return Number(parts[1]) * 60 + Number(parts[2] || 0); }
  return Number(parts[3].replace(',', '.')) * (/^h$/i.test(parts[4] || '') ? 60 : 1);
}

function shiftAt(night, minute) {
  let shift = 0;
  night.shifts.forEach(function (one) { if (one[0] <= minute) { shift = one[1]; } });
  return shift;
}

/* The first minute, not before another, at which a clock on the wall shows a time; null when none does within a day. */
function minuteOf(night, clock, notBefore) {
  const shifts = [0].concat(night.shifts.map(function (one) { return one[1]; }));
  let best = null;
  shifts.forEach(function (shift) {
    let minute = clock - night.begins - shift;
    minute += Math.ceil((notBefore - minute - 1e-6) / 1440) * 1440;
    if (Math.abs(shiftAt(night, minute + 1e-6) - shift) < 1e-6 && (best === null || minute < best)) { best = minute; }
  });
  return best;
}

function clockText(night, minute, fine) {
  const step = fine ? 60 : 1;
  let units = Math.round((night.begins + minute + shiftAt(night, minute + 1e-6)) * step);
  units = ((units % (1440 * step)) + 1440 * step) % (1440 * step);
  const two = function (n) { return (n < 10 ? '0' : '') + n; };
  const hm = two(Math.floor(units / step / 60)) + ':' + two(Math.floor(units / step) % 60);
  return fine ? hm + ':' + two(units % 60) : hm;
}

function lengthText(minutes) {
  const whole = Math.round(Math.abs(minutes));
  return (minutes < -0.5 ? '\u2212' : '') + Math.floor(whole / 60) + ':' + (whole % 60 < 10 ? '0' : '') + whole % 60;
}
