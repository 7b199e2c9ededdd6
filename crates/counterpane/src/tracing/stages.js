/* The words of the sheet: key, how they are shown, ink, and height in a hypnogram (0 is the top). */

const STAGES = {
  wake: { key: 'w', name: 'Wake', ink: '--wake', height: 0 },
  rem: { key: 'r', name: 'REM', ink: '--rem', height: 1 },
  light: { key: 'l', name: 'Light', ink: '--light', height: 2 },
  deep: { key: 'd', name: 'Deep', ink: '--deep', height: 3 },
  asleep: { key: 'a', name: 'Asleep', ink: '--asleep', height: 2 },
  unscored: { key: 'u', name: 'Unscored', ink: '--hatch', height: 4 },
  off: { key: 'o', name: 'Off', ink: '--line', height: 4 },
  end: { key: 'e', name: 'End', ink: '--text', height: 4 },
};
const SLEEP = ['rem', 'light', 'deep', 'asleep'];
/* What the next click marks when the one before was marked. */
const USUAL = ['wake', 'rem', 'light', 'deep'];

function stageOfKey(key) {
  return Object.keys(STAGES).find(function (s) { return STAGES[s].key === key.toLowerCase(); }) || null;
}

/* An empty stage stands for a stretch in which nothing is drawn: only the reviewer can name it. */
function nameOf(stage) { return stage ? STAGES[stage].name : 'nothing drawn'; }
