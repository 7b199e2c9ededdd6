//! The statistics of one agreement, each with its n, and the words for the interval it lacks.

use super::table::{Cell, Row, Table};
use crate::words::{self, Voices};
use counterpane_compare::Agreement;
use counterpane_compare::comparison::Figure;
use counterpane_model::Stage;

/// What stands where an interval will stand.
pub(crate) const NO_INTERVAL: &str = "not computed yet";

/// Adds statistics to a table, row by row.
pub(crate) struct Statistics {
    table: Table,
    voices: Voices,
}

impl Statistics {
    /// Returns an empty table of statistics.
    pub(crate) fn new(id: String, caption: &str, voices: Voices) -> Statistics {
        let note = "Epochs of one night are not independent, so an interval for independent epochs would be far too \
                    narrow and is not shown.";
        let columns = ["Statistic", "Value", "n", "Interval"];
        Statistics { table: Table::new(id, caption, note, &columns).stacked(), voices }
    }

    /// Adds a statistic.
    pub(crate) fn add(&mut self, name: &str, under: &str, value: Figure, wording: impl Fn(f64) -> String, n: &str) {
        let cell = match value {
            Ok(_) => Cell::number(&self.voices.say(value, wording), ""),
            Err(_) => Cell::none(&self.voices.say(value, wording)),
        };
        let interval = if value.is_ok() { NO_INTERVAL } else { "none: value undefined" };
        self.table.row(Row::new(name, under, vec![cell, Cell::words(n), Cell::brief(interval)]));
    }

    /// Adds what an agreement in all classes gives.
    pub(crate) fn agreement(&mut self, a: &Agreement) {
        let n = format!("{} epochs", a.n);
        let classes = words::scheme_words(a.scheme);
        self.add("Epochs that agree", &format!("in {classes}, of all pairs"), a.accuracy, words::share, &n);
        self.add("Cohen's kappa", "agreement beyond chance; 1 is full, 0 is chance", a.kappa, words::two, &n);
        let over = format!("over {} of the reference", words::count(a.mean_sensitivity_classes, "stage"));
        self.add("Mean of the stage sensitivities", &over, a.mean_sensitivity, words::share, &n);
        self.worst(a);
    }

    fn worst(&mut self, a: &Agreement) {
        let name = "Worst stage sensitivity";
        match a.worst_sensitivity {
            Some(w) => {
                let n = format!("{} epochs of {}", w.n, words::called(w.class));
                self.add(name, words::called(w.class), Ok(w.sensitivity), words::share, &n);
            }
            None => {
                let why = "undefined: no stage has 20 epochs of the reference";
                let rest = Cell::brief("none: value undefined");
                self.table.row(Row::new(name, "", vec![Cell::none(why), Cell::words("fewer than 20 epochs"), rest]));
            }
        }
    }

    /// Adds the two numbers of sleep and wake that only together say something.
    pub(crate) fn sleep_wake(&mut self, a: &Agreement) {
        for class in &a.per_class {
            let (name, what) = match class.class {
                Stage::W => ("Wake detection (specificity)", "wake"),
                _ => ("Sensitivity to sleep", "sleep"),
            };
            let under = format!("of the epochs {} called {what}", self.voices.reference());
            let n = format!("{} epochs of {what}", class.reference_n);
            self.add(name, &under, class.sensitivity, words::share, &n);
        }
    }

    /// Returns the table.
    pub(crate) fn table(self) -> Table {
        self.table
    }
}
