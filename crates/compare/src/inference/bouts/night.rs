//! The wakes of one night, and what each device made of each of them.

use super::counts::BoutCounts;
use super::{BOUT_SHARE, BOUT_SHORTEST};
use crate::inference::pairing::sides;
use crate::{DeviceNight, NightComparison};
use counterpane_model::{Cell, Grid, Instant, Scheme, Source};
use counterpane_stats::wake_bouts;
use std::ops::Range;

/// The wakes of the reference of one night.
#[derive(Clone, Debug, PartialEq)]
pub struct NightBouts {
    /// Key of the reference's recording.
    pub reference_key: String,
    /// Its wakes between its first and last epoch of sleep, from one epoch on, in order of time.
    pub bouts: Vec<Bout>,
    /// Every device, or further scorer, that tells wake from sleep, in the order of the night.
    pub devices: Vec<DeviceBouts>,
}

/// One wake of the reference.
#[derive(Clone, Debug, PartialEq)]
pub struct Bout {
    /// Its epochs, counted from the start of the window.
    pub at: Range<usize>,
    /// When it starts.
    pub start: Instant,
    /// When it ends.
    pub end: Instant,
    /// What each device made of it, one for one with [`NightBouts::devices`].
    pub seen: Vec<BoutSeen>,
}

/// What a device made of a wake.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BoutSeen {
    /// Found, missed, or neither can be said.
    pub verdict: Verdict,
    /// How many of its epochs the device calls wake.
    pub awake: usize,
    /// By how many epochs the device's wake starts late (early where negative); `None` where no wake of it overlaps.
    pub onset_error: Option<i64>,
}

/// Whether a device found a wake.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// It calls at least half of it wake.
    Found,
    /// It calls less than half of it wake.
    Missed,
    /// The wake touches an epoch to which one side gives no stage.
    NotJudged,
}

impl Verdict {
    /// Returns the word that JSON uses.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Verdict::Found => "found",
            Verdict::Missed => "missed",
            Verdict::NotJudged => "not_judged",
        }
    }
}

/// The wakes of a night beside those of one device.
#[derive(Clone, Debug, PartialEq)]
pub struct DeviceBouts {
    /// Key of the recording.
    pub key: String,
    /// Who says it.
    pub source: Source,
    /// Its wakes that are not true, from one epoch on: epochs counted from the start of the window.
    pub made_up: Vec<Range<usize>>,
    /// What was counted.
    pub counts: BoutCounts,
}

/// Wake, sleep or neither, epoch by epoch.
type Side = Vec<Option<bool>>;

/// Returns the wakes of a night; without sleep there is none.
pub(super) fn night_bouts(night: &NightComparison) -> NightBouts {
    let grid = Grid { start: night.start, n: night.reference.len() };
    let compared: Vec<(&DeviceNight, Side, Side)> = night.devices.iter().filter_map(|d| pair(night, d)).collect();
    let own = wakes(&crate::device_night::without(&night.reference, grid, &night.excluded));
    // The reference against itself: every wake of it, whatever a device covers.
    let all = wake_bouts(&own, &own, 1, BOUT_SHARE).map(|of| of.bouts).unwrap_or_default();
    let bout = |at: &Range<usize>| Bout {
        at: at.clone(),
        start: grid.at(at.start),
        end: grid.at(at.end),
        seen: compared.iter().map(|(_, reference, device)| seen(at, reference, device)).collect(),
    };
    NightBouts {
        reference_key: night.reference_key.clone(),
        bouts: all.iter().map(|b| bout(&b.at)).collect(),
        devices: compared.iter().map(|(of, reference, device)| device_bouts(of, reference, device)).collect(),
    }
}

fn pair<'a>(night: &NightComparison, device: &'a DeviceNight) -> Option<(&'a DeviceNight, Side, Side)> {
    device.sleep_wake.as_ref()?;
    let (reference, own) = sides(night, device);
    Some((device, wakes(&reference), wakes(&own)))
}

fn wakes(cells: &[Cell]) -> Side {
    cells.iter().map(|cell| Scheme::SleepWake.index(cell.stage()?).map(|class| class == 0)).collect()
}

fn seen(at: &Range<usize>, reference: &Side, device: &Side) -> BoutSeen {
    let awake = device.get(at.clone()).unwrap_or_default().iter().filter(|e| **e == Some(true)).count();
    let judged = wake_bouts(reference, device, 1, BOUT_SHARE).ok();
    let own = judged.and_then(|of| of.bouts.into_iter().find(|b| b.at == *at));
    let verdict = match &own {
        Some(bout) if bout.found => Verdict::Found,
        Some(_) => Verdict::Missed,
        None => Verdict::NotJudged,
    };
    BoutSeen { verdict, awake, onset_error: own.and_then(|bout| bout.onset_error) }
}

fn device_bouts(of: &DeviceNight, reference: &Side, device: &Side) -> DeviceBouts {
    let mut counts = BoutCounts::default();
    let mut made_up = Vec::new();
    if let Ok(found) = wake_bouts(reference, device, 1, BOUT_SHARE) {
        for bout in &found.bouts {
            counts.reference(bout.at.len(), bout.found);
            let counted = bout.found && bout.at.len() >= BOUT_SHORTEST;
            counts.onsets.extend(bout.onset_error.filter(|_| counted).map(|epochs| epochs as f64 / 2.0));
        }
        for (at, is_true) in wakes_of_device(reference, device) {
            counts.device(at.len(), is_true);
            made_up.extend((!is_true).then_some(at));
        }
    }
    if let Ok(counted) = wake_bouts(reference, device, BOUT_SHORTEST, BOUT_SHARE) {
        (counts.left_out, counts.partners) = (counted.left_out, counted.one_to_one().pairs.len());
    }
    let both = reference.iter().zip(device);
    counts.sleep = both.filter(|(r, d)| **r == Some(false) && d.is_some()).count();
    DeviceBouts { key: of.key.clone(), source: of.source.clone(), made_up, counts }
}

/// Returns the device's wakes between the reference's first and last epoch of sleep, and whether each is true: the same
/// question with the sides changed, within that stretch.
fn wakes_of_device(reference: &Side, device: &Side) -> Vec<(Range<usize>, bool)> {
    let asleep = |epoch: &Option<bool>| *epoch == Some(false);
    let (Some(first), Some(last)) = (reference.iter().position(asleep), reference.iter().rposition(asleep)) else {
        return Vec::new();
    };
    // An epoch of sleep on either end, so that the stretch is not cut anew by the device's own first and last sleep.
    let framed = |side: &Side| [&[Some(false)], side.get(first..=last).unwrap_or_default(), &[Some(false)]].concat();
    let found = wake_bouts(&framed(device), &framed(reference), 1, BOUT_SHARE).map(|of| of.bouts).unwrap_or_default();
    let placed = |at: &Range<usize>| at.start + first - 1..at.end + first - 1;
    found.iter().map(|bout| (placed(&bout.at), bout.found)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inference::bouts::Tally;
    use crate::testing::{at, night, psg, ring};
    use crate::{Protocol, Window, compare_night};
    use counterpane_model::Decided;
    use counterpane_model::Stage::{Light, N3, R, W};

    fn compared(reference: &str, device: &str) -> NightComparison {
        let protocol = Protocol { scheme: None, window: Window::Scored };
        let device = ring(&[W, Light, N3, R], device);
        compare_night(&night(), &psg(reference), &[&device], &Decided::default(), &protocol).unwrap()
    }

    fn found(reference: &str, device: &str) -> NightBouts {
        night_bouts(&compared(reference, device))
    }

    #[track_caller]
    fn check(reference: &str, device: &str, counts: [usize; 4], verdicts: &str) {
        let of = found(reference, device);
        let Tally { bouts, found, device, device_true } = of.devices[0].counts.all;
        assert_eq!([bouts, found, device, device_true], counts);
        let letter = |b: &Bout| match b.seen[0].verdict {
            Verdict::Found => 'f',
            Verdict::Missed => 'm',
            Verdict::NotJudged => '-',
        };
        assert_eq!(of.bouts.iter().map(letter).collect::<String>(), verdicts);
    }

    #[test]
    fn one_long_wake_of_the_device_has_one_partner() {
        // It covers both wakes of the reference, and has 4 of the 7 epochs in common with the second.
        let counts = found("2WW2WWWW2", "LWWWWWWWL").devices[0].counts.clone();
        assert_eq!(
            (counts.all.found, counts.one_to_one().recall(), counts.one_to_one().precision()),
            (2, Ok(0.5), Ok(1.0))
        );
    }

    #[test]
    fn every_wake_is_found_missed_or_not_judged() {
        check("22WWWW222WW222", "LLLWWWWLLLLLLL", [2, 1, 1, 1], "fm");
        check("2WWWW2", "LWWLLL", [1, 1, 1, 1], "f");
        check("22WW2222", "WWWWWWWW", [1, 1, 1, 0], "f");
        check("2WW2WW2", "LWWWWWL", [2, 2, 1, 1], "ff");
        check("2W2", "LWL", [0, 0, 0, 0], "f");
        check("2WW2WW2", "LW.LWWL", [1, 1, 1, 1], "-f");
        check("2222", "LLLL", [0, 0, 0, 0], "");
    }

    #[test]
    fn the_counts_are_those_of_the_statistic() {
        let cases =
            [("22WWWW222WW222", "LWLWWWWLLLLLWW"), ("W2WWW2WW2W", "WLLWW.LWWL"), ("2WW2", "WWWW"), ("WW", "LL")];
        for (reference, device) in cases {
            let night = compared(reference, device);
            let of = night_bouts(&night);
            let (r, d) = sides(&night, &night.devices[0]);
            let Ok(wanted) = wake_bouts(&wakes(&r), &wakes(&d), BOUT_SHORTEST, BOUT_SHARE) else {
                assert_eq!(of.devices[0].counts, BoutCounts::default());
                continue;
            };
            let all = of.devices[0].counts.all;
            assert_eq!((all.device, all.device_true), (wanted.device, wanted.device_true), "{reference} {device}");
            assert_eq!((all.recall(), all.precision(), all.f1()), (wanted.recall, wanted.precision, wanted.f1));
        }
    }

    #[test]
    fn a_wake_has_its_times_and_how_late_it_was_seen() {
        let of = found("22WWWWWWWWWW22", "LLLWWWWWWWWLLL");
        let bout = &of.bouts[0];
        assert_eq!((bout.start, bout.end), (at(2), at(12)));
        assert_eq!(bout.seen, [BoutSeen { verdict: Verdict::Found, awake: 8, onset_error: Some(1) }]);
        let counts = &of.devices[0].counts;
        assert_eq!((counts.by_length[2].found, counts.onset_error()), (1, Ok(0.5)));
        // The device's wake of 4 min stands among its own lengths.
        assert_eq!((counts.by_length[1].device, counts.by_length[1].device_true), (1, 1));
    }

    #[test]
    fn what_the_device_makes_up_is_kept_with_its_place() {
        let of = found("2222222WW22", "LWWLLWLWWLL");
        assert_eq!(of.devices[0].made_up, [1..3, 5..6]);
        assert_eq!((of.devices[0].counts.all.made_up(), of.devices[0].counts.sleep), (1, 9));
    }

    #[test]
    fn a_device_that_tells_nothing_of_wake_is_not_listed() {
        let protocol = Protocol { scheme: None, window: Window::Scored };
        let device = ring(&[Light, N3, R], "LLLL");
        let one = compare_night(&night(), &psg("2WW2"), &[&device], &Decided::default(), &protocol).unwrap();
        let of = night_bouts(&one);
        assert_eq!((of.bouts.len(), of.devices.len()), (1, 0));
    }
}
