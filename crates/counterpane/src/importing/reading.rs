//! A file that was read, before anything is stored.

use super::Asked;
use super::again::bindings_of;
use super::beside::{self, Found};
use super::blanking::Incoming;
use super::definition::{Why, choose_definition};
use super::limits::{changed, limits_for};
use super::nights::{by_its_clock, declare_parts, night_taken, nights_for, reason_of_clock, refuse_undeclared};
use super::participant::choose_participant;
use super::read_from::ReadFrom;
use super::recordings::{evening, parts_taken, recordings};
use super::sheet;
use super::source::choose_source;
use super::usual;
use crate::opening::checker;
use crate::wording::{and, and_more, count};
use anyhow::{Context as _, bail};
use counterpane_import::{Definition, Outcome, Part, PartNight, import_with};
use counterpane_model::{Night, Source};
use counterpane_store::{Deed, ImportAct, NewRecording, NightTaken, Study};
use std::io::BufReader;
use std::path::Path;

/// A file that was read, before anything is stored.
#[derive(Debug)]
pub(crate) struct Reading {
    /// Everything that the import needs to be done again.
    pub(crate) act: ImportAct,
    /// The definition that read it.
    pub(crate) definition: Definition,
    /// Why that one.
    pub(crate) why: Why,
    /// Files beside it that were read with it.
    beside: Vec<Found>,
    /// Its pictures, and the readings that it settles.
    pub(super) read_from: ReadFrom,
    /// The file as it is kept.
    incoming: Incoming,
    /// What it gave.
    pub(crate) outcome: Outcome,
    /// Who says it.
    pub(crate) source: Source,
    /// Nights that are declared with this import.
    pub(crate) new_nights: Vec<Night>,
    /// Labels of nights that an earlier import took in the same way: taking them again changes nothing.
    pub(crate) taken_before: Vec<String>,
    /// Evenings of nights that are not declared.
    pub(crate) left_out: Vec<String>,
    /// Declared nights around whose windows the file says more, with how much.
    pub(crate) around: Vec<String>,
}

impl Reading {
    /// Settles which nights are taken, and which were taken before.
    fn split_taken(&mut self, study: &Study, declared: &[Night]) -> anyhow::Result<()> {
        let nights: Vec<NightTaken> = {
            let taken = |n| night_taken(study, self.act.unit.as_deref(), n);
            declared.iter().chain(&self.new_nights).map(taken).collect()
        };
        for part in &self.outcome.parts {
            let PartNight::Declared(label) = &part.night else { continue };
            let wanted = self.act.night.as_ref().is_none_or(|n| n == label);
            let Some(night) = nights.iter().find(|n| n.label == *label).filter(|_| wanted) else { continue };
            if study.has_taken(&self.act, night)? {
                self.taken_before.push(label.clone());
            } else if !self.act.nights.contains(night) {
                self.act.nights.push(night.clone());
            }
        }
        let act = &self.act;
        self.new_nights.retain(|n| act.nights.iter().any(|t| t.label == n.label));
        let is_declared = |label: &str| declared.iter().any(|n| n.label == label);
        for part in &self.outcome.parts {
            match &part.night {
                PartNight::Undeclared { evening, .. } if is_declared(evening) => {
                    self.around.push(format!("{evening} ({})", count(part.spans.len() as u64, "span")));
                }
                PartNight::Undeclared { evening, .. } => self.left_out.push(evening.clone()),
                PartNight::Declared(label) if !nights.iter().any(|n| n.label == *label) => {
                    self.left_out.push(label.clone())
                }
                PartNight::Declared(_) => {}
            }
        }
        Ok(())
    }

    /// Returns the parts of declared nights, and of nights that are declared with this import.
    pub(crate) fn taken(&self) -> Vec<(&Part, String)> {
        parts_taken(&self.outcome, &self.act)
    }

    /// Returns the recordings as the store takes them.
    pub(crate) fn recordings(&self) -> Vec<NewRecording> {
        recordings(&self.outcome, &self.act, &self.definition, &self.source)
    }

    /// Says why nothing was blanked, where that was asked for.
    pub(crate) fn unblanked(&self) -> Option<&'static str> {
        self.incoming.unblanked
    }

    /// Keeps the originals that an earlier import kept and that are missing or were changed on disk since. Says whether
    /// there were any.
    pub(crate) fn restore(&mut self, study: &Study) -> anyhow::Result<bool> {
        let originals = study.originals();
        let mut restored = !originals.holds(&self.act.original);
        if restored {
            self.incoming.keep(study)?;
        }
        for found in self.beside.iter().filter(|f| !originals.holds(&f.kept.sha256)) {
            originals.keep(found.bytes.as_slice())?;
            restored = true;
        }
        if self.read_from.is_damaged(study) {
            self.read_from.keep(study)?;
            restored = true;
        }
        Ok(restored)
    }

    /// Keeps the original, those beside it and the definition, decides, and applies. Returns the keys of the recordings.
    pub(crate) fn store(mut self, study: &mut Study, path: &Path, at: &str, by: &str) -> anyhow::Result<Vec<String>> {
        let original = self.incoming.keep(study)?;
        if original.sha256 != self.act.original {
            return Err(counterpane_store::StoreError::Changed(path.to_owned()).into());
        }
        let mut originals = vec![original];
        for found in &self.beside {
            originals.push(study.originals().keep(found.bytes.as_slice())?);
        }
        self.read_from.keep(study)?;
        study.originals().keep(self.definition.text().as_bytes())?;
        study.declare_nights(&self.new_nights)?;
        let recordings = self.recordings();
        let text = self.definition.text();
        Ok(study.import(Deed::New { at, by }, &self.act, &originals, text, &recordings, &checker)?)
    }
}

/// Reads a file by the definition and for the source that were asked for, and stores nothing.
///
/// # Errors
/// The file or the definition cannot be read, a name is not declared, or the file holds no night that
/// would be taken; the message says what to do.
pub(super) fn read(study: &Study, path: &Path, asked: &Asked) -> anyhow::Result<Reading> {
    let mut incoming = Incoming::for_import(study, path, asked.blank_identity)?;
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let limits = limits_for(study, &asked.limit)?;
    let asked = usual::with_source(study, path, asked)?;
    let (definition, why) = choose_definition(study, path, incoming.again()?, &asked, limits)?;
    let (asked, sheet) = sheet::with_head(path, &definition, asked)?;
    let source = choose_source(study, &definition, &asked)?;
    let asked = usual::with_bindings(study, &source, asked);
    let participant = choose_participant(study, &source, &asked)?;
    let nights = nights_for(study, &participant, &asked)?;
    if let Some(sheet) = &sheet {
        sheet::check_zone(sheet, &asked, &nights)?;
    }
    let beside = beside::find(path, &definition, limits)?;
    let read_from = ReadFrom::find(study, path, &asked, sheet.as_ref())?;
    let original = incoming.hash().with_context(|| path.display().to_string())?;
    let (unit, scorer) = match &source {
        Source::Device { unit, .. } => (Some(unit.clone()), None),
        Source::Reference { scorer, .. } => (None, Some(scorer.clone())),
    };
    let mut act = ImportAct {
        original: original.sha256,
        file: name,
        definition: definition.id().to_owned(),
        definition_sha256: definition.sha256().to_owned(),
        participant,
        unit,
        scorer,
        night: asked.night.clone(),
        zone: asked.zone.clone(),
        study_zone: study.config().zone().to_owned(),
        start: asked.start.clone(),
        end: asked.end.clone(),
        lights_off: asked.lights_off.clone(),
        lights_on: asked.lights_on.clone(),
        precision_ms: asked.precision.map(|p| p.0),
        beside: beside.iter().map(|f| f.kept.clone()).collect(),
        limits: changed(&limits),
        blanked: incoming.blanked.clone(),
        pictures: Vec::new(),
        settles: None,
        clock_reason: None,
        nights: Vec::new(),
    };
    read_from.tell(&mut act);
    let bindings = bindings_of(&act, by_its_clock(study, act.unit.as_deref(), nights))?;
    let companions: Vec<_> = beside.iter().map(Found::companion).collect();
    let mut outcome = import_with(&definition, &mut BufReader::new(incoming.again()?), &companions, &bindings, limits)?;
    if let Some(sheet) = &sheet {
        sheet::check_window(sheet, &act.file, &mut outcome)?;
    }
    let is_known = |n: &&Night| study.nights().iter().any(|k| k.participant == n.participant && k.label == n.label);
    let mut new_nights: Vec<Night> = bindings.nights.iter().filter(|n| !is_known(n)).cloned().collect();
    if asked.takes_new_nights() {
        new_nights.extend(declare_parts(&mut outcome, &act.participant, &bindings.nights));
    }
    // A zone that was typed outranks what is declared of the unit.
    if asked.zone.is_none() {
        refuse_undeclared(study, act.unit.as_deref(), &new_nights)?;
    }
    let mut reading = Reading {
        act,
        definition,
        why,
        beside,
        read_from,
        incoming,
        outcome,
        source,
        new_nights,
        taken_before: Vec::new(),
        left_out: Vec::new(),
        around: Vec::new(),
    };
    reading.split_taken(study, &bindings.nights)?;
    let act = &reading.act;
    if act.zone.is_none() {
        reading.act.clock_reason = reason_of_clock(study, act.unit.as_deref(), &act.participant, &act.nights);
    }
    Ok(reading)
}

/// Opens a regular file; a folder, a pipe or a loop of links is an error in words.
pub(super) fn open(path: &Path) -> anyhow::Result<std::fs::File> {
    let shown = path.display();
    let kind = match std::fs::metadata(path) {
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => bail!("there is no such file"),
        other => other.with_context(|| format!("{shown}"))?,
    };
    if kind.is_dir() {
        bail!("{shown} is a folder; name the files in it, such as {shown}/*.json");
    }
    if !kind.is_file() {
        bail!("{shown} is not a regular file; copy its contents into one first");
    }
    std::fs::File::open(path).with_context(|| format!("{shown}"))
}

/// Says in words why nothing of a file would be taken, or `None` when something would.
pub(super) fn nothing_taken(reading: &Reading) -> Option<String> {
    if !reading.taken().is_empty() || !reading.taken_before.is_empty() {
        return None;
    }
    let held: Vec<String> = reading.outcome.parts.iter().map(|p| evening(p).to_owned()).collect();
    let participant = &reading.act.participant;
    Some(match (&reading.act.night, held.as_slice()) {
        (_, []) => {
            let tally = &reading.outcome.tally;
            let left_out: Vec<String> = tally.ignored.iter().map(|(rule, n)| format!("{n} by {rule}")).collect();
            let by_rule = if left_out.is_empty() { String::new() } else { format!("; left out {}", and(&left_out)) };
            format!("it holds no night: of {} none became a span or a claim{by_rule}", count(tally.rows, "row"))
        }
        (Some(night), held) => format!("it does not hold the night `{night}`; it holds {}", and_more(held)),
        (None, held) => format!(
            "it holds the {} {}, and {participant} has declared none of them; take them with --new-nights, or declare them in study.toml",
            if held.len() == 1 { "night" } else { "nights" },
            and_more(held)
        ),
    })
}
