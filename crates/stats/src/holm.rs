//! p for several comparisons at once.

use crate::Statistic;

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "holm",
    name: "Holm's adjustment",
    meaning: "Values of p made larger, so that among all comparisons the chance of even one false claim stays at the level.",
    formula: "with p sorted: adjusted p_(i) = the largest of min(1, (m - j + 1) p_(j)) for j up to i",
    range: "0 to 1",
    undefined: "never; of no comparison there is none",
    caution: "The comparisons are all pairs of devices on the one measure that was named beforehand; everything else is exploratory.",
    source: "Holm 1979, Scandinavian Journal of Statistics 6(2), 65-70",
};

/// Returns the adjusted p, in the order given.
///
/// Source: Holm 1979, Scandinavian Journal of Statistics 6(2), 65-70.
///
/// ```
/// # use counterpane_stats::holm;
/// // Sorted: 0.005 * 4, 0.01 * 3, 0.03 * 2, then 0.04 * 1, which may not fall below its neighbour.
/// assert_eq!(holm(&[0.01, 0.04, 0.03, 0.005]), [0.03, 0.06, 0.06, 0.02]);
/// ```
#[must_use]
pub fn holm(p: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|a, b| p[*a].total_cmp(&p[*b]));
    let (mut adjusted, mut largest) = (vec![0.0; p.len()], 0.0_f64);
    for (rank, at) in order.into_iter().enumerate() {
        largest = largest.max(((p.len() - rank) as f64 * p[at]).min(1.0));
        adjusted[at] = largest;
    }
    adjusted
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_comparison_stays_as_it_is_and_none_gives_none() {
        assert_eq!(holm(&[0.04]), [0.04]);
        assert!(holm(&[]).is_empty());
        assert_eq!(holm(&[0.9, 0.8]), [1.0, 1.0]);
    }
}
