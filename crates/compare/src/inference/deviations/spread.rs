//! Limits of agreement, slopes and coefficients of one measure, each by the form that its nights allow.

use super::{Nights, NotSaid, WANT_FOR_COEFFICIENTS, WANT_FOR_LIMITS};
use crate::inference::Limits;
use counterpane_stats::{
    Line, Spread, Undefined, ccc, differences, icc, limits_of_agreement, log_limits, mover_limits, proportional_bias,
    regression_limits, repeated_limits, spread_growth,
};

/// By which method the intervals of limits were made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LimitsBy {
    /// Exact for normal differences: the noncentral t distribution.
    Exact,
    /// From the parts of the variance between and within people.
    Mover,
}

impl LimitsBy {
    /// Returns the word that JSON uses.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            LimitsBy::Exact => "exact",
            LimitsBy::Mover => "mover",
        }
    }
}

/// One limit with its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// The limit.
    pub value: f64,
    /// Its 95 % interval.
    pub interval: Limits,
}

/// The two limits of agreement of single nights.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NightLimits {
    /// What they lie about: the mean of the differences, each night weighing the same; of ratios the geometric mean.
    pub centre: f64,
    /// Standard deviation of a single night's difference; of ratios that of their logarithms.
    pub sd: f64,
    /// The lower limit.
    pub lower: Limit,
    /// The upper limit.
    pub upper: Limit,
    /// How the intervals were made.
    pub by: LimitsBy,
}

/// A slope on the mean of both sides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slope {
    /// Its value, for one unit more.
    pub slope: f64,
    /// Height of the line at 0.
    pub intercept: f64,
    /// 95 % interval of the slope.
    pub interval: Limits,
    /// Two-sided p of the slope; of the spread that of Koenker's test.
    pub p: f64,
}

impl Slope {
    /// Says whether the slope is told from 0 at 5 %. That it is not told says little where there are few people.
    #[must_use]
    pub fn is_told(&self) -> bool {
        self.p < 0.05
    }

    /// Says whether the spread grows.
    #[must_use]
    pub fn grows(&self) -> bool {
        self.is_told() && self.slope > 0.0
    }

    fn of(line: &Line, p: f64) -> Slope {
        Slope { slope: line.slope, intercept: line.intercept, interval: line.slope_interval.into(), p }
    }
}

/// The limits at one size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtSize {
    /// The mean of both sides at which they hold.
    pub size: f64,
    /// The bias there.
    pub bias: f64,
    /// The two limits there.
    pub limits: Limits,
}

/// A coefficient with its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coefficient {
    /// Its value.
    pub value: f64,
    /// Its interval.
    pub interval: Result<Limits, NotSaid>,
}

/// Returns the limits of agreement of differences, one list of `[reference, device]` for each person.
pub(super) fn limits(people: &[Vec<[f64; 2]>], whose: Nights) -> Result<NightLimits, NotSaid> {
    let units = if whose == Nights::OnePerson { people.concat().len() } else { people.len() };
    NotSaid::wants(units, WANT_FOR_LIMITS, whose)?;
    match whose {
        Nights::OneEach | Nights::OnePerson => Ok(exact(&limits_of_agreement(&differences(&people.concat()))?)),
        Nights::SeveralEach => {
            let by_person: Vec<Vec<f64>> = people.iter().map(|nights| differences(nights)).collect();
            Ok(repeated(&by_person, |value| value)?)
        }
    }
}

/// Returns the limits of the ratios; `None` where a value is not above 0, or there are too few people.
pub(super) fn ratio_limits(people: &[Vec<[f64; 2]>], whose: Nights) -> Option<NightLimits> {
    let all = people.concat();
    if all.iter().flatten().any(|value| *value <= 0.0) || people.len() < WANT_FOR_LIMITS {
        return None;
    }
    if whose == Nights::OneEach {
        return log_limits(&all).ok().map(|of| exact(&of));
    }
    let log = |[reference, device]: &[f64; 2]| device.ln() - reference.ln();
    let logs: Vec<Vec<f64>> = people.iter().map(|nights| nights.iter().map(log).collect()).collect();
    repeated(&logs, f64::exp).ok()
}

fn exact(of: &counterpane_stats::Limits) -> NightLimits {
    let limit = |l: counterpane_stats::Limit| Limit { value: l.value, interval: l.exact.into() };
    NightLimits { centre: of.bias, sd: of.sd, lower: limit(of.lower), upper: limit(of.upper), by: LimitsBy::Exact }
}

/// Limits by Bland and Altman 2007, intervals by Zou 2013; `back` undoes a logarithm.
fn repeated(people: &[Vec<f64>], back: fn(f64) -> f64) -> Result<NightLimits, Undefined> {
    let (of, within) = (repeated_limits(people)?, mover_limits(people)?);
    let limit = |value: f64, (low, high): (f64, f64)| Limit {
        value: back(value),
        interval: Limits { low: back(low), high: back(high) },
    };
    Ok(NightLimits {
        centre: back(of.bias),
        sd: of.sd,
        lower: limit(of.limits.0, within.lower_interval),
        upper: limit(of.limits.1, within.upper_interval),
        by: LimitsBy::Mover,
    })
}

/// Returns how the difference, and how its spread, changes with the size.
pub(super) fn slopes(units: &[[f64; 2]], whose: Nights) -> (Result<Slope, NotSaid>, Result<Slope, NotSaid>) {
    if let Err(why) = NotSaid::wants(units.len(), WANT_FOR_LIMITS, whose) {
        return (Err(why), Err(why));
    }
    let difference = proportional_bias(units).map(|line| Slope::of(&line, line.slope_p));
    let spread = spread_growth(units).map(|growth| Slope::of(&growth.line, growth.p));
    (difference.map_err(NotSaid::from), spread.map_err(NotSaid::from))
}

/// Returns CCC and ICC(2,1). Both rise with how much people differ, so they are of people and never of one.
pub(super) fn coefficients(
    units: &[[f64; 2]],
    whose: Nights,
) -> (Result<Coefficient, NotSaid>, Result<Coefficient, NotSaid>) {
    if whose == Nights::OnePerson {
        return (Err(NotSaid::OnePerson), Err(NotSaid::OnePerson));
    }
    if let Err(why) = NotSaid::wants(units.len(), WANT_FOR_COEFFICIENTS, whose) {
        return (Err(why), Err(why));
    }
    let coefficient = |value, interval: Result<(f64, f64), _>| Coefficient {
        value,
        interval: interval.map(Limits::from).map_err(NotSaid::Undefined),
    };
    let concordance = ccc(units).map(|of| coefficient(of.value, of.interval));
    let absolute = icc(units).and_then(|of| of.absolute).map(|form| coefficient(form.value, form.interval));
    (concordance.map_err(NotSaid::from), absolute.map_err(NotSaid::from))
}

/// Returns the limits at the least, the middle and the largest size; a size at which they cannot be estimated is left out.
pub(super) fn sizes(units: &[[f64; 2]], grows: bool) -> Vec<AtSize> {
    let mut seen: Vec<f64> = units.iter().map(|[reference, device]| f64::midpoint(*reference, *device)).collect();
    seen.sort_by(f64::total_cmp);
    let places = [seen.first(), seen.get(seen.len() / 2), seen.last()];
    let form = if grows { Spread::Growing } else { Spread::Constant };
    let at = |size: f64| {
        let of = regression_limits(units, size, form).ok()?;
        Some(AtSize { size, bias: of.bias, limits: Limits { low: of.lower, high: of.upper } })
    };
    places.into_iter().flatten().filter_map(|size| at(*size)).collect()
}
