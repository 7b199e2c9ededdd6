//! A few samples of a fault that may occur very often, and the true count.

use counterpane_model::Finding;

/// How many findings of one code are kept for one recording.
pub(crate) const SAMPLE: usize = 5;

/// Adds a finding for each of the first few cases; the last one kept also counts those left out and
/// says so, so that the sum of the counts is the number of cases.
pub(crate) fn keep<T>(cases: &[T], found: &mut Vec<Finding>, finding: impl Fn(&T) -> Finding) {
    let shown = &cases[..cases.len().min(SAMPLE)];
    found.extend(shown.iter().map(finding));
    let left_out = (cases.len() - shown.len()) as u64;
    if left_out > 0
        && let Some(last) = found.last_mut()
    {
        last.count += left_out;
        last.message += &format!(" (and {left_out} more like it)");
    }
}
