//! Measures of a whole night, from what one source says of each epoch of the window.

use crate::Measures;
use counterpane_model::{Cell, EPOCH_MS, Stage};
use counterpane_stats::{Figure, Undefined};

/// Returns the measures of a window whose epochs are `cells`, of 30 s each.
///
/// The window is taken as the time in bed: lights off to lights on where these are known. Epochs
/// without a stage (unscored, off, missing) are neither sleep nor wake. The definitions, their edge
/// cases and their source are in `docs/measures.md`.
///
/// ```
/// use counterpane_compare::measures;
/// use counterpane_model::{Cell, Stage};
/// // One minute awake, two minutes asleep, half a minute awake: 2 / 3.5 of the window is sleep.
/// let said = [Stage::W, Stage::W, Stage::N2, Stage::N2, Stage::R, Stage::R, Stage::W].map(Cell::Stage);
/// let night = measures(&said);
/// assert_eq!((night.total_sleep, night.sleep_latency, night.rem_latency), (2.0, Ok(1.0), Ok(1.0)));
/// assert_eq!(night.efficiency, Ok(100.0 * 2.0 / 3.5));
/// ```
#[must_use]
pub fn measures(cells: &[Cell]) -> Measures {
    let count = |wanted: fn(Cell) -> bool| cells.iter().filter(|cell| wanted(**cell)).count();
    let (sleep, wake) = (count(is_sleep), count(is_wake));
    let scored = sleep + wake;
    let total_sleep = minutes(sleep);
    let period = SleepPeriod::of(cells);
    let of_period = |value: fn(&SleepPeriod<'_>) -> f64| period.as_ref().map(value).map_err(|why| *why);
    Measures {
        recording_time: minutes(cells.len()),
        total_sleep,
        wake: minutes(wake),
        unscored: minutes(cells.len() - scored),
        stage_minutes: stage_minutes(cells),
        sleep_latency: of_period(|p| p.latency()),
        sleep_latency_bounds: period.as_ref().ok().map(|p| (p.earliest_latency(), p.latency())),
        wake_after_onset: of_period(|p| minutes(wake_epochs(p.to_end()))),
        wake_within_sleep: of_period(|p| minutes(wake_epochs(p.asleep()))),
        terminal_wake: of_period(|p| minutes(wake_epochs(p.afterwards()))),
        sleep_period: of_period(|p| minutes(p.asleep().len())),
        efficiency: percent(total_sleep, scored, cells.len()),
        efficiency_scored: percent(total_sleep, scored, scored),
        maintenance_to_end: of_period(|p| 100.0 * p.sleep_minutes() / minutes(p.to_end().len())),
        maintenance_in_period: of_period(|p| 100.0 * p.sleep_minutes() / minutes(p.asleep().len())),
        rem_latency: period.as_ref().map_err(|why| *why).and_then(SleepPeriod::rem_latency),
        awakenings: of_period(|p| awakenings(p.asleep())),
    }
}

impl Measures {
    /// Returns the share of a stage of sleep in the total sleep, per cent; 0 for a stage that does not occur.
    ///
    /// # Errors
    /// Why there is no sleep to take a share of.
    pub fn stage_percent(&self, stage: Stage) -> Figure {
        self.sleep_period?;
        let minutes = self.stage_minutes.iter().find(|(s, _)| *s == stage).map_or(0.0, |(_, minutes)| *minutes);
        Ok(100.0 * minutes / self.total_sleep)
    }
}

/// The window around its first and its last epoch of sleep.
struct SleepPeriod<'a> {
    cells: &'a [Cell],
    first: usize,
    last: usize,
}

impl<'a> SleepPeriod<'a> {
    fn of(cells: &'a [Cell]) -> Result<SleepPeriod<'a>, Undefined> {
        let ends = (cells.iter().position(|c| is_sleep(*c)), cells.iter().rposition(|c| is_sleep(*c)));
        match ends {
            (Some(first), Some(last)) => Ok(SleepPeriod { cells, first, last }),
            _ if cells.iter().any(|c| c.stage().is_some()) => Err(Undefined::NoSleep),
            _ => Err(Undefined::NothingScored),
        }
    }

    /// First to last epoch of sleep.
    fn asleep(&self) -> &'a [Cell] {
        &self.cells[self.first..=self.last]
    }

    /// First epoch of sleep to the end of the window.
    fn to_end(&self) -> &'a [Cell] {
        &self.cells[self.first..]
    }

    /// What follows the last epoch of sleep.
    fn afterwards(&self) -> &'a [Cell] {
        &self.cells[self.last + 1..]
    }

    fn latency(&self) -> f64 {
        minutes(self.first)
    }

    /// The latency if the first epoch without a stage was the first sleep.
    fn earliest_latency(&self) -> f64 {
        let before = &self.cells[..self.first];
        minutes(before.iter().position(|c| c.stage().is_none()).unwrap_or(self.first))
    }

    fn sleep_minutes(&self) -> f64 {
        minutes(self.asleep().iter().filter(|c| is_sleep(**c)).count())
    }

    fn rem_latency(&self) -> Figure {
        let first = self.asleep().iter().position(|c| *c == Cell::Stage(Stage::R));
        first.map(minutes).ok_or(Undefined::StageAbsent)
    }
}

fn is_sleep(cell: Cell) -> bool {
    cell.stage().is_some_and(Stage::is_sleep)
}

fn is_wake(cell: Cell) -> bool {
    cell == Cell::Stage(Stage::W)
}

fn wake_epochs(cells: &[Cell]) -> usize {
    cells.iter().filter(|c| is_wake(**c)).count()
}

/// Length of a number of epochs.
pub(crate) fn minutes(epochs: usize) -> f64 {
    epochs as f64 * EPOCH_MS as f64 / 60_000.0
}

fn percent(sleep: f64, scored: usize, of: usize) -> Figure {
    if scored == 0 {
        return Err(Undefined::NothingScored);
    }
    Ok(100.0 * sleep / minutes(of))
}

fn stage_minutes(cells: &[Cell]) -> Vec<(Stage, f64)> {
    let of = |stage: Stage| (stage, minutes(cells.iter().filter(|c| **c == Cell::Stage(stage)).count()));
    Stage::ALL.into_iter().map(of).filter(|(_, minutes)| *minutes > 0.0).collect()
}

/// Runs of epochs without sleep that hold wake, between the first and the last epoch of sleep.
fn awakenings(asleep: &[Cell]) -> f64 {
    let runs = asleep.split(|c| is_sleep(*c)).filter(|run| wake_epochs(run) > 0);
    runs.count() as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use serde_json::Value;

    fn cell(letter: char) -> Cell {
        match letter {
            'W' => Cell::Stage(Stage::W),
            '1' => Cell::Stage(Stage::N1),
            '2' => Cell::Stage(Stage::N2),
            '3' | 'D' => Cell::Stage(Stage::N3),
            'R' => Cell::Stage(Stage::R),
            'L' => Cell::Stage(Stage::Light),
            '?' => Cell::Unscored,
            other => panic!("no cell is written `{other}`"),
        }
    }

    #[track_caller]
    fn same(name: &str, wanted: &Value, got: Figure) {
        match (wanted.as_f64(), got) {
            (None, Err(_)) => {}
            (Some(wanted), Ok(got)) => {
                assert!((wanted - got).abs() <= 1e-10 * wanted.abs(), "{name}: {got}, not {wanted}")
            }
            (wanted, got) => panic!("{name}: {got:?}, not {wanted:?}"),
        }
    }

    #[track_caller]
    fn same_night(name: &str, wanted: &Value, got: &Measures) {
        let numbers = [
            ("recording_time", Ok(got.recording_time)),
            ("total_sleep", Ok(got.total_sleep)),
            ("wake", Ok(got.wake)),
            ("unscored", Ok(got.unscored)),
            ("scored", Ok(got.recording_time - got.unscored)),
            ("sleep_latency", got.sleep_latency),
            ("wake_after_onset", got.wake_after_onset),
            ("wake_within_sleep", got.wake_within_sleep),
            ("terminal_wake", got.terminal_wake),
            ("sleep_period", got.sleep_period),
            ("efficiency", got.efficiency),
            ("efficiency_scored", got.efficiency_scored),
            ("maintenance_to_end", got.maintenance_to_end),
            ("maintenance_in_period", got.maintenance_in_period),
            ("rem_latency", got.rem_latency),
            ("awakenings", got.awakenings),
        ];
        for (key, figure) in numbers {
            assert!(wanted.get(key).is_some(), "nights.json lacks `{key}` in {name}");
            same(&format!("{name}, {key}"), &wanted[key], figure);
        }
        // Bounds of a latency are given only where sleep was seen: a lower bound alone bounds nothing.
        if let Some((earliest, latest)) = got.sleep_latency_bounds {
            same(name, &wanted["sleep_latency_bounds"][0], Ok(earliest));
            same(name, &wanted["sleep_latency_bounds"][1], Ok(latest));
        } else {
            assert!(wanted["sleep_latency_bounds"][1].is_null(), "{name}: bounds are missing");
        }
        same_stages(name, wanted, got);
    }

    #[track_caller]
    fn same_stages(name: &str, wanted: &Value, got: &Measures) {
        let stage_minutes = wanted["stage_minutes"].as_object().unwrap();
        assert_eq!(stage_minutes.len(), got.stage_minutes.len(), "{name}: {:?}", got.stage_minutes);
        for (letter, minutes) in stage_minutes {
            let stage = cell(letter.chars().next().unwrap()).stage().unwrap();
            let found = got.stage_minutes.iter().find(|(s, _)| *s == stage).map(|(_, minutes)| *minutes);
            same(&format!("{name}, minutes of {letter}"), minutes, found.ok_or(Undefined::StageAbsent));
        }
        match wanted["stage_percent"].as_object() {
            None => assert!(got.stage_percent(Stage::N2).is_err(), "{name}: there is no sleep to take a share of"),
            Some(shares) => {
                for (letter, share) in shares {
                    let stage = cell(letter.chars().next().unwrap()).stage().unwrap();
                    same(&format!("{name}, share of {letter}"), share, got.stage_percent(stage));
                }
            }
        }
    }

    #[test]
    fn thirteen_nights_worked_by_hand_give_their_measures() {
        let nights: Value = serde_json::from_str(include_str!("../tests/data/nights.json")).unwrap();
        let nights = nights["nights"].as_array().unwrap();
        assert_eq!(nights.len(), 13);
        for night in nights {
            let cells: Vec<Cell> = night["epochs"].as_str().unwrap().chars().map(cell).collect();
            let epoch = |key: &str| usize::try_from(night[key].as_u64().unwrap()).unwrap();
            let window = &cells[epoch("from_epoch")..epoch("until_epoch")];
            same_night(night["name"].as_str().unwrap(), &night["measures"], &measures(window));
        }
    }

    #[test]
    fn the_reason_tells_no_sleep_from_nothing_scored() {
        let of = |text: &str| measures(&text.chars().map(cell).collect::<Vec<_>>());
        assert_eq!(of("WWW").sleep_latency, Err(Undefined::NoSleep));
        assert_eq!(of("WWW").efficiency, Ok(0.0));
        assert_eq!(of("???").sleep_latency, Err(Undefined::NothingScored));
        assert_eq!(of("???").efficiency, Err(Undefined::NothingScored));
        assert_eq!(of("").efficiency, Err(Undefined::NothingScored));
        assert_eq!(of("W22").rem_latency, Err(Undefined::StageAbsent));
        assert_eq!(of("W22").stage_percent(Stage::R), Ok(0.0));
    }

    fn any_cells() -> impl Strategy<Value = Vec<Cell>> {
        proptest::collection::vec(proptest::sample::select(Cell::all()), 0..200)
    }

    proptest! {
        #[test]
        fn the_window_is_sleep_and_wake_and_unscored(cells in any_cells()) {
            let m = measures(&cells);
            prop_assert_eq!(m.recording_time, m.total_sleep + m.wake + m.unscored);
            prop_assert_eq!(m.stage_minutes.iter().map(|(_, minutes)| minutes).sum::<f64>(), m.total_sleep + m.wake);
        }

        #[test]
        fn wake_after_onset_is_wake_within_sleep_and_after_it(cells in any_cells()) {
            let m = measures(&cells);
            if let (Ok(after), Ok(within), Ok(terminal)) = (m.wake_after_onset, m.wake_within_sleep, m.terminal_wake) {
                prop_assert_eq!(after, within + terminal);
                prop_assert!(m.sleep_period.is_ok_and(|period| m.total_sleep + within <= period));
            }
        }

        #[test]
        fn no_figure_is_undefined_in_secret(cells in any_cells()) {
            let m = measures(&cells);
            let figures = [m.sleep_latency, m.wake_after_onset, m.efficiency, m.efficiency_scored, m.maintenance_to_end,
                m.maintenance_in_period, m.rem_latency, m.awakenings, m.sleep_period, m.terminal_wake];
            prop_assert!(figures.into_iter().flatten().all(f64::is_finite));
        }
    }
}
