//! How likely the totals of a screen are, given rows.

use crate::claims::{gradient, rows, variance};
use counterpane_model::Claim;
use counterpane_model::grid::Stretch;

/// Returns the logarithm of the likelihood of the claims, but for a constant: a normal density of what each differs from the rows
/// by, together with the others, because one change that was read too late makes one total longer and another shorter.
///
/// What the reading moves has the variance of `claims::variance` for each change; what rounding moves is uniform over
/// one step.
pub(super) fn likelihood(claims: &[&Claim], stretches: &[Stretch], precision_ms: i64) -> f64 {
    let mut apart = Vec::new();
    let mut slopes = Vec::new();
    let mut own = Vec::new();
    for claim in claims {
        let Some(rows) = rows(stretches, claim.quantity) else { continue };
        let unit = if claim.quantity.unit() == "ms" { 60_000.0 } else { 1.0 };
        apart.push((claim.value - rows) / unit);
        slopes.push(gradient(claim.quantity, stretches));
        // A claim that is not rounded is known no better than to a few seconds.
        own.push((claim.rounding / unit).powi(2).max(0.01) / 12.0);
    }
    let read = variance(stretches, precision_ms) / 3.6e9;
    let n = apart.len();
    let dot = |i: usize, j: usize| slopes[i].iter().zip(&slopes[j]).map(|(a, b)| a * b).sum::<f64>();
    let spread = |i: usize, j: usize| read * dot(i, j) + if i == j { own[i] } else { 0.0 };
    // Cholesky: the quadratic form and the determinant come out of one pass.
    let mut lower = vec![vec![0.0; n]; n];
    let mut solved = vec![0.0; n];
    let mut out = 0.0;
    for i in 0..n {
        for j in 0..=i {
            let sum: f64 = (0..j).map(|k| lower[i][k] * lower[j][k]).sum();
            let rest = spread(i, j) - sum;
            lower[i][j] = if i == j { rest.max(1e-12).sqrt() } else { rest / lower[j][j] };
        }
        let known: f64 = (0..i).map(|k| lower[i][k] * solved[k]).sum();
        solved[i] = (apart[i] - known) / lower[i][i];
        out -= solved[i].powi(2) / 2.0 + lower[i][i].ln();
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{claim, spans};
    use counterpane_model::grid::flatten;
    use counterpane_model::{Quantity, Stage};

    #[test]
    fn one_total_has_the_normal_density_of_its_difference() {
        let stretches = flatten(&spans("22:00-22:20W 22:20-23:00Light 23:00-23:30N3"));
        let claim = Claim { rounding: 1.0, ..claim(Quantity::Minutes(Stage::Light), 42.0) };
        // Two changes of 1 x 2 / 3 each, and 1 / 12 of rounding; 2 minutes apart.
        let variance: f64 = 2.0 * 2.0 / 3.0 + 1.0 / 12.0;
        let by_hand = -4.0 / (2.0 * variance) - variance.ln() / 2.0;
        assert!((likelihood(&[&claim], &stretches, 60_000) - by_hand).abs() < 1e-12);
    }

    #[test]
    fn a_change_that_was_read_late_is_one_error_and_not_two() {
        let stretches = flatten(&spans("22:00-22:20W 22:20-23:00Light 23:00-23:30N3"));
        let said = |light, deep| {
            let claims = [(Stage::Light, light), (Stage::N3, deep)]
                .map(|(s, v)| Claim { rounding: 1.0, ..claim(Quantity::Minutes(s), v) });
            likelihood(&[&claims[0], &claims[1]], &stretches, 300_000)
        };
        assert!(said(43.0, 27.0) > said(43.0, 33.0), "minutes that one loses the other has");
    }
}
