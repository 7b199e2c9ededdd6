//! Blocks of rows.

use super::{ClaimValue, LengthValue, Origin, TimeValue, Word};
use schemars::JsonSchema;
use std::collections::BTreeMap;

/// One kind of row.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub(crate) struct Rows {
    /// Which part of the file: a member of an archive, a sheet, or an annotation signal of EDF+.
    #[schemars(rename = "in")]
    pub(crate) part: Option<String>,
    /// Streamable path of the rows of JSON or XML, such as `$.nights[*]`.
    pub(crate) each: Option<String>,
    /// Child rows inside each row, such as `pieces[*]`; the row itself is then reached by `up = 1`.
    pub(crate) nest: Option<String>,
    /// A column whose cells hold JSON (read from a later version).
    pub(crate) cell: Option<String>,
    /// Only rows that pass are read; the others are ignored, counted under this rule.
    #[schemars(default, schema_with = "keep_schema")]
    pub(crate) keep: Vec<Keep>,
    /// A filter over one row (read from a later version).
    pub(crate) filter: Option<Filter>,
    /// How a row becomes spans, claims or notes.
    pub(crate) shape: Shape,
    /// Higher wins where it speaks.
    #[schemars(default)]
    pub(crate) layer: i32,
    /// Whether the order of rows is the order of time.
    #[schemars(default)]
    pub(crate) order: Order,
    /// The night that the row belongs to, where the row says so.
    pub(crate) night: Option<Night>,
    /// When it began.
    pub(crate) start: Option<TimeValue>,
    /// When it ended; in shape `change`, when the recording ended.
    pub(crate) end: Option<TimeValue>,
    /// How long it lasted; in shape `codes`, how long all codes together last.
    pub(crate) length: Option<LengthValue>,
    /// The source's word for the stage.
    #[schemars(default, schema_with = "super::origin::alone")]
    pub(crate) stage: Option<Origin>,
    /// The codes of shape `codes`.
    pub(crate) codes: Option<Codes>,
    /// How long one code lasts.
    pub(crate) epoch: Option<LengthValue>,
    /// The source's word for an event, shape `notes`.
    #[schemars(default, schema_with = "super::origin::alone")]
    pub(crate) note: Option<Origin>,
    /// The map whose keys are stages and whose values are lists of rows, shape `keyed`.
    #[schemars(default, schema_with = "super::origin::alone")]
    pub(crate) lists: Option<Origin>,
    /// Quantities and where they stand, shape `claims`.
    #[schemars(default)]
    pub(crate) claims: BTreeMap<String, ClaimValue>,
}

fn keep_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
    let one = generator.subschema_for::<Keep>();
    schemars::json_schema!({ "anyOf": [one, { "type": "array", "items": one }] })
}

/// A condition on one field; rows that do not meet it are ignored and counted.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub(crate) struct Keep {
    #[schemars(flatten)]
    pub(crate) origin: Origin,
    /// The exact texts that are kept. A row without the field is ignored.
    #[schemars(rename = "in", length(min = 1))]
    pub(crate) texts: Vec<String>,
}

/// A filter over one row.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub(crate) struct Filter {
    /// The filter's text.
    #[expect(dead_code, reason = "filters are refused at import; the key belongs to the language already")]
    pub(crate) jq: String,
}

/// How a row becomes spans, claims or notes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema)]
#[schemars(rename_all = "lowercase")]
pub(crate) enum Shape {
    /// A row has `start`, `end` and `stage`.
    Interval,
    /// A row has `start`, `length` and `stage`.
    Length,
    /// A row has `start` and `stage`; it lasts to the next row, the last one to the recording's end.
    Change,
    /// A row has `start`, `codes` and `epoch`: one code for each epoch.
    Codes,
    /// A row holds parallel lists: `start` with `end` or `length` or neither, and `stage`.
    Arrays,
    /// A row holds a map, `lists`, whose keys are stages and whose values are lists of intervals.
    Keyed,
    /// A row has `start` and `epoch`, and a column for each epoch.
    Columns,
    /// A row has totals.
    Claims,
    /// A row has `start` and `note`.
    Notes,
}

impl Word for Shape {
    const WHAT: &'static str = "a shape";
    const WORDS: &'static [(&'static str, Shape)] = &[
        ("interval", Shape::Interval),
        ("length", Shape::Length),
        ("change", Shape::Change),
        ("codes", Shape::Codes),
        ("arrays", Shape::Arrays),
        ("keyed", Shape::Keyed),
        ("columns", Shape::Columns),
        ("claims", Shape::Claims),
        ("notes", Shape::Notes),
    ];
}

/// Whether the order of rows is the order of time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, JsonSchema)]
#[schemars(rename_all = "lowercase")]
pub(crate) enum Order {
    /// It is: a row that goes back in time is an error, and order may settle midnight and repeated times.
    File,
    /// It need not be.
    #[default]
    Any,
}

impl Word for Order {
    const WHAT: &'static str = "an order";
    const WORDS: &'static [(&'static str, Order)] = &[("file", Order::File), ("any", Order::Any)];
}

/// The night that a row belongs to.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub(crate) struct Night {
    #[schemars(flatten)]
    pub(crate) origin: Origin,
    /// What the text means: the `label` of a declared night, the date of the `evening`, or the date of
    /// the `morning`.
    pub(crate) means: Means,
    /// `strptime` pattern of the date; left out: `%Y-%m-%d`.
    pub(crate) read: Option<String>,
}

/// What the text of a night means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema)]
#[schemars(rename_all = "lowercase")]
pub(crate) enum Means {
    /// The label of a declared night.
    Label,
    /// The date of the evening.
    Evening,
    /// The date of the morning.
    Morning,
}

impl Word for Means {
    const WHAT: &'static str = "a meaning of a night";
    const WORDS: &'static [(&'static str, Means)] =
        &[("label", Means::Label), ("evening", Means::Evening), ("morning", Means::Morning)];
}

/// One code for each epoch.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub(crate) struct Codes {
    #[schemars(flatten)]
    pub(crate) origin: CodesOrigin,
    /// How a text is cut into codes: `letter`, each character is one; `row`, the whole text is one and
    /// the next row goes on after it; or the text that stands between codes, such as `,`. A list
    /// needs none.
    pub(crate) split: Option<String>,
}

/// Where codes stand.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(untagged)]
pub(crate) enum CodesOrigin {
    /// Columns of a table, shape `columns`.
    Columns {
        /// The first column, such as `#2`.
        #[schemars(regex(pattern = "^#[0-9]+$"))]
        first: String,
        /// The last column, such as `#961`.
        #[schemars(regex(pattern = "^#[0-9]+$"))]
        last: String,
    },
    /// A text or a list.
    Value(Origin),
}
