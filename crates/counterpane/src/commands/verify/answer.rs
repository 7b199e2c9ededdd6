//! What `verify --format json` prints.

use super::again::Compared;
use counterpane_store::verify::Proof;
use schemars::JsonSchema;
use serde::Serialize;

/// What was proven, and what was not.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Answer {
    /// Version of this form: 1.
    version: u32,
    /// Whether everything that was looked at is as it should be.
    proven: bool,
    /// Whether the originals were read again and the rows compared.
    full: bool,
    /// What was looked at.
    checked: Vec<Checked>,
    /// What is not as it should be, rows aside.
    faults: Vec<FaultRow>,
    /// Rows of the store that differ from what the originals give; the first of them.
    differences: Vec<DifferenceRow>,
    /// How many more rows differ.
    more_differences: u64,
    /// How many decisions the log holds and the store does not yet; the next command applies them.
    pending: u64,
    /// What is as it may be, and worth knowing.
    notes: Vec<String>,
}

/// Something that was looked at.
#[derive(Debug, Serialize, JsonSchema)]
struct Checked {
    /// A file or folder of the study.
    what: String,
    /// What came of it.
    said: String,
}

/// Something that is not as it should be.
#[derive(Debug, Serialize, JsonSchema)]
struct FaultRow {
    /// Code of the kind of fault, such as `original-changed`.
    code: String,
    /// Where.
    place: String,
    /// What is wrong.
    message: String,
    /// What to do about it.
    help: String,
}

/// Rows of one recording, night or decision that differ in one table.
#[derive(Debug, Serialize, JsonSchema)]
struct DifferenceRow {
    /// The table of the store.
    table: String,
    /// Key of the recording; else the night or the decision.
    place: String,
    /// How many rows differ.
    rows: u64,
    /// The columns that differ in the first of them; empty where a row is missing on one side.
    columns: Vec<String>,
    /// The first row as it is stored.
    stored: Option<String>,
    /// The first row as the original gives it.
    derived: Option<String>,
    /// `zone-rules`, `program` or `unknown`.
    cause: String,
    /// The cause as a sentence.
    cause_said: String,
}

/// Returns the answer.
pub(super) fn of(proof: &Proof, again: Option<&Compared>, proven: bool) -> Answer {
    let checked = proof.checked.iter().map(|(what, said)| Checked { what: (*what).to_owned(), said: said.clone() });
    let faults = proof.faults.iter().map(|f| FaultRow {
        code: f.kind.code().to_owned(),
        place: f.place.clone(),
        message: f.message.clone(),
        help: f.kind.help().to_owned(),
    });
    let differences = again.iter().flat_map(|a| &a.differences).map(|(d, cause)| DifferenceRow {
        table: d.table.to_owned(),
        place: d.place.clone(),
        rows: d.rows,
        columns: d.columns.clone(),
        stored: d.stored.clone(),
        derived: d.derived.clone(),
        cause: cause.code().to_owned(),
        cause_said: cause.words(),
    });
    Answer {
        version: 1,
        proven,
        full: again.is_some(),
        checked: checked.collect(),
        faults: faults.collect(),
        differences: differences.collect(),
        more_differences: again.map_or(0, |a| a.more),
        pending: proof.pending,
        notes: proof.notes.clone(),
    }
}
