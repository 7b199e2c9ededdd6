//! `compare`: devices against the reference, night by night and over all nights.

mod baselines;
mod bouts;
mod clocks;
mod deviations;
mod explained;
mod groups;
mod intervals;
mod methods;
mod pairs;
mod planned;
mod reading;
mod scorers;
mod what_if;

use crate::cli::{Cli, Shape};
use crate::commands::check;
use crate::comparing::groups::grouping;
use crate::comparing::{Asked, Beside, Choice, Compared, gather, gather_scorers};
use crate::opening;
use crate::output::{Ended, Out, clean, table};
use crate::wording::count;
use counterpane_compare::groups::By;
use counterpane_compare::json::{
    ComparisonJson, DeviceJson, ExplainedJson, GroupingJson, InferenceJson, StandingJson, WhatIfJson,
};
use counterpane_compare::{
    Agreement, Comparison, DeviceNight, DeviceSummary, Inference, Measures, NightComparison, infer, people,
};
use counterpane_model::{Exclusion, Scheme, Severity, Source, Stage, Zone};
use counterpane_report::words::{self, decided, fine_share, planned as planned_words};
use counterpane_stats::Figure;
use counterpane_store::StoredFinding;

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    #[command(flatten)]
    pub(crate) choice: Choice,
    /// Only the scorers of each night against each other; no reference is chosen, and no device compared
    #[arg(long, conflicts_with_all = ["scorer", "devices"])]
    scorers: bool,
    /// Where the difference comes from between the minutes that a device displays and those of the reference: window, clock,
    /// missing epochs, stretches left out, and mistakes about stages
    #[arg(long, conflicts_with = "scorers")]
    explain: bool,
    /// What the primary measure would be, were one choice undone: an acceptance, an exclusion, a clock, an export, how gaps
    /// and the window are treated; else kappa and accuracy
    #[arg(long, conflicts_with_all = ["scorers", "explain"])]
    what_if: bool,
    /// A methods text for an article, made from what was done, with numbered references
    #[arg(long, conflicts_with_all = ["scorers", "explain", "what_if", "by"])]
    methods: bool,
    /// Each device by groups of its nights, such as before and after an update: firmware, app, side or site, as `[[wearing]]`
    /// states it, unit, or group of the participant
    #[arg(long, value_name = "WHAT", conflicts_with_all = ["scorers", "explain", "what_if"])]
    by: Option<By>,
    /// How to print
    #[arg(long, value_enum, default_value = "text")]
    format: Shape,
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
    if args.scorers {
        let (comparison, aside) = gather_scorers(&study, &args.choice)?;
        let inference = infer(&comparison, None, args.choice.resampling());
        match args.format {
            Shape::Json => out.json(&ComparisonJson {
                inference: Some(InferenceJson::from(&inference)),
                ..ComparisonJson::from(&comparison)
            })?,
            Shape::Text => scorers::print(&comparison.scorers, &inference.scorers, out)?,
        }
        return aside.iter().try_for_each(|s| out.say(format_args!("left out: {s}"))).map(|()| Ended::Fine);
    }
    let compared = match gather(&study, &args.choice, Beside { what_if: args.what_if })? {
        Asked::Refused(open) => return refuse(&open, out),
        Asked::Made(compared) => compared,
    };
    let study = opening::looked(cli, study, "compare", out)?;
    if args.methods {
        return methods::print(&study, *compared, args, out);
    }
    let grouping = args.by.map(|by| grouping(study.config(), &compared.comparison, &args.choice, by));
    match (args.format, &compared.what_if) {
        (Shape::Json, _) => out.json(&ComparisonJson {
            standing: Some(StandingJson::from(&compared.standing)),
            groups: grouping.as_ref().map(GroupingJson::from),
            what_if: compared.what_if.as_ref().map(WhatIfJson::from),
            explained: args.explain.then(|| ExplainedJson::from(&compared.comparison)),
            inference: Some(InferenceJson::from(&compared.inference())),
            with_excluded: compared.with_excluded.as_ref().map(|c| c.devices.iter().map(DeviceJson::from).collect()),
            ..ComparisonJson::from(&compared.comparison)
        })?,
        (Shape::Text, Some(what_if)) => what_if::print(what_if, out)?,
        (Shape::Text, None) if grouping.is_some() => {
            grouping.iter().try_for_each(|g| groups::print(g, out))?;
        }
        (Shape::Text, None) if args.explain => explained::print(&compared.comparison, out)?,
        (Shape::Text, None) => print(&compared, out)?,
    }
    for night in &compared.left_out {
        out.say(format_args!("left out: {night}"))?;
    }
    Ok(Ended::Fine)
}

fn print(compared: &Compared, out: &mut Out) -> anyhow::Result<()> {
    let c = &compared.comparison;
    let inference = compared.inference();
    for night in &c.nights {
        print_night(night, &inference, out)?;
        baselines::print_night(night, &inference.baselines, out)?;
        bouts::print_night(night, &inference, out)?;
        reading::print_night(night, &inference, out)?;
    }
    out.paragraph("over all nights: agreement and kappa as the mean over people of the mean over their nights, then, with n, for all epochs in one matrix")?;
    print_summary(&c.devices, out)?;
    intervals::over_people(&inference.people, out)?;
    planned::print(&compared.standing, out)?;
    pairs::print(&inference.pairs, out)?;
    if let Some(whole) = &compared.with_excluded {
        if whole.devices == c.devices {
            out.paragraph("What was left out on purpose changes no number over all nights.")?;
        } else {
            out.paragraph("the same with what was left out on purpose, for every device of which a number differs")?;
            let differs = |d: &DeviceSummary| !c.devices.contains(d);
            let devices: Vec<DeviceSummary> = whole.devices.iter().filter(|d| differs(d)).cloned().collect();
            print_summary(&devices, out)?;
            let of = people(&Comparison { devices, ..whole.clone() }, inference.asked);
            intervals::over_people(&of, out)?;
        }
    }
    deviations::print(&inference, out)?;
    out.line("")?;
    baselines::print_together(&inference.baselines, c, out)?;
    bouts::print_together(&inference, c.nights.len(), out)?;
    clocks::print(&inference.clocks, out)?;
    reading::print_means(&inference, out)?;
    scorers::print(&c.scorers, &inference.scorers, out)?;
    out.paragraph(format_args!("An interval within a night is made by drawing its epochs anew in blocks, for neighbouring epochs resemble each other (seed {}, {} times). It says how well that night pins the number down. It says nothing about other nights or other people. A stage with fewer than 5 bouts in the reference has none. {}", inference.asked.seed, inference.asked.replicates, counterpane_report::words::held::within_night().unwrap_or_default()))?;
    intervals::said_of_means(&inference.people, out)?;
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
        out.paragraph("One night of one person ranks nothing: no device is better than another because of it. Limits of agreement, ICC, CCC, rankings and p-values need several people and are not computed.")?;
    }
    out.line("")?;
    out.paragraph("Not a medical device, no diagnosis; consumer stages are estimates. See a clinician for a sleep complaint; scoring and diagnosis belong to licensed staff under local rules.")
}

fn print_summary(devices: &[DeviceSummary], out: &mut Out) -> anyhow::Result<()> {
    let head = ["device", "classes", "people", "nights", "agree", "kappa", "n", "agree", "kappa"];
    let rows: Vec<Vec<String>> = devices.iter().map(summary_cells).collect();
    out.raw(&table(&head, &[2, 3, 4, 5, 6, 7, 8], &rows, out.width()))
}

fn print_night(n: &NightComparison, inference: &Inference, out: &mut Out) -> anyhow::Result<()> {
    let zone = Zone::named(&n.zone)?;
    let end = n.start.plus_ms(i64::try_from(n.reference.len()).unwrap_or(0) * 30_000).unwrap_or(n.start);
    let chosen = words::chosen_words(n).map(|how| format!(", {how}")).unwrap_or_default();
    let by = format!("scored by {}{chosen}", words::scored_by_words(n));
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
    intervals::within_night(n, inference, out)?;
    for d in n.devices.iter().filter(|d| d.not_compared.is_some()) {
        out.paragraph(format_args!("{}: {}", name_in(n, d), clean(d.not_compared.as_deref().unwrap_or_default())))?;
    }
    for sentence in words::consensus_sentences(n, &zone).into_iter().chain(decided_sentences(n)?) {
        out.paragraph(clean(&sentence))?;
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

/// What the reviewer left out or corrected in a night, a sentence each, with what the numbers are without the correction.
fn decided_sentences(n: &NightComparison) -> anyhow::Result<Vec<String>> {
    let zone = Zone::named(&n.zone)?;
    let why = |e: &Exclusion| {
        let day = e.at.get(..10).unwrap_or(&e.at);
        let (by, reason) = (clean(&e.by), clean(&e.reason));
        format!("decision {} ({by}, {day}), {} looking: {reason}", e.decision, e.looked.code())
    };
    let mut out = Vec::new();
    for e in &n.exclusions {
        let Some((from, until)) = e.stretch else { continue };
        let who = e.source.as_deref().map_or_else(|| "everything".to_owned(), clean);
        out.push(format!("{who}: left out from {} to {} by {}", zone.clock_of(from), zone.clock_of(until), why(e)));
    }
    for left_out in &n.left_out {
        out.push(format!("{}: left out by {}", clean(left_out.source.name()), why(&left_out.exclusion)));
    }
    let clocked = n.devices.iter().filter_map(|d| Some(format!("{}: {}", name_in(n, d), decided::clock(d)?)));
    out.extend(clocked);
    out.extend(n.devices.iter().filter_map(|d| Some(format!("{}: {}", name_in(n, d), planned_words::ruled(d)?))));
    out.extend(n.reference_clock.as_ref().map(decided::reference_clock));
    Ok(out)
}

/// Returns `948 epochs, of which S1 scored 947`.
fn epochs(n: &NightComparison) -> String {
    let scored = n.reference.iter().filter(|c| c.stage().is_some()).count();
    let all = count(n.reference.len() as u64, "epoch");
    if scored == n.reference.len() { all } else { format!("{all}, of which {} scored {scored}", clean(&n.scorer)) }
}

/// Returns a share as `87.8 %`, or why there is none.
fn share(figure: Figure) -> String {
    figure.map_or_else(|why| why.words().to_owned(), fine_share)
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
