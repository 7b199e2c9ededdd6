//! How times and lengths are read.

use super::{Origin, Word};
use schemars::JsonSchema;

/// A time of the row.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub(crate) struct TimeValue {
    #[schemars(flatten)]
    pub(crate) origin: Origin,
    /// How the text is read; several ways are tried in this order. Not for `bound` and `file`, whose
    /// form is known.
    #[schemars(default, schema_with = "read_schema")]
    pub(crate) read: Vec<TimeRead>,
    /// Whether an offset that stands in the text is true. Must be said wherever the text has one.
    pub(crate) offset: Option<OffsetRule>,
    /// The zone of a wall time without an offset. There is no default.
    pub(crate) zone: Option<ZoneRule>,
    /// What is done with a wall time that happened twice; left out, it is an error.
    pub(crate) fold: Option<FoldRule>,
    /// The anchor from which `offset s`, `before s` and their like count.
    pub(crate) from: Option<Box<TimeValue>>,
    /// Where the source names the unit of `offset` and `before`; its words stand in `[units]`.
    #[schemars(default, schema_with = "super::origin::alone")]
    pub(crate) unit: Option<Origin>,
}

fn read_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
    let one = serde_json::json!({
        "type": "string",
        "anyOf": [
            { "enum": TimeRead::NAMED.map(|(word, _)| word) },
            { "pattern": "%" },
        ],
    });
    schemars::json_schema!({ "anyOf": [one, { "type": "array", "minItems": 1, "items": one }] })
}

/// One way to read a time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum TimeRead {
    /// `2026-04-04T22:31:00+11:00`.
    Rfc3339,
    /// A number since 1970-01-01T00:00:00Z; the field is microseconds in one unit.
    Epoch(i64),
    /// Days since the start of a spreadsheet's system: true is the 1904 system.
    Serial(bool),
    /// What a spreadsheet itself holds as a date or a time.
    Cell,
    /// A time of day.
    Clock(Clock),
    /// A number counted from the anchor; the field is milliseconds in one unit, negative when it is counted back.
    Offset(i64),
    /// A number counted from the anchor in a unit that the source names; true when it is counted back.
    OffsetIn(bool),
    /// Scored epochs of 30 s, `44` or `1-43`, counted from the anchor: false is when the first begins, true when the
    /// last ends.
    Scored(bool),
    /// A `strptime` pattern.
    Pattern {
        /// The pattern.
        text: String,
        /// It says which day.
        date: bool,
        /// It reads an offset.
        offset: bool,
    },
}

/// How a time of day is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Clock {
    /// `22:31`, `22:31:15`, `22:31:15.5`.
    Day,
    /// As people type it: `22:31`, `22.31`, `2231`, `10:31 pm`.
    Typed,
    /// A 12-hour clock without AM or PM.
    Half,
    /// Hours go on after midnight, up to 29:59.
    Long,
    /// A fraction of a day, as spreadsheets hold a time of day.
    Fraction,
}

impl TimeRead {
    /// The ways that have a name; everything with a `%` is a pattern.
    pub(crate) const NAMED: [(&'static str, TimeRead); 24] = [
        ("rfc3339", TimeRead::Rfc3339),
        ("epoch s", TimeRead::Epoch(1_000_000)),
        ("epoch ms", TimeRead::Epoch(1000)),
        ("epoch us", TimeRead::Epoch(1)),
        ("cell", TimeRead::Cell),
        ("serial 1900", TimeRead::Serial(false)),
        ("serial 1904", TimeRead::Serial(true)),
        ("clock", TimeRead::Clock(Clock::Day)),
        ("clock 12h", TimeRead::Clock(Clock::Half)),
        ("clock 30h", TimeRead::Clock(Clock::Long)),
        ("clock fraction", TimeRead::Clock(Clock::Fraction)),
        ("clock typed", TimeRead::Clock(Clock::Typed)),
        ("offset ms", TimeRead::Offset(1)),
        ("offset s", TimeRead::Offset(1000)),
        ("offset min", TimeRead::Offset(60_000)),
        ("offset h", TimeRead::Offset(3_600_000)),
        ("offset", TimeRead::OffsetIn(false)),
        ("before ms", TimeRead::Offset(-1)),
        ("before s", TimeRead::Offset(-1000)),
        ("before min", TimeRead::Offset(-60_000)),
        ("before h", TimeRead::Offset(-3_600_000)),
        ("before", TimeRead::OffsetIn(true)),
        ("epochs begin", TimeRead::Scored(false)),
        ("epochs end", TimeRead::Scored(true)),
    ];

    /// Says whether a number is counted from an anchor.
    pub(crate) fn counts(&self) -> bool {
        matches!(self, TimeRead::Offset(_) | TimeRead::OffsetIn(_) | TimeRead::Scored(_))
    }

    /// Says whether the text itself may carry an offset from UTC.
    pub(crate) fn has_offset(&self) -> bool {
        matches!(self, TimeRead::Rfc3339 | TimeRead::Pattern { offset: true, .. })
    }

    /// Says whether what is read is a wall time when no offset is trusted.
    pub(crate) fn is_wall(&self, trusted: bool) -> bool {
        match self {
            TimeRead::Cell | TimeRead::Serial(_) | TimeRead::Clock(_) => true,
            TimeRead::Epoch(_) | TimeRead::Offset(_) | TimeRead::OffsetIn(_) | TimeRead::Scored(_) => false,
            TimeRead::Rfc3339 | TimeRead::Pattern { .. } => !(trusted && self.has_offset()),
        }
    }

    /// Says whether only a time of day is read.
    pub(crate) fn is_clock(&self) -> bool {
        matches!(self, TimeRead::Clock(_) | TimeRead::Pattern { date: false, .. })
    }
}

/// Whether an offset in the text is true.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema)]
#[schemars(rename_all = "lowercase")]
pub(crate) enum OffsetRule {
    /// It is.
    Trust,
    /// It is not: a `Z` stands on local times. The zone is then needed.
    Ignore,
}

impl Word for OffsetRule {
    const WHAT: &'static str = "a rule for offsets";
    const WORDS: &'static [(&'static str, OffsetRule)] =
        &[("trust", OffsetRule::Trust), ("ignore", OffsetRule::Ignore)];
}

/// The zone of a wall time: `night`, the zone of the night that it belongs to; or where the IANA name
/// of the zone comes from.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum ZoneRule {
    /// The zone of the night.
    Night,
    /// An IANA name.
    Of(Origin),
}

impl JsonSchema for ZoneRule {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Zone".into()
    }

    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({
            "description": "The zone of a wall time: `night`, or where its IANA name comes from.",
            "anyOf": [{ "const": "night" }, super::origin::alone(generator)],
        })
    }
}

/// What is done with a wall time that happened twice.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema)]
#[schemars(rename_all = "lowercase")]
pub(crate) enum FoldRule {
    /// The first one that is not before the row above; needs `order = "file"`.
    Order,
    /// The first.
    First,
    /// The second.
    Second,
    /// It is an error.
    Error,
}

impl Word for FoldRule {
    const WHAT: &'static str = "a rule for times that happened twice";
    const WORDS: &'static [(&'static str, FoldRule)] = &[
        ("order", FoldRule::Order),
        ("first", FoldRule::First),
        ("second", FoldRule::Second),
        ("error", FoldRule::Error),
    ];
}

/// A length of time of the row.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub(crate) struct LengthValue {
    #[schemars(flatten)]
    pub(crate) origin: Origin,
    /// How the text is read.
    pub(crate) read: Option<LengthRead>,
    /// In place of `read`: where the source names the unit; its words stand in `[units]`.
    #[schemars(default, schema_with = "super::origin::alone")]
    pub(crate) unit: Option<Origin>,
}

/// How a length of time is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema)]
pub(crate) enum LengthRead {
    /// Milliseconds.
    #[schemars(rename = "ms")]
    Milliseconds,
    /// Seconds.
    #[schemars(rename = "s")]
    Seconds,
    /// Minutes.
    #[schemars(rename = "min")]
    Minutes,
    /// Hours.
    #[schemars(rename = "h")]
    Hours,
    /// Days, as spreadsheets hold durations.
    #[schemars(rename = "days")]
    Days,
    /// `7:05`: hours and minutes.
    #[schemars(rename = "h:mm")]
    HoursMinutes,
    /// `7:05:30`: hours, minutes, seconds.
    #[schemars(rename = "h:mm:ss")]
    HoursMinutesSeconds,
    /// `27:30`: minutes and seconds.
    #[schemars(rename = "mm:ss")]
    MinutesSeconds,
    /// `PT27M30S`: ISO 8601, without years and months.
    #[schemars(rename = "iso")]
    Iso,
    /// `1h 05m`, `27 min 30 s`: numbers, each with its unit behind it, the larger first.
    #[schemars(rename = "h m s")]
    Worded,
    /// What a spreadsheet itself holds as a length or a time of day.
    #[schemars(rename = "cell")]
    Cell,
}

impl Word for LengthRead {
    const WHAT: &'static str = "a way to read a length";
    const WORDS: &'static [(&'static str, LengthRead)] = &[
        ("ms", LengthRead::Milliseconds),
        ("s", LengthRead::Seconds),
        ("min", LengthRead::Minutes),
        ("h", LengthRead::Hours),
        ("days", LengthRead::Days),
        ("h:mm", LengthRead::HoursMinutes),
        ("h:mm:ss", LengthRead::HoursMinutesSeconds),
        ("mm:ss", LengthRead::MinutesSeconds),
        ("iso", LengthRead::Iso),
        ("h m s", LengthRead::Worded),
        ("cell", LengthRead::Cell),
    ];
}

impl LengthRead {
    /// Returns the milliseconds of one unit, where a length is a plain number.
    pub(crate) fn ms(self) -> Option<f64> {
        match self {
            LengthRead::Milliseconds => Some(1.0),
            LengthRead::Seconds => Some(1000.0),
            LengthRead::Minutes => Some(60_000.0),
            LengthRead::Hours => Some(3_600_000.0),
            LengthRead::Days => Some(86_400_000.0),
            LengthRead::HoursMinutes
            | LengthRead::HoursMinutesSeconds
            | LengthRead::MinutesSeconds
            | LengthRead::Iso
            | LengthRead::Worded
            | LengthRead::Cell => None,
        }
    }
}
