//! Quantiles of the t, F, chi-square, normal and noncentral t distributions.
//!
//! Each is the inverse of a tail of [`crate::special`], found by halving, so that only the tails need proof. The
//! tests compare them with scipy.

use crate::special::{beta_below, beta_quantile, chi_square_above, erfc};
use std::f64::consts::SQRT_2;

/// Returns the share of the normal distribution below `x`.
pub(crate) fn normal_below(x: f64) -> f64 {
    let tail = erfc(x.abs() / SQRT_2) / 2.0;
    if x < 0.0 { tail } else { 1.0 - tail }
}

/// Returns the point below which the normal distribution has the share `p`, 0 < p < 1.
pub(crate) fn normal_quantile(p: f64) -> f64 {
    // By the smaller tail, whose digits are all there.
    let tail = p.min(1.0 - p);
    let z = halve(0.0, 40.0, |x| erfc(x / SQRT_2) / 2.0 > tail);
    if p < 0.5 { -z } else { z }
}

/// Returns the share of the t distribution beyond `t` on both sides.
pub(crate) fn t_two_sided(t: f64, df: f64) -> f64 {
    if t.is_infinite() { 0.0 } else { beta_below(df / (df + t * t), df / 2.0, 0.5) }
}

/// Returns the point below which the t distribution has the share `p`, 0 < p < 1.
pub(crate) fn t_quantile(p: f64, df: f64) -> f64 {
    let both = 2.0 * p.min(1.0 - p);
    // The share of t^2 that is small keeps its digits: two forms, one for each end.
    let square = if both < 0.5 {
        let x = beta_quantile(both, df / 2.0, 0.5);
        df * (1.0 - x) / x
    } else {
        let y = beta_quantile(1.0 - both, 0.5, df / 2.0);
        df * y / (1.0 - y)
    };
    if p < 0.5 { -square.sqrt() } else { square.sqrt() }
}

/// Returns the point below which the F distribution has the share `p`, 0 < p < 1.
pub(crate) fn f_quantile(p: f64, df1: f64, df2: f64) -> f64 {
    if p < 0.5 {
        let x = beta_quantile(p, df1 / 2.0, df2 / 2.0);
        df2 * x / (df1 * (1.0 - x))
    } else {
        let y = beta_quantile(1.0 - p, df2 / 2.0, df1 / 2.0);
        df2 * (1.0 - y) / (df1 * y)
    }
}

/// Returns the point below which the chi-square distribution has the share `p`, 0 < p < 1; `df` at least 1.
pub(crate) fn chi_square_quantile(p: f64, df: u32) -> f64 {
    let mut high = f64::from(df) + 10.0;
    while chi_square_above(high, df) > 1.0 - p {
        high *= 2.0;
    }
    halve(0.0, high, |x| chi_square_above(x, df) > 1.0 - p)
}

/// Returns the share of the noncentral t distribution below `t`; `df` at least 1, `shift` its noncentrality.
pub(crate) fn noncentral_t_below(t: f64, df: f64, shift: f64) -> f64 {
    Nodes::of(df).below(t, shift)
}

/// Returns the point below which the noncentral t distribution has the share `p`, 0 < p < 1.
pub(crate) fn noncentral_t_quantile(p: f64, df: f64, shift: f64) -> f64 {
    let nodes = Nodes::of(df);
    let above = |t: f64| nodes.below(t, shift) - p;
    let mut reach = 1.0 + shift.abs();
    while (above(reach) < 0.0 || above(-reach) > 0.0) && reach < 1e9 {
        reach *= 2.0;
    }
    root(-reach, reach, above)
}

/// Where the noncentral t distribution is added up: the root `s` of a chi-square divided by its degrees of freedom, and how
/// much it weighs.
///
/// The mean of `Phi(t s - shift)` over s. In u = ln s the integrand is smooth and falls off fast on both sides, where the
/// trapezoid rule is as good as exact.
struct Nodes {
    of: Vec<(f64, f64)>,
    weights: f64,
}

impl Nodes {
    fn of(df: f64) -> Nodes {
        const STEPS: u32 = 400;
        let reach = 40.0 / df;
        // Beyond these the weight is below exp(-40): it falls like exp(df u) far to the left, like a normal one near 0.
        let low = if reach < 0.08 { -2.0 * reach.sqrt() } else { -(reach + 0.5) };
        let high = reach.sqrt();
        let node = |step: u32| {
            let u = low + (high - low) * f64::from(step) / f64::from(STEPS);
            (u.exp(), (df * (u - ((2.0 * u).exp() - 1.0) / 2.0)).exp())
        };
        let of: Vec<(f64, f64)> = (0..=STEPS).map(node).collect();
        let weights = of.iter().map(|(_, weight)| weight).sum();
        Nodes { of, weights }
    }

    fn below(&self, t: f64, shift: f64) -> f64 {
        self.of.iter().map(|(s, weight)| weight * normal_below(t * s - shift)).sum::<f64>() / self.weights
    }
}

/// Returns where a rising function passes 0 between two points, by false position in the form called Illinois (Dowell and
/// Jarratt 1971, BIT 11, 168-174; from memory): a dozen steps where halving takes sixty.
fn root(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (mut at_low, mut at_high) = (f(low), f(high));
    let mut side = 0_i8;
    for _ in 0..200 {
        let middle = (low * at_high - high * at_low) / (at_high - at_low);
        // Far out the function is flat and the line between the ends leads nowhere new.
        let middle = if middle > low && middle < high { middle } else { low.midpoint(high) };
        let at = f(middle);
        if at == 0.0 || high - low <= 4.0 * f64::EPSILON * middle.abs() {
            return middle;
        }
        if at < 0.0 {
            (low, at_low) = (middle, at);
            at_high *= if side < 0 { 0.5 } else { 1.0 };
            side = -1;
        } else {
            (high, at_high) = (middle, at);
            at_low *= if side > 0 { 0.5 } else { 1.0 };
            side = 1;
        }
    }
    low.midpoint(high)
}

/// Halves the interval until its ends meet; `lies_right` says whether the point looked for lies right of a point.
fn halve(mut low: f64, mut high: f64, lies_right: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..200 {
        let middle = (low + high) / 2.0;
        if middle <= low || middle >= high {
            break;
        }
        if lies_right(middle) { low = middle } else { high = middle }
    }
    (low + high) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(value: f64, wanted: f64) {
        assert!((value - wanted).abs() <= 1e-9 * wanted.abs(), "{value} is not {wanted}");
    }

    #[test]
    fn quantiles_are_those_of_scipy() {
        near(t_quantile(0.975, 1.0), 12.706_204_736_174_694);
        near(t_quantile(0.975, 3.0), 3.182_446_305_283_707_8);
        near(t_quantile(0.95, 19.0), 1.729_132_811_521_368_2);
        near(t_quantile(0.55, 5.0), 0.132_175_175_231_687_43);
        near(t_quantile(0.9999, 8.0), 6.441_999_821_020_496);
        near(t_quantile(0.975, 2.5), 3.574_654_842_003_681_7);
        near(t_quantile(0.975, 500.0), 1.964_719_837_467_367_6);
        near(f_quantile(0.975, 5.0, 15.0), 3.576_415_349_279_060_7);
        near(f_quantile(0.025, 5.0, 15.0), 0.155_575_963_078_487_03);
        near(f_quantile(0.975, 5.0, 4.7), 7.652_719_332_484_402);
        near(f_quantile(0.5, 1.0, 1.0), 1.0);
        near(f_quantile(0.975, 80.0, 3.0), 13.969_741_939_509_975);
        near(chi_square_quantile(0.975, 1), 5.023_886_187_314_888);
        near(chi_square_quantile(0.025, 1), 0.000_982_069_117_175_255_5);
        near(chi_square_quantile(0.025, 11), 3.815_748_252_236_099_3);
        near(chi_square_quantile(0.975, 48), 69.022_585_789_666_07);
        near(chi_square_quantile(0.5, 100), 99.334_129_235_988_46);
        near(normal_quantile(0.975), 1.959_963_984_540_054);
        near(normal_quantile(0.6), 0.253_347_103_135_799_7);
        near(normal_quantile(0.001), -3.090_232_306_167_813);
        near(normal_quantile(1e-09), -5.997_807_015_007_686_5);
        near(noncentral_t_quantile(0.025, 2.0, 3.394_757_202_228_515), 1.234_340_891_785_654_9);
        near(noncentral_t_quantile(0.975, 2.0, 3.394_757_202_228_515), 22.198_304_836_433_58);
        near(noncentral_t_quantile(0.025, 4.0, 4.382_612_702_882_908), 2.064_259_380_531_959_6);
        near(noncentral_t_quantile(0.975, 4.0, 4.382_612_702_882_908), 13.360_328_393_642_495);
        near(noncentral_t_quantile(0.025, 9.0, 6.197_950_323_045_616), 3.678_300_929_088_3);
        near(noncentral_t_quantile(0.975, 9.0, 6.197_950_323_045_616), 12.019_508_618_278_582);
        near(noncentral_t_quantile(0.025, 49.0, 13.859_038_243_496_778), 10.965_103_048_650_302);
        near(noncentral_t_quantile(0.975, 49.0, 13.859_038_243_496_778), 17.928_483_713_606_63);
        near(noncentral_t_quantile(0.025, 199.0, 27.718_076_486_993_557), 24.619_432_813_957_836);
        near(noncentral_t_quantile(0.975, 199.0, 27.718_076_486_993_557), 31.382_298_411_816_947);
    }

    #[test]
    fn a_root_is_found_in_few_steps() {
        let steps = std::cell::Cell::new(0);
        let found = root(-100.0, 1000.0, |x| {
            steps.set(steps.get() + 1);
            (x - 3.0).tanh()
        });
        near(found, 3.0);
        assert!(steps.get() < 60, "{} steps", steps.get());
    }

    #[test]
    fn a_noncentral_t_without_shift_is_a_t() {
        near(noncentral_t_quantile(0.9, 7.0, 0.0), t_quantile(0.9, 7.0));
        near(t_two_sided(t_quantile(0.975, 11.0), 11.0), 0.05);
        assert!(t_quantile(0.5, 4.0).abs() < 1e-12);
        near(t_quantile(0.025, 4.0), -t_quantile(0.975, 4.0));
    }
}
