//! Claims: what the source says of itself.

use super::{LengthRead, Origin, Step, TimeValue, Word};
use schemars::JsonSchema;

/// A claim. Totals have a unit; `start` and `end` are times.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(untagged)]
pub(crate) enum ClaimValue {
    /// A total.
    Total(Total),
    /// The first or the last time of the night.
    Time(TimeClaim),
}

/// A total that the source gives.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub(crate) struct Total {
    #[schemars(flatten)]
    pub(crate) origin: Origin,
    /// The unit of the value, or where the source names it; its words stand in `[units]`.
    pub(crate) unit: UnitRule,
    /// The step to which the source rounds, such as `1 min`, `1 %` or `1`; `none` when it does not.
    pub(crate) rounding: Rounding,
    /// The source's name of the total, where the block says in `name` where a row names its own.
    pub(crate) named: Option<String>,
}

/// The first or the last time of the night that the source gives.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub(crate) struct TimeClaim {
    #[schemars(flatten)]
    pub(crate) time: TimeValue,
    /// The step to which the source rounds, such as `1 min`; `none` when it does not.
    pub(crate) rounding: Rounding,
    /// The source's name of the time, where the block says in `name` where a row names its own.
    pub(crate) named: Option<String>,
}

impl ClaimValue {
    /// Returns the source's name of it.
    pub(crate) fn named(&self) -> Option<&str> {
        match self {
            ClaimValue::Total(total) => total.named.as_deref(),
            ClaimValue::Time(time) => time.named.as_deref(),
        }
    }
}

/// A unit, or where the source names it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum UnitRule {
    /// It is always this one.
    Is(Unit),
    /// The source names it.
    Of(Origin),
}

impl JsonSchema for UnitRule {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "UnitRule".into()
    }

    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let word = generator.subschema_for::<Unit>();
        schemars::json_schema!({
            "description": "The unit of a total, or where the source names it.",
            "anyOf": [word, super::origin::alone(generator)],
        })
    }
}

/// The unit of a total: every way to read a length of time, and three that are no time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Unit {
    /// A length of time.
    Time(LengthRead),
    /// Per cent, 0 to 100.
    PerCent,
    /// A share, 0 to 1.
    Share,
    /// A number of things.
    Count,
}

/// The units that are no time.
const OTHERS: [(&str, Unit); 3] = [("%", Unit::PerCent), ("share", Unit::Share), ("count", Unit::Count)];

impl Word for Unit {
    const WHAT: &'static str = "a unit";
    const WORDS: &'static [(&'static str, Unit)] = &{
        let times = LengthRead::WORDS;
        let mut all = [OTHERS[0]; LengthRead::WORDS.len() + OTHERS.len()];
        let mut n = 0;
        while n < all.len() {
            all[n] = if n < times.len() { (times[n].0, Unit::Time(times[n].1)) } else { OTHERS[n - times.len()] };
            n += 1;
        }
        all
    };
}

impl JsonSchema for Unit {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Unit".into()
    }

    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let time = generator.subschema_for::<LengthRead>();
        schemars::json_schema!({
            "description": "The unit of a total: a way to read a length of time, per cent (0 to 100), a share (0 to 1), or a count.",
            "anyOf": [time, { "enum": OTHERS.map(|(word, _)| word) }],
        })
    }
}

impl Unit {
    /// Returns the unit of the model that this one is turned into: `min`, `%` or `count`.
    pub(crate) fn becomes(self) -> &'static str {
        match self {
            Unit::PerCent | Unit::Share => "%",
            Unit::Count => "count",
            Unit::Time(_) => "min",
        }
    }
}

/// The step to which a claim is rounded, with its unit: `1 min`, `1 %`, `1`, `none`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Rounding {
    /// It is not rounded.
    None,
    /// To a length of time.
    Time(Step),
    /// To per cent.
    PerCent(f64),
    /// To a count.
    Count(f64),
}

impl Rounding {
    /// Reads `1 min`, `0.1 %`, `1` or `none`; `None` for anything else.
    pub(crate) fn parse(text: &str) -> Option<Rounding> {
        let number = |t: &str| t.parse::<f64>().ok().filter(|x| x.is_finite() && *x > 0.0);
        match text.strip_suffix(" %") {
            _ if text == "none" => Some(Rounding::None),
            Some(percent) => number(percent).map(Rounding::PerCent),
            None => Step::parse(text).map(Rounding::Time).or_else(|| number(text).map(Rounding::Count)),
        }
    }

    /// Returns the step in a unit of the model: `min`, `%`, `count` or `ms`; `None` when it is a step of
    /// something else.
    pub(crate) fn in_unit(self, unit: &str) -> Option<f64> {
        #[expect(clippy::cast_precision_loss, reason = "a rounding step has far fewer than 2^52 milliseconds")]
        match (self, unit) {
            (Rounding::None, _) => Some(0.0),
            (Rounding::Time(step), "min") => Some(step.0 as f64 / 60_000.0),
            (Rounding::Time(step), "ms") => Some(step.0 as f64),
            (Rounding::PerCent(step), "%") | (Rounding::Count(step), "count") => Some(step),
            _ => None,
        }
    }
}

impl JsonSchema for Rounding {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Rounding".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({
            "description": "The step to which a claim is rounded, with its unit.",
            "type": "string",
            "pattern": "^(none|[0-9.]+( (ms|s|min|h|%))?)$",
            "examples": ["1 min", "1 %", "1", "none"],
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounding_carries_its_unit() {
        let check = |text: &str, unit| Rounding::parse(text).and_then(|r| r.in_unit(unit));
        assert_eq!(check("1 min", "min"), Some(1.0));
        assert_eq!(check("30 s", "min"), Some(0.5));
        assert_eq!(check("1 min", "ms"), Some(60_000.0));
        assert_eq!(check("0.1 %", "%"), Some(0.1));
        assert_eq!(check("1", "count"), Some(1.0));
        assert_eq!(check("none", "count"), Some(0.0));
        assert_eq!(check("1 min", "%"), None);
        assert_eq!(check("about", "min"), None);
    }
}
