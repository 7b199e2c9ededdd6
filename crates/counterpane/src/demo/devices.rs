//! A model of what devices get wrong, in the classes wake, light, deep and REM.
//!
//! Mistakes come in bouts, as they do in practice: while a bout lasts, the device says one wrong word.
//! Then bouts shorter than the device shows are swallowed by the one before, and the boundaries move
//! a little. All numbers are invented; they are chosen so that the devices differ clearly.

use super::dice::Dice;
use super::night::TrueNight;
use counterpane_model::{EPOCH_MS, Instant, Scheme, Stage};

/// The classes, in the order of every table here.
pub(crate) const CLASSES: [Stage; 4] = [Stage::W, Stage::Light, Stage::N3, Stage::R];

/// How good a device is.
pub(crate) struct Quality {
    /// Number of the device's random stream, 1..50.
    pub(crate) stream: u64,
    /// For each true class, how many of a thousand epochs lie in a bout of mistakes.
    pub(crate) wrong: [u32; 4],
    /// For each true class, the weights of what is said instead.
    pub(crate) instead: [[u32; 4]; 4],
    /// Length of a bout of mistakes in epochs, from and to.
    pub(crate) bout: (u32, u32),
    /// Bouts shorter than this many epochs are not shown.
    pub(crate) shortest: usize,
    /// Boundaries move by up to this many epochs either way.
    pub(crate) jitter: u32,
}

/// A stretch in which a device says one thing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Bout {
    /// First instant.
    pub(crate) start: Instant,
    /// First instant after it.
    pub(crate) end: Instant,
    /// One of [`CLASSES`].
    pub(crate) class: Stage,
}

impl Bout {
    /// Returns the length in milliseconds.
    pub(crate) fn ms(&self) -> i64 {
        self.end.ms_since(self.start)
    }
}

/// Returns the random stream of a device on a night.
pub(crate) fn dice(seed: u64, night: &TrueNight, quality: &Quality) -> Dice {
    Dice::new(seed, night.number * 100 + quality.stream)
}

/// Returns what a device says of a night: bouts that follow each other without a gap, from about
/// lights off to about lights on, on boundaries of `step_ms` of the clock.
pub(crate) fn bouts(dice: &mut Dice, night: &TrueNight, quality: &Quality, step_ms: i64) -> Vec<Bout> {
    let first = night.lights_off + 4 - dice.between((0, 8)) as usize;
    let last = night.lights_on - 2 + dice.between((0, 6)) as usize;
    let classes: Vec<usize> = night.stages[first..last.min(night.stages.len())].iter().map(|s| class(*s)).collect();
    let said = mistaken(dice, &classes, quality);
    let edges = moved(dice, &shown(&said, quality.shortest), said.len(), quality.jitter);
    let at = |epoch: usize| {
        let exact = night.at(first + epoch).0;
        Instant((exact + step_ms / 2).div_euclid(step_ms) * step_ms)
    };
    let ends = edges.iter().skip(1).map(|(epoch, _)| *epoch).chain([said.len()]);
    let bouts = edges.iter().zip(ends).map(|((from, class), until)| Bout {
        start: at(*from),
        end: at(until),
        class: CLASSES[*class],
    });
    joined(bouts.filter(|b| b.ms() > 0))
}

fn class(stage: Stage) -> usize {
    Scheme::Four.index(stage).unwrap_or(0)
}

/// Returns the classes with bouts of mistakes in them.
fn mistaken(dice: &mut Dice, classes: &[usize], quality: &Quality) -> Vec<usize> {
    let mean = (quality.bout.0 + quality.bout.1) / 2;
    let (mut left, mut wrong) = (0, 0);
    let mut said = Vec::with_capacity(classes.len());
    for class in classes {
        if left == 0 {
            // A share p of epochs in bouts of mean length m needs p / (m (1 - p)) bouts an epoch.
            let share = quality.wrong[*class];
            let per_million = u64::from(share) * 1_000_000 / (u64::from(mean) * u64::from(1000 - share.min(999)));
            if u64::from(dice.below(1_000_000)) < per_million {
                left = dice.between(quality.bout);
                wrong = dice.pick(&quality.instead[*class]);
            }
        }
        said.push(if left > 0 { wrong } else { *class });
        left = left.saturating_sub(1);
    }
    said
}

/// Returns the first epoch and the class of each bout that the device shows.
fn shown(said: &[usize], shortest: usize) -> Vec<(usize, usize)> {
    let mut edges: Vec<(usize, usize)> = Vec::new();
    let mut from = 0;
    for run in said.chunk_by(|a, b| a == b) {
        let same = edges.last().is_some_and(|(_, class)| *class == run[0]);
        if edges.is_empty() || (run.len() >= shortest && !same) {
            edges.push((from, run[0]));
        }
        from += run.len();
    }
    edges
}

/// Moves each boundary but the first, never past its neighbours.
fn moved(dice: &mut Dice, edges: &[(usize, usize)], n: usize, jitter: u32) -> Vec<(usize, usize)> {
    let mut out: Vec<(usize, usize)> = Vec::with_capacity(edges.len());
    for (i, (epoch, class)) in edges.iter().enumerate() {
        let Some((before, _)) = out.last() else {
            out.push((*epoch, *class));
            continue;
        };
        let after = edges.get(i + 1).map_or(n, |(next, _)| *next);
        let wanted = (epoch + dice.between((0, 2 * jitter)) as usize).saturating_sub(jitter as usize);
        out.push((wanted.clamp(before + 1, after.saturating_sub(1).max(before + 1)), *class));
    }
    out
}

/// Joins neighbours of one class.
fn joined(bouts: impl Iterator<Item = Bout>) -> Vec<Bout> {
    let mut out: Vec<Bout> = Vec::new();
    for bout in bouts {
        match out.last_mut() {
            Some(last) if last.class == bout.class && last.end == bout.start => last.end = bout.end,
            _ => out.push(bout),
        }
    }
    out
}

/// Returns bouts without what lies in a stretch, which begins some time after the first bout does.
pub(crate) fn without_a_stretch(bouts: Vec<Bout>, after_ms: i64, ms: i64) -> Vec<Bout> {
    let Some(from) = bouts.first().map(|b| Instant(b.start.0 + after_ms)) else { return bouts };
    let until = Instant(from.0 + ms);
    let parts = |b: Bout| [Bout { end: b.end.min(from), ..b }, Bout { start: b.start.max(until), ..b }];
    bouts.into_iter().flat_map(parts).filter(|b| b.ms() > 0).collect()
}

/// Returns the whole minutes nearest to the time in a class.
pub(crate) fn minutes(bouts: &[Bout], class: Stage) -> i64 {
    let ms: i64 = bouts.iter().filter(|b| b.class == class).map(Bout::ms).sum();
    (ms + EPOCH_MS) / 60_000
}
