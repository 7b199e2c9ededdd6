//! What is compared with what: out of the store, past open errors, into a comparison.

pub(crate) mod groups;
mod planned;
mod reference;
mod scorers;
mod what_if;

use crate::commands::show;
use crate::output::clean;
use crate::wording::and;
use anyhow::bail;
use counterpane_compare::what_if::WhatIf;
use counterpane_compare::{
    Chosen, Comparison, Inference, NightComparison, NothingToCompare, Protocol, Reading, Resampling, Standing, Window,
    apply_rules, compare, compare_night, infer, reading, standing,
};
use counterpane_model::{Decided, Exclusion, Lights, Night, Plan, PlanWindow, Recording, Rules, Scheme, Source};
use counterpane_store::{Stored, StoredFinding, Study};
use reference::{Reference, Wanted, recordings};
use scorers::AgainstEachOther;
use what_if::Undoing;

/// What is compared with what.
#[derive(Debug, Default, clap::Args)]
pub(crate) struct Choice {
    /// Nights, such as `2026-04-04` or `P01/2026-04-04`; else all that have a reference
    #[arg(value_name = "NIGHT")]
    pub(crate) nights: Vec<String>,
    /// Devices or units; else all
    #[arg(long = "device", value_name = "NAME")]
    pub(crate) devices: Vec<String>,
    /// Scorer of the reference, or `majority` for what most of a night's scorers say; else as study.toml says, else
    /// the only scorer of a night
    #[arg(long, value_name = "CODE")]
    pub(crate) scorer: Option<String>,
    /// Classes: sleep-wake, three, four or five; else as the protocol of study.toml says, else the finest that device and
    /// reference share
    #[arg(long, value_name = "SCHEME")]
    pub(crate) scheme: Option<Scheme>,
    /// Which epochs count: `lights` (lights off to lights on, where both are known), or `scored` (first
    /// to last scored epoch of the reference); else as the protocol of study.toml says, else `lights`
    #[arg(long, value_enum)]
    pub(crate) window: Option<WindowName>,
    /// Compute with what `exclude` left out, too
    #[arg(long)]
    pub(crate) with_excluded: bool,
    /// How often nights and people are drawn anew for intervals
    #[arg(long, value_name = "N", default_value_t = 2000, value_parser = clap::value_parser!(u32).range(200..=1_000_000))]
    pub(crate) replicates: u32,
    /// Seed of what is drawn: the same seed gives the same intervals
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(crate) seed: u64,
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
    /// What options say, else the study's protocol, else what is usual.
    pub(crate) fn protocol(&self, plan: Option<&Plan>) -> Protocol {
        let planned = plan.map(|p| p.window).unwrap_or_default();
        let window = match (self.window, planned) {
            (Some(WindowName::Lights), _) | (None, PlanWindow::Lights) => Window::Lights,
            (Some(WindowName::Scored), _) | (None, PlanWindow::Scored) => Window::Scored,
        };
        Protocol { scheme: self.scheme.or(plan.and_then(|p| p.scheme)), window }
    }

    /// What is drawn anew for intervals; the number of threads changes no result.
    pub(crate) fn resampling(&self) -> Resampling {
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        Resampling { replicates: self.replicates, seed: self.seed, threads }
    }
}

/// A comparison, with the recordings that it was made from.
pub(crate) struct Compared {
    pub(crate) comparison: Comparison,
    /// What is needed to say what its numbers leave open.
    left_open: LeftOpen,
    /// How it stands to what was laid down beforehand.
    pub(crate) standing: Standing,
    pub(crate) recordings: Vec<Stored>,
    pub(crate) findings: Vec<StoredFinding>,
    /// Every decision that leaves out something of what was asked for, also where it is counted nevertheless.
    pub(crate) exclusions: Vec<(Night, Exclusion)>,
    /// Nights that could not be compared, a sentence each.
    pub(crate) left_out: Vec<String>,
    /// The same comparison with what was left out on purpose, where anything was.
    pub(crate) with_excluded: Option<Comparison>,
    /// The headlines with each choice undone, where this was asked for.
    pub(crate) what_if: Option<WhatIf>,
}

/// From what the numbers of a comparison are drawn anew.
struct LeftOpen {
    plan: Option<Plan>,
    wanted: Wanted,
    resampling: Resampling,
    /// The nights on which somebody read times off a picture.
    read_off: Vec<NightAsked>,
}

impl Compared {
    /// Draws anew what was compared, to say what its numbers leave open. It takes longer than the comparison, so only who
    /// shows it asks.
    pub(crate) fn inference(&self) -> Inference {
        let LeftOpen { plan, wanted, resampling, read_off } = &self.left_open;
        let readings =
            read_off.iter().flat_map(|n| n.readings(wanted, &self.comparison.protocol, *resampling)).collect();
        infer(&self.comparison, plan.as_ref(), *resampling).with_readings(&self.comparison, readings)
    }
}

/// What is worked out beside a comparison, because it takes longer.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Beside {
    /// Each choice undone alone.
    pub(crate) what_if: bool,
}

/// What came of asking for a comparison.
pub(crate) enum Asked {
    /// It was made.
    Made(Box<Compared>),
    /// Errors are open in what was asked for.
    Refused(Vec<StoredFinding>),
}

/// Compares what was asked for, unless errors are open in it.
pub(crate) fn gather(study: &Study, choice: &Choice, beside: Beside) -> anyhow::Result<Asked> {
    let plan = study.plan();
    let protocol = choice.protocol(plan.as_ref());
    let how = How { protocol, rules: planned::rules(plan.as_ref(), choice) };
    for name in &choice.devices {
        let config = study.config();
        if config.device(name).is_none() && config.unit(name).is_none() {
            let known: Vec<&str> = config.devices.iter().map(|d| d.name.get_ref().as_str()).collect();
            bail!("there is no device or unit `{}` in study.toml; it has {}", clean(name), and(&known));
        }
    }
    let wanted = Wanted::of(choice.scorer.as_deref(), study.config())?;
    let nights = chosen_nights(study, choice)?;
    let mut against_each_other = AgainstEachOther::default();
    let mut asked = Vec::new();
    let mut findings = Vec::new();
    let mut bare = Vec::new();
    let mut exclusions = Vec::new();
    for night in nights {
        let stored = study.recordings(&night.participant, &night.label)?;
        let mut decided = study.decided(&night.participant, &night.label)?;
        let all_exclusions = decided.exclusions.clone();
        if choice.with_excluded {
            decided.exclusions.clear();
        }
        against_each_other.add(study, &night, &stored, &decided, &protocol)?;
        let diaries: Vec<Stored> = stored.iter().filter(|s| s.counts && s.recording.is_notes_only()).cloned().collect();
        let not_counting: Vec<Stored> = stored.iter().filter(|s| !s.counts).cloned().collect();
        let Sides { reference, chosen, devices } = match sides(&night, stored, choice, &wanted)? {
            Ok(sides) => sides,
            Err(why) => {
                bare.push(why);
                continue;
            }
        };
        let sources: Vec<&Source> = reference.stored().iter().chain(&devices).map(|s| &s.recording.source).collect();
        let touching = all_exclusions.into_iter().filter(|e| sources.iter().any(|s| e.concerns(s)));
        exclusions.extend(touching.map(|e| (night.clone(), e)));
        let counted = |s: &&Stored| decided.excludes(&s.recording.source).is_none();
        let others = devices.iter().chain(&diaries).filter(counted).map(|s| &s.recording);
        let keys: Vec<&str> = reference.counting(&decided).into_iter().chain(others).map(|r| r.key.as_str()).collect();
        findings.extend(
            study
                .findings(Some((&night.participant, &night.label)))?
                .into_iter()
                .filter(|f| f.finding.recording.as_deref().map_or(!keys.is_empty(), |key| keys.contains(&key))),
        );
        let of =
            |s: &Stored| reference.stored().iter().chain(&devices).any(|o| o.recording.source == s.recording.source);
        let other_exports = not_counting.into_iter().filter(of).collect();
        asked.push(NightAsked { night, reference, chosen, devices, diaries, decided, other_exports });
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
    let (scorers, aside) = against_each_other.together();
    let (nights, mut left_out) = compare_all(&asked, &wanted, &how);
    if nights.is_empty() {
        bail!("there is nothing to compare: {}", left_out.join("; "));
    }
    left_out.extend(bare.into_iter().chain(aside));
    let resampling = choice.resampling();
    let read_off = asked.iter().filter(|n| n.is_read_off()).cloned().collect();
    let comparison = Comparison { scorers, ..compare(nights, protocol) };
    let undoing = Undoing { asked: &asked, wanted: &wanted, how, findings: &findings, plan: plan.as_ref() };
    let what_if = beside.what_if.then(|| what_if::what_if(&undoing, &comparison));
    let ruled_out = comparison.nights.iter().flat_map(|n| &n.devices).any(|d| d.is_ruled_out());
    let any_left_out = (!exclusions.is_empty() && !choice.with_excluded) || ruled_out;
    let with_excluded = any_left_out.then(|| {
        asked.iter_mut().for_each(|n| n.decided.exclusions.clear());
        compare(compare_all(&asked, &wanted, &How { rules: Rules::default(), ..how }).0, protocol)
    });
    let recordings = asked
        .into_iter()
        .flat_map(|n| n.reference.stored().iter().cloned().chain(n.devices).collect::<Vec<_>>())
        .collect();
    Ok(Asked::Made(Box::new(Compared {
        standing: standing(&comparison, planned::laid(study), planned::departures(plan.as_ref(), choice), resampling),
        comparison,
        left_open: LeftOpen { plan, wanted, resampling, read_off },
        recordings,
        findings,
        exclusions,
        left_out,
        with_excluded,
        what_if,
    })))
}

/// Compares only the scorers of the nights with each other; no reference needs to be chosen.
pub(crate) fn gather_scorers(study: &Study, choice: &Choice) -> anyhow::Result<(Comparison, Vec<String>)> {
    let protocol = choice.protocol(study.plan().as_ref());
    let nights = chosen_nights(study, choice)?;
    let mut against_each_other = AgainstEachOther::default();
    for night in &nights {
        let mut decided = study.decided(&night.participant, &night.label)?;
        if choice.with_excluded {
            decided.exclusions.clear();
        }
        let stored = study.recordings(&night.participant, &night.label)?;
        against_each_other.add(study, night, &stored, &decided, &protocol)?;
    }
    let (scorers, aside) = against_each_other.together();
    if scorers.nights.is_empty() {
        let more = if aside.is_empty() { String::new() } else { format!(": {}", aside.join("; ")) };
        bail!("no night asked for has two scorers that can be compared{more}");
    }
    Ok((Comparison { scorers, ..compare(Vec::new(), protocol) }, aside))
}

/// How nights are compared.
#[derive(Clone, Copy)]
struct How {
    protocol: Protocol,
    rules: Rules,
}

/// What a night is compared from.
#[derive(Clone)]
struct NightAsked {
    night: Night,
    reference: Reference,
    chosen: Option<Chosen>,
    devices: Vec<Stored>,
    diaries: Vec<Stored>,
    decided: Decided,
    /// Exports of the same sources that do not count.
    other_exports: Vec<Stored>,
}

impl NightAsked {
    fn compare(&self, wanted: &Wanted, how: &How) -> Result<NightComparison, NothingToCompare> {
        let protocol = &how.protocol;
        let mut compared = match &self.reference {
            Reference::One(one) => self.against(&one.recording, &[], protocol)?,
            Reference::Majority(scorers) => {
                let majority = wanted.majority(&self.night, scorers, &self.decided)?;
                // Scorers are listed where they are left out; nowhere are they compared with their own majority.
                let mut left_out = recordings(scorers);
                left_out.retain(|r| self.decided.excludes(&r.source).is_some());
                let mut compared = self.against(&majority.recording, &left_out, protocol)?;
                majority.told_in(&mut compared);
                compared
            }
        };
        compared.chosen.clone_from(&self.chosen);
        apply_rules(&mut compared, how.rules);
        Ok(compared)
    }

    fn against(
        &self,
        reference: &Recording,
        more: &[&Recording],
        protocol: &Protocol,
    ) -> Result<NightComparison, NothingToCompare> {
        let others = [&recordings(&self.devices), more].concat();
        compare_night(&self.lit_for(reference), reference, &others, &self.decided, protocol)
    }

    /// Returns the night with its lights as they hold beside a reference.
    fn lit_for(&self, reference: &Recording) -> Night {
        let lights = lights_on_their_clocks(&self.night, Some(reference), &recordings(&self.diaries), &self.decided);
        Night { lights, ..self.night.clone() }
    }

    /// Says whether somebody read times of the night off a picture.
    fn is_read_off(&self) -> bool {
        self.devices.iter().chain(self.reference.stored()).any(|s| s.recording.precision_ms > 0)
    }

    /// Returns what the precision of its readings leaves open; nothing for a night that is not compared.
    fn readings(&self, wanted: &Wanted, protocol: &Protocol, asked: Resampling) -> Vec<Reading> {
        let reference = match &self.reference {
            Reference::One(one) => one.recording.clone(),
            Reference::Majority(scorers) => match wanted.majority(&self.night, scorers, &self.decided) {
                Ok(majority) => majority.recording,
                Err(_) => return Vec::new(),
            },
        };
        let night = self.lit_for(&reference);
        let counted = self.devices.iter().filter(|d| self.decided.excludes(&d.recording.source).is_none());
        counted
            .filter_map(|d| reading(&night, &reference, &d.recording, &self.decided, protocol, asked).ok().flatten())
            .collect()
    }
}

/// Returns lights off and on of a night, with those of the reference and of diaries on their corrected clocks.
pub(crate) fn lights_on_their_clocks(
    night: &Night,
    reference: Option<&Recording>,
    diaries: &[&Recording],
    decided: &Decided,
) -> Lights {
    let diaries: Vec<Recording> = diaries.iter().map(|r| decided.clocked(r)).collect();
    night.lights_by(reference.map(|r| decided.clocked(r)).as_ref(), &diaries)
}

/// Compares each night; one that cannot be compared does not hold up the others, and is told of.
fn compare_all(asked: &[NightAsked], wanted: &Wanted, how: &How) -> (Vec<NightComparison>, Vec<String>) {
    let mut out = Vec::new();
    let mut left_out = Vec::new();
    for one in asked {
        match one.compare(wanted, how) {
            Ok(night) => out.push(night),
            Err(why) => left_out.push(format!("{}/{}: {why}", one.night.participant, one.night.label)),
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

/// Who is compared on a night.
struct Sides {
    reference: Reference,
    chosen: Option<Chosen>,
    devices: Vec<Stored>,
}

/// Reference and devices of a night, or why it has no reference.
fn sides(
    night: &Night,
    stored: Vec<Stored>,
    choice: &Choice,
    wanted: &Wanted,
) -> anyhow::Result<Result<Sides, String>> {
    let name = format!("{}/{}", night.participant, night.label);
    let counting: Vec<Stored> = stored.into_iter().filter(|s| s.counts && !s.recording.is_notes_only()).collect();
    let (scorers, devices): (Vec<Stored>, Vec<Stored>) =
        counting.into_iter().partition(|s| s.recording.source.is_reference());
    let (reference, chosen) = match wanted.among(&name, &scorers)? {
        Ok(found) => found,
        Err(why) => return Ok(Err(why)),
    };
    let known: Vec<String> = devices.iter().map(|s| s.recording.source.name().to_owned()).collect();
    let is = |s: &Stored, name: &String| s.recording.source.name() == name || s.recording.source.to_string() == *name;
    let there = |name: &&String| devices.iter().any(|s| is(s, name));
    if let Some(missing) = choice.devices.iter().find(|d| !there(d)).filter(|_| !choice.nights.is_empty()) {
        bail!("{name} has no recording of the device `{}`; it has {}", clean(missing), and(&known));
    }
    let asked = |s: &Stored| choice.devices.is_empty() || choice.devices.iter().any(|d| is(s, d));
    Ok(Ok(Sides { reference, chosen, devices: devices.into_iter().filter(asked).collect() }))
}
