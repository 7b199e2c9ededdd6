//! What `lineage --format json` prints.

use super::Found;
use super::epochs::Run;
use super::sources::Origin;
use counterpane_model::{Cell, Zone};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// Epochs of a night and where they come from.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Answer {
    /// Version of this form: 1.
    version: u32,
    /// The participant's code.
    participant: String,
    /// Label of the night.
    night: String,
    /// IANA zone of the times.
    zone: String,
    /// Scheme of the matrix, where there is one.
    scheme: Option<String>,
    /// Which window the epochs fill: `lights` or `scored`; null where nothing is compared.
    window: Option<String>,
    /// Why there is no matrix.
    not_compared: Option<String>,
    /// Number of epochs in the window.
    window_epochs: usize,
    /// Number of epochs that were asked for.
    epochs: usize,
    /// How many of them count in the matrix.
    counted: usize,
    /// What the reference says in them, with the number of epochs of each.
    reference_said: BTreeMap<String, usize>,
    /// The device, unit or scorer that is followed.
    device: Source,
    /// The reference beside it.
    reference: Option<Source>,
    /// Epochs that follow each other and say the same, in order; the first of them.
    stretches: Vec<Stretch>,
    /// How many stretches there are.
    total_stretches: usize,
}

/// A recording and everything that made it what it is.
#[derive(Debug, Serialize, JsonSchema)]
struct Source {
    /// Unit or scorer.
    name: String,
    /// Key of the recording.
    recording: String,
    /// Name of the file as it was received.
    file: String,
    /// SHA-256 of the original, which `originals/` keeps.
    original: String,
    /// SHA-256 of the file as it was received, where something was blanked on the way in.
    received: Option<String>,
    /// Id of the definition that read it.
    definition: String,
    /// SHA-256 of that definition's text, which `originals/` keeps.
    definition_sha256: String,
    /// Number of the decision that brought it in.
    decision: u64,
    /// When that was decided, RFC 3339.
    decided_at: String,
    /// By whom.
    decided_by: String,
    /// How its times were known.
    time_basis: String,
    /// Pictures that its rows were read from, and the two readings that a settled sheet follows from.
    read_from: Vec<ReadFrom>,
    /// Rows that the two readings told differently, and of how many.
    rows_differing: Option<(u64, u64)>,
    /// Seconds that the two readings told differently, and of how many.
    seconds_differing: Option<(i64, i64)>,
    /// What was decided about it since.
    since: Vec<SinceRow>,
    /// Why its lines could not be read, where they could not.
    unread: Option<String>,
}

/// A file that rows were read from, or that they follow from.
#[derive(Debug, Serialize, JsonSchema)]
struct ReadFrom {
    /// `picture` or `reading`.
    kind: &'static str,
    /// Name of the file.
    file: String,
    /// SHA-256 of what is kept.
    sha256: String,
    /// SHA-256 as it was received, where something was blanked on the way in.
    received: Option<String>,
}

/// A decision about a recording.
#[derive(Debug, Serialize, JsonSchema)]
struct SinceRow {
    /// Its number.
    decision: u64,
    /// `left out` or `clock corrected`.
    what: String,
    /// First instant of the stretch that is left out; null for the whole night.
    from: Option<String>,
    /// First instant after it.
    until: Option<String>,
    /// Why.
    reason: String,
}

/// Epochs that follow each other and say the same.
#[derive(Debug, Serialize, JsonSchema)]
struct Stretch {
    /// Number of the first epoch, from 1.
    first: usize,
    /// Number of the last epoch.
    last: usize,
    /// First instant, RFC 3339 with offset.
    start: String,
    /// First instant after it, RFC 3339 with offset.
    end: String,
    /// What the device says: a stage, `unscored`, `off` or `missing`.
    device: String,
    /// What the reference says.
    reference: Option<String>,
    /// Whether they count in the matrix.
    counted: bool,
    /// The spans of the device that lie in them.
    device_spans: Vec<Span>,
    /// The spans of the reference that lie in them.
    reference_spans: Vec<Span>,
}

/// A span and what stands in the file there.
#[derive(Debug, Serialize, JsonSchema)]
struct Span {
    /// First instant, RFC 3339 with offset.
    start: String,
    /// First instant after it, RFC 3339 with offset.
    end: String,
    /// The source's own word.
    label: String,
    /// Whether it says what the epochs were given; where none does, as where two disagree, all of them.
    decides: bool,
    /// Where the original says so.
    locator: String,
    /// What stands there, at most 200 characters.
    line: Option<String>,
}

/// Returns the answer.
pub(super) fn of(found: &Found<'_>) -> Answer {
    let laid = found.laid;
    Answer {
        version: 1,
        participant: found.night.participant.clone(),
        night: found.night.label.clone(),
        zone: found.night.zone.clone(),
        scheme: laid.scheme.map(str::to_owned),
        window: laid.window.map(str::to_owned),
        not_compared: laid.not_compared.clone(),
        window_epochs: laid.grid.n,
        epochs: found.epochs,
        counted: found.counted,
        reference_said: found.beside.iter().map(|(cell, n)| (cell.code().to_owned(), *n)).collect(),
        device: source(found.device, found.zone),
        reference: found.reference.map(|r| source(r, found.zone)),
        stretches: found.runs.iter().map(|run| stretch(found, run)).collect(),
        total_stretches: found.total,
    }
}

fn source(origin: &Origin, zone: &Zone) -> Source {
    let since = origin.since.iter().map(|s| SinceRow {
        decision: s.decision,
        what: s.what.to_owned(),
        from: s.stretch.map(|t| zone.text_of(t.0)),
        until: s.stretch.map(|t| zone.text_of(t.1)),
        reason: s.reason.clone(),
    });
    Source {
        name: origin.name.clone(),
        recording: origin.key.clone(),
        file: origin.file.clone(),
        original: origin.original.clone(),
        received: origin.received.clone(),
        definition: origin.definition.clone(),
        definition_sha256: origin.definition_sha256.clone(),
        decision: origin.decision,
        decided_at: origin.at.clone(),
        decided_by: origin.by.clone(),
        time_basis: origin.time_basis.to_owned(),
        read_from: read_from(origin),
        rows_differing: origin.settles.as_ref().map(|s| (s.rows_differing, s.rows)),
        seconds_differing: origin.settles.as_ref().map(|s| (s.seconds_differing, s.seconds)),
        since: since.collect(),
        unread: origin.unread.clone(),
    }
}

fn read_from(origin: &Origin) -> Vec<ReadFrom> {
    let pictures = origin.pictures.iter().map(|p| ReadFrom {
        kind: "picture",
        file: p.file.clone(),
        sha256: p.sha256.clone(),
        received: p.blanked.as_ref().map(|b| b.received.clone()),
    });
    let readings = origin.settles.iter().flat_map(|s| [&s.first, &s.second]).map(|r| ReadFrom {
        kind: "reading",
        file: r.file.clone(),
        sha256: r.sha256.clone(),
        received: None,
    });
    pictures.chain(readings).collect()
}

fn stretch(found: &Found<'_>, run: &Run) -> Stretch {
    let (zone, grid) = (found.zone, found.laid.grid);
    let spans = |origin: Option<&Origin>, spans: &[usize], cell: Cell| {
        let deciding = origin.map(|o| o.deciding(spans, cell)).unwrap_or_default();
        let rows = spans.iter().filter_map(|i| Some((deciding.contains(i), origin?.row(*i)?)));
        rows.map(|(decides, row)| Span {
            decides,
            start: zone.text_of(row.start),
            end: zone.text_of(row.end),
            label: row.label.clone(),
            locator: row.locator.to_string(),
            line: row.quote.clone(),
        })
        .collect()
    };
    Stretch {
        first: run.first + 1,
        last: run.last + 1,
        start: zone.text_of(grid.at(run.first)),
        end: zone.text_of(grid.at(run.last + 1)),
        device: run.device.code().to_owned(),
        reference: run.reference.map(|c| c.code().to_owned()),
        counted: run.counted,
        device_spans: spans(Some(found.device), &run.device_spans, run.device),
        reference_spans: spans(found.reference, &run.reference_spans, run.reference.unwrap_or(Cell::Missing)),
    }
}
