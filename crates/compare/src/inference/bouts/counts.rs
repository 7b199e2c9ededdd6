//! How many wakes were found, and how many were true, by how long they are.

use super::BOUT_SHORTEST;
use counterpane_stats::{Figure, Undefined};
use std::ops::AddAssign;

/// Epochs in an hour.
const HOUR: f64 = 120.0;

/// How long a wake is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BoutLength {
    /// From 0.5 min to under 2 min.
    Short,
    /// From 2 min to under 5 min.
    Middle,
    /// 5 min or more.
    Long,
}

impl BoutLength {
    /// Every length, the shortest first.
    pub const ALL: [BoutLength; 3] = [BoutLength::Short, BoutLength::Middle, BoutLength::Long];

    /// Returns the word that JSON uses, in minutes.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            BoutLength::Short => "0.5-2",
            BoutLength::Middle => "2-5",
            BoutLength::Long => "5+",
        }
    }

    /// Says whether a wake of that many epochs is of this length.
    #[must_use]
    pub fn holds(self, epochs: usize) -> bool {
        match self {
            BoutLength::Short => (1..4).contains(&epochs),
            BoutLength::Middle => (4..10).contains(&epochs),
            BoutLength::Long => epochs >= 10,
        }
    }
}

/// Wakes of both sides that can be judged.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Wakes of the reference.
    pub bouts: usize,
    /// Those of them that the device found.
    pub found: usize,
    /// Wakes of the device.
    pub device: usize,
    /// Those of them that are true.
    pub device_true: usize,
}

impl Tally {
    /// Returns the share of the reference's wakes that the device found; undefined without one. It says nothing beside a
    /// device that always says wake: show [`Tally::precision`] with it.
    ///
    /// # Errors
    /// The reason why it is undefined.
    pub fn recall(&self) -> Figure {
        ratio(self.found, self.bouts, Undefined::RefClassAbsent)
    }

    /// Returns the share of the device's wakes that are true; undefined without one.
    ///
    /// # Errors
    /// The reason why it is undefined.
    pub fn precision(&self) -> Figure {
        ratio(self.device_true, self.device, Undefined::DevClassAbsent)
    }

    /// Returns the harmonic mean of both; 0 where only one side has a wake, undefined where neither has.
    ///
    /// # Errors
    /// The reason why it is undefined.
    pub fn f1(&self) -> Figure {
        match (self.recall(), self.precision()) {
            (Err(_), Err(_)) => Err(Undefined::StageAbsent),
            (Ok(r), Ok(p)) if r + p > 0.0 => Ok(2.0 * r * p / (r + p)),
            _ => Ok(0.0),
        }
    }

    /// Returns how many of the device's wakes are not true.
    #[must_use]
    pub fn made_up(&self) -> usize {
        self.device - self.device_true
    }
}

impl AddAssign for Tally {
    fn add_assign(&mut self, other: Tally) {
        self.bouts += other.bouts;
        self.found += other.found;
        self.device += other.device;
        self.device_true += other.device_true;
    }
}

/// The wakes of one or more nights of a device, counted.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BoutCounts {
    /// Wakes of at least [`BOUT_SHORTEST`] epochs.
    pub all: Tally,
    /// By length, in the order of [`BoutLength::ALL`]; here those of a single epoch count too, in the first.
    pub by_length: [Tally; 3],
    /// Wakes of `all` that have a partner, one to one: what the wakes of both sides have in common is at least half of what
    /// they cover together.
    pub partners: usize,
    /// Wakes of either side of at least [`BOUT_SHORTEST`] epochs that touch an epoch without a stage, and cannot be judged.
    pub left_out: usize,
    /// Epochs that the reference calls sleep and to which the device gives a stage.
    pub sleep: usize,
    /// By how many minutes the device's wake starts late (early where negative), for each wake found of `all`.
    pub onsets: Vec<f64>,
}

impl BoutCounts {
    /// Returns how many wakes the device makes up in an hour of sleep; undefined without sleep.
    ///
    /// # Errors
    /// The reason why it is undefined.
    pub fn false_per_hour(&self) -> Figure {
        if self.sleep == 0 {
            return Err(Undefined::NoSleep);
        }
        Ok(self.all.made_up() as f64 / (self.sleep as f64 / HOUR))
    }

    /// Returns by how many minutes the found wakes start late on average, undefined when none was found.
    ///
    /// # Errors
    /// The reason why it is undefined.
    pub fn onset_error(&self) -> Figure {
        mean(self.onsets.iter().copied())
    }

    /// Returns by how many minutes the starts of the found wakes are off on average, early or late.
    ///
    /// # Errors
    /// The reason why it is undefined.
    pub fn onset_off(&self) -> Figure {
        mean(self.onsets.iter().map(|minutes| minutes.abs()))
    }

    /// Returns the wakes of both sides one to one: of a long wake of the device that covers several, one is found.
    #[must_use]
    pub fn one_to_one(&self) -> Tally {
        Tally { found: self.partners, device_true: self.partners, ..self.all }
    }

    /// Counts a wake of the reference.
    pub(super) fn reference(&mut self, epochs: usize, found: bool) {
        self.each(epochs, Tally { bouts: 1, found: usize::from(found), ..Tally::default() });
    }

    /// Counts a wake of the device.
    pub(super) fn device(&mut self, epochs: usize, is_true: bool) {
        self.each(epochs, Tally { device: 1, device_true: usize::from(is_true), ..Tally::default() });
    }

    fn each(&mut self, epochs: usize, one: Tally) {
        if epochs >= BOUT_SHORTEST {
            self.all += one;
        }
        for (length, tally) in BoutLength::ALL.into_iter().zip(&mut self.by_length) {
            if length.holds(epochs) {
                *tally += one;
            }
        }
    }
}

impl AddAssign<&BoutCounts> for BoutCounts {
    fn add_assign(&mut self, other: &BoutCounts) {
        self.all += other.all;
        self.by_length.iter_mut().zip(other.by_length).for_each(|(own, more)| *own += more);
        self.partners += other.partners;
        self.left_out += other.left_out;
        self.sleep += other.sleep;
        self.onsets.extend(&other.onsets);
    }
}

fn ratio(part: usize, of: usize, why: Undefined) -> Figure {
    if of == 0 { Err(why) } else { Ok(part as f64 / of as f64) }
}

fn mean(values: impl ExactSizeIterator<Item = f64>) -> Figure {
    let n = values.len();
    if n == 0 { Err(Undefined::NTooSmall) } else { Ok(values.sum::<f64>() / n as f64) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_wake_is_of_one_length() {
        for epochs in 1..40 {
            assert_eq!(BoutLength::ALL.into_iter().filter(|l| l.holds(epochs)).count(), 1, "{epochs}");
        }
        assert!(
            BoutLength::Long.holds(super::super::BOUT_LONG) && !BoutLength::Long.holds(super::super::BOUT_LONG - 1)
        );
    }

    #[test]
    fn an_hour_of_sleep_is_120_epochs() {
        let mut counts = BoutCounts { sleep: 240, ..BoutCounts::default() };
        assert_eq!(counts.false_per_hour(), Ok(0.0));
        counts.device(2, false);
        counts.device(1, false);
        counts.device(9, true);
        assert_eq!((counts.false_per_hour(), counts.by_length[0].made_up()), (Ok(0.5), 2));
        assert_eq!(BoutCounts::default().false_per_hour(), Err(Undefined::NoSleep));
    }

    #[test]
    fn without_a_wake_there_is_nothing_to_divide_by() {
        let none = Tally::default();
        assert_eq!((none.recall(), none.precision()), (Err(Undefined::RefClassAbsent), Err(Undefined::DevClassAbsent)));
        assert_eq!(none.f1(), Err(Undefined::StageAbsent));
        assert_eq!(Tally { bouts: 2, ..none }.f1(), Ok(0.0));
        assert_eq!(BoutCounts::default().onset_error(), Err(Undefined::NTooSmall));
    }
}
