//! Everything that was decided, done again in a scratch store, and the rows compared.

use crate::commands::new::TOOL;
use crate::{definitions, opening};
use anyhow::Context as _;
use counterpane_model::zone::{rules_version, second_rules_version};
use counterpane_store::verify::{Difference, Fault, FaultKind, Made, Proof, Skip, differences, made_by};
use counterpane_store::{Act, Decision, Study};
use std::path::Path;

/// Why rows differ from what the originals give.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Cause {
    /// They were made under other zone rules; both versions then, both versions now.
    Rules { then: String, now: String },
    /// They were made by another version of the program.
    Program { then: String },
    /// Nothing that this program knows of.
    Unknown,
}

impl Cause {
    /// Returns the code that JSON carries.
    pub(crate) fn code(&self) -> &'static str {
        match self {
            Cause::Rules { .. } => "zone-rules",
            Cause::Program { .. } => "program",
            Cause::Unknown => "unknown",
        }
    }

    /// Returns the cause as a sentence.
    pub(crate) fn words(&self) -> String {
        match self {
            Cause::Rules { then, now } => {
                format!("the zone rules may be: it was read under {then}, and this program has {now}")
            }
            Cause::Program { then } => {
                format!("the program may be: the store was made by {then}, and this is {TOOL}")
            }
            Cause::Unknown => {
                "not the zone rules and not the version of the program: study.db was changed by something else".into()
            }
        }
    }
}

/// What came of doing everything again.
pub(crate) struct Compared {
    /// How many decisions were carried out again.
    pub(crate) decisions: u64,
    /// What differs, and why.
    pub(crate) differences: Vec<(Difference, Cause)>,
    /// How many more rows differ.
    pub(crate) more: u64,
}

impl Compared {
    /// Returns how many places differ.
    pub(crate) fn total(&self) -> u64 {
        self.differences.len() as u64 + self.more
    }
}

/// Carries every decision out again in a scratch store, and compares its rows with those that are stored.
///
/// A decision that cannot be carried out becomes a fault of the proof, and what follows from it is not compared.
pub(crate) fn read_again(folder: &Path, proof: &mut Proof, bar: &indicatif::ProgressBar) -> anyhow::Result<Compared> {
    let scratch = tempfile::tempdir().context("a scratch folder; TMPDIR names another place for it")?;
    let mut derived = Study::open_aside(folder, &scratch.path().join("derived.db"))?;
    let skip = carry_out_all(&mut derived, proof, bar)?;
    derived.recheck(&opening::checker)?;
    let mut stored = proof.stored(scratch.path())?;
    if !stored.pending()?.is_empty() {
        opening::finish(&mut stored)?;
    }
    if stored.needs_recheck()? {
        proof.notes.push(
            "study.toml is newer than the checks of the store: what is compared is a copy of the store that follows it, with its checks run again"
                .into(),
        );
        stored.recheck(&opening::checker)?;
    }
    let made = made_by(&stored)?;
    notes(folder, &made, proof)?;
    let found = differences(&stored, &derived, &skip)?;
    let mut same_but_rules = false;
    let mut named = Vec::new();
    for difference in found.named {
        // The version of the rules alone is no difference: the rows were made again and are the same.
        let only_rules =
            difference.columns.iter().all(|c| c.ends_with("rules_version")) && !difference.columns.is_empty();
        if only_rules && made.other_rules.contains_key(&difference.place) {
            same_but_rules = true;
        } else {
            let cause = cause_of(&difference, &made);
            named.push((difference, cause));
        }
    }
    if same_but_rules {
        proof.notes.push("some recordings were read under other zone rules; where nothing is said of them below, this program's rules give the same rows".into());
    }
    Ok(Compared { decisions: derived.decisions().len() as u64, differences: named, more: found.more })
}

/// Returns what cannot be compared, because a decision could not be carried out.
fn carry_out_all(derived: &mut Study, proof: &mut Proof, bar: &indicatif::ProgressBar) -> anyhow::Result<Skip> {
    let decisions = derived.pending()?;
    bar.set_length(decisions.len() as u64);
    bar.set_position(0);
    let mut skip = Skip::default();
    for decision in decisions {
        if let Err(e) = opening::apply(derived, &decision) {
            let place = format!("decision {}", decision.n);
            let message = crate::output::chain(&e);
            proof.faults.push(Fault { kind: FaultKind::NotRepeatable, place, message });
            skip.decisions.push(decision.n);
            let nights = nights_of(&decision);
            if let Act::Import(act) = &decision.act {
                let piece = act.unit.as_deref().or(act.scorer.as_deref()).unwrap_or_default();
                skip.recordings.extend(nights.iter().map(|night| format!("{night}/{piece}")));
            }
            skip.nights.extend(nights);
        }
        bar.inc(1);
    }
    Ok(skip)
}

fn nights_of(decision: &Decision) -> Vec<String> {
    let one = |participant: &str, night: &str| vec![format!("{participant}/{night}")];
    match &decision.act {
        Act::Import(act) => act.nights.iter().map(|n| format!("{}/{}", act.participant, n.label)).collect(),
        Act::Accept { participant, night, .. } => one(participant, night),
        Act::Exclude(act) => one(&act.participant, &act.night),
        Act::Note(act) => one(&act.participant, &act.night),
        Act::ClockSeen(act) => one(&act.participant, &act.night),
        Act::ClockSet(act) => one(&act.participant, &act.night),
        Act::Count { recording, .. } => recording.rsplit_once('/').map(|r| r.0.to_owned()).into_iter().collect(),
        Act::Protocol(_) | Act::Looked { .. } | Act::Withdraw { .. } => Vec::new(),
    }
}

fn cause_of(difference: &Difference, made: &Made) -> Cause {
    let of_recording = made.other_rules.get(&difference.place);
    // Tables without recordings follow the rules too, where any recording was read under others.
    let follows = matches!(difference.table, "offset_stretch" | "finding" | "night");
    let any = made.other_rules.values().next().filter(|_| follows);
    if let Some(then) = of_recording.or(any) {
        let now = format!("{} and {}", rules_version(), second_rules_version());
        return Cause::Rules { then: then.clone(), now };
    }
    match &made.tool {
        Some(then) if then != TOOL => Cause::Program { then: then.clone() },
        _ => Cause::Unknown,
    }
}

/// Says which recordings were read by an earlier text of a definition than the one that is used now.
fn notes(folder: &Path, made: &Made, proof: &mut Proof) -> anyhow::Result<()> {
    let now = definitions::all(Some(folder))?;
    for (id, sha256) in &made.definitions {
        let earlier = match now.get(id) {
            Some(text) => counterpane_store::decisions::hash(text.text.as_bytes()) != *sha256,
            None => false,
        };
        if earlier {
            proof.notes.push(format!(
                "recordings stand that an earlier text of the definition `{id}` read; they were read again by that text, and importing their files anew would use the one of now"
            ));
        }
    }
    Ok(())
}
