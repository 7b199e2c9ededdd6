//! Straight-line scales.

/// Maps numbers to coordinates along a straight line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Linear {
    domain: (f64, f64),
    range: (f64, f64),
}

impl Linear {
    /// Returns the scale that maps `domain.0` to `range.0` and `domain.1` to `range.1`. A domain of
    /// no length is widened by 1, so that every number has a place.
    #[must_use]
    pub fn new(domain: (f64, f64), range: (f64, f64)) -> Linear {
        let domain = if domain.1 > domain.0 { domain } else { (domain.0, domain.0 + 1.0) };
        Linear { domain, range }
    }

    /// Returns the coordinate of a number; outside the domain it goes on along the line.
    #[must_use]
    pub fn at(&self, value: f64) -> f64 {
        let share = (value - self.domain.0) / (self.domain.1 - self.domain.0);
        self.range.0 + share * (self.range.1 - self.range.0)
    }

    /// Returns about `n` round numbers inside the domain: steps of 1, 2 or 5 times a power of ten.
    #[must_use]
    pub fn ticks(&self, n: usize) -> Vec<f64> {
        let step = round_step((self.domain.1 - self.domain.0) / n.max(1) as f64);
        let first = (self.domain.0 / step).ceil();
        let last = (self.domain.1 / step).floor();
        (0..=((last - first).max(0.0) as u32).min(1000)).map(|i| (first + f64::from(i)) * step).collect()
    }

    /// Returns the domain widened to whole steps of about `n` round numbers.
    #[must_use]
    pub fn round_out(domain: (f64, f64), n: usize) -> (f64, f64) {
        let step = round_step((domain.1 - domain.0).max(f64::MIN_POSITIVE) / n.max(1) as f64);
        ((domain.0 / step).floor() * step, (domain.1 / step).ceil() * step)
    }
}

fn round_step(rough: f64) -> f64 {
    let power = 10_f64.powf(rough.log10().floor());
    let lead = rough / power;
    // The small allowance keeps 2.0000000001 from becoming a step of 5.
    let lead = [1.0, 2.0, 5.0].into_iter().find(|l| lead <= l + 1e-9).unwrap_or(10.0);
    lead * power
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_has_its_place_on_the_line() {
        let scale = Linear::new((0.0, 10.0), (100.0, 200.0));
        assert_eq!([scale.at(0.0), scale.at(2.5), scale.at(12.0)], [100.0, 125.0, 220.0]);
    }

    #[test]
    fn ticks_are_round() {
        let check = |domain, n, said: &[f64]| assert_eq!(Linear::new(domain, (0.0, 1.0)).ticks(n), said);
        check((0.0, 100.0), 5, &[0.0, 20.0, 40.0, 60.0, 80.0, 100.0]);
        check((-35.0, 52.0), 4, &[0.0, 50.0]);
        check((0.0, 0.0), 2, &[0.0, 0.5, 1.0]);
    }

    #[test]
    fn a_domain_is_widened_to_whole_steps() {
        assert_eq!(Linear::round_out((-35.0, 52.0), 4), (-50.0, 100.0));
    }
}
