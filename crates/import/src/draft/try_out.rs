//! What a draft gives of its own sample, before any word has a meaning.

use super::plan::Block;
use super::{Options, SampleFile};
use crate::bindings::Bindings;
use crate::definition::Definition;
use crate::describe::describe;
use crate::engine::import;
use counterpane_formats::Limits;
use counterpane_model::{Severity, Zone};

/// What the sample gives when every word is read as `unscored`: the rows, the times and the nights are those of
/// the draft, and only the meaning of the words is missing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tried {
    /// What the import gives, as text.
    pub text: String,
    /// Rows of the sample.
    pub rows: u64,
    /// Rows that became spans or claims.
    pub good: u64,
    /// Rows that became a finding and nothing else.
    pub faulty: u64,
    /// Error findings, each as its code and its message.
    pub errors: Vec<String>,
    /// Zone that times are shown in, where the sample has none of its own.
    pub zone: &'static str,
}

/// Night and start for sources that give none: invented, and said to be so.
const NIGHT: &str = "2026-01-15";
const START: &str = "2026-01-15 22:00";
const END: &str = "2026-01-16 11:59";

/// Imports the sample with every word as `unscored`.
pub(super) fn try_out(
    file: &SampleFile<'_>,
    toml: &str,
    block: &Block,
    needs: &[&'static str],
    options: &Options,
) -> Option<Tried> {
    let mut text = toml.to_owned();
    // Words stand in the last table of a draft, and totals are tried as what they are called, if that is plain.
    let words: std::collections::BTreeSet<&String> = block.all().into_iter().flat_map(|b| b.words.keys()).collect();
    for word in words {
        text.push_str(&format!("{} = \"unscored\"\n", super::write::quoted(word)));
    }
    let definition = Definition::parse(&options.id, &with_claims(&text, block)).ok()?;
    let need = |option: &str, value: &str| needs.contains(&option).then(|| value.to_owned());
    let bindings = Bindings {
        file: file.name.to_owned(),
        participant: "P01".into(),
        night: need("--night", NIGHT),
        study_zone: Zone::named("UTC").ok(),
        start: need("--start", START).map(|s| format!("{}Z", s.replace(' ', "T") + ":00")),
        end: need("--end", END)
            .filter(|_| needs.contains(&"--night"))
            .map(|s| format!("{}Z", s.replace(' ', "T") + ":00")),
        ..Bindings::default()
    };
    let outcome = import(&definition, &mut &*file.bytes, &bindings, Limits::default()).ok()?;
    let findings = outcome.findings.iter().chain(outcome.parts.iter().flat_map(|p| &p.findings));
    let errors: Vec<String> =
        findings.filter(|f| f.severity == Severity::Error).map(|f| format!("{}: {}", f.code, f.message)).collect();
    let tally = &outcome.tally;
    let good = tally.spans + tally.claims + tally.notes;
    Some(Tried { text: describe(&outcome), rows: tally.rows, good, faulty: tally.faulty, errors, zone: "UTC" })
}

/// Takes the totals whose names are plain as what they say.
fn with_claims(text: &str, block: &Block) -> String {
    if block.totals.is_empty() {
        return text.to_owned();
    }
    let mut names: Vec<Option<&str>> = block.totals.iter().map(|t| t.perhaps.as_deref()).rev().collect();
    let mut used: Vec<&str> = Vec::new();
    let line = |line: &str| match line.strip_prefix("# \"?\"") {
        None => line.to_owned(),
        Some(rest) => match names.pop().flatten() {
            Some(name) if !used.contains(&name) => {
                used.push(name);
                format!("\"{name}\"{rest}")
            }
            _ => line.to_owned(),
        },
    };
    text.lines().map(line).collect::<Vec<_>>().join("\n")
}
