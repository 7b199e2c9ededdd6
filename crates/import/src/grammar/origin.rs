//! Where a value comes from.

use super::Word;
use schemars::JsonSchema;

/// Where a value comes from; exactly one of these.
#[derive(Clone, Debug, PartialEq, JsonSchema)]
#[schemars(untagged)]
pub(crate) enum Origin {
    /// A field of the row, or of a row above it.
    At {
        /// Path of the field: `a.b[0]` in JSON (`$.a` is a value outside the rows), `@a` or `b/text` in XML, a column name or `#3` in a table, `onset`,
        /// `duration`, `text`, `channel` or `record` in EDF+, `line` in plain text. A list of paths
        /// gives their texts joined by one blank, such as a date column and a time column.
        at: Paths,
        /// How many rows up: 1 is the parent that `nest` left.
        #[schemars(default)]
        up: usize,
    },
    /// The name under which the row stands in its list (shape `keyed`).
    Key {
        /// Always true.
        #[schemars(extend("const" = true))]
        key: bool,
    },
    /// A fact of the whole file.
    File {
        /// Which fact.
        file: FileFact,
        /// The name with one `*` where the wanted text stands, such as `night-*.csv`; left out: the whole name.
        pattern: Option<String>,
    },
    /// The same text for every row.
    Const {
        /// The text; a number is taken as its text.
        #[schemars(rename = "const", schema_with = "scalar")]
        text: String,
    },
    /// A value that is given on the command line.
    Bound {
        /// Which one.
        bound: Bound,
    },
    /// A field of another part of the file: the row there whose key is equal to a field here.
    Join {
        /// The other part: a member of an archive, a sheet, a path of rows such as `$.devices[*]`, or the file
        /// beside this one, where `*` stands for its name without the ending, such as `*.json`.
        join: String,
        /// Path of the rows in that part, where it is JSON or XML and `join` is not itself the path.
        each: Option<String>,
        /// The field here and the field there that must be equal; either may be the name of the member or a part of it.
        #[schemars(schema_with = "keys")]
        on: Box<[Origin; 2]>,
        /// The field there that gives the value.
        at: String,
        /// What stands for the value where no row there has the key; left out: the row has no value.
        missing: Option<Missing>,
        /// Files beyond the one of the same name that describe this one too; for JSON beside it only.
        inherit: Option<Inherit>,
    },
    /// The start or the end of the row, as it was worked out from `start`, `end` and `length` (claims only).
    Row {
        /// Which of the two.
        row: Edge,
    },
}

/// What stands for a joined value that is not there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema)]
#[schemars(rename_all = "lowercase")]
pub(crate) enum Missing {
    /// Nothing: the row has no value.
    Error,
    /// The field here, as it stands.
    Own,
}

impl Word for Missing {
    const WHAT: &'static str = "a rule for keys that are not found";
    const WORDS: &'static [(&'static str, Missing)] = &[("error", Missing::Error), ("own", Missing::Own)];
}

fn keys(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
    let origin = alone(generator);
    let key = schemars::json_schema!({ "anyOf": [{ "type": "string", "minLength": 1 }, origin] });
    schemars::json_schema!({ "type": "array", "items": key, "minItems": 2, "maxItems": 2 })
}

/// Which files beyond the one of the same name describe a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema)]
#[schemars(rename_all = "lowercase")]
pub(crate) enum Inherit {
    /// Those of the inheritance principle of the Brain Imaging Data Structure: files with fewer of the parts of its
    /// name, in its folder and in those above it, up to the root of the data set.
    Bids,
}

impl Word for Inherit {
    const WHAT: &'static str = "a rule of inheritance";
    const WORDS: &'static [(&'static str, Inherit)] = &[("bids", Inherit::Bids)];
}

/// One edge of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema)]
#[schemars(rename_all = "lowercase")]
pub(crate) enum Edge {
    /// When it began.
    Start,
    /// When it ended.
    End,
}

impl Word for Edge {
    const WHAT: &'static str = "an edge of a row";
    const WORDS: &'static [(&'static str, Edge)] = &[("start", Edge::Start), ("end", Edge::End)];
}

fn scalar(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
    schemars::json_schema!({ "type": ["string", "number", "boolean"] })
}

/// Returns the schema of a table that holds an origin and nothing else.
pub(crate) fn alone(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
    let mut schema = generator.subschema_for::<Origin>();
    schema.insert("unevaluatedProperties".into(), false.into());
    schema
}

/// One path, or several whose texts are joined by one blank.
#[derive(Clone, Debug, PartialEq, JsonSchema)]
#[schemars(transparent)]
pub(crate) struct Paths(#[schemars(schema_with = "one_or_many")] pub(crate) Vec<String>);

fn one_or_many(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
    schemars::json_schema!({ "anyOf": [
        { "type": "string", "minLength": 1 },
        { "type": "array", "minItems": 1, "items": { "type": "string", "minLength": 1 } },
    ]})
}

/// A fact of the whole file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema)]
#[schemars(rename_all = "lowercase")]
pub(crate) enum FileFact {
    /// The name of the file.
    Name,
    /// The wall time at which an EDF+ recording starts.
    Start,
}

impl Word for FileFact {
    const WHAT: &'static str = "a fact of a file";
    const WORDS: &'static [(&'static str, FileFact)] = &[("name", FileFact::Name), ("start", FileFact::Start)];
}

/// A value that is given on the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema)]
#[schemars(rename_all = "lowercase")]
pub(crate) enum Bound {
    /// `--start`: the time of the first epoch.
    Start,
    /// `--end`: the end of the recording.
    End,
    /// `--night`: the label of the night.
    Night,
}

impl Word for Bound {
    const WHAT: &'static str = "a value of the command line";
    const WORDS: &'static [(&'static str, Bound)] =
        &[("start", Bound::Start), ("end", Bound::End), ("night", Bound::Night)];
}

impl Bound {
    /// Returns the option that gives it.
    pub(crate) fn option(self) -> &'static str {
        match self {
            Bound::Start => "--start",
            Bound::End => "--end",
            Bound::Night => "--night",
        }
    }
}
