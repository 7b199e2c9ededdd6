//! The exact (Clopper-Pearson) interval of a share.

use crate::special::beta_quantile;
use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "exact_interval",
    name: "Exact interval of a share (Clopper-Pearson), 95 %",
    meaning: "The shares under which neither x or more nor x or fewer hits in n independent trials have a probability below 2.5 %.",
    formula: "lower limit: the 2.5 % point of Beta(x, n - x + 1); upper limit: the 97.5 % point of Beta(x + 1, n - x)",
    range: "0 to 1",
    undefined: "n is 0",
    caution: "For independent trials. Epochs of a night are not: an interval over epochs is far too narrow.",
    source: "Clopper and Pearson 1934, Biometrika 26, 404-413 (from memory)",
};

/// Returns the lower and upper limit of the exact 95 % interval for `hits` of `n` independent trials.
///
/// Undefined when `n` is 0. Source: Clopper and Pearson 1934, Biometrika 26, 404-413 (from memory).
///
/// ```
/// # use counterpane_stats::exact_interval;
/// // 0 of 10: the upper limit solves (1 - p)^10 = 0.025, so p = 1 - 0.025^(1/10) = 0.3085.
/// let (low, high) = exact_interval(0, 10).unwrap_or((f64::NAN, f64::NAN));
/// assert!(low == 0.0 && (high - (1.0 - 0.025_f64.powf(0.1))).abs() < 1e-14);
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn exact_interval(hits: u64, n: u64) -> Result<(f64, f64), Undefined> {
    if n == 0 {
        return Err(Undefined::NoPairs);
    }
    let hits = hits.min(n);
    let (x, misses) = (hits as f64, (n - hits) as f64);
    let low = if hits == 0 { 0.0 } else { beta_quantile(0.025, x, misses + 1.0) };
    let high = if hits == n { 1.0 } else { beta_quantile(0.975, x + 1.0, misses) };
    Ok((low, high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{prints, table};
    use crate::{Table, pabak};

    /// The exact interval of PABAK of two classes: 2 po - 1 of both limits.
    fn pabak_limits(table: &Table) -> (crate::Figure, crate::Figure) {
        let limits = exact_interval(table.agreeing(), table.n());
        (limits.map(|(low, _)| 2.0 * low - 1.0), limits.map(|(_, high)| 2.0 * high - 1.0))
    }

    #[test]
    fn published_tables_give_their_printed_exact_interval_of_pabak() {
        // Dohoo, Martin and Stryhn, Veterinary Epidemiologic Research, as worked in the R package epiR.
        let dohoo = table([[19, 10], [6, 256]]);
        let (low, high) = pabak_limits(&dohoo);
        prints(pabak(&dohoo), "0.89");
        prints(low, "0.82");
        prints(high, "0.94");
        // Watson and Petrie 2010, Theriogenology 73:1167, as worked in epiR.
        let (low, high) = pabak_limits(&table([[596, 61], [29, 987]]));
        prints(low, "0.87");
        prints(high, "0.91");
    }

    #[test]
    fn no_trial_has_no_interval() {
        assert_eq!(exact_interval(0, 0), Err(Undefined::NoPairs));
        assert_eq!(exact_interval(10, 10).map(|(_, high)| high), Ok(1.0));
    }
}
