//! What a page is made of.

use crate::read_off::ReadOff;
use counterpane_compare::groups::Grouping;
use counterpane_compare::what_if::WhatIf;
use counterpane_compare::{Comparison, Inference, Standing};
use counterpane_model::{Exclusion, Mark, Severity, Zone};

/// Everything that a page says.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    /// Title of the report.
    pub title: String,
    /// When it was made, as text: this crate reads no clock.
    pub made: String,
    /// Name and version of the program, such as `counterpane 0.1.0`.
    pub tool: String,
    /// The data are invented, and the page must say so at once.
    pub invented: bool,
    /// The numbers.
    pub comparison: Comparison,
    /// What the numbers leave open.
    pub inference: Inference,
    /// How they stand to what was laid down beforehand.
    pub standing: Standing,
    /// The headlines with each choice undone, where this was worked out.
    pub what_if: Option<WhatIf>,
    /// Devices by groups of their nights.
    pub groups: Vec<Grouping>,
    /// What the checks found, in the order to be shown.
    pub findings: Vec<FindingLine>,
    /// Where each recording came from, in the order to be shown.
    pub provenance: Vec<ProvenanceLine>,
    /// Recordings that a person read off a picture or a printed list, in the order to be shown.
    pub read_off: Vec<ReadOff>,
    /// Every export of the nights of which a source gave several; those of one source and night together.
    pub exports: Vec<ExportLine>,
    /// What the study states of each device, by name.
    pub devices: Vec<DeviceLine>,
    /// What was worn on these nights, in the order to be shown.
    pub wearings: Vec<WearingLine>,
    /// Every decision that leaves out something of these nights, by night and in order of decision.
    pub exclusions: Vec<ExclusionLine>,
    /// The same comparison with everything that was left out on purpose, where anything was.
    pub with_excluded: Option<Comparison>,
    /// Nights that were asked for and could not be compared, a sentence each.
    pub left_out: Vec<String>,
}

/// What the study states of how a device gives its data.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DeviceLine {
    /// Name of the device.
    pub name: String,
    /// How its data is got.
    pub route: Option<String>,
    /// Steps for one night.
    pub steps: Option<usize>,
    /// Minutes spent on one night.
    pub minutes: Option<f64>,
    /// The finest step of what is got.
    pub finest_step: Option<String>,
    /// What the export lacks.
    pub lost: Option<String>,
    /// How the reviewer came by it: `bought`, `lent` or `given`.
    pub obtained: Option<String>,
    /// Whatever else is stated.
    pub note: Option<String>,
    /// Definitions that read its recordings in this report, by name.
    pub definitions: Vec<String>,
    /// Whether one of them reads what somebody typed from a screen.
    pub typed: bool,
}

/// A unit on a night, as the study states it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WearingLine {
    /// Name of the unit.
    pub unit: String,
    /// The participant's code.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// Where on the body.
    pub site: Option<String>,
    /// Left or right.
    pub side: Option<String>,
    /// Version of the firmware.
    pub firmware: Option<String>,
    /// Version of the app.
    pub app: Option<String>,
}

/// One of several exports of a night by one source.
#[derive(Clone, Debug, PartialEq)]
pub struct ExportLine {
    /// The night in words.
    pub night: String,
    /// Unit or scorer.
    pub source: String,
    /// Name of the recording, unique in the night.
    pub recording: String,
    /// Name of the original.
    pub file: String,
    /// Number of the decision that brought it in.
    pub decision: u64,
    /// When that was, as text.
    pub at: String,
    /// Why it is the one that counts; `None` where another does.
    pub chosen: Option<Chosen>,
    /// Minutes in each mark, in the order of [`Mark`].
    pub minutes: Vec<(Mark, f64)>,
}

/// Why one of several exports counts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Chosen {
    /// Nobody decided, and it came first.
    First,
    /// The reviewer decided so.
    Decided {
        /// Number of the decision.
        decision: u64,
        /// Why.
        reason: String,
        /// Who.
        author: String,
        /// When, as text.
        date: String,
    },
}

/// A decision to leave something out.
#[derive(Clone, Debug, PartialEq)]
pub struct ExclusionLine {
    /// The night in words.
    pub night: String,
    /// Zone of the night.
    pub zone: Zone,
    /// The decision.
    pub exclusion: Exclusion,
}

/// One finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FindingLine {
    /// How much it matters.
    pub severity: Severity,
    /// Its code, such as `spans-overlap`.
    pub code: String,
    /// The night in words; empty when it speaks of none.
    pub night: String,
    /// The source in words; empty when it speaks of none.
    pub source: String,
    /// The finding in one sentence.
    pub message: String,
    /// File and place in it; empty when it points nowhere.
    pub place: String,
    /// How many times it was found.
    pub count: u64,
    /// Whether it is open.
    pub status: Status,
}

/// Whether a finding still waits for a decision.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Status {
    /// Nobody has decided.
    Open,
    /// The reviewer has accepted it.
    Accepted {
        /// Why.
        reason: String,
        /// Who.
        author: String,
        /// When, as text.
        date: String,
    },
}

/// Where one recording came from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProvenanceLine {
    /// Key of the recording.
    pub recording: String,
    /// Name of the original.
    pub file: String,
    /// SHA-256 of the original, hexadecimal.
    pub sha256: String,
    /// Name of the definition that read it.
    pub definition: String,
    /// SHA-256 of the definition's text, hexadecimal.
    pub definition_sha256: String,
    /// How its instants were known, in words.
    pub time_basis: String,
    /// IANA zone.
    pub zone: String,
    /// Versions of the zone rules that were asked.
    pub zone_rules: String,
}
