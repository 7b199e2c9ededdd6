//! The tails of the normal, chi-square and beta distributions, as far as the statistics need them.
//!
//! Written out because three short functions are easier to check than a dependency. The tests compare
//! them with scipy.

use std::f64::consts::PI;

/// The quantile of the normal distribution that leaves 2.5 % on either side.
pub(crate) const Z95: f64 = 1.959_963_984_540_054;

/// Returns the complementary error function; `x` not negative. Relative error below 1e-12.
pub(crate) fn erfc(x: f64) -> f64 {
    if x < 2.0 {
        // erf(x) = 2/sqrt(pi) exp(-x^2) times the sum of 2^n x^(2n+1) / (2n+1)!!.
        let (mut term, mut sum, mut n) = (x, x, 1.0);
        while term > sum * 1e-17 {
            term *= 2.0 * x * x / (2.0 * n + 1.0);
            sum += term;
            n += 1.0;
        }
        return 1.0 - 2.0 / PI.sqrt() * (-x * x).exp() * sum;
    }
    // Continued fraction x + (1/2)/(x + (2/2)/(x + (3/2)/(x + ...))), from the far end.
    let fraction = (1..=120).rev().fold(x, |tail, k| x + f64::from(k) / 2.0 / tail);
    (-x * x).exp() / (fraction * PI.sqrt())
}

/// Returns the share of the chi-square distribution with `df` degrees of freedom above `x`.
pub(crate) fn chi_square_above(x: f64, df: u32) -> f64 {
    // Closed forms: a finite sum for even df, the same with half-integer steps and erfc for odd df.
    let half = x / 2.0;
    let (mut share, mut term, first) = if df.is_multiple_of(2) {
        ((-half).exp(), (-half).exp(), 1.0)
    } else {
        (erfc(half.sqrt()), 2.0 * (half / PI).sqrt() * (-half).exp(), 1.5)
    };
    if df.is_multiple_of(2) {
        for k in 1..df / 2 {
            term *= half / f64::from(k);
            share += term;
        }
        return share;
    }
    for k in 0..(df - 1) / 2 {
        share += term;
        term *= half / (first + f64::from(k));
    }
    share
}

/// Returns the point below which the beta distribution with shapes `a` and `b` has the share `p`.
pub(crate) fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    for _ in 0..200 {
        let middle = (low + high) / 2.0;
        if beta_below(middle, a, b) < p {
            low = middle
        } else {
            high = middle
        }
        if high - low <= high * 1e-16 {
            break;
        }
    }
    (low + high) / 2.0
}

/// Returns the regularised incomplete beta function, by its continued fraction (Lentz's method).
pub(crate) fn beta_below(x: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 || x >= 1.0 {
        return f64::from(u8::from(x >= 1.0));
    }
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - beta_below(1.0 - x, b, a);
    }
    let front = (ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + a * x.ln() + b * (-x).ln_1p()).exp() / a;
    let guard = |value: f64| if value.abs() < 1e-300 { 1e-300 } else { value };
    let mut d = 1.0 / guard(1.0 - (a + b) * x / (a + 1.0));
    let (mut c, mut fraction) = (1.0, d);
    for m in (1..10_000).map(f64::from) {
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let before = fraction;
        for step in [even, odd] {
            d = 1.0 / guard(1.0 + step * d);
            c = guard(1.0 + step / c);
            fraction *= c * d;
        }
        if (fraction - before).abs() <= fraction.abs() * 1e-16 {
            break;
        }
    }
    front * fraction
}

/// Returns the logarithm of the gamma function for `x` of at least 1, by Stirling's series.
fn ln_gamma(mut x: f64) -> f64 {
    let mut shift = 0.0;
    while x < 15.0 {
        shift -= x.ln();
        x += 1.0;
    }
    let series = [1.0 / 12.0, -1.0 / 360.0, 1.0 / 1260.0, -1.0 / 1680.0, 1.0 / 1188.0, -691.0 / 360_360.0];
    let correction = series.iter().rev().fold(0.0, |sum, c| sum / (x * x) + c) / x;
    shift + (x - 0.5) * x.ln() - x + (2.0 * PI).ln() / 2.0 + correction
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(value: f64, wanted: f64, relative: f64) {
        assert!((value - wanted).abs() <= relative * wanted.abs(), "{value} is not {wanted}");
    }

    #[test]
    fn tails_are_those_of_scipy() {
        // scipy.special.erfc
        near(erfc(0.5), 0.479_500_122_186_953_5, 1e-13);
        near(erfc(1.999), 0.004_698_443_348_629_486_5, 1e-12);
        near(erfc(3.0), 2.209_049_699_858_544e-5, 1e-13);
        near(erfc(20.0), 5.395_865_611_607_901e-176, 1e-12);
        // scipy.stats.chi2.sf
        near(chi_square_above(23.0, 1), 1.620_013_982_466_468e-6, 1e-12);
        near(chi_square_above(9.0, 3), 0.029_290_886_534_888_26, 1e-12);
        near(chi_square_above(4.0, 6), 0.676_676_416_183_063_4, 1e-13);
        near(chi_square_above(31.0, 10), 0.000_586_725_482_216_744_4, 1e-12);
    }

    #[test]
    fn the_gamma_function_of_whole_numbers_is_a_factorial() {
        near(ln_gamma(5.0), 24_f64.ln(), 1e-14);
        near(ln_gamma(21.0), 2_432_902_008_176_640_000_f64.ln(), 1e-14);
    }

    #[test]
    fn nothing_lies_above_infinity_and_everything_above_zero() {
        assert_eq!(chi_square_above(0.0, 6), 1.0);
        assert_eq!(chi_square_above(0.0, 1), 1.0);
        assert_eq!(chi_square_above(5000.0, 10), 0.0);
    }
}
