//! The language of definitions, version 1, as plain data.
//!
//! These structs are the one description of the language: the schema is generated from them, and a
//! test compares their keys with those that the parser knows.

pub(crate) mod claims;
pub(crate) mod matching;
pub(crate) mod origin;
pub(crate) mod rows;
pub(crate) mod time;
pub(crate) mod words;

pub(crate) use claims::{ClaimValue, Rounding};
pub(crate) use matching::{Matching, TextKeys};
pub(crate) use origin::Origin;
pub(crate) use rows::{Codes, Filter, Keep, Night, Order, Rows, Shape};
pub(crate) use time::{Clock, FoldRule, LengthRead, LengthValue, OffsetRule, TimeRead, TimeValue, ZoneRule};
pub(crate) use words::{FormatWord, NoteWord, StageWord, Word};

use schemars::JsonSchema;
use std::collections::BTreeMap;

/// An importer definition of Counterpane, version 1: how the file of one device becomes spans,
/// claims and notes. The id of a definition is the name of its folder.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(deny_unknown_fields, title = "Importer definition")]
pub(crate) struct Grammar {
    /// Version of the language.
    #[schemars(extend("const" = 1))]
    #[expect(dead_code, reason = "checked while parsing; stands here for the schema")]
    pub(crate) version: u8,
    /// What is read, in one line.
    pub(crate) title: String,
    /// Where the facts about the file come from, one text each.
    #[schemars(default)]
    pub(crate) sources: Vec<String>,
    /// How finely the source gives its times, such as `30 s` or `1 min`; leave it out when unknown.
    pub(crate) step: Option<Step>,
    /// The facts that tell a file of this kind from others; all must hold.
    #[schemars(rename = "match")]
    pub(crate) matching: Matching,
    /// How text is written in the file.
    pub(crate) text: Option<TextKeys>,
    /// The kinds of row; several blocks are several kinds of row, or layers.
    #[schemars(length(min = 1))]
    pub(crate) rows: Vec<Rows>,
    /// The source's exact words for stages, and what each means. The stages named here are the
    /// vocabulary: what the source can say at all.
    #[schemars(default)]
    pub(crate) stages: BTreeMap<String, StageWord>,
    /// The source's exact words for events, and the kind of note that each becomes.
    #[schemars(default)]
    pub(crate) notes: BTreeMap<String, NoteWord>,
    /// The source's exact words for units, and what each means; for values whose unit stands in the source.
    #[schemars(default)]
    pub(crate) units: BTreeMap<String, claims::Unit>,
}

impl Grammar {
    /// Returns the part that each join names, and whether further files describe it.
    pub(crate) fn joins(&self) -> Vec<(&str, bool)> {
        let origins = self.rows.iter().flat_map(Rows::origins);
        origins
            .filter_map(|(_, o)| match o {
                Origin::Join { join, inherit, .. } => Some((join.as_str(), inherit.is_some())),
                _ => None,
            })
            .collect()
    }
}

/// A length of time with its unit: `500 ms`, `30 s`, `1 min`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Step(pub(crate) i64);

impl JsonSchema for Step {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Step".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({
            "description": "A length of time with its unit.",
            "type": "string",
            "pattern": "^[0-9]+ (ms|s|min|h)$",
            "examples": ["500 ms", "30 s", "1 min"],
        })
    }
}

impl Step {
    /// Reads `30 s`; `None` for anything else.
    pub(crate) fn parse(text: &str) -> Option<Step> {
        let (number, unit) = text.split_once(' ')?;
        let ms = match unit {
            "ms" => 1,
            "s" => 1000,
            "min" => 60_000,
            "h" => 3_600_000,
            _ => return None,
        };
        number.chars().all(|c| c.is_ascii_digit()).then(|| number.parse::<i64>().ok()?.checked_mul(ms).map(Step))?
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_needs_its_unit() {
        assert_eq!(Step::parse("30 s"), Some(Step(30_000)));
        assert_eq!(Step::parse("1 min"), Some(Step(60_000)));
        assert_eq!([Step::parse("30"), Step::parse("-1 s"), Step::parse("1 week"), Step::parse(" s")], [None; 4]);
    }
}
