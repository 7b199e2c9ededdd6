//! A model of a night: a semi-Markov chain of sleep stages on 30 s epochs.
//!
//! A night is a row of cycles, a cycle is a row of four phases: down into sleep, deep, up again, REM.
//! A phase has one main stage; bouts of it alternate with short interruptions, and how long each of
//! them lasts is drawn on its own, which is what makes the chain semi-Markov rather than Markov.
//! Deep sleep is early and REM sleep is late, as in textbooks of sleep; every number in this file is
//! common practice or from memory, without a source, and describes nobody.

use super::PARTICIPANTS;
use super::dice::Dice;
use super::lord_howe::{CHANGE, EVENINGS};
use counterpane_model::Stage::{N1, N2, N3, R, W};
use counterpane_model::{EPOCH_MS, Instant, Stage};

/// A night as it was slept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct TrueNight {
    /// Code of the participant.
    pub(crate) participant: &'static str,
    /// Date of the evening.
    pub(crate) evening: &'static str,
    /// Number of the night in the study, from 0: it names the random streams.
    pub(crate) number: u64,
    /// Start of the first epoch, and of the polysomnogram; a whole second.
    pub(crate) start: Instant,
    /// The true stage of each epoch: W, N1, N2, N3 or R.
    pub(crate) stages: Vec<Stage>,
    /// First epoch after the lights went off.
    pub(crate) lights_off: usize,
    /// First epoch after the lights went on.
    pub(crate) lights_on: usize,
    /// The one epoch that the scorer leaves unscored.
    pub(crate) unscored: usize,
}

impl TrueNight {
    /// Returns the start of an epoch.
    pub(crate) fn at(&self, epoch: usize) -> Instant {
        Instant(self.start.0 + epoch as i64 * EPOCH_MS)
    }

    /// Returns the true stages from lights off to lights on.
    #[cfg(test)]
    pub(crate) fn in_bed(&self) -> &[Stage] {
        &self.stages[self.lights_off..self.lights_on]
    }
}

/// Lengths in epochs of 30 s, from and to, both included.
type Epochs = (u32, u32);

/// The phases of a cycle, in order.
struct Cycle {
    down: Epochs,
    deep: Epochs,
    up: Epochs,
    rem: Epochs,
}

/// The first cycle, the second and so on; the last one repeats. About 90 minutes each.
const CYCLES: [Cycle; 5] = [
    Cycle { down: (18, 34), deep: (60, 90), up: (36, 64), rem: (12, 26) },
    Cycle { down: (20, 40), deep: (34, 58), up: (40, 70), rem: (26, 46) },
    Cycle { down: (24, 44), deep: (12, 30), up: (56, 94), rem: (36, 60) },
    Cycle { down: (30, 50), deep: (0, 12), up: (60, 96), rem: (42, 68) },
    Cycle { down: (30, 50), deep: (0, 4), up: (60, 90), rem: (44, 70) },
];

/// A stage that holds for a while, and what breaks into it: stage, weight, length.
struct Phase {
    main: Stage,
    bout: Epochs,
    breaks: &'static [(Stage, u32, Epochs)],
}

const DOWN: Phase = Phase { main: N2, bout: (10, 24), breaks: &[(N1, 70, (2, 4)), (W, 30, (1, 3))] };
const DEEP: Phase = Phase { main: N3, bout: (10, 30), breaks: &[(N2, 85, (2, 5)), (W, 15, (1, 2))] };
const UP: Phase = Phase { main: N2, bout: (8, 26), breaks: &[(N1, 55, (1, 4)), (W, 45, (1, 5))] };
const REM: Phase = Phase { main: R, bout: (10, 40), breaks: &[(N1, 50, (1, 3)), (W, 35, (1, 2)), (N2, 15, (1, 2))] };

/// From lights off to the first sleep: 7 to 24 minutes.
const LATENCY: Epochs = (14, 48);
/// From lights off to lights on: 7 h 35 min to 8 h 20 min.
const IN_BED: Epochs = (910, 1000);
/// Awake at the end, before the lights go on.
const LAST_WAKE: Epochs = (4, 16);
/// The scorer's epochs before lights off and after lights on.
const BEFORE: Epochs = (24, 48);
const AFTER: Epochs = (4, 10);
/// How long somebody stays awake whom a noise wakes in the middle of the night: 14 to 22 minutes.
const LONG_WAKE: Epochs = (28, 44);
/// How often a night is drawn again when its totals are not those of an ordinary night.
const DRAWS: u64 = 50;

/// Returns every night of the study, by participant and evening.
pub(crate) fn all(seed: u64) -> Vec<TrueNight> {
    let mut nights = Vec::new();
    for participant in PARTICIPANTS {
        for (evening, ten_o_clock) in EVENINGS {
            nights.push(one(seed, nights.len() as u64, participant, evening, ten_o_clock));
        }
    }
    nights
}

fn one(seed: u64, number: u64, participant: &'static str, evening: &'static str, ten_o_clock: Instant) -> TrueNight {
    let mut dice = Dice::new(seed, number * 100);
    let (before, in_bed, after) = (dice.about(BEFORE), dice.about(IN_BED), dice.about(AFTER));
    // Lights off between 22:20 and 22:55, on any second: nothing falls on whole minutes by luck.
    let lights_off = Instant(ten_o_clock.0 + i64::from(dice.between((1_200, 3_300))) * 1000);
    let woken_at = woken_at(participant, lights_off);
    let draw = |draw| sleep(&mut Dice::new(seed, number * 100 + 50 + draw), in_bed, woken_at);
    let slept = (0..DRAWS).map(draw).find(|stages| is_ordinary(stages)).unwrap_or_else(|| draw(0));
    let wake = |n: u32| vec![W; n as usize];
    let stages = [wake(before), slept, wake(after)].concat();
    let unscored = unscored(&stages, before as usize);
    TrueNight {
        participant,
        evening,
        number,
        start: Instant(lights_off.0 - i64::from(before) * EPOCH_MS),
        stages,
        lights_off: before as usize,
        lights_on: (before + in_bed) as usize,
        unscored,
    }
}

/// Returns the epoch after lights off at which a noise wakes the first participant in the night of the
/// clock change: a few minutes before the clocks go back, so that the wake covers the change.
fn woken_at(participant: &str, lights_off: Instant) -> Option<usize> {
    let epochs = (CHANGE.0 - 8 * 60_000 - lights_off.0) / EPOCH_MS;
    (participant == PARTICIPANTS[0]).then(|| usize::try_from(epochs).ok()).flatten().filter(|e| *e < 800)
}

/// Returns the stages from lights off to lights on, `in_bed` epochs of them.
fn sleep(dice: &mut Dice, in_bed: u32, woken_at: Option<usize>) -> Vec<Stage> {
    let last_wake = dice.about(LAST_WAKE);
    let mut night = Slept { stages: Vec::new(), until: (in_bed - last_wake) as usize, woken_at };
    let latency = dice.about(LATENCY);
    night.add(dice, W, latency);
    let mut cycle = CYCLES.iter().chain(std::iter::repeat(&CYCLES[CYCLES.len() - 1]));
    let mut first_bout = (3, 9);
    while night.stages.len() < night.until {
        let Some(Cycle { down, deep, up, rem }) = cycle.next() else { break };
        let onset = dice.about(first_bout);
        night.add(dice, N1, onset);
        for (phase, length) in [(DOWN, down), (DEEP, deep), (UP, up), (REM, rem)] {
            let length = dice.about(*length);
            night.fill(dice, &phase, length);
        }
        // Half of the REM phases end in an awakening.
        let awakening = dice.between((1, 6)) * dice.below(2);
        night.add(dice, W, awakening);
        first_bout = (1, 4);
    }
    night.stages.resize(in_bed as usize, W);
    night.stages
}

/// A night that is being slept.
struct Slept {
    stages: Vec<Stage>,
    until: usize,
    woken_at: Option<usize>,
}

impl Slept {
    /// Bouts of the main stage and what breaks into them, until the phase has lasted `length`.
    fn fill(&mut self, dice: &mut Dice, phase: &Phase, length: u32) {
        let mut left = length;
        let weights: Vec<u32> = phase.breaks.iter().map(|(_, weight, _)| *weight).collect();
        while left > 0 {
            let bout = dice.about(phase.bout).min(left);
            self.add(dice, phase.main, bout);
            left -= bout;
            let (stage, _, range) = phase.breaks[dice.pick(&weights)];
            let interruption = dice.between(range).min(left);
            self.add(dice, stage, interruption);
            left -= interruption;
        }
    }

    /// Adds a bout, broken off by the noise when that falls into it, and by the end of the night.
    fn add(&mut self, dice: &mut Dice, stage: Stage, length: u32) {
        let end = (self.stages.len() + length as usize).min(self.until);
        match self.woken_at {
            Some(woken) if woken < end => {
                self.woken_at = None;
                self.stages.resize(woken.max(self.stages.len()), stage);
                let awake = self.stages.len() + dice.about(LONG_WAKE) as usize;
                self.stages.resize(awake.min(self.until), W);
                self.stages.resize((awake + dice.between((3, 8)) as usize).min(self.until), N1);
            }
            _ => self.stages.resize(end, stage),
        }
    }
}

/// Says whether the totals are those of an ordinary night: 330 to 480 minutes of sleep, of it 10 to
/// 25 % N3 and 15 to 28 % R (common practice, no source).
pub(crate) fn is_ordinary(in_bed: &[Stage]) -> bool {
    let count = |stage| in_bed.iter().filter(|s| **s == stage).count();
    let asleep = in_bed.len() - count(W);
    let percent = |stage| count(stage) * 100 / asleep.max(1);
    (660..=960).contains(&asleep) && (10..25).contains(&percent(N3)) && (15..28).contains(&percent(R))
}

/// Returns the start of the first awakening in the second half of the sleep, or the middle epoch: the
/// scorer leaves one epoch open because of movement.
fn unscored(stages: &[Stage], lights_off: usize) -> usize {
    let middle = stages.len() / 2;
    (middle.max(lights_off)..stages.len()).find(|i| stages[*i] == W).unwrap_or(middle)
}
