//! The straight line of least squares, with the test of its slope.

use crate::Undefined;
use crate::quantiles::{t_quantile, t_two_sided};

/// A straight line through points.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Number of points.
    pub n: usize,
    /// Its height at 0.
    pub intercept: f64,
    /// Its rise for one unit.
    pub slope: f64,
    /// 95 % interval of the slope, n - 2 degrees of freedom.
    pub slope_interval: (f64, f64),
    /// p of the slope against 0, two-sided.
    pub slope_p: f64,
    /// Standard deviation of the points about the line, divisor n - 2.
    pub residual_sd: f64,
    /// Each point's height minus the line's, in the order of the points.
    pub residuals: Vec<f64>,
}

impl Line {
    /// Returns the height at a place.
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        self.intercept + self.slope * x
    }
}

/// Returns the line of least squares of `y` on `x`.
pub(crate) fn line(x: &[f64], y: &[f64]) -> Result<Line, Undefined> {
    let n = x.len().min(y.len());
    if n < 3 {
        return Err(if n == 0 { Undefined::NoPairs } else { Undefined::NTooSmall });
    }
    let mean = |values: &[f64]| values.iter().sum::<f64>() / n as f64;
    let (mean_x, mean_y) = (mean(x), mean(y));
    let square: f64 = x.iter().map(|v| (v - mean_x).powi(2)).sum();
    if square == 0.0 {
        return Err(Undefined::ZeroVariance);
    }
    let slope = x.iter().zip(y).map(|(a, b)| (a - mean_x) * (b - mean_y)).sum::<f64>() / square;
    let intercept = mean_y - slope * mean_x;
    let residuals: Vec<f64> = x.iter().zip(y).map(|(a, b)| b - intercept - slope * a).collect();
    let df = n as f64 - 2.0;
    let residual_sd = (residuals.iter().map(|r| r * r).sum::<f64>() / df).sqrt();
    let error = residual_sd / square.sqrt();
    let half = t_quantile(0.975, df) * error;
    // Points on a line leave no doubt of its slope.
    let slope_p = if error > 0.0 { t_two_sided(slope / error, df) } else { f64::from(u8::from(slope == 0.0)) };
    Ok(Line { n, intercept, slope, slope_interval: (slope - half, slope + half), slope_p, residual_sd, residuals })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_points_by_hand() {
        // Means 1 and 1; slope (1 * 0 + 1 * 1) ... = 1/2: heights 0.5, 1, 1.5 against 1, 0, 2.
        let of = line(&[0.0, 1.0, 2.0], &[1.0, 0.0, 2.0]).unwrap();
        assert_eq!((of.intercept, of.slope, of.residuals.as_slice()), (0.5, 0.5, &[0.5, -1.0, 0.5][..]));
        assert!((of.residual_sd - 1.5_f64.sqrt()).abs() < 1e-15);
    }

    #[test]
    fn points_on_a_line_and_points_above_each_other() {
        let of = line(&[0.0, 1.0, 2.0], &[1.0, 2.0, 3.0]).unwrap();
        assert_eq!((of.slope_p, of.slope_interval), (0.0, (1.0, 1.0)));
        assert_eq!(line(&[1.0, 1.0, 1.0], &[1.0, 2.0, 3.0]), Err(Undefined::ZeroVariance));
        assert_eq!(line(&[1.0, 2.0], &[1.0, 2.0]), Err(Undefined::NTooSmall));
    }
}
