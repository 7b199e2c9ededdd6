//! The report page: one HTML file that needs nothing else.

use crate::draw::Theme;
use crate::draw::text::clean;
use crate::figures::sensitivity;
use crate::view::clocks::ClocksView;
use crate::view::deviations::DeviationsView;
use crate::view::device::Device;
use crate::view::figure::Figure;
use crate::view::left_out::LeftOut;
use crate::view::methods::MethodsSection;
use crate::view::night::Night;
use crate::view::once::once;
use crate::view::pairs::Pairs;
use crate::view::pictures::{self, Pictures};
use crate::view::planned::Planned;
use crate::view::reading::Readings;
use crate::view::table::Table;
use crate::view::what_if::WhatIfSection;
use crate::view::{baselines, bouts, claims, closing, explained, exports, giving, groups, pooled, scorers};
use crate::{Page, ReportError, words};
use askama::Template;
use counterpane_compare::{Comparison, DeviceSummary};

#[derive(Debug, Template)]
#[template(path = "page.html")]
struct View {
    style: String,
    script: &'static str,
    title: String,
    made: String,
    tool: String,
    invented: bool,
    counted: String,
    held_truth: String,
    who_scored: String,
    may_be_said: Vec<String>,
    cautions: [&'static str; 6],
    planned: Planned,
    explained: Vec<Table>,
    what_if: Option<WhatIfSection>,
    groups: Vec<Table>,
    methods: MethodsSection,
    nights: Vec<Night>,
    devices: Vec<Device>,
    caution: &'static str,
    overview: Table,
    differences: Table,
    pairs: Option<Pairs>,
    wakes: Table,
    baselines: Table,
    baselines_said: Vec<String>,
    scorers: Table,
    scorers_said: Vec<String>,
    over_all: Option<Figure>,
    not_pooled: Vec<(String, String)>,
    findings_counted: String,
    findings: Table,
    provenance: Table,
    read_off: Table,
    not_shown: Option<String>,
    pictures: Option<Pictures>,
    left_out: LeftOut,
    reading: Option<Readings>,
    clocks: Option<ClocksView>,
    measures: Option<DeviationsView>,
    exports: Table,
    giving: Table,
    wearings: Option<Table>,
}

/// Returns the report as one HTML document.
///
/// Everything is inside: style, script and figures. The page asks for nothing and links only to its
/// own parts, and its policy (`Content-Security-Policy`) forbids the browser anything else; pictures
/// too, but for those that the page itself holds, where it holds any. The same argument gives the same bytes.
///
/// # Errors
/// The zone of a night is not in the database; see [`ReportError`].
pub fn page(page: &Page) -> Result<String, ReportError> {
    let comparison = &page.comparison;
    let alone = comparison.devices.len() == 1;
    let only = comparison.nights.len() == 1;
    let nights = comparison.nights.iter().enumerate();
    let devices = comparison.devices.iter().enumerate();
    let view = View {
        style: style(),
        script: include_str!("../templates/script.js"),
        title: clean(&page.title),
        made: clean(&words::when(&page.made)),
        tool: clean(&page.tool),
        invented: page.invented,
        counted: claims::counted(comparison),
        held_truth: words::held::within_night().unwrap_or_default(),
        who_scored: claims::who_scored(comparison),
        may_be_said: claims::may_be_said(comparison, &page.inference),
        cautions: claims::CAUTIONS,
        planned: Planned::new(&page.standing),
        explained: explained::tables(comparison),
        groups: groups::tables(&page.groups),
        methods: MethodsSection::new(page),
        what_if: page.what_if.as_ref().and_then(WhatIfSection::new),
        nights: nights.map(|(i, n)| Night::new(n, &page.inference, i, only)).collect::<Result<_, _>>()?,
        devices: devices
            .filter_map(|(i, d)| {
                let people = page.inference.people_of(&d.name);
                Device::of_all(comparison, d, people, format!("device-{}", i + 1), alone)
            })
            .collect(),
        caution: pooled::CAUTION,
        overview: pooled::overview(
            &comparison.devices.iter().map(|d| pooled::Pool::of(comparison, d)).collect::<Vec<_>>(),
            &page.inference,
        ),
        differences: pooled::differences(comparison, &page.inference),
        pairs: Pairs::of(&page.inference.pairs),
        baselines: baselines::of_all(&page.inference.baselines),
        baselines_said: baselines::sentences(&page.inference.baselines, &comparison.nights),
        wakes: bouts::of_all(&page.inference.wakes),
        scorers: scorers::pairs(&comparison.scorers, &page.inference.scorers),
        scorers_said: scorers::sentences(&comparison.scorers),
        over_all: (!comparison.devices.is_empty()).then(|| {
            Figure::new("all-m", |id, size| {
                sensitivity::sensitivity(&sensitivity::of_all(comparison, id), size, Theme::Page)
            })
        }),
        not_pooled: comparison
            .devices
            .iter()
            .filter(|d| d.pooled.is_none())
            .map(|d| (clean(&d.name), why_not_pooled(comparison, d).to_owned()))
            .collect(),
        findings_counted: closing::findings_counted(&page.findings),
        findings: closing::findings(&page.findings),
        read_off: pictures::table(&page.read_off),
        not_shown: pictures::not_shown(&page.read_off),
        pictures: Pictures::new(&page.read_off),
        provenance: closing::provenance(&page.provenance),
        left_out: LeftOut::new(page),
        reading: Readings::new(comparison, &page.inference),
        clocks: ClocksView::new(&page.inference.clocks),
        measures: DeviationsView::new(&page.inference),
        exports: exports::exports(&page.exports),
        giving: giving::devices(&page.devices),
        wearings: giving::wearings(&page.wearings),
    };
    Ok(once(&view.render()?))
}

fn why_not_pooled(comparison: &Comparison, device: &DeviceSummary) -> &'static str {
    let nights = comparison.nights.iter().flat_map(|n| &n.devices);
    let mut own = nights.filter(|d| d.source.name() == device.name).peekable();
    if own.peek().is_some() && own.all(|d| d.cells.is_empty()) {
        "it gives totals and no stages over time"
    } else if device.scheme.is_some() {
        "no night of it entered a matrix"
    } else {
        "its nights share no scheme in which all of them can be compared"
    }
}

/// The inks of the figures are those of the page, by day and by night.
fn style() -> String {
    let (light, dark) = (Theme::Light.properties(), Theme::Dark.properties());
    include_str!("../templates/style.css").replace("/*light*/", &light).replace("/*dark*/", &dark)
}

impl View {
    /// The nights of each participant, in the order of the page.
    fn people(&self) -> Vec<(&str, Vec<&Night>)> {
        let mut out: Vec<(&str, Vec<&Night>)> = Vec::new();
        for night in &self.nights {
            match out.last_mut() {
                Some((participant, nights)) if *participant == night.participant => nights.push(night),
                _ => out.push((&night.participant, vec![night])),
            }
        }
        out
    }

    /// For the section on all nights.
    fn n_nights(&self) -> String {
        words::count(self.nights.len(), "night")
    }
}
