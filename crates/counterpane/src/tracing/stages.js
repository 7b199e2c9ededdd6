/* The words of the sheet: key, how they are shown, ink, and height in a hypnogram (0 is the top).
   Those marked `more` are rare on screens and stand behind a button. */

const STAGES = {
  wake: { key: 'w', name: 'Wake', ink: '--wake', height: 0 },
  rem: { key: 'r', name: 'REM', ink: '--rem', height: 1 },
  light: { key: 'l', name: 'Light', ink: '--light', height: 2 },
  deep: { key: 'd', name: 'Deep', ink: '--deep', height: 3 },
  asleep: { key: 'a', name: 'Asleep', ink: '--asleep', height: 2 },
  nrem: { key: 'm', name: 'Non-REM', ink: '--nrem', height: 2, more: true },
  n1: { key: 'i', name: 'N1', ink: '--light', height: 2, more: true },
  n2: { key: 'j', name: 'N2', ink: '--light', height: 2, more: true },
  n3: { key: 'k', name: 'N3', ink: '--deep', height: 3, more: true },
  unscored: { key: 'u', name: 'Unscored', ink: '--hatch', height: 4 },
  off: { key: 'o', name: 'Off', ink: '--line', height: 4 },
  end: { key: 'e', name: 'End', ink: '--text', height: 4 },
};
/* What each total that a screen shows is made of. */
const PARTS = {
  wake: ['wake'],
  rem: ['rem'],
  light: ['light', 'n1', 'n2'],
  deep: ['deep', 'n3'],
  'total sleep': ['rem', 'light', 'deep', 'asleep', 'nrem', 'n1', 'n2', 'n3'],
};
/* What the next click marks when the one before was marked. */
const USUAL = ['wake', 'rem', 'light', 'deep'];

function stageOfKey(key) {
  return Object.keys(STAGES).find(function (s) { return STAGES[s].key === key.toLowerCase(); }) || null;
}

/* An empty stage stands for a stretch in which nothing is drawn: only the reviewer can name it. */
function nameOf(stage) { return stage ? STAGES[stage].name : 'nothing drawn'; }
