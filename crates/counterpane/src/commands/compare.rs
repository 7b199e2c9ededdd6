//! `compare`: devices against the reference, night by night and over all nights.

use crate::cli::{Cli, Shape};
use crate::commands::{check, show};
use crate::opening;
use crate::output::{Ended, Out, clean, table};
use crate::wording::{and, count};
use anyhow::bail;
use counterpane_compare::{
    Agreement, Comparison, DeviceNight, DeviceSummary, Measures, NightComparison, Protocol, Window, compare,
    compare_night,
};
use counterpane_model::{Night, Recording, Scheme, ScoredBy, Severity, Source, Stage, Zone};
use counterpane_stats::Figure;
use counterpane_store::{Stored, StoredFinding, Study};

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    #[command(flatten)]
    pub(crate) choice: Choice,
    /// How to print
    #[arg(long, value_enum, default_value = "text")]
    format: Shape,
}

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
    /// Nights that could not be compared, a sentence each.
    pub(crate) left_out: Vec<String>,
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
    let mut compared = Vec::new();
    let mut recordings = Vec::new();
    let mut findings = Vec::new();
    let mut bare = Vec::new();
    for night in &nights {
        let stored = study.recordings(&night.participant, &night.label)?;
        let diaries: Vec<Stored> = stored.iter().filter(|s| s.counts && s.recording.is_notes_only()).cloned().collect();
        let (reference, devices) = match sides(night, stored, choice)? {
            Ok(sides) => sides,
            Err(why) => {
                bare.push(why);
                continue;
            }
        };
        let all = std::iter::once(&reference).chain(&devices).chain(&diaries);
        let asked: Vec<&str> = all.map(|s| s.recording.key.as_str()).collect();
        findings.extend(
            study
                .findings(Some((&night.participant, &night.label)))?
                .into_iter()
                .filter(|f| f.finding.recording.as_deref().is_none_or(|key| asked.contains(&key))),
        );
        let others: Vec<&Recording> = devices.iter().map(|s| &s.recording).collect();
        let lights = night.lights_by(Some(&reference.recording), diaries.iter().map(|s| &s.recording));
        let night = Night { lights, ..night.clone() };
        compared.push((night, reference.recording.clone(), others.into_iter().cloned().collect::<Vec<_>>()));
        recordings.push(reference);
        recordings.extend(devices);
    }
    if compared.is_empty() {
        bail!(
            "there is nothing to compare: {}",
            if bare.is_empty() { "no night is declared".to_owned() } else { bare.join("; ") }
        );
    }
    let open: Vec<StoredFinding> = findings.iter().filter(|f| f.is_open_error()).cloned().collect();
    if !open.is_empty() {
        return Ok(Asked::Refused(open));
    }
    let mut out = Vec::new();
    let mut left_out = Vec::new();
    for (night, reference, others) in &compared {
        let others: Vec<&Recording> = others.iter().collect();
        match compare_night(night, reference, &others, &protocol) {
            Ok(night) => out.push(night),
            // One night that cannot be compared does not hold up the others.
            Err(why) => left_out.push(format!("{}/{}: {why}", night.participant, night.label)),
        }
    }
    if out.is_empty() {
        bail!("there is nothing to compare: {}", left_out.join("; "));
    }
    left_out.extend(bare);
    Ok(Asked::Made(Box::new(Compared { comparison: compare(out, protocol), recordings, findings, left_out })))
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
        (None, _) => bail!("{name} has several references: name one with --scorer: {}", crate::wording::or(&codes)),
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

/// Says why nothing is computed, and what to do.
pub(crate) fn refuse(open: &[StoredFinding], out: &mut Out) -> anyhow::Result<Ended> {
    for f in open {
        out.say(check::rendered(&f.finding))?;
    }
    out.say(format_args!(
        "nothing was computed: {} in what was asked for. Mend the file or its definition and import it again, accept with `counterpane accept CODE NIGHT --reason …`, or leave the device out with --device",
        count(open.len() as u64, "open error")
    ))?;
    Ok(Ended::Faulty)
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let study = opening::to_read(cli)?;
    let compared = match gather(&study, &args.choice)? {
        Asked::Refused(open) => return refuse(&open, out),
        Asked::Made(compared) => compared,
    };
    match args.format {
        Shape::Json => out.json(&counterpane_compare::json::ComparisonJson::from(&compared.comparison))?,
        Shape::Text => print(&compared, out)?,
    }
    for night in &compared.left_out {
        out.say(format_args!("left out: {night}"))?;
    }
    Ok(Ended::Fine)
}

fn print(compared: &Compared, out: &mut Out) -> anyhow::Result<()> {
    let c = &compared.comparison;
    for night in &c.nights {
        print_night(night, out)?;
    }
    out.paragraph("over all nights: agreement and kappa as the mean over people of the mean over their nights, then, with n, for all epochs in one matrix")?;
    let head = ["device", "classes", "people", "nights", "agree", "kappa", "n", "agree", "kappa"];
    let rows: Vec<Vec<String>> = c.devices.iter().map(summary_cells).collect();
    out.raw(&table(&head, &[2, 3, 4, 5, 6, 7, 8], &rows, out.width()))?;
    out.paragraph("interval: not computed yet. Epochs of one night are not independent, and a night's number says nothing about other nights or other people.")?;
    let warnings = compared.findings.iter().filter(|f| f.finding.severity == Severity::Warning).count() as u64;
    let accepted = compared.findings.iter().filter(|f| f.accepted.is_some()).count() as u64;
    if warnings + accepted > 0 {
        out.paragraph(format_args!(
            "These numbers stand with {} and {}: `counterpane check` lists them.",
            count(warnings, "warning"),
            count(accepted, "accepted error")
        ))?;
    }
    if c.nights.len() == 1 {
        out.paragraph("One night of one person ranks nothing: no device is better than another because of it.")?;
    }
    out.line("")?;
    out.paragraph("Not a medical device, no diagnosis; consumer stages are estimates. See a clinician for a sleep complaint; scoring and diagnosis belong to licensed staff under local rules.")
}

fn print_night(n: &NightComparison, out: &mut Out) -> anyhow::Result<()> {
    let zone = Zone::named(&n.zone)?;
    let end = n.start.plus_ms(i64::try_from(n.reference.len()).unwrap_or(0) * 30_000).unwrap_or(n.start);
    let by = match n.scored_by {
        ScoredBy::Human => "scored by a person",
        ScoredBy::Algorithm => "scored by a program",
    };
    out.paragraph(format_args!(
        "{}/{}  reference {} ({by}), window `{}` {}-{}, {}",
        clean(&n.participant),
        clean(&n.night),
        clean(&n.scorer),
        n.window_name,
        zone.clock_of(n.start),
        zone.clock_of(end),
        epochs(n)
    ))?;
    let head = ["device", "classes", "n", "coverage", "agree", "kappa", "mean sens.", "worst sens."];
    let rows: Vec<Vec<String>> = n.devices.iter().map(|d| agreement_cells(n, d)).collect();
    out.raw(&table(&head, &[2, 3, 4, 5, 6], &rows, out.width()))?;
    for d in n.devices.iter().filter(|d| d.not_compared.is_some()) {
        out.paragraph(format_args!("{}: {}", name_in(n, d), clean(d.not_compared.as_deref().unwrap_or_default())))?;
    }
    out.paragraph("minutes: of the reference in the window; of a device in the epochs that both scored, and device minus reference in the same epochs")?;
    let head = ["source", "sleep", "", "wake", "", "light", "", "N3", "", "R", ""];
    let mut rows = vec![reference_minutes(n)];
    rows.extend(n.devices.iter().map(|d| device_minutes(n, d)));
    out.raw(&table(&head, &[1, 2, 3, 4, 5, 6, 7, 8, 9, 10], &rows, out.width()))?;
    if n.devices.iter().any(|d| d.measures.is_none()) {
        out.line("* totals that the device claims, against the whole window")?;
    }
    out.line("")
}

/// Returns `948 epochs, of which S1 scored 947`.
fn epochs(n: &NightComparison) -> String {
    let scored = n.reference.iter().filter(|c| c.stage().is_some()).count();
    let all = count(n.reference.len() as u64, "epoch");
    if scored == n.reference.len() { all } else { format!("{all}, of which {} scored {scored}", clean(&n.scorer)) }
}

/// Returns a share as `87.8 %`, or why there is none.
fn share(figure: Figure) -> String {
    let per_cent =
        |v: f64| if (0.9995..1.0).contains(&v) { "> 99.9 %".to_owned() } else { format!("{:.1} %", 100.0 * v) };
    figure.map_or_else(|why| why.words().to_owned(), per_cent)
}

fn two(figure: Figure) -> String {
    figure.map_or_else(|why| why.words().to_owned(), |v| format!("{v:.2}"))
}

/// Returns the device, or the unit where the night has several units of it.
fn name_in(n: &NightComparison, d: &DeviceNight) -> String {
    let several = n.devices.iter().filter(|o| o.source.name() == d.source.name()).count() > 1;
    if several { clean(&d.source.to_string()) } else { clean(d.source.name()) }
}

fn agreement_cells(n: &NightComparison, d: &DeviceNight) -> Vec<String> {
    let name = name_in(n, d);
    let Some(a) = &d.agreement else {
        let why = if d.measures.is_none() { "claims only" } else { "not compared" };
        return vec![
            name,
            why.into(),
            String::new(),
            String::new(),
            String::new(),
            String::new(),
            String::new(),
            String::new(),
        ];
    };
    vec![
        name,
        a.scheme.code().into(),
        a.n.to_string(),
        share(d.coverage),
        share(a.accuracy),
        two(a.kappa),
        share(a.mean_sensitivity),
        worst(a),
    ]
}

fn worst(a: &Agreement) -> String {
    a.worst_sensitivity.map_or_else(|| "-".into(), |w| format!("{} {:.0} % of {}", w.class, 100.0 * w.sensitivity, w.n))
}

fn summary_cells(d: &DeviceSummary) -> Vec<String> {
    let Some(pooled) = &d.pooled else {
        return [clean(&d.name), "none".into()].into_iter().chain((0..7).map(|_| "-".to_owned())).collect();
    };
    vec![
        clean(&d.name),
        d.scheme.map_or("-", Scheme::code).to_owned(),
        d.participants.to_string(),
        d.nights.to_string(),
        share(d.mean_accuracy),
        two(d.mean_kappa),
        pooled.n.to_string(),
        share(pooled.accuracy),
        two(pooled.kappa),
    ]
}

/// Minutes of sleep, wake, light, N3 and R; `None` where the source cannot say it.
fn five_minutes(m: &Measures) -> [Option<f64>; 5] {
    let of = |s: Stage| m.stage_minutes.iter().find(|(stage, _)| *stage == s).map(|(_, v)| *v);
    let coarse = of(Stage::Asleep).is_some() || of(Stage::Nrem).is_some();
    let light = [Stage::N1, Stage::N2, Stage::Light].into_iter().filter_map(of).reduce(|a, b| a + b);
    let or_zero = |v: Option<f64>| if coarse { v } else { Some(v.unwrap_or(0.0)) };
    let rem = if of(Stage::Asleep).is_some() { of(Stage::R) } else { Some(of(Stage::R).unwrap_or(0.0)) };
    [Some(m.total_sleep), Some(m.wake), or_zero(light), or_zero(of(Stage::N3)), rem]
}

fn reference_minutes(n: &NightComparison) -> Vec<String> {
    let mut row = vec![clean(&n.scorer)];
    for minutes in five_minutes(&n.measures) {
        row.push(minutes.map_or_else(|| "-".into(), |m| format!("{m:.1}")));
        row.push(String::new());
    }
    row
}

/// Minutes of a device in the epochs that both sides scored, less the reference's in the same epochs: time
/// that the device does not cover is no bias. A device's own totals stand against the whole window.
fn device_minutes(n: &NightComparison, d: &DeviceNight) -> Vec<String> {
    let (own, reference) = match (&d.measures_masked, &d.reference_masked) {
        // A device that said nothing in the window did not say 0 minutes.
        (Some(m), _) if m.unscored >= m.recording_time => ([None; 5], [None; 5]),
        (Some(own), Some(reference)) => (five_minutes(own), five_minutes(reference)),
        _ => (claimed_minutes(d), five_minutes(&n.measures)),
    };
    let mark = if d.measures.is_none() { "*" } else { "" };
    let mut row = vec![format!("{}{mark}", name_in(n, d))];
    for (mine, reference) in own.into_iter().zip(reference) {
        row.push(mine.map_or_else(|| "-".into(), |m| format!("{m:.1}")));
        row.push(mine.zip(reference).map_or_else(String::new, |(m, r)| format!("{:+.1}", m - r + 0.0)));
    }
    row
}

fn claimed_minutes(d: &DeviceNight) -> [Option<f64>; 5] {
    let of = |code: &str| d.claims.iter().find(|c| c.quantity.code() == code).map(|c| c.value);
    [of("total-sleep"), of("minutes W"), of("minutes Light"), of("minutes N3"), of("minutes R")]
}

/// Returns the source in words: `ring-a (unit ring-a-1)` or `scorer S1`.
pub(crate) fn source_words(source: &Source) -> String {
    match source {
        Source::Device { device, unit } => format!("{device} (unit {unit})"),
        Source::Reference { scorer, .. } => format!("scorer {scorer}"),
    }
}
