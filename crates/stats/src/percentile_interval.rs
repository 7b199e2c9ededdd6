//! The interval that holds the middle of the resamples.

use crate::{Figure, Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "percentile_interval",
    name: "Percentile interval, 95 %",
    meaning: "The values between which the middle 95 of 100 resamples lie.",
    formula: "quantiles 2.5 % and 97.5 % of the replicates, by linear interpolation at 1 + (B - 1) p (type 7)",
    range: "those of the statistic",
    undefined: "there is no replicate",
    caution: "Too narrow for few independent units: below 20 participants use the t interval of their means. At least 2,000 replicates.",
    source: "Efron 1979, Annals of Statistics 7(1), 1-26; type 7: Hyndman and Fan 1996, The American Statistician 50(4), 361-365",
};

/// Returns the 2.5 % and the 97.5 % quantile of replicates, in any order.
///
/// Source: Efron 1979, Annals of Statistics 7(1), 1-26; Hyndman and Fan 1996, The American Statistician 50(4), 361-365.
///
/// ```
/// # use counterpane_stats::percentile_interval;
/// // Of 0, 1 ... 40: position 0.025 * 40 = 1 and 39.
/// let values: Vec<f64> = (0..41).map(f64::from).collect();
/// assert_eq!(percentile_interval(&values), Ok((1.0, 39.0)));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn percentile_interval(replicates: &[f64]) -> Result<(f64, f64), Undefined> {
    let sorted = sorted(replicates);
    Ok((quantile(&sorted, 0.025)?, quantile(&sorted, 0.975)?))
}

pub(crate) fn sorted(values: &[f64]) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted
}

/// Returns a quantile of sorted values, type 7.
pub(crate) fn quantile(sorted: &[f64], p: f64) -> Figure {
    let last = sorted.len().checked_sub(1).ok_or(Undefined::NoPairs)?;
    let place = p.clamp(0.0, 1.0) * last as f64;
    let below = place.floor() as usize;
    let above = (below + 1).min(last);
    Ok(sorted[below] + (place - below as f64) * (sorted[above] - sorted[below]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_27_resamples_of_three_numbers_by_hand() {
        let values = [1.0, 2.0, 4.0];
        let mean = |i: usize| (values[i / 9] + values[i / 3 % 3] + values[i % 3]) / 3.0;
        let (low, high) = percentile_interval(&(0..27).map(mean).collect::<Vec<f64>>()).unwrap();
        // Sorted: 1, 4/3 ... 10/3, 10/3, 10/3, 4. Position 0.65 is 1 + 0.65 / 3, position 25.35 is 10/3 + 0.35 * 2/3.
        assert!((low - 1.216_666_666_666_666_6).abs() < 1e-12 && (high - 3.566_666_666_666_666_5).abs() < 1e-12);
    }

    #[test]
    fn nothing_has_no_quantile_and_one_value_is_all_of_them() {
        assert_eq!(percentile_interval(&[]), Err(Undefined::NoPairs));
        assert_eq!(percentile_interval(&[3.0]), Ok((3.0, 3.0)));
    }
}
