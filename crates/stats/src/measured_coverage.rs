//! How often the intervals of this program hold the truth, as measured in simulated studies.
//!
//! The table is made by the example `coverage` and kept beside the code; docs/coverage.md says how and shows it.

use std::sync::LazyLock;

/// What the example printed: kind, statistic, scenario, n, intervals given, coverage, its standard error, truth.
const TABLE: &str = include_str!("../data/coverage.tsv");

/// One line of the table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeasuredCoverage {
    /// What interval, such as `night` or `participants`.
    pub kind: &'static str,
    /// Of what, such as `kappa` or `sensitivity N3`.
    pub statistic: &'static str,
    /// How the studies were drawn.
    pub scenario: &'static str,
    /// Number of participants; 1 for the interval of one night.
    pub n: u32,
    /// Number of intervals that were given.
    pub given: u32,
    /// Share of them that hold the truth. They were made to hold it in 0.95.
    pub coverage: f64,
    /// Its standard error, from the number of studies drawn.
    pub error: f64,
}

static LINES: LazyLock<Vec<MeasuredCoverage>> = LazyLock::new(|| TABLE.lines().filter_map(line).collect());

/// Returns the whole table, in its order.
#[must_use]
pub fn measured_coverages() -> &'static [MeasuredCoverage] {
    &LINES
}

/// Between what the coverage of a kind of interval was measured to lie.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoverageRange {
    /// The number of participants for which it was measured.
    pub n: u32,
    /// The least coverage over all scenarios.
    pub least: f64,
    /// The largest.
    pub largest: f64,
}

/// Returns the coverage that was measured for a kind of interval over all scenarios, for one statistic or for all of them, at
/// the measured number of participants that is next to `n` (the smaller one when two are); none when it was not measured.
///
/// ```
/// # use counterpane_stats::measured_coverage;
/// let of = measured_coverage("night", Some("kappa"), 1).unwrap();
/// assert!(of.least > 0.85 && of.largest < 1.0);
/// assert_eq!(measured_coverage("night", Some("luck"), 1), None);
/// ```
#[must_use]
pub fn measured_coverage(kind: &str, statistic: Option<&str>, n: u32) -> Option<CoverageRange> {
    let wanted = |m: &&MeasuredCoverage| m.kind == kind && statistic.is_none_or(|s| s == m.statistic);
    let of = || measured_coverages().iter().filter(wanted);
    let next = of().map(|m| m.n).min_by_key(|m| (m.abs_diff(n), *m))?;
    let coverages = || of().filter(|m| m.n == next).map(|m| m.coverage);
    Some(CoverageRange { n: next, least: coverages().reduce(f64::min)?, largest: coverages().reduce(f64::max)? })
}

fn line(line: &'static str) -> Option<MeasuredCoverage> {
    let mut fields = line.split('\t');
    let mut next = || fields.next();
    let (kind, statistic, scenario) = (next()?, next()?, next()?);
    let (n, given) = (next()?.parse().ok()?, next()?.parse().ok()?);
    let (coverage, error) = (next()?.parse().ok()?, next()?.parse().ok()?);
    Some(MeasuredCoverage { kind, statistic, scenario, n, given, coverage, error })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_of_the_table_is_read() {
        // The first line says how the table was made.
        assert_eq!(measured_coverages().len() + 1, TABLE.lines().count());
        for m in measured_coverages() {
            assert!((0.5..=1.0).contains(&m.coverage) && m.error < 0.02 && m.given > 500, "{m:?}");
        }
    }

    #[test]
    fn the_next_size_that_was_measured_speaks_for_the_others() {
        let at = |n| measured_coverage("participants", Some("kappa"), n);
        assert_eq!((at(2), at(6), at(1000)), (at(4), at(4), at(30)));
        assert_eq!((at(6).unwrap().n, at(23).unwrap().n), (4, 30));
        let all = measured_coverage("participants", None, 6).unwrap();
        assert!(all.least <= at(6).unwrap().least && all.largest >= at(6).unwrap().largest);
    }
}
