//! Which wakes of the night a device found, one by one.

use crate::{Figure, Statistic, Undefined};
use std::ops::Range;

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "wake_bouts",
    name: "Wake bouts as events",
    meaning: "Which of the reference's wakes within the sleep period the device found, and which of the device's wakes were true.",
    formula: "bouts are longest runs of wake of at least k epochs between the reference's first and last epoch of sleep; a bout of the \
              reference is found when device wake covers at least the share p of it, a bout of the device is true when reference wake covers \
              at least p of it; recall = found / bouts of the reference, precision = true / bouts of the device, F1 their harmonic mean. \
              Second rule, one to one: a bout of either side is paired with the one whose common part is at least half of both \
              together",
    range: "0 to 1",
    undefined: "recall: the reference has no bout; precision: the device has none; F1: neither has one (0 when one side has); everything when \
                the reference has no sleep",
    caution: "A device that says wake all night has recall 1: never print recall without precision. One long bout of the device may find \
              several; by the second rule it finds one at most. Bouts that touch an epoch without a stage are left out and counted.",
    source: "common practice, no source; k = 2 epochs and p = 0.5 are conventions of this program",
};

/// One wake of the reference.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WakeBout {
    /// Its positions in the series.
    pub at: Range<usize>,
    /// Whether the device found it.
    pub found: bool,
    /// By how many positions the device's wake starts late (early when negative); none when no wake of it overlaps.
    pub onset_error: Option<i64>,
}

/// The wakes of a night as events.
#[derive(Clone, Debug, PartialEq)]
pub struct WakeBouts {
    /// The reference's wakes, in the order of time.
    pub bouts: Vec<WakeBout>,
    /// Number of wakes of the device.
    pub device: usize,
    /// The positions of those wakes, in the order of time.
    pub device_at: Vec<Range<usize>>,
    /// How many of them are true.
    pub device_true: usize,
    /// Wakes of either side left out because they touch an epoch without a stage.
    pub left_out: usize,
    /// Epochs that the reference scored as sleep: false wakes for each hour of sleep are made of them.
    pub sleep: usize,
    /// Share of the reference's wakes that were found.
    pub recall: Figure,
    /// Share of the device's wakes that are true.
    pub precision: Figure,
    /// Harmonic mean of both.
    pub f1: Figure,
}

/// Returns the wakes of a night as events: `true` is wake, `false` sleep, `None` no stage; both sides of one length.
///
/// `shortest` is the least number of epochs of a bout, at least 1; `share` how much of it must be covered, above 0.
///
/// ```
/// # use counterpane_stats::wake_bouts;
/// let side = |s: &str| s.chars().map(|c| Some(c == 'W')).collect::<Vec<_>>();
/// // The first wake is found one epoch late, 3 of its 4 epochs; the second is missed.
/// let of = wake_bouts(&side("LLWWWWLLLWWLLL"), &side("LLLWWWWLLLLLLL"), 2, 0.5)?;
/// assert_eq!((of.recall, of.precision, of.bouts[0].onset_error), (Ok(0.5), Ok(1.0), Some(1)));
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// [`Undefined::NoSleep`] when the reference has no sleep.
pub fn wake_bouts(
    reference: &[Option<bool>],
    device: &[Option<bool>],
    shortest: usize,
    share: f64,
) -> Result<WakeBouts, Undefined> {
    let n = reference.len().min(device.len());
    let (reference, device) = (&reference[..n], &device[..n]);
    let asleep = |epoch: &Option<bool>| *epoch == Some(false);
    let first = reference.iter().position(asleep).ok_or(Undefined::NoSleep)?;
    let end = reference.iter().rposition(asleep).map_or(n, |last| last + 1);
    let (ours, ours_out) = runs(reference, device, first..end, shortest);
    let (theirs, theirs_out) = runs(device, reference, first..end, shortest);
    let covered = |run: &Range<usize>, by: &[Option<bool>]| {
        by[run.clone()].iter().filter(|e| **e == Some(true)).count() as f64 >= share * run.len() as f64
    };
    let bout = |run: &Range<usize>| WakeBout {
        at: run.clone(),
        found: covered(run, device),
        onset_error: onset(run, device, first..end),
    };
    let bouts: Vec<WakeBout> = ours.iter().map(bout).collect();
    let found = bouts.iter().filter(|b| b.found).count();
    let device_true = theirs.iter().filter(|run| covered(run, reference)).count();
    let [recall, precision, f1] = shares(found, bouts.len(), device_true, theirs.len());
    let sleep = reference.iter().filter(|e| asleep(e)).count();
    let left_out = ours_out + theirs_out;
    let (device, device_at) = (theirs.len(), theirs);
    Ok(WakeBouts { bouts, device, device_at, device_true, left_out, sleep, recall, precision, f1 })
}

/// Returns recall, precision and their harmonic mean, of wakes of the reference and of the device.
pub(crate) fn shares(found: usize, bouts: usize, device_true: usize, device: usize) -> [Figure; 3] {
    let ratio = |part: usize, of: usize, why| if of == 0 { Err(why) } else { Ok(part as f64 / of as f64) };
    let recall = ratio(found, bouts, Undefined::RefClassAbsent);
    let precision = ratio(device_true, device, Undefined::DevClassAbsent);
    let f1 = match (recall, precision) {
        (Err(_), Err(_)) => Err(Undefined::StageAbsent),
        (Ok(r), Ok(p)) if r + p > 0.0 => Ok(2.0 * r * p / (r + p)),
        _ => Ok(0.0),
    };
    [recall, precision, f1]
}

/// Returns the runs of wake of a side that are long enough, and how many touch an epoch without a stage.
fn runs(
    side: &[Option<bool>],
    other: &[Option<bool>],
    within: Range<usize>,
    shortest: usize,
) -> (Vec<Range<usize>>, usize) {
    let (mut kept, mut left_out, mut at) = (Vec::new(), 0, within.start);
    while at < within.end {
        let length = side[at..within.end].iter().take_while(|e| **e == Some(true)).count();
        if length >= shortest.max(1) {
            let run = at..at + length;
            let beside = side[at.max(within.start + 1) - 1].is_none() || side[..within.end].get(run.end) == Some(&None);
            if beside || other[run.clone()].contains(&None) { left_out += 1 } else { kept.push(run) }
        }
        at += length.max(1);
    }
    (kept, left_out)
}

/// Returns how late the first wake of the device that overlaps a run starts.
fn onset(run: &Range<usize>, device: &[Option<bool>], within: Range<usize>) -> Option<i64> {
    let first = run.clone().find(|at| device[*at] == Some(true))?;
    let before = device[within.start..first].iter().rev().take_while(|e| **e == Some(true)).count();
    Some((first - before) as i64 - run.start as i64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn side(letters: &str) -> Vec<Option<bool>> {
        letters.chars().map(|c| (c != '.').then_some(c == 'W')).collect()
    }

    #[track_caller]
    fn check(reference: &str, device: &str, counts: [usize; 4], figures: [Option<f64>; 3]) {
        let of = wake_bouts(&side(reference), &side(device), 2, 0.5).unwrap();
        let found = of.bouts.iter().filter(|b| b.found).count();
        assert_eq!([of.bouts.len(), found, of.device, of.device_true], counts);
        assert_eq!([of.recall.ok(), of.precision.ok(), of.f1.ok()], figures);
    }

    #[test]
    fn seven_nights_worked_by_hand() {
        check("LLWWWWLLLWWLLL", "LLLWWWWLLLLLLL", [2, 1, 1, 1], [Some(0.5), Some(1.0), Some(2.0 / 3.0)]);
        check("LWWWWL", "LWWLLL", [1, 1, 1, 1], [Some(1.0); 3]);
        check("LWWWWL", "LWLLLL", [1, 0, 0, 0], [Some(0.0), None, Some(0.0)]);
        check("LWLLLL", "LWWLLL", [0, 0, 1, 1], [None, Some(1.0), Some(0.0)]);
        check("LLWWLLLL", "WWWWWWWW", [1, 1, 1, 0], [Some(1.0), Some(0.0), Some(0.0)]);
        check("LLLL", "LLLL", [0, 0, 0, 0], [None; 3]);
        check("LWWLWWL", "LWWWWWL", [2, 2, 1, 1], [Some(1.0); 3]);
    }

    #[test]
    fn wake_before_and_after_sleep_is_no_bout_and_gaps_leave_bouts_out() {
        check("WWLLWWLLWW", "WWLLLLLLWW", [1, 0, 0, 0], [Some(0.0), None, Some(0.0)]);
        let of = wake_bouts(&side("LWW.LLWWL"), &side("LWWLLL.WL"), 2, 0.5).unwrap();
        // Both wakes of the reference; the device's first one, and its second is too short.
        assert_eq!((of.bouts.len(), of.left_out, of.device), (0, 2, 1));
        assert_eq!(wake_bouts(&side("WWW"), &side("LLL"), 2, 0.5), Err(Undefined::NoSleep));
    }

    #[test]
    fn a_device_that_was_awake_before_is_early() {
        let of = wake_bouts(&side("LLLLWWWWL"), &side("LLWWWWWLL"), 2, 0.5).unwrap();
        assert_eq!(of.bouts[0], WakeBout { at: 4..8, found: true, onset_error: Some(-2) });
    }
}
