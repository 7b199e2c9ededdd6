//! Collecting findings: all counted, a capped sample kept.

use counterpane_formats::Row;
use counterpane_model::{Finding, Instant, Kind, Locator, Place};
use std::collections::BTreeMap;

/// Places that are kept for each code.
const SAMPLES: usize = 20;

/// Something that is wrong with a row.
#[derive(Debug)]
pub(super) struct Fault {
    pub(super) kind: &'static Kind,
    pub(super) message: String,
    pub(super) locator: Locator,
    pub(super) help: Option<String>,
    /// About when it was, where that is known: it says which night the fault belongs to.
    pub(super) near: Option<Instant>,
}

impl Fault {
    pub(super) fn new(kind: &'static Kind, message: impl Into<String>, locator: Locator) -> Fault {
        Fault { kind, message: message.into(), locator, help: None, near: None }
    }

    pub(super) fn help(self, help: impl Into<String>) -> Fault {
        Fault { help: Some(help.into()), ..self }
    }

    pub(super) fn near(self, at: Instant) -> Fault {
        Fault { near: Some(at), ..self }
    }
}

/// The findings of one night, or of the file.
#[derive(Default)]
pub(super) struct Faults {
    samples: BTreeMap<&'static str, Bucket>,
    groups: BTreeMap<(&'static str, String), Finding>,
    labels: BTreeMap<String, Label>,
}

struct Bucket {
    kind: &'static Kind,
    findings: Vec<Finding>,
    more: u64,
}

struct Label {
    count: u64,
    place: Place,
    near: Option<String>,
}

impl Faults {
    /// Keeps a fault as a finding of its own, up to the cap.
    pub(super) fn push(&mut self, fault: Fault, file: &str, line: impl FnOnce() -> String) {
        let bucket = self.samples.entry(fault.kind.code).or_insert_with(|| Bucket {
            kind: fault.kind,
            findings: Vec::new(),
            more: 0,
        });
        if bucket.findings.len() == SAMPLES {
            bucket.more += 1;
            return;
        }
        let place = Place { file: file.to_owned(), locator: fault.locator, line: line() };
        let finding = fault.kind.finding(fault.message).at(place);
        bucket.findings.push(match fault.help {
            Some(help) => finding.help(help),
            None => finding,
        });
    }

    /// Counts a fault that is told once for all its places; the first place is kept.
    pub(super) fn group(&mut self, kind: &'static Kind, message: String, place: impl FnOnce() -> Option<Place>) {
        self.groups
            .entry((kind.code, message))
            .and_modify(|f| f.count += 1)
            .or_insert_with_key(|(_, message)| Finding { place: place(), ..kind.finding(message.clone()) });
    }

    /// Counts a row whose word is mapped to nothing.
    pub(super) fn label(&mut self, text: &str, near: Option<&str>, place: impl FnOnce() -> Place) {
        match self.labels.get_mut(text) {
            Some(label) => label.count += 1,
            None => {
                let label = Label { count: 1, place: place(), near: near.map(str::to_owned) };
                self.labels.insert(text.to_owned(), label);
            }
        }
    }

    /// Takes in the findings of another collection, such as those whose night was found out only later.
    pub(super) fn absorb(&mut self, other: Faults) {
        for (code, mut bucket) in other.samples {
            let own =
                self.samples.entry(code).or_insert_with(|| Bucket { kind: bucket.kind, findings: Vec::new(), more: 0 });
            let room = SAMPLES - own.findings.len().min(SAMPLES);
            let rest = bucket.findings.split_off(room.min(bucket.findings.len()));
            own.findings.append(&mut bucket.findings);
            own.more += bucket.more + rest.len() as u64;
        }
        for (key, finding) in other.groups {
            self.groups.entry(key).and_modify(|f| f.count += finding.count).or_insert(finding);
        }
        for (text, label) in other.labels {
            self.labels.entry(text).and_modify(|l| l.count += label.count).or_insert(label);
        }
    }

    /// Returns the findings: by code, then in the order of the file.
    pub(super) fn findings(self) -> Vec<Finding> {
        let mut out = label_findings(self.labels);
        out.extend(self.groups.into_values());
        for bucket in self.samples.into_values() {
            out.extend(bucket.findings);
            if bucket.more > 0 {
                let message = format!("{} more of these; only the first {SAMPLES} places are kept", bucket.more);
                out.push(Finding { count: bucket.more, ..bucket.kind.finding(message) });
            }
        }
        out.sort_by(|a, b| a.code.cmp(&b.code));
        out
    }
}

/// Returns one finding for each word, each of which lists all words.
fn label_findings(labels: BTreeMap<String, Label>) -> Vec<Finding> {
    let kind = &crate::kinds::unmapped_label::KIND;
    let all =
        labels.iter().take(SAMPLES).map(|(text, l)| format!("`{text}` {}", l.count)).collect::<Vec<_>>().join(", ");
    let (others, many) = (labels.len().saturating_sub(SAMPLES), labels.len() > 1);
    let unlisted: u64 = labels.values().skip(SAMPLES).map(|l| l.count).sum();
    let mut out: Vec<Finding> = labels
        .into_iter()
        .take(SAMPLES)
        .map(|(text, label)| {
            let meant = label.near.map(|n| format!("; did you mean `{n}`?")).unwrap_or_default();
            let list = if many { format!(" (all such words: {all})") } else { String::new() };
            let rows = if label.count == 1 { "row" } else { "rows" };
            let message = format!("`{text}` is mapped to nothing, {} {rows}{meant}{list}", label.count);
            Finding { count: label.count, ..kind.finding(message).at(label.place) }
        })
        .collect();
    if others > 0 {
        out.push(Finding { count: unlisted, ..kind.finding(format!("{others} more words are mapped to nothing")) });
    }
    out
}

/// Returns the place of a fault in a row.
pub(super) fn place(file: &str, locator: Locator, row: &dyn Row) -> Place {
    Place { file: file.to_owned(), locator, line: row.line() }
}
