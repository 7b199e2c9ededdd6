//! The statistics of one agreement, each with its n, and its interval or the reason why it has none.

use super::table::{Cell, Row, Table};
use crate::words::intervals::{between_shares, between_two, each, how, interval};
use crate::words::{self, Voices};
use counterpane_compare::comparison::Figure;
use counterpane_compare::{
    Agreement, AgreementIntervals, AgreementOverPeople, ClassFigures, ClassIntervals, Interval, Limits, OverPeople,
};
use counterpane_model::{Scheme, Stage};

/// What is said of the interval of a number.
#[derive(Clone, Copy)]
pub(crate) enum Beside<'a> {
    /// The interval or why there is none, and in a smaller line how it was made.
    Made(&'a Interval, &'a str),
    /// There cannot be one, or it stands elsewhere.
    Words(&'a str),
}

/// What is said of the intervals of the numbers of one matrix.
#[derive(Clone, Copy)]
pub(crate) enum Intervals<'a> {
    /// They were made, and how.
    Made(&'a AgreementIntervals, &'a str),
    /// Why there is none.
    Words(&'a str),
}

impl<'a> Intervals<'a> {
    fn of(self, pick: impl Fn(&'a AgreementIntervals) -> &'a Interval) -> Beside<'a> {
        match self {
            Intervals::Made(all, how) => Beside::Made(pick(all), how),
            Intervals::Words(why) => Beside::Words(why),
        }
    }

    fn class(self, class: Stage) -> Option<&'a ClassIntervals> {
        match self {
            Intervals::Made(all, _) => all.per_class.iter().find(|c| c.class == class),
            Intervals::Words(_) => None,
        }
    }

    fn of_class(self, class: Stage, pick: fn(&ClassIntervals) -> &Interval) -> Beside<'a> {
        match (self, self.class(class)) {
            (Intervals::Made(_, how), Some(own)) => Beside::Made(pick(own), how),
            (Intervals::Made(..), None) => Beside::Words("none"),
            (Intervals::Words(why), _) => Beside::Words(why),
        }
    }
}

/// A number with its wording and that of its interval.
#[derive(Clone, Copy)]
pub(crate) struct Number {
    value: Figure,
    wording: fn(f64) -> String,
    between: fn(Limits) -> String,
}

impl Number {
    /// Returns a share, to be said as per cent.
    pub(crate) fn share(value: Figure) -> Number {
        Number { value, wording: words::share, between: between_shares }
    }

    /// Returns a coefficient, to be said with two decimals.
    pub(crate) fn two(value: Figure) -> Number {
        Number { value, wording: words::two, between: between_two }
    }
}

/// Adds statistics to a table, row by row.
pub(crate) struct Statistics {
    table: Table,
    voices: Voices,
}

impl Statistics {
    /// Returns an empty table of statistics.
    pub(crate) fn new(id: String, caption: &str, note: &str, voices: Voices) -> Statistics {
        let columns = ["Statistic", "Value", "n", "Interval"];
        Statistics { table: Table::new(id, caption, note, &columns).stacked(), voices }
    }

    /// Adds a statistic.
    pub(crate) fn add(&mut self, name: &str, under: &str, number: Number, n: &str, beside: Beside<'_>) {
        self.row(name, under, number, Cell::words(n), beside);
    }

    fn row(&mut self, name: &str, under: &str, number: Number, n: Cell, beside: Beside<'_>) {
        let Number { value, wording, between } = number;
        let cell = match value {
            Ok(_) => Cell::number(&self.voices.say(value, wording), ""),
            Err(_) => Cell::none(&self.voices.say(value, wording)),
        };
        let beside = match (value, beside) {
            (Err(_), _) => Cell::brief("none: value undefined"),
            (Ok(_), Beside::Made(made, how)) if made.is_ok() => Cell::words_under(&interval(made, between), how),
            (Ok(_), Beside::Made(made, _)) => Cell::words(&interval(made, between)),
            (Ok(_), Beside::Words(why)) => Cell::words(why),
        };
        self.table.row(Row::new(name, under, vec![cell, n, beside]));
    }

    /// Adds a mean over people; with few of them each is shown.
    pub(crate) fn mean(&mut self, name: &str, under: &str, of: &OverPeople, kind: fn(Figure) -> Number) {
        let number = kind(of.mean);
        let skipped = match of.skipped {
            0 => String::new(),
            k => format!("{} left out: undefined there", words::count(k, "night")),
        };
        let each = if of.needs_each() { each(of, number.wording) } else { String::new() };
        let n = format!("{}, {}", words::count(of.each.len(), "participant"), words::count(of.nights(), "night"));
        let n = Cell::words_lines(&n, &[&each, &skipped]);
        self.row(name, under, number, n, Beside::Made(&of.interval, &how(of)));
    }

    /// Adds what the matrices of all nights give, as means over people.
    pub(crate) fn means(&mut self, scheme: Scheme, of: &AgreementOverPeople, ranges: [&str; 2]) {
        let classes = [&format!("in {}", words::scheme_words(scheme)), ranges[0]];
        let classes = classes.into_iter().filter(|r| !r.is_empty()).collect::<Vec<_>>().join("; ");
        self.mean("Epochs that agree", &classes, &of.accuracy, Number::share);
        self.mean("Cohen's kappa", ranges[1], &of.kappa, Number::two);
        self.mean("Mean of the stage sensitivities", "", &of.mean_sensitivity, Number::share);
        for class in &of.per_class {
            let called = words::called(class.class);
            let under = format!("of what {} called {called}", self.voices.reference());
            self.mean(&format!("Sensitivity to {called}"), &under, &class.sensitivity, Number::share);
            let under = format!("of what {} called {called} (positive predictive value)", self.voices.other());
            self.mean(&format!("Trust in the label {called}"), &under, &class.ppv, Number::share);
        }
    }

    /// Adds the two numbers of sleep and wake as means over people.
    pub(crate) fn means_of_sleep_wake(&mut self, of: &AgreementOverPeople) {
        for class in &of.per_class {
            let (name, what) = sleep_or_wake(class.class);
            let under = format!("of the epochs {} called {what}", self.voices.reference());
            self.mean(name, &under, &class.sensitivity, Number::share);
        }
    }

    /// Adds what an agreement in all classes gives.
    pub(crate) fn agreement(&mut self, a: &Agreement, intervals: Intervals<'_>) {
        let n = format!("{} epochs", a.n);
        let classes = format!("in {}, of all pairs", words::scheme_words(a.scheme));
        self.add("Epochs that agree", &classes, Number::share(a.accuracy), &n, intervals.of(|i| &i.accuracy));
        let beyond = "agreement beyond chance; 1 is full, 0 is chance";
        self.add("Cohen's kappa", beyond, Number::two(a.kappa), &n, intervals.of(|i| &i.kappa));
        let over = format!("over {} of the reference", words::count(a.mean_sensitivity_classes, "stage"));
        let mean = Number::share(a.mean_sensitivity);
        self.add("Mean of the stage sensitivities", &over, mean, &n, intervals.of(|i| &i.mean_sensitivity));
        self.worst(a, intervals);
        a.per_class.iter().for_each(|class| self.class(class, intervals));
    }

    fn worst(&mut self, a: &Agreement, intervals: Intervals<'_>) {
        let name = "Worst stage sensitivity";
        match a.worst_sensitivity {
            Some(w) => {
                let n = format!("{} epochs of {}", w.n, words::called(w.class));
                let beside = intervals.of(|i| &i.worst_sensitivity);
                self.add(name, words::called(w.class), Number::share(Ok(w.sensitivity)), &n, beside);
            }
            None => {
                let why = "undefined: no stage has 20 epochs of the reference";
                let rest = Cell::brief("none: value undefined");
                self.table.row(Row::new(name, "", vec![Cell::none(why), Cell::words("fewer than 20 epochs"), rest]));
            }
        }
    }

    /// Adds how well one class is recognised, and how far its label is to be trusted.
    fn class(&mut self, class: &ClassFigures, intervals: Intervals<'_>) {
        let called = words::called(class.class);
        let in_bouts = |n: u64, bouts: Option<usize>| match bouts {
            Some(bouts) => format!("{n} epochs in {}", words::count(bouts, "bout")),
            None => format!("{n} epochs"),
        };
        let own = intervals.class(class.class);
        let n = in_bouts(class.reference_n, own.and_then(|c| c.bouts));
        let under = format!("of what {} called {called}", self.voices.reference());
        let beside = intervals.of_class(class.class, |c| &c.sensitivity);
        self.add(&format!("Sensitivity to {called}"), &under, Number::share(class.sensitivity), &n, beside);
        let n = in_bouts(class.device_n, own.and_then(|c| c.device_bouts));
        let under = format!("of what {} called {called} (positive predictive value)", self.voices.other());
        let beside = intervals.of_class(class.class, |c| &c.ppv);
        self.add(&format!("Trust in the label {called}"), &under, Number::share(class.ppv), &n, beside);
    }

    /// Adds the two numbers of sleep and wake that only together say something.
    pub(crate) fn sleep_wake(&mut self, a: &Agreement, intervals: Intervals<'_>) {
        for class in &a.per_class {
            let (name, what) = sleep_or_wake(class.class);
            let under = format!("of the epochs {} called {what}", self.voices.reference());
            let n = format!("{} epochs of {what}", class.reference_n);
            let beside = intervals.of_class(class.class, |c| &c.sensitivity);
            self.add(name, &under, Number::share(class.sensitivity), &n, beside);
        }
    }

    /// Returns the table.
    pub(crate) fn table(self) -> Table {
        self.table
    }
}

/// What a class of sleep and wake is called as a statistic, and in a sentence.
fn sleep_or_wake(class: Stage) -> (&'static str, &'static str) {
    match class {
        Stage::W => ("Wake detection (specificity)", "wake"),
        _ => ("Sensitivity to sleep", "sleep"),
    }
}
