//! What a shift of a device's clock would change: three lines, the first of which counts.
//!
//! Each line is counted over the same epochs: those of the window that keep [`MAX_LAG`] epochs on either side. The first is the device
//! as it stands, on its corrected clock where one was set. The second moves it by an offset that its other nights suggest. The
//! third moves it by the offset at which this night agrees best: it cannot fall below the first, and is optimistic. No shifted number
//! enters any other table.

mod chance;
mod drift;
mod lags;

pub use chance::Chance;
pub use drift::Drift;

use super::pairing::sides;
use crate::{Comparison, DeviceNight, NightComparison, mean_over_participants, nights_of_device};
use counterpane_model::{Scheme, Source};
use counterpane_stats::on_threads;
use counterpane_stats::{Figure, LagCounts, Resampling, Undefined, clock_offset_interval};
use lags::{Classes, found, gain};

/// Shifts up to this many epochs are tried: 5 min. More would find sleep cycles instead of clocks.
pub const MAX_LAG: usize = 10;

/// Clocks of a comparison.
#[derive(Clone, Debug, PartialEq)]
pub struct Clocks {
    /// Each device on each night on which it is compared.
    pub nights: Vec<ClockNight>,
    /// Each device over its nights, by name.
    pub devices: Vec<ClockDevice>,
}

/// A device on a night.
#[derive(Clone, Debug, PartialEq)]
pub struct ClockNight {
    /// The participant's code.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// Key of the reference's recording.
    pub reference_key: String,
    /// Key of the device's recording.
    pub key: String,
    /// Who says it.
    pub source: Source,
    /// Classes in which agreement is counted.
    pub scheme: Scheme,
    /// Whether a correction of its clock was set: then all of this is what is left after it.
    pub corrected: bool,
    /// As it stands.
    pub unshifted: Shifted,
    /// Moved by the offset of the other nights of the same unit.
    pub elsewhere: Result<Shifted, NoOffset>,
    /// Moved by the offset at which this night agrees best: optimistic.
    pub in_sample: Result<Shifted, NoOffset>,
    /// 95 % interval of that offset in epochs, from blocks of 20 min drawn anew.
    pub interval: Option<(i64, i64)>,
    /// What the best shift gains by chance alone, on nights that do not belong together.
    pub chance: Option<Chance>,
    /// An offset that grows over the night, where one is found.
    pub drift: Option<Drift>,
}

/// Agreement at a shift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shifted {
    /// By how many epochs the device is late: it is moved back by so many.
    pub epochs: i64,
    /// Share of pairs that agree.
    pub accuracy: Figure,
    /// Cohen's kappa.
    pub kappa: Figure,
}

/// Why there is no offset.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoOffset {
    /// The unit has no other night.
    OneNight,
    /// It agrees best at the edge of the search: the offset may be any larger one.
    AtTheEdge,
    /// The night is too short to be shifted.
    TooShort,
}

impl NoOffset {
    /// Returns the word that JSON uses.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            NoOffset::OneNight => "one_night",
            NoOffset::AtTheEdge => "at_the_edge",
            NoOffset::TooShort => "too_short",
        }
    }

    /// Returns the reason in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            NoOffset::OneNight => "the unit has no other night",
            NoOffset::AtTheEdge => "no offset found: best at the edge of the search",
            NoOffset::TooShort => "the night is too short to be shifted",
        }
    }
}

/// A device over its nights: means over people of the means over their nights, of the nights that have all three lines.
#[derive(Clone, Debug, PartialEq)]
pub struct ClockDevice {
    /// Name of the device.
    pub name: String,
    /// Nights on which it is compared.
    pub nights: usize,
    /// Nights that have all three lines.
    pub with_all: usize,
    /// Accuracy as it stands.
    pub unshifted: Figure,
    /// Accuracy with the offset of the other nights.
    pub elsewhere: Figure,
    /// Accuracy with the best offset of each night: optimistic.
    pub in_sample: Figure,
    /// Least and most of the best offsets of its nights, epochs.
    pub offsets: Option<(i64, i64)>,
}

/// A night, a device on it, and both as classes.
struct Row<'a> {
    night: &'a NightComparison,
    device: &'a DeviceNight,
    scheme: Scheme,
    classes: Classes,
    /// Equal pairs of each shift.
    lags: Result<LagCounts, Undefined>,
}

/// Looks at the clock of each device that is compared.
pub(super) fn clocks(comparison: &Comparison, asked: Resampling) -> Clocks {
    let rows: Vec<Row<'_>> = comparison
        .devices
        .iter()
        .flat_map(|d| nights_of_device(comparison, &d.name))
        .filter_map(|(night, device)| Row::of(night, device))
        .collect();
    let nights = on_threads(&rows, asked.threads, |row| row.looked_at(&rows, asked));
    let device = |d: &crate::DeviceSummary| ClockDevice::of(&d.name, &nights);
    Clocks { devices: comparison.devices.iter().filter_map(device).collect(), nights }
}

impl<'a> Row<'a> {
    fn of(night: &'a NightComparison, device: &'a DeviceNight) -> Option<Row<'a>> {
        let scheme = device.agreement.as_ref()?.scheme;
        let (reference, own) = sides(night, device);
        let classes = Classes::of(scheme, &reference, &own);
        let lags = classes.beside(&classes.reference);
        Some(Row { night, device, scheme, classes, lags })
    }

    fn looked_at(&self, all: &[Row<'_>], asked: Resampling) -> ClockNight {
        let own = self.lags.as_ref().map_err(|why| *why);
        let in_sample = found(own);
        let others = all.iter().filter(|o| o.device.source == self.device.source && o.device.key != self.device.key);
        let others: Vec<&LagCounts> = others.filter_map(|o| o.lags.as_ref().ok()).collect();
        let elsewhere = match (others.first(), own) {
            (None, _) => Err(NoOffset::OneNight),
            (Some(_), Err(_)) => Err(NoOffset::TooShort),
            (Some(_), Ok(_)) => found(LagCounts::together(&others).as_ref().map_err(|why| *why)),
        };
        let shifted = |epochs| self.classes.shifted(epochs);
        ClockNight {
            participant: self.night.participant.clone(),
            night: self.night.night.clone(),
            reference_key: self.night.reference_key.clone(),
            key: self.device.key.clone(),
            source: self.device.source.clone(),
            scheme: self.scheme,
            corrected: self.device.clock.is_some(),
            unshifted: shifted(0),
            elsewhere: elsewhere.map(shifted),
            in_sample: in_sample.map(shifted),
            interval: in_sample.ok().and_then(|_| self.interval(asked)),
            chance: self.chance(all),
            drift: drift::drift(&self.classes, asked),
        }
    }

    /// The 95 % interval of the best lag.
    fn interval(&self, asked: Resampling) -> Option<(i64, i64)> {
        let mut share = counterpane_stats::shares(asked.seed, 0);
        let draws = asked.replicates.min(1000) as usize;
        let counts = self.lags.as_ref().ok()?;
        clock_offset_interval(counts, draws, |n| ((share() * n as f64) as usize).min(n.saturating_sub(1))).ok()
    }

    fn chance(&self, all: &[Row<'_>]) -> Option<Chance> {
        let gain = gain(self.lags.as_ref().ok()?)?;
        let foreign = all.iter().filter(|o| o.night.reference_key != self.night.reference_key);
        let mut seen: Vec<&str> = Vec::new();
        let mut references: Vec<&[Option<usize>]> = Vec::new();
        for other in foreign.filter(|o| o.scheme == self.scheme) {
            if !seen.contains(&other.night.reference_key.as_str()) {
                seen.push(&other.night.reference_key);
                references.push(&other.classes.reference);
            }
        }
        chance::chance(gain, &self.classes, &references)
    }
}

impl ClockDevice {
    fn of(name: &str, nights: &[ClockNight]) -> Option<ClockDevice> {
        let own: Vec<&ClockNight> = nights.iter().filter(|n| n.source.name() == name).collect();
        let whole: Vec<(&str, [Figure; 3])> = own
            .iter()
            .filter_map(|n| {
                let lines = [n.unshifted, n.elsewhere.ok()?, n.in_sample.ok()?];
                Some((n.participant.as_str(), lines.map(|l| l.accuracy)))
            })
            .collect();
        let mean = |line: usize| {
            let values: Vec<(&str, Figure)> =
                whole.iter().filter_map(|(p, lines)| Some((*p, *lines.get(line)?))).collect();
            mean_over_participants(&values)
        };
        let offsets: Vec<i64> = own.iter().filter_map(|n| n.in_sample.ok()).map(|s| s.epochs).collect();
        (!own.is_empty()).then(|| ClockDevice {
            name: name.to_owned(),
            nights: own.len(),
            with_all: whole.len(),
            unshifted: mean(0),
            elsewhere: mean(1),
            in_sample: mean(2),
            offsets: offsets.iter().min().copied().zip(offsets.iter().max().copied()),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{night, psg, ring};
    use crate::{Protocol, Window, compare, compare_night};
    use counterpane_model::Stage::{Light, N3, R, W};
    use counterpane_model::{Decided, Night, Recording};

    const SCORED: Protocol = Protocol { scheme: None, window: Window::Scored };
    const ASKED: Resampling = Resampling { replicates: 200, seed: 3, threads: 2 };

    /// A night of bouts of 20 to 60 epochs, another one for each number.
    fn truth(number: usize) -> String {
        let mut out = String::new();
        for (i, c) in "W2323R2R23RW2R2323R2W2R".chars().cycle().skip(number * 3).take(20).enumerate() {
            out.extend(std::iter::repeat_n(c, 20 + (i * (17 + number * 4)) % 41));
        }
        out
    }

    /// What a device says that runs `late` epochs behind the truth.
    fn late(truth: &str, late: usize) -> String {
        let said: String = "W".repeat(late) + truth;
        said.chars().take(truth.len()).map(|c| if c == '2' { 'L' } else { c }).collect()
    }

    fn looked(nights: &[(&str, usize, usize)]) -> Clocks {
        let of = |(label, number, epochs): &(&str, usize, usize)| {
            let key = |r: Recording| Recording { night: (*label).into(), key: r.key.replace("2026-04-04", label), ..r };
            let (reference, own) = (truth(*number), late(&truth(*number), *epochs));
            let (reference, own) = (key(psg(&reference)), key(ring(&[W, Light, N3, R], &own)));
            let night = Night { label: (*label).into(), ..night() };
            compare_night(&night, &reference, &[&own], &Decided::default(), &SCORED).unwrap()
        };
        clocks(&compare(nights.iter().map(of).collect(), SCORED), ASKED)
    }

    #[test]
    fn a_late_device_agrees_fully_when_it_is_moved_back() {
        let found = looked(&[("2026-04-04", 0, 6), ("2026-04-05", 1, 6)]);
        let one = &found.nights[0];
        assert_eq!(one.in_sample.map(|s| (s.epochs, s.accuracy)), Ok((6, Ok(1.0))));
        assert_eq!(one.elsewhere.map(|s| (s.epochs, s.kappa)), Ok((6, Ok(1.0))));
        assert!(one.unshifted.accuracy.unwrap() < 0.9);
        assert_eq!(one.interval, Some((6, 6)));
        assert_eq!(one.drift, None);
        let device = &found.devices[0];
        assert_eq!((device.nights, device.with_all, device.offsets), (2, 2, Some((6, 6))));
        assert_eq!(device.in_sample, Ok(1.0));
    }

    #[test]
    fn an_offset_from_elsewhere_is_not_that_of_the_night_itself() {
        let found = looked(&[("2026-04-04", 0, 6), ("2026-04-05", 1, 2)]);
        assert_eq!(found.nights.iter().map(|n| n.elsewhere.unwrap().epochs).collect::<Vec<_>>(), [2, 6]);
    }

    #[test]
    fn one_night_has_no_elsewhere_and_no_chance() {
        let one = &looked(&[("2026-04-04", 0, 0)]).nights[0];
        assert_eq!((one.elsewhere, one.chance), (Err(NoOffset::OneNight), None));
        assert_eq!(one.in_sample.map(|s| s.epochs), Ok(0));
    }

    #[test]
    fn an_offset_beyond_the_search_is_not_found() {
        let one = &looked(&[("2026-04-04", 0, 15)]).nights[0];
        assert_eq!((one.in_sample, one.interval), (Err(NoOffset::AtTheEdge), None));
    }

    #[test]
    fn the_number_of_threads_changes_nothing() {
        let nights = [("2026-04-04", 0, 6), ("2026-04-05", 1, 2)];
        assert_eq!(looked(&nights), looked(&nights));
    }
}
