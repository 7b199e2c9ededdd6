//! `report -o FILE`: the comparison as one HTML file.

mod exports;
mod read_off;
mod stated;

use crate::cli::Cli;
use crate::commands::compare::{self, refuse};
use crate::commands::new::TOOL;
use crate::comparing::groups::grouping;
use crate::comparing::{Asked, Beside, Choice, Compared, gather};
use crate::opening;
use crate::output::{Ended, Out};
use crate::wording::count;
use crate::writing::{refuse_to_overwrite, write_whole};
use anyhow::Context as _;
use counterpane_compare::groups::By;
use counterpane_model::{Exclusion, Night, Recording, Zone};
use counterpane_report::{ExclusionLine, FindingLine, Page, ProvenanceLine, Status, page, words};
use counterpane_store::{Stored, StoredFinding, Study};
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    #[command(flatten)]
    choice: Choice,
    /// File to write
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// Title; else the name of the study
    #[arg(long, value_name = "TEXT")]
    title: Option<String>,
    /// Say at the top that the data are invented
    #[arg(long)]
    invented: bool,
    /// Show the pictures that sheets were read from, each beside what was read, at the end of the page
    #[arg(long)]
    pictures: bool,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let study = opening::to_read(cli)?;
    let compared = match gather(&study, &args.choice, Beside { what_if: true })? {
        Asked::Refused(open) => return refuse(&open, out),
        Asked::Made(compared) => *compared,
    };
    let study = opening::looked(cli, study, "report", out)?;
    let title = args.title.clone().unwrap_or_else(|| study.config().name.clone());
    let about = About { title, invented: args.invented, pictures: args.pictures };
    let made = page_of(&study, compared, &args.choice, about)?;
    let shown = made.read_off.iter().flat_map(|r| &r.pictures).filter(|p| p.image.is_some()).count();
    let html = page(&made)?;
    refuse_to_overwrite(&args.output, study.root())?;
    write_whole(&args.output, html.as_bytes()).with_context(|| args.output.display().to_string())?;
    out.say(format_args!("wrote {}", args.output.display()))?;
    if args.pictures {
        match shown {
            0 => out.say(
                "note: no picture is kept of these recordings; `counterpane import SHEET --picture FILE` keeps one",
            )?,
            n => out.say(format_args!(
                "with {}; look at each before you publish the page: it shows all that was on the screen",
                count(n as u64, "picture")
            ))?,
        }
    }
    Ok(Ended::Fine)
}

/// What a page says of itself.
pub(crate) struct About {
    pub(crate) title: String,
    pub(crate) invented: bool,
    pub(crate) pictures: bool,
}

/// Returns all that a page says of a comparison.
pub(crate) fn page_of(study: &Study, compared: Compared, choice: &Choice, about: About) -> anyhow::Result<Page> {
    let inference = compared.inference();
    let Compared { comparison, standing, recordings, findings, exclusions, left_out, what_if, with_excluded, .. } =
        compared;
    let read_off = read_off::read_off(study, &recordings, about.pictures)?;
    let by = [By::Firmware, By::App, By::Group];
    let groups = by.map(|by| grouping(study.config(), &comparison, choice, by)).to_vec();
    Ok(Page {
        title: about.title,
        made: opening::now(),
        tool: TOOL.to_owned(),
        invented: about.invented,
        comparison,
        inference,
        standing,
        what_if,
        groups,
        findings: findings.iter().map(finding_line).collect(),
        provenance: recordings.iter().map(provenance_line).collect(),
        read_off,
        exports: exports::exports(study, &recordings)?,
        devices: stated::devices(study.config(), &recordings),
        wearings: stated::wearings(study.config(), &recordings),
        exclusions: exclusions.into_iter().map(exclusion_line).collect::<anyhow::Result<_>>()?,
        with_excluded,
        left_out,
    })
}

fn exclusion_line((night, exclusion): (Night, Exclusion)) -> anyhow::Result<ExclusionLine> {
    let name = format!("{}, {} {}", night.participant, night.kind.code(), night.label);
    Ok(ExclusionLine { night: name, zone: Zone::named(&night.zone)?, exclusion })
}

fn finding_line(f: &StoredFinding) -> FindingLine {
    let finding = &f.finding;
    FindingLine {
        severity: finding.severity,
        code: finding.code.to_string(),
        night: finding.night.as_ref().map(|(p, n)| format!("{p}/{n}")).unwrap_or_default(),
        source: finding.recording.as_deref().and_then(|k| k.rsplit('/').next()).unwrap_or_default().to_owned(),
        message: finding.message.clone(),
        place: finding.place.as_ref().map(|p| format!("{}, {}", p.file, p.locator)).unwrap_or_default(),
        count: finding.count,
        status: match &f.accepted {
            None => Status::Open,
            Some(a) => Status::Accepted { reason: a.reason.clone(), author: a.by.clone(), date: a.at.clone() },
        },
    }
}

/// Returns how the times of a recording were known, and how finely where somebody read them.
fn time_basis(recording: &Recording) -> String {
    let basis = recording.time_basis.code();
    match recording.precision_ms {
        0 => basis.to_owned(),
        ms => format!("{basis}, read to {}", words::reading::minutes(ms)),
    }
}

fn provenance_line(s: &Stored) -> ProvenanceLine {
    ProvenanceLine {
        recording: format!("{} ({})", s.recording.key, compare::source_words(&s.recording.source)),
        file: s.recording.file.clone(),
        sha256: s.original.clone(),
        definition: s.definition.clone(),
        definition_sha256: s.definition_sha256.clone(),
        time_basis: time_basis(&s.recording),
        zone: s.recording.zone.clone(),
        zone_rules: format!("{} (second opinion {})", s.rules_version, s.second_rules_version),
    }
}
