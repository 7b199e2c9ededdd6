//! What is compared with what: out of the store, past open errors, into a comparison.

use crate::commands::show;
use crate::output::clean;
use crate::wording::{and, or};
use anyhow::bail;
use counterpane_compare::{Comparison, NightComparison, Protocol, Window, compare, compare_night};
use counterpane_model::{Decided, Exclusion, Night, Recording, Scheme, Source};
use counterpane_store::{Stored, StoredFinding, Study};

/// What is compared with what.
#[derive(Debug, Default, clap::Args)]
pub(crate) struct Choice {
    /// Nights, such as `2026-04-04` or `P01/2026-04-04`; else all that have a reference
    #[arg(value_name = "NIGHT")]
    pub(crate) nights: Vec<String>,
    /// Devices or units; else all
    #[arg(long = "device", value_name = "NAME")]
    pub(crate) devices: Vec<String>,
    /// Scorer of the reference, where a night has several
    #[arg(long, value_name = "CODE")]
    pub(crate) scorer: Option<String>,
    /// Classes: sleep-wake, three, four or five; else the finest that device and reference share
    #[arg(long, value_name = "SCHEME")]
    pub(crate) scheme: Option<Scheme>,
    /// Which epochs count: `lights` (lights off to lights on, where both are known), or `scored` (first
    /// to last scored epoch of the reference)
    #[arg(long, value_enum, default_value = "lights")]
    pub(crate) window: WindowName,
    /// Compute with what `exclude` left out, too
    #[arg(long)]
    pub(crate) with_excluded: bool,
}

/// Names of windows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum WindowName {
    /// Lights off to lights on, where both are known; else as `scored`
    #[default]
    Lights,
    /// From the first to the last epoch that the reference scored
    Scored,
}

impl Choice {
    pub(crate) fn protocol(&self) -> Protocol {
        let window = match self.window {
            WindowName::Lights => Window::Lights,
            WindowName::Scored => Window::Scored,
        };
        Protocol { scheme: self.scheme, window }
    }
}

/// A comparison, with the recordings that it was made from.
pub(crate) struct Compared {
    pub(crate) comparison: Comparison,
    pub(crate) recordings: Vec<Stored>,
    pub(crate) findings: Vec<StoredFinding>,
    /// Every decision that leaves out something of what was asked for, also where it is counted nevertheless.
    pub(crate) exclusions: Vec<(Night, Exclusion)>,
    /// Nights that could not be compared, a sentence each.
    pub(crate) left_out: Vec<String>,
    /// The same comparison with what was left out on purpose, where anything was.
    pub(crate) with_excluded: Option<Comparison>,
}

/// What came of asking for a comparison.
pub(crate) enum Asked {
    /// It was made.
    Made(Box<Compared>),
    /// Errors are open in what was asked for.
    Refused(Vec<StoredFinding>),
}

/// Compares what was asked for, unless errors are open in it.
pub(crate) fn gather(study: &Study, choice: &Choice) -> anyhow::Result<Asked> {
    let protocol = choice.protocol();
    for name in &choice.devices {
        let config = study.config();
        if config.device(name).is_none() && config.unit(name).is_none() {
            let known: Vec<&str> = config.devices.iter().map(|d| d.name.get_ref().as_str()).collect();
            bail!("there is no device or unit `{}` in study.toml; it has {}", clean(name), and(&known));
        }
    }
    let nights = chosen_nights(study, choice)?;
    let mut asked = Vec::new();
    let mut findings = Vec::new();
    let mut bare = Vec::new();
    let mut exclusions = Vec::new();
    for night in nights {
        let stored = study.recordings(&night.participant, &night.label)?;
        let diaries: Vec<Stored> = stored.iter().filter(|s| s.counts && s.recording.is_notes_only()).cloned().collect();
        let (reference, devices) = match sides(&night, stored, choice)? {
            Ok(sides) => sides,
            Err(why) => {
                bare.push(why);
                continue;
            }
        };
        let mut decided = study.decided(&night.participant, &night.label)?;
        let sources: Vec<&Source> = std::iter::once(&reference).chain(&devices).map(|s| &s.recording.source).collect();
        let touching = decided.exclusions.iter().filter(|e| sources.iter().any(|s| e.concerns(s)));
        exclusions.extend(touching.map(|e| (night.clone(), e.clone())));
        if choice.with_excluded {
            decided.exclusions.clear();
        }
        let counted = |s: &&Stored| decided.excludes(&s.recording.source).is_none();
        let all = std::iter::once(&reference).chain(&devices).chain(&diaries);
        let keys: Vec<&str> = all.filter(counted).map(|s| s.recording.key.as_str()).collect();
        findings.extend(
            study
                .findings(Some((&night.participant, &night.label)))?
                .into_iter()
                .filter(|f| f.finding.recording.as_deref().map_or(!keys.is_empty(), |key| keys.contains(&key))),
        );
        let lights = night.lights_by(Some(&reference.recording), diaries.iter().map(|s| &s.recording));
        let night = Night { lights, ..night };
        asked.push(NightAsked { night, reference, devices, decided });
    }
    if asked.is_empty() {
        bail!(
            "there is nothing to compare: {}",
            if bare.is_empty() { "no night is declared".to_owned() } else { bare.join("; ") }
        );
    }
    let open: Vec<StoredFinding> = findings.iter().filter(|f| f.is_open_error()).cloned().collect();
    if !open.is_empty() {
        return Ok(Asked::Refused(open));
    }
    let (nights, mut left_out) = compare_all(&asked, &protocol);
    if nights.is_empty() {
        bail!("there is nothing to compare: {}", left_out.join("; "));
    }
    left_out.extend(bare);
    let any_left_out = !exclusions.is_empty() && !choice.with_excluded;
    let with_excluded = any_left_out.then(|| {
        asked.iter_mut().for_each(|n| n.decided.exclusions.clear());
        compare(compare_all(&asked, &protocol).0, protocol)
    });
    let recordings = asked.into_iter().flat_map(|n| std::iter::once(n.reference).chain(n.devices)).collect();
    Ok(Asked::Made(Box::new(Compared {
        comparison: compare(nights, protocol),
        recordings,
        findings,
        exclusions,
        left_out,
        with_excluded,
    })))
}

/// What a night is compared from.
struct NightAsked {
    night: Night,
    reference: Stored,
    devices: Vec<Stored>,
    decided: Decided,
}

/// Compares each night; one that cannot be compared does not hold up the others, and is told of.
fn compare_all(asked: &[NightAsked], protocol: &Protocol) -> (Vec<NightComparison>, Vec<String>) {
    let mut out = Vec::new();
    let mut left_out = Vec::new();
    for NightAsked { night, reference, devices, decided } in asked {
        let others: Vec<&Recording> = devices.iter().map(|s| &s.recording).collect();
        match compare_night(night, &reference.recording, &others, decided, protocol) {
            Ok(night) => out.push(night),
            Err(why) => left_out.push(format!("{}/{}: {why}", night.participant, night.label)),
        }
    }
    (out, left_out)
}

fn chosen_nights(study: &Study, choice: &Choice) -> anyhow::Result<Vec<Night>> {
    let mut nights: Vec<Night> = if choice.nights.is_empty() {
        study.nights().to_vec()
    } else {
        let mut found = Vec::new();
        for text in &choice.nights {
            let several = |n: &&Night| n.label == *text;
            let of_label: Vec<Night> = study.nights().iter().filter(several).cloned().collect();
            if of_label.is_empty() { found.push(show::find_night(study, text)?) } else { found.extend(of_label) }
        }
        found
    };
    nights.sort_by(|a, b| (&a.participant, &a.label).cmp(&(&b.participant, &b.label)));
    nights.dedup();
    Ok(nights)
}

/// Reference and devices of a night, or why it has no reference.
fn sides(night: &Night, stored: Vec<Stored>, choice: &Choice) -> anyhow::Result<Result<(Stored, Vec<Stored>), String>> {
    let name = format!("{}/{}", night.participant, night.label);
    let counting: Vec<Stored> = stored.into_iter().filter(|s| s.counts && !s.recording.is_notes_only()).collect();
    let (references, devices): (Vec<Stored>, Vec<Stored>) =
        counting.into_iter().partition(|s| s.recording.source.is_reference());
    let codes: Vec<String> = references.iter().map(|s| s.recording.source.name().to_owned()).collect();
    let reference = match (&choice.scorer, references.len()) {
        (Some(code), _) => references.into_iter().find(|s| s.recording.source.name() == code),
        (None, 0 | 1) => references.into_iter().next(),
        (None, _) => bail!("{name} has several references: name one with --scorer: {}", or(&codes)),
    };
    let Some(reference) = reference else {
        let which = choice.scorer.as_ref().map(|s| format!(" by `{s}`")).unwrap_or_default();
        return Ok(Err(format!("{name} has no reference{which}")));
    };
    let known: Vec<String> = devices.iter().map(|s| s.recording.source.name().to_owned()).collect();
    let is = |s: &Stored, name: &String| s.recording.source.name() == name || s.recording.source.to_string() == *name;
    let there = |name: &&String| devices.iter().any(|s| is(s, name));
    if let Some(missing) = choice.devices.iter().find(|d| !there(d)).filter(|_| !choice.nights.is_empty()) {
        bail!("{name} has no recording of the device `{}`; it has {}", clean(missing), and(&known));
    }
    let wanted = |s: &Stored| choice.devices.is_empty() || choice.devices.iter().any(|d| is(s, d));
    Ok(Ok((reference, devices.into_iter().filter(wanted).collect())))
}
