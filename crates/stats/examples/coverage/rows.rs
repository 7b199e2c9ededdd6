//! One line of the table, and the two threads that fill it.

/// How often the intervals of one kind held the truth.
pub(crate) struct Row {
    kind: &'static str,
    statistic: String,
    scenario: String,
    n: u32,
    /// Number of intervals that were given.
    given: usize,
    /// Share of them that hold the truth.
    coverage: f64,
    /// What they should hold.
    truth: f64,
}

impl Row {
    pub(crate) fn new(kind: &'static str, statistic: &str, scenario: &str, n: u32, holds: &[bool], truth: f64) -> Row {
        let held = holds.iter().filter(|h| **h).count();
        let coverage = held as f64 / holds.len().max(1) as f64;
        Row { kind, statistic: statistic.into(), scenario: scenario.into(), n, given: holds.len(), coverage, truth }
    }

    /// Returns the line of the table, with the standard error that the share has from the number of studies.
    pub(crate) fn line(&self) -> String {
        let Row { kind, statistic, scenario, n, given, coverage, truth } = self;
        let error = (coverage * (1.0 - coverage) / (*given).max(1) as f64).sqrt();
        format!("{kind}\t{statistic}\t{scenario}\t{n}\t{given}\t{coverage:.4}\t{error:.4}\t{truth:.4}")
    }
}

/// Runs `one` for each number below `many`, in order, on two threads.
pub(crate) fn on_two_threads<T: Send>(many: u32, one: impl Fn(u32) -> T + Sync) -> Vec<T> {
    let numbers: Vec<u32> = (0..many).collect();
    counterpane_stats::on_threads(&numbers, 2, |number| one(*number))
}
