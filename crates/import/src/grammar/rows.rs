//! Blocks of rows.

use super::claims::UnitRule;
use super::{ClaimValue, LengthValue, Origin, TimeValue, Word, ZoneRule};
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
    /// Format of the members that `in` names; left out: by the ending of their names.
    pub(crate) format: Option<super::FormatWord>,
    /// A column whose cells hold JSON: `nest` then finds rows inside it, and fields are paths of JSON. The row of the
    /// table is one `up` above the JSON.
    pub(crate) cell: Option<String>,
    /// Only rows that pass are read; the others are ignored, counted under this rule.
    #[schemars(default, schema_with = "keep_schema")]
    pub(crate) keep: Vec<Keep>,
    /// A filter over one row, for what the other keys cannot say.
    #[schemars(default, schema_with = "filter_schema")]
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
    /// How long it lasted; in shape `codes`, how long all codes together last. Beside `start` and `end`, a row needs
    /// any two of the three.
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
    /// The field that names the total, where each row tells one; each claim then says its `named`. Shape `claims`.
    #[schemars(default, schema_with = "super::origin::alone")]
    pub(crate) name: Option<Origin>,
    /// Quantities and where they stand, shape `claims`.
    #[schemars(default)]
    pub(crate) claims: BTreeMap<String, ClaimValue>,
}

impl Rows {
    /// Says whether `start`, `end` and `length` are all given, so that any two of them make the third.
    pub(crate) fn any_two(&self) -> bool {
        let shaped = matches!(self.shape, Shape::Interval | Shape::Length | Shape::Claims);
        shaped && self.start.is_some() && self.end.is_some() && self.length.is_some()
    }

    /// Returns every origin of the block with the key that it stands under.
    pub(crate) fn origins(&self) -> Vec<(&'static str, &Origin)> {
        let mut out: Vec<(&'static str, &Origin)> = Vec::new();
        for (key, time) in self.times() {
            for time in [Some(time), time.from.as_deref()].into_iter().flatten() {
                out.push((key, &time.origin));
                out.extend(time.unit.iter().map(|o| (key, o)));
                if let Some(ZoneRule::Of(origin)) = &time.zone {
                    out.push((key, origin));
                }
            }
        }
        let lengths = [("length", &self.length), ("epoch", &self.epoch)];
        for (key, length) in lengths.into_iter().filter_map(|(k, l)| Some((k, l.as_ref()?))) {
            out.push((key, &length.origin));
            out.extend(length.unit.iter().map(|o| (key, o)));
        }
        let plain = [("stage", &self.stage), ("note", &self.note), ("lists", &self.lists), ("name", &self.name)];
        out.extend(plain.into_iter().filter_map(|(k, o)| Some((k, o.as_ref()?))));
        if let Some(Codes { origin: CodesOrigin::Value(origin), .. }) = &self.codes {
            out.push(("codes", origin));
        }
        for claim in self.claims.values() {
            if let ClaimValue::Total(total) = claim {
                out.push(("claims", &total.origin));
                if let UnitRule::Of(origin) = &total.unit {
                    out.push(("claims", origin));
                }
            }
        }
        out.extend(self.night.iter().map(|n| ("night", &n.origin)));
        out.extend(self.keep.iter().map(|k| ("keep", &k.origin)));
        out
    }

    /// Returns every time of the block with the key that it stands under; anchors are inside their times.
    pub(crate) fn times(&self) -> Vec<(&'static str, &TimeValue)> {
        let claimed = self.claims.values().filter_map(|c| match c {
            ClaimValue::Time(claim) => Some(("claims", &claim.time)),
            ClaimValue::Total(_) => None,
        });
        let own = [("start", &self.start), ("end", &self.end)].into_iter().filter_map(|(k, t)| Some((k, t.as_ref()?)));
        own.chain(claimed).collect()
    }
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
    /// The exact texts that are kept. A row without the field does not pass.
    #[schemars(rename = "in", length(min = 1))]
    pub(crate) texts: Option<Vec<String>>,
    /// In place of `in`: whether the field must be there (`true`) or must not (`false`); JSON's `null` and an empty
    /// text are not there.
    pub(crate) there: Option<bool>,
    /// What becomes of the rows that do not pass; left out: they are ignored and counted.
    pub(crate) otherwise: Option<Otherwise>,
}

/// What becomes of a row that does not pass.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema)]
#[schemars(rename_all = "lowercase")]
pub(crate) enum Otherwise {
    /// It is ignored and counted.
    Ignored,
    /// It is an error: the file must not have such rows.
    Error,
}

impl Word for Otherwise {
    const WHAT: &'static str = "a rule for rows that do not pass";
    const WORDS: &'static [(&'static str, Otherwise)] = &[("ignored", Otherwise::Ignored), ("error", Otherwise::Error)];
}

/// A filter over one row, in the language of jq.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub(crate) struct Filter {
    /// The filter's text.
    pub(crate) jq: String,
    /// The fields that the filter sees; left out: the whole row.
    #[schemars(default)]
    pub(crate) take: Vec<String>,
}

fn filter_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
    let table = generator.subschema_for::<Filter>();
    schemars::json_schema!({ "anyOf": [{ "type": "string" }, table] })
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
