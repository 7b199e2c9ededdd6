//! From a file to recordings of the store.

use crate::definitions;
use crate::opening::checker;
use crate::wording::{and, count};
use anyhow::{Context as _, bail};
use counterpane_formats::Limits;
use counterpane_formats::sniff::sniff_file;
use counterpane_import::{Bindings, Definition, Outcome, Part, PartNight, Tally, import};
use counterpane_model::{Finding, Instant, Lights, Night, Recording, Source, Zone};
use counterpane_store::originals::hash_of;
use counterpane_store::{Act, Decision, Deed, ImportAct, NewRecording, NightTaken, Original, Study};
use std::io::{BufReader, Read, Seek as _};
use std::path::Path;

/// What the command line says of a file beyond its name.
#[derive(Clone, Debug, Default, clap::Args)]
pub(crate) struct Asked {
    /// Device that gave them
    #[arg(long, value_name = "NAME")]
    pub(crate) device: Option<String>,
    /// Unit that gave them, where the device has several
    #[arg(long, value_name = "NAME")]
    pub(crate) unit: Option<String>,
    /// Participant, where it does not follow from the unit
    #[arg(long, value_name = "CODE")]
    pub(crate) participant: Option<String>,
    /// The only night to take; needed where the file holds times of day without a date
    #[arg(long, value_name = "LABEL")]
    pub(crate) night: Option<String>,
    /// Scorer, for a reference
    #[arg(long, value_name = "CODE")]
    pub(crate) scorer: Option<String>,
    /// Zone of wall times, where neither the file nor the night gives it
    #[arg(long, value_name = "ZONE")]
    pub(crate) zone: Option<String>,
    /// Start of the recording, where the file does not hold it
    #[arg(long, value_name = "TIME")]
    pub(crate) start: Option<String>,
    /// End of the recording, where the file does not hold it
    #[arg(long, value_name = "TIME")]
    pub(crate) end: Option<String>,
    /// Lights off
    #[arg(long, value_name = "TIME")]
    pub(crate) lights_off: Option<String>,
    /// Lights on
    #[arg(long, value_name = "TIME")]
    pub(crate) lights_on: Option<String>,
    /// Definition that reads the file; else the device's usual one, else the one that fits
    #[arg(long, value_name = "ID")]
    pub(crate) definition: Option<String>,
    /// Declare the nights of the file that study.toml does not have
    #[arg(long)]
    pub(crate) new_nights: bool,
}

/// A file that was read, before anything is stored.
#[derive(Debug)]
pub(crate) struct Reading {
    /// Everything that the import needs to be done again.
    pub(crate) act: ImportAct,
    /// The definition that read it.
    pub(crate) definition: Definition,
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
        let nights: Vec<NightTaken> = declared.iter().chain(&self.new_nights).map(night_taken).collect();
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

    /// Keeps the original and the definition, decides, and applies. Returns the keys of the recordings.
    pub(crate) fn store(self, study: &mut Study, path: &Path, at: &str, by: &str) -> anyhow::Result<Vec<String>> {
        let original = study.originals().keep(open(path)?)?;
        if original.sha256 != self.act.original {
            return Err(counterpane_store::StoreError::Changed(path.to_owned()).into());
        }
        study.originals().keep(self.definition.text().as_bytes())?;
        study.declare_nights(&self.new_nights)?;
        let recordings = self.recordings();
        let text = self.definition.text();
        Ok(study.import(Deed::New { at, by }, &self.act, &original, text, &recordings, &checker)?)
    }
}

/// A file that was brought in, or would have been.
#[derive(Debug)]
pub(crate) struct File {
    /// Everything that the import needs to be done again.
    pub(crate) act: ImportAct,
    /// What became of its rows.
    pub(crate) tally: Tally,
    /// Names of header fields that identify a person.
    pub(crate) identity: Vec<String>,
    /// The recordings.
    pub(crate) recordings: Vec<NewRecording>,
    /// Their keys; empty texts in a dry run.
    pub(crate) keys: Vec<String>,
    /// Labels of nights that an earlier import took in the same way.
    pub(crate) taken_before: Vec<String>,
    /// Evenings of nights that are not declared and were left out.
    pub(crate) left_out: Vec<String>,
    /// Declared nights around whose windows the file says more, with how much; left out too.
    pub(crate) around: Vec<String>,
    /// The original was missing or changed on disk, and is whole again.
    pub(crate) restored: bool,
    /// The participants for whom the same original was imported before.
    pub(crate) others: Vec<String>,
    /// Nights that are declared with this import.
    pub(crate) new_nights: Vec<Night>,
    /// What import and the checks of the nights found; in a dry run what import found.
    pub(crate) findings: Vec<Finding>,
}

/// What came of a file that could be read.
pub(crate) enum Brought {
    /// Recordings of it are in the store, or were before.
    In(Box<File>),
    /// Nothing of it would be taken.
    Nothing {
        /// Why, in words.
        why: String,
        /// What import found in it.
        findings: Vec<Finding>,
    },
}

/// Reads a file and, unless it is a dry run, stores what it holds of declared nights.
///
/// # Errors
/// See [`read`]; the store refuses. Then nothing of the file is stored.
pub(crate) fn bring_in(
    study: &mut Study,
    path: &Path,
    asked: &Asked,
    dry_run: bool,
    by: &str,
) -> anyhow::Result<Brought> {
    let reading = read(study, path, asked)?;
    let recordings = reading.recordings();
    if let Some(why) = nothing_taken(&reading) {
        return Ok(Brought::Nothing { why, findings: reading.outcome.findings });
    }
    let mut file = File {
        act: reading.act.clone(),
        tally: reading.outcome.tally.clone(),
        identity: reading.outcome.identity.clone(),
        keys: vec![String::new(); recordings.len()],
        taken_before: reading.taken_before.clone(),
        left_out: reading.left_out.clone(),
        around: reading.around.clone(),
        restored: false,
        others: other_participants(study, &reading.act),
        new_nights: reading.new_nights.clone(),
        findings: recordings.iter().flat_map(|r| r.findings.clone()).collect(),
        recordings,
    };
    if !dry_run && file.recordings.is_empty() && !study.originals().holds(&file.act.original) {
        study.originals().keep(open(path)?)?;
        file.restored = true;
    }
    if !dry_run && !file.recordings.is_empty() {
        file.keys = reading.store(study, path, &crate::opening::now(), by)?;
        file.findings = findings_of(study, &file.keys)?;
    }
    Ok(Brought::In(Box::new(file)))
}

/// Returns the other participants for whom the same original was imported.
fn other_participants(study: &Study, act: &ImportAct) -> Vec<String> {
    let mut out: Vec<String> = study
        .decisions()
        .iter()
        .filter_map(|d| match &d.act {
            Act::Import(a) if a.original == act.original && a.participant != act.participant => {
                Some(a.participant.clone())
            }
            _ => None,
        })
        .collect();
    out.sort_unstable();
    out.dedup();
    out
}

/// Returns what stands in the store of these recordings and of their nights.
fn findings_of(study: &Study, keys: &[String]) -> anyhow::Result<Vec<Finding>> {
    let mut out: Vec<Finding> = Vec::new();
    for key in keys {
        let mut parts = key.splitn(3, '/');
        let (Some(participant), Some(night)) = (parts.next(), parts.next()) else { continue };
        let of_night = study.findings(Some((participant, night)))?;
        for finding in of_night.into_iter().map(|f| f.finding) {
            // Findings of the night itself are told once.
            if finding.recording.as_deref().is_none_or(|r| r == key) && !out.contains(&finding) {
                out.push(finding);
            }
        }
    }
    Ok(out)
}

/// Reads a file by the definition and for the source that were asked for, and stores nothing.
///
/// # Errors
/// The file or the definition cannot be read, a name is not declared, or the file holds no night that
/// would be taken; the message says what to do.
fn read(study: &Study, path: &Path, asked: &Asked) -> anyhow::Result<Reading> {
    let mut file = open(path)?;
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let definition = choose_definition(study, &name, &mut file, asked)?;
    let source = choose_source(study, &definition, asked)?;
    let participant = choose_participant(study, &source, asked)?;
    let nights = nights_for(study, &participant, asked)?;
    let original = hash_of(&mut file).with_context(|| path.display().to_string())?;
    file.rewind()?;
    let (unit, scorer) = match &source {
        Source::Device { unit, .. } => (Some(unit.clone()), None),
        Source::Reference { scorer, .. } => (None, Some(scorer.clone())),
    };
    let act = ImportAct {
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
        nights: Vec::new(),
    };
    let bindings = bindings_of(&act, nights)?;
    let mut outcome = import(&definition, &mut BufReader::new(&mut file), &bindings, Limits::default())?;
    let mut new_nights: Vec<Night> =
        bindings.nights.iter().filter(|n| study.nights().iter().all(|k| k != *n)).cloned().collect();
    if asked.new_nights {
        new_nights.extend(declare_parts(&mut outcome, &act.participant, &bindings.nights));
    }
    let mut reading = Reading {
        act,
        definition,
        outcome,
        source,
        new_nights,
        taken_before: Vec::new(),
        left_out: Vec::new(),
        around: Vec::new(),
    };
    reading.split_taken(study, &bindings.nights)?;
    Ok(reading)
}

/// Applies an import of the log again: the same original, definition and bindings give the same rows.
pub(crate) fn apply_again(study: &mut Study, decision: &Decision, act: &ImportAct) -> anyhow::Result<()> {
    let mut text = String::new();
    let name = format!("the definition {}", act.definition);
    study.originals().open(&act.definition_sha256, &name)?.read_to_string(&mut text)?;
    let definition = Definition::parse(&act.definition, &text)
        .map_err(|e| anyhow::anyhow!("{}", e.render(&format!("definition {}", act.definition))))?;
    let file = study.originals().open(&act.original, &act.file)?;
    let bytes = file.metadata()?.len();
    let nights = act.nights.iter().map(|n| night_of(n, &act.participant)).collect();
    let bindings = bindings_of(act, nights)?;
    let outcome = import(&definition, &mut BufReader::new(file), &bindings, Limits::default())?;
    let source = source_of(study, act)?;
    let original = Original { sha256: act.original.clone(), bytes };
    let recordings = recordings(&outcome, act, &definition, &source);
    study.import(Deed::Logged(decision), act, &original, &text, &recordings, &checker)?;
    Ok(())
}

/// Returns what an import binds. A first import and one that is done again get it from the same act, so
/// they cannot differ.
fn bindings_of(act: &ImportAct, nights: Vec<Night>) -> anyhow::Result<Bindings> {
    Ok(Bindings {
        file: act.file.clone(),
        participant: act.participant.clone(),
        nights,
        night: act.night.clone(),
        zone: act.zone.as_deref().map(Zone::named).transpose()?,
        study_zone: Some(Zone::named(&act.study_zone)?),
        start: act.start.clone(),
        end: act.end.clone(),
        lights_off: act.lights_off.clone(),
        lights_on: act.lights_on.clone(),
    })
}

/// Opens a regular file; a folder, a pipe or a loop of links is an error in words.
fn open(path: &Path) -> anyhow::Result<std::fs::File> {
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

fn choose_definition(study: &Study, name: &str, file: &mut std::fs::File, asked: &Asked) -> anyhow::Result<Definition> {
    let config = study.config();
    let by_unit = asked.unit.as_deref().and_then(|u| config.unit(u)).map(|u| u.device.get_ref().as_str());
    let device = asked.device.as_deref().or(by_unit);
    let usual = match (&asked.scorer, device) {
        (Some(code), _) => config.scorer(code).and_then(|s| s.definition.clone()),
        (None, Some(device)) => config.device(device).and_then(|d| d.definition.clone()),
        (None, None) => None,
    };
    match asked.definition.clone().or(usual) {
        Some(id) => definitions::named(Some(study.root()), &id),
        None => {
            // An archive and a workbook are known by what they hold, which their beginning does not tell.
            let look = sniff_file(name, &mut *file, Limits::default())?;
            file.rewind()?;
            definitions::recognised(Some(study.root()), &look)
        }
    }
}

fn choose_source(study: &Study, definition: &Definition, asked: &Asked) -> anyhow::Result<Source> {
    let config = study.config();
    if let Some(code) = &asked.scorer {
        if asked.device.is_some() || asked.unit.is_some() {
            bail!("--scorer names a reference and --device or --unit a device; give one of them");
        }
        return scorer(study, code);
    }
    if let Some(unit) = &asked.unit {
        let unit = config.unit(unit).ok_or_else(|| unknown_unit(study, unit))?;
        let device = unit.device.get_ref().clone();
        if asked.device.as_ref().is_some_and(|d| *d != device) {
            bail!("`{}` is a unit of the device `{device}`; leave out --device or name that one", unit.name.get_ref());
        }
        return Ok(Source::Device { device, unit: unit.name.get_ref().clone() });
    }
    let device = match &asked.device {
        Some(device) => config.device(device).ok_or_else(|| unknown_device(study, device))?.name.get_ref().clone(),
        None => source_by_definition(study, definition)?,
    };
    if config.scorer(&device).is_some() && config.device(&device).is_none() {
        return scorer(study, &device);
    }
    let units: Vec<_> = config
        .units_of(&device)
        .filter(|u| match (&u.participant, &asked.participant) {
            (Some(wearer), Some(asked)) => wearer.get_ref() == asked,
            _ => true,
        })
        .map(|u| u.name.get_ref().clone())
        .collect();
    match units.as_slice() {
        [unit] => Ok(Source::Device { device, unit: unit.clone() }),
        [] => bail!(
            "study.toml has no unit of `{device}`{}; add one there:\n\n[[unit]]\nname = \"{device}-1\"\ndevice = \"{device}\"",
            asked.participant.as_ref().map(|p| format!(" for {p}")).unwrap_or_default()
        ),
        several => {
            bail!("`{device}` has the units {}; name one with --unit, or the wearer with --participant", and(several))
        }
    }
}

/// Returns the only device or scorer whose usual definition this is.
fn source_by_definition(study: &Study, definition: &Definition) -> anyhow::Result<String> {
    let config = study.config();
    let devices =
        config.devices.iter().filter(|d| d.definition.as_deref() == Some(definition.id())).map(|d| d.name.get_ref());
    let scorers =
        config.scorers.iter().filter(|s| s.definition.as_deref() == Some(definition.id())).map(|s| s.code.get_ref());
    match devices.chain(scorers).collect::<Vec<_>>().as_slice() {
        [one] => Ok((*one).clone()),
        [] => bail!(
            "nobody is named who says this: give --device or --unit, or --scorer for a reference (the file reads as `{}`)",
            definition.id()
        ),
        several => {
            bail!("the definition `{}` serves {}; name one with --device or --scorer", definition.id(), and(several))
        }
    }
}

fn scorer(study: &Study, code: &str) -> anyhow::Result<Source> {
    let config = study.config();
    let found = config.scorer(code).ok_or_else(|| {
        let known: Vec<&str> = config.scorers.iter().map(|s| s.code.get_ref().as_str()).collect();
        let example = format!("[[scorer]]\ncode = {}\nscored_by = \"human\"   # or \"algorithm\"", toml_text(code));
        unknown("scorer", code, &known, example)
    })?;
    Ok(Source::Reference { scorer: code.to_owned(), scored_by: found.scored_by })
}

fn unknown_unit(study: &Study, unit: &str) -> anyhow::Error {
    let known: Vec<&str> = study.config().units.iter().map(|u| u.name.get_ref().as_str()).collect();
    let example = format!("[[unit]]\nname = {}\ndevice = \"…\"", toml_text(unit));
    unknown("unit", unit, &known, example)
}

fn unknown_device(study: &Study, device: &str) -> anyhow::Error {
    let known: Vec<&str> = study.config().devices.iter().map(|d| d.name.get_ref().as_str()).collect();
    let name = toml_text(device);
    let example =
        format!("[[device]]\nname = {name}\n\n[[unit]]\nname = {}\ndevice = {name}", toml_text(&format!("{device}-1")));
    unknown("device", device, &known, example)
}

fn unknown(what: &'static str, name: &str, known: &[&str], example: String) -> anyhow::Error {
    counterpane_store::StoreError::Unknown { what, name: name.to_owned(), known: and(known), example }.into()
}

fn toml_text(name: &str) -> String {
    counterpane_store::config::quoted(name)
}

fn choose_participant(study: &Study, source: &Source, asked: &Asked) -> anyhow::Result<String> {
    let config = study.config();
    let known: Vec<&str> = config.participants.iter().map(|p| p.code.get_ref().as_str()).collect();
    let wearer = match source {
        Source::Device { unit, .. } => {
            config.unit(unit).and_then(|u| u.participant.as_ref()).map(|p| p.get_ref().clone())
        }
        Source::Reference { .. } => None,
    };
    if let (Source::Device { unit, .. }, Some(asked), Some(wearer)) = (source, &asked.participant, &wearer)
        && asked != wearer
    {
        bail!(
            "study.toml says that {wearer} wears `{unit}`, and --participant says {asked}; take `participant` away from the unit if several people wear it"
        );
    }
    match asked.participant.clone().or(wearer) {
        Some(code) if known.contains(&code.as_str()) => Ok(code),
        Some(code) => {
            Err(unknown("participant", &code, &known, format!("[[participant]]\ncode = {}", toml_text(&code))))
        }
        None => match known.as_slice() {
            [one] => Ok((*one).to_owned()),
            [] => bail!("study.toml has no participant; add one there:\n\n[[participant]]\ncode = \"P01\""),
            several => bail!("name the participant with --participant: {}", crate::wording::or(several)),
        },
    }
}

/// Returns the declared nights of a participant, and the one of `--night` when `--new-nights` declares it.
fn nights_for(study: &Study, participant: &str, asked: &Asked) -> anyhow::Result<Vec<Night>> {
    let mut nights: Vec<Night> = study.nights().iter().filter(|n| n.participant == participant).cloned().collect();
    // A nap may lie inside the noon to noon of a night: the narrower window has the first word.
    nights.sort_by_key(|n| n.window.1.ms_since(n.window.0));
    let Some(label) = asked.night.as_ref().filter(|l| nights.iter().all(|n| n.label != **l)) else { return Ok(nights) };
    let known: Vec<&str> = nights.iter().map(|n| n.label.as_str()).collect();
    let lines = format!("[[night]]\nparticipant = {}\nlabel = {}", toml_text(participant), toml_text(label));
    if !asked.new_nights {
        bail!(
            "{participant} has no night `{label}`; declared are {}. Add --new-nights, or add to study.toml:\n\n{lines}",
            and(&known)
        );
    }
    let zone = Zone::named(asked.zone.as_deref().unwrap_or(study.config().zone()))?;
    let window = counterpane_store::config::noon_to_noon(label, &zone)
        .with_context(|| format!("`{label}` is not a date; declare the night with its window in study.toml:\n\n{lines}\nwindow = [\"2026-04-04 12:00\", \"2026-04-05 12:00\"]"))?;
    nights.push(Night {
        participant: participant.to_owned(),
        label: label.clone(),
        kind: counterpane_model::NightKind::Night,
        zone: zone.name().to_owned(),
        window,
        lights: Lights::default(),
    });
    Ok(nights)
}

/// Turns the parts of undeclared nights into parts of nights that are declared with this import.
fn declare_parts(outcome: &mut Outcome, participant: &str, declared: &[Night]) -> Vec<Night> {
    let mut nights: Vec<Night> = Vec::new();
    for part in &mut outcome.parts {
        let PartNight::Undeclared { evening, from, until } = &part.night else { continue };
        let label = evening.clone();
        // Rows around the window of a declared night belong to no night, and not to a second one.
        if declared.iter().any(|n| n.label == label) {
            continue;
        }
        if nights.iter().all(|n| n.label != label) {
            nights.push(Night {
                participant: participant.to_owned(),
                label: label.clone(),
                kind: counterpane_model::NightKind::Night,
                zone: part.zone.clone(),
                window: (*from, *until),
                lights: Lights::default(),
            });
        }
        part.night = PartNight::Declared(label);
    }
    nights
}

fn night_taken(night: &Night) -> NightTaken {
    NightTaken {
        label: night.label.clone(),
        kind: night.kind,
        zone: night.zone.clone(),
        from: night.window.0,
        until: night.window.1,
    }
}

fn night_of(night: &NightTaken, participant: &str) -> Night {
    Night {
        participant: participant.to_owned(),
        label: night.label.clone(),
        kind: night.kind,
        zone: night.zone.clone(),
        window: (night.from, night.until),
        lights: Lights::default(),
    }
}

fn source_of(study: &Study, act: &ImportAct) -> anyhow::Result<Source> {
    if let Some(unit) = &act.unit {
        let device = study.config().unit(unit).ok_or_else(|| unknown_unit(study, unit))?.device.get_ref().clone();
        return Ok(Source::Device { device, unit: unit.clone() });
    }
    scorer(study, act.scorer.as_deref().unwrap_or_default())
}

/// Returns the label or the evening of a part.
fn evening(part: &Part) -> &str {
    match &part.night {
        PartNight::Declared(label) => label,
        PartNight::Undeclared { evening, .. } => evening,
    }
}

fn parts_taken<'a>(outcome: &'a Outcome, act: &ImportAct) -> Vec<(&'a Part, String)> {
    outcome
        .parts
        .iter()
        .filter_map(|part| match &part.night {
            PartNight::Declared(label) => Some((part, label.clone())),
            PartNight::Undeclared { .. } => None,
        })
        .filter(|(_, label)| act.nights.iter().any(|n| n.label == *label))
        .collect()
}

fn recordings(outcome: &Outcome, act: &ImportAct, definition: &Definition, source: &Source) -> Vec<NewRecording> {
    parts_taken(outcome, act)
        .into_iter()
        .map(|(part, label)| {
            let mut spans = part.spans.clone();
            spans.sort_by_key(|s| (s.start, s.end));
            let mut notes = part.notes.clone();
            notes.sort_by_key(|n| n.at);
            let recording = Recording {
                key: String::new(),
                source: source.clone(),
                participant: act.participant.clone(),
                night: label,
                zone: part.zone.clone(),
                time_basis: part.time_basis,
                vocabulary: definition.vocabulary(),
                step_ms: part.step_ms,
                spans,
                claims: part.claims.clone(),
                notes,
                file: act.file.clone(),
            };
            // A row that could not be read belongs to no night, so each night of the file carries it.
            let findings: Vec<Finding> = outcome.findings.iter().chain(&part.findings).cloned().collect();
            NewRecording { recording, raw_time: part.raw_time.clone(), findings }
        })
        .collect()
}

/// Says in words why nothing of a file would be taken, or `None` when something would.
fn nothing_taken(reading: &Reading) -> Option<String> {
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
        (Some(night), held) => format!("it does not hold the night `{night}`; it holds {}", and(held)),
        (None, held) => format!(
            "it holds the {} {}, and {participant} has declared none of them; take them with --new-nights, or declare them in study.toml",
            if held.len() == 1 { "night" } else { "nights" },
            and(held)
        ),
    })
}

/// Returns the first start and last end of a part's spans, local, for people.
pub(crate) fn stretch(recording: &Recording) -> String {
    let Some((from, until)) = recording.bounds() else { return "no spans".into() };
    local_stretch(&recording.zone, from, until)
}

/// Returns `2026-04-04 22:31 to 06:58` in a zone.
pub(crate) fn local_stretch(zone: &str, from: Instant, until: Instant) -> String {
    Zone::named(zone).map_or_else(
        |_| format!("{from} to {until}"),
        |z| format!("{} to {}", z.wall_of(from).strftime("%Y-%m-%d %H:%M"), z.clock_of(until)),
    )
}
