//! Two invented nights of one invented person, with six sources of different quality.

use counterpane_compare::comparison::{Figure, Undefined};
use counterpane_compare::{
    Agreement, ClassFigures, Comparison, DeviceNight, DeviceSummary, Measures, NightComparison, Protocol, Window, Worst,
};
use counterpane_model::{
    Cell, Claim, Exclusion, Instant, Locator, Looked, Mark, NightKind, NightNote, Note, NoteKind, Quantity, Scheme,
    ScoredBy, Severity, Source, Stage, Zone,
};
use counterpane_report::{
    Chosen, DeviceLine, ExclusionLine, ExportLine, FindingLine, Page, PictureLine, ProvenanceLine, ReadOff,
    ReadingsApart, Status, WearingLine,
};

/// 2026-04-04T11:30:00Z: 22:30 in Lord Howe, whose clocks go back by half an hour that night.
pub(crate) const START: Instant = Instant(1_775_302_200_000);
const MINUTE: i64 = 60_000;

/// The page of the sample.
pub(crate) fn page() -> Page {
    let nights =
        vec![night("2026-04-04", START, 7), night("2026-04-05", Instant(START.0 + 1440 * MINUTE + 1_800_000), 29)];
    let devices = ["band-a", "clip-a", "mat-a", "ring-a", "watch-a"].map(|name| summary(name, &nights)).to_vec();
    let comparison = Comparison {
        protocol: Protocol { scheme: None, window: Window::Lights },
        nights,
        devices,
        scorers: counterpane_compare::Scorers::default(),
    };
    Page {
        title: "Five devices beside a scored polysomnogram".into(),
        made: "2026-05-01".into(),
        tool: "counterpane 0.1.0".into(),
        invented: true,
        findings: findings(),
        provenance: provenance(),
        devices: vec![DeviceLine {
            name: "ring-a".into(),
            route: Some("a button in its app".into()),
            steps: Some(3),
            ..DeviceLine::default()
        }],
        read_off: vec![read_off()],
        exports: exports(),
        wearings: vec![worn("2026-04-04", "left"), worn("2026-04-05", "right")],
        exclusions: vec![exclusion()],
        with_excluded: Some(comparison.clone()),
        inference: counterpane_compare::infer(&comparison, None, DRAWN),
        what_if: None,
        groups: Vec::new(),
        standing: counterpane_compare::standing(&comparison, Some(laid()), Vec::new(), DRAWN),
        comparison,
        left_out: Vec::new(),
    }
}

/// A night was typed off a screenshot, twice.
fn read_off() -> ReadOff {
    ReadOff {
        night: "P01/2026-04-04".into(),
        recording: "mat-a-1".into(),
        zone: Zone::named("UTC").unwrap_or_else(|e| unreachable!("{e}")),
        start: Instant(1_775_340_000_000),
        cells: vec![Cell::Stage(Stage::Light); 60],
        pictures: vec![PictureLine { file: "evening.png".into(), sha256: "5e".repeat(32), image: None }],
        apart: Some(ReadingsApart { rows: 31, rows_differing: 2, minutes: 446.0, minutes_differing: 3.5 }),
    }
}

/// The mat gave a night twice, and told more sleep the second time.
fn exports() -> Vec<ExportLine> {
    let export = |recording: &str, decision, chosen, minutes: [(Stage, f64); 2]| ExportLine {
        night: "P01/2026-04-04".into(),
        source: "mat-a-1".into(),
        recording: recording.into(),
        file: "mat-a.csv".into(),
        decision,
        at: "2026-04-06T08:00:00Z".into(),
        chosen,
        minutes: minutes.map(|(s, m)| (Mark::Stage(s), m)).to_vec(),
    };
    vec![
        export("mat-a-1", 2, Some(Chosen::First), [(Stage::W, 31.0), (Stage::Asleep, 444.0)]),
        export("mat-a-1#2", 3, None, [(Stage::W, 22.5), (Stage::Asleep, 444.0)]),
    ]
}

fn worn(night: &str, side: &str) -> WearingLine {
    WearingLine {
        unit: "ring-a-1".into(),
        participant: "P01".into(),
        night: night.into(),
        site: Some("finger".into()),
        side: Some(side.into()),
        firmware: None,
        app: None,
    }
}

/// The evening of which something is left out.
const EXCLUDED: &str = "2026-04-05";

/// The twelve minutes for which the band was off: no number changes by leaving them out.
/// What intervals of the sample are drawn with.
const DRAWN: counterpane_compare::Resampling = counterpane_compare::Resampling { replicates: 200, seed: 1, threads: 2 };

/// A protocol that was laid down beforehand.
fn laid() -> counterpane_compare::Laid {
    let seen = counterpane_compare::Seen {
        decision: 1,
        at: "2026-04-01T08:00:00Z".into(),
        by: "reviewer".into(),
        sha256: "0".repeat(64),
        looked: counterpane_model::Looked::Before,
    };
    let plan = counterpane_model::Plan {
        primary: Some(counterpane_model::PlanMeasure::Kappa),
        ..counterpane_model::Plan::default()
    };
    counterpane_compare::Laid { plan, seen: vec![seen] }
}

fn exclusion() -> ExclusionLine {
    let from = Instant(START.0 + 1440 * MINUTE + 1_800_000 + 310 * MINUTE);
    ExclusionLine {
        night: format!("P01, night {EXCLUDED}"),
        zone: Zone::named("Australia/Lord_Howe").unwrap_or_else(|e| unreachable!("{e}")),
        exclusion: Exclusion {
            decision: 4,
            source: Some("band-a-1".into()),
            stretch: Some((from, Instant(from.0 + 12 * MINUTE))),
            looked: Looked::Before,
            reason: "fell off".into(),
            by: "reviewer".into(),
            at: "2026-04-06T09:00:00Z".into(),
        },
    }
}

/// Numbers that look random and are the same everywhere (a linear congruential generator).
struct Luck(u64);

impl Luck {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }
}

/// Four to five cycles: much N3 early, much R late, short wakes between.
fn scored(luck: &mut Luck) -> Vec<Cell> {
    let mut out = Vec::new();
    let mut add = |stage: Stage, n: u64| out.extend((0..n).map(|_| Cell::Stage(stage)));
    add(Stage::W, 22 + luck.below(14));
    for cycle in 0..5_u64 {
        add(Stage::N1, 3 + luck.below(6));
        add(Stage::N2, 24 + luck.below(20));
        add(Stage::N3, (70 - (cycle * 17).min(60)) + luck.below(12));
        add(Stage::N2, 20 + luck.below(26));
        add(Stage::W, luck.below(5));
        add(Stage::R, 14 + cycle * 13 + luck.below(10));
        add(Stage::W, luck.below(12));
    }
    add(Stage::N1, 4);
    add(Stage::N2, 30);
    add(Stage::W, 16);
    out
}

/// What a device makes of a night: boundaries moved, runs taken for others, in its own words.
fn seen(truth: &[Cell], luck: &mut Luck, blur: u64, wrong: u64, say: fn(Stage) -> Stage) -> Vec<Cell> {
    let mut out: Vec<Cell> = Vec::with_capacity(truth.len());
    let mut shift = 0_i64;
    let mut taken: Option<Stage> = None;
    for (epoch, cell) in truth.iter().enumerate() {
        if epoch > 0 && truth.get(epoch - 1) != Some(cell) {
            shift = i64::try_from(luck.below(2 * blur + 1)).unwrap_or(0) - i64::try_from(blur).unwrap_or(0);
            taken = (luck.below(100) < wrong).then_some(Stage::N2);
        }
        let from = usize::try_from(i64::try_from(epoch).unwrap_or(0) + shift).unwrap_or(0).min(truth.len() - 1);
        let stage = taken.or(truth.get(from).and_then(|c| c.stage()));
        out.push(stage.map_or(Cell::Missing, |s| Cell::Stage(say(s))));
    }
    out
}

fn four(stage: Stage) -> Stage {
    Scheme::Four.fold(stage).unwrap_or(stage)
}

fn two(stage: Stage) -> Stage {
    Scheme::SleepWake.fold(stage).unwrap_or(stage)
}

fn same(stage: Stage) -> Stage {
    stage
}

fn night(label: &str, start: Instant, seed: u64) -> NightComparison {
    let mut luck = Luck(seed);
    let mut truth = scored(&mut luck);
    let n = truth.len();
    for cell in truth.iter_mut().skip(n / 2).take(6) {
        *cell = Cell::Unscored;
    }
    let devices = devices(&truth, &mut luck, label, start);
    let end = Instant(start.0 + 30_000 * i64::try_from(n).unwrap_or(0));
    NightComparison {
        participant: "P01".into(),
        night: label.into(),
        kind: NightKind::Night,
        zone: "Australia/Lord_Howe".into(),
        reference_key: format!("P01/{label}/psg-A"),
        scorer: "A".into(),
        scored_by: ScoredBy::Human,
        reference_file: format!("psg-{label}.edf"),
        chosen: None,
        consensus: None,
        lights: (Some(start), Some(end)),
        window_name: "lights",
        start,
        measures: measures(&truth),
        reference: truth,
        notes: vec![note(start, 200, None, NoteKind::OutOfBed, "bathroom")],
        excluded: Vec::new(),
        exclusions: Vec::new(),
        left_out: Vec::new(),
        remarks: if label == "2026-04-04" { remarks() } else { Vec::new() },
        reference_clock: None,
        devices,
    }
}

fn devices(truth: &[Cell], luck: &mut Luck, label: &str, start: Instant) -> Vec<DeviceNight> {
    let mut band = seen(truth, luck, 4, 12, four);
    for cell in band.iter_mut().skip(620).take(24) {
        *cell = Cell::Off;
    }
    let mut ring = seen(truth, luck, 3, 6, same);
    let last = ring.len();
    for cell in ring.iter_mut().skip(last - 60) {
        *cell = Cell::Missing;
    }
    let watch = seen(truth, luck, 14, 48, four);
    let mat = seen(truth, luck, 6, 30, two);
    let mut out = vec![
        device("band-a", label, truth, band, Scheme::Four),
        claims_only(label),
        device("mat-a", label, truth, mat, Scheme::SleepWake),
        device("ring-a", label, truth, ring, Scheme::Five),
        device("watch-a", label, truth, watch, Scheme::Four),
    ];
    if let Some(band) = out.first_mut() {
        if label == EXCLUDED {
            band.excluded.extend(exclusion().exclusion.stretch);
        }
        band.notes = vec![note(start, 310, Some(12), NoteKind::FellOff, "")];
        band.claims = vec![claim(Quantity::TotalSleep, 431.0), claim(Quantity::Minutes(Stage::N3), 88.0)];
    }
    out
}

fn claims_only(label: &str) -> DeviceNight {
    let claims = [
        claim(Quantity::TotalSleep, 452.0),
        claim(Quantity::Minutes(Stage::W), 14.0),
        claim(Quantity::Minutes(Stage::Light), 251.0),
        claim(Quantity::Minutes(Stage::N3), 96.0),
        claim(Quantity::Minutes(Stage::R), 105.0),
    ];
    DeviceNight {
        claims: claims.to_vec(),
        not_compared: Some("it gives totals only, so there is no epoch to compare".into()),
        ..device("clip-a", label, &[], Vec::new(), Scheme::Four)
    }
}

fn device(name: &str, label: &str, truth: &[Cell], cells: Vec<Cell>, scheme: Scheme) -> DeviceNight {
    let staged = |c: &&Cell| c.stage().is_some();
    let scored = truth.iter().filter(staged).count();
    let both = truth.iter().zip(&cells).filter(|(r, d)| r.stage().is_some() && d.stage().is_some()).count();
    let mask = |own: &[Cell], other: &[Cell]| -> Vec<Cell> {
        let pairs = own.iter().zip(other);
        pairs.map(|(a, b)| if b.stage().is_some() && a.stage().is_some() { *a } else { Cell::Unscored }).collect()
    };
    let agreement = (both > 0).then(|| agreement(truth, &cells, scheme));
    let sleep_wake = (both > 0).then(|| self::agreement(truth, &cells, Scheme::SleepWake));
    let wrong = agreement.as_ref().map_or(Err(Undefined::NoPairs), |a| ratio(diagonal(&a.matrix), scored as u64));
    let swap = |i: usize, j: usize| {
        let count = sleep_wake.as_ref().and_then(|a| a.matrix.get(i)?.get(j).copied());
        count.map(|c| c as f64 * 0.5)
    };
    DeviceNight {
        key: format!("P01/{label}/{name}-1"),
        source: Source::Device { device: name.into(), unit: format!("{name}-1") },
        file: format!("{name}.json"),
        vocabulary: scheme.classes().to_vec(),
        missed_wake: swap(0, 1),
        false_wake: swap(1, 0),
        agreement,
        sleep_wake,
        not_compared: None,
        reference_scored: scored as u64,
        coverage: ratio(both as u64, scored as u64),
        accuracy_missing_wrong: wrong,
        measures: (!cells.is_empty()).then(|| measures(&cells)),
        measures_masked: (both > 0).then(|| measures(&mask(&cells, truth))),
        reference_masked: (both > 0).then(|| measures(&mask(truth, &cells))),
        claims: Vec::new(),
        notes: Vec::new(),
        excluded: Vec::new(),
        clock: None,
        ruled: None,
        explained: None,
        cells,
    }
}

fn diagonal(matrix: &[Vec<u64>]) -> u64 {
    matrix.iter().enumerate().filter_map(|(i, row)| row.get(i)).sum()
}

fn ratio(part: u64, all: u64) -> Figure {
    if all == 0 { Err(Undefined::ZeroDenominator) } else { Ok(part as f64 / all as f64) }
}

/// Counts and the few statistics of a page, by their definitions.
pub(crate) fn agreement(reference: &[Cell], device: &[Cell], scheme: Scheme) -> Agreement {
    let k = scheme.classes().len();
    let mut matrix = vec![vec![0_u64; k]; k];
    for (r, d) in reference.iter().zip(device) {
        let index = |c: &Cell| c.stage().and_then(|s| scheme.index(s));
        if let (Some(i), Some(j)) = (index(r), index(d))
            && let Some(count) = matrix.get_mut(i).and_then(|row| row.get_mut(j))
        {
            *count += 1;
        }
    }
    of_matrix(scheme, matrix)
}

/// The statistics of a matrix.
pub(crate) fn of_matrix(scheme: Scheme, matrix: Vec<Vec<u64>>) -> Agreement {
    let k = matrix.len();
    let cell = |i: usize, j: usize| matrix.get(i).and_then(|r| r.get(j)).copied().unwrap_or(0);
    let row = |i: usize| (0..k).map(|j| cell(i, j)).sum::<u64>();
    let column = |j: usize| (0..k).map(|i| cell(i, j)).sum::<u64>();
    let n: u64 = (0..k).map(row).sum();
    let per_class: Vec<ClassFigures> = scheme
        .classes()
        .iter()
        .enumerate()
        .map(|(i, class)| ClassFigures {
            class: *class,
            reference_n: row(i),
            device_n: column(i),
            sensitivity: ratio(cell(i, i), row(i)).map_err(|_| Undefined::RefClassAbsent),
            ppv: ratio(cell(i, i), column(i)).map_err(|_| Undefined::DevClassAbsent),
        })
        .collect();
    let known: Vec<f64> = per_class.iter().filter_map(|c| c.sensitivity.ok()).collect();
    let expected: f64 = (0..k).map(|i| row(i) as f64 * column(i) as f64).sum::<f64>() / (n as f64 * n as f64);
    let observed = diagonal(&matrix) as f64 / n as f64;
    let worst = per_class.iter().filter(|c| c.reference_n >= 20).filter_map(|c| Some((c, c.sensitivity.ok()?)));
    let worst = worst.min_by(|a, b| a.1.total_cmp(&b.1));
    Agreement {
        scheme,
        n,
        accuracy: ratio(diagonal(&matrix), n),
        kappa: if expected < 1.0 {
            Ok((observed - expected) / (1.0 - expected))
        } else {
            Err(Undefined::ExpectedAgreement1)
        },
        mean_sensitivity: if known.is_empty() {
            Err(Undefined::NoPairs)
        } else {
            Ok(known.iter().sum::<f64>() / known.len() as f64)
        },
        mean_sensitivity_classes: known.len(),
        worst_sensitivity: worst.map(|(c, s)| Worst { class: c.class, sensitivity: s, n: c.reference_n }),
        per_class,
        matrix,
    }
}

fn measures(cells: &[Cell]) -> Measures {
    let minutes = |wanted: &dyn Fn(Cell) -> bool| cells.iter().filter(|c| wanted(**c)).count() as f64 * 0.5;
    let sleeps = |c: Cell| c.stage().is_some_and(Stage::is_sleep);
    let wakes = |c: Cell| c.stage() == Some(Stage::W);
    let onset = cells.iter().position(|c| sleeps(*c)).unwrap_or(0);
    let last = cells.iter().rposition(|c| sleeps(*c)).unwrap_or(0);
    let rem = cells.iter().position(|c| c.stage() == Some(Stage::R));
    let after = cells.get(onset..).unwrap_or(&[]);
    let wake_after = after.iter().filter(|c| wakes(**c)).count() as f64 * 0.5;
    let terminal = cells.get(last..).unwrap_or(&[]).iter().filter(|c| wakes(**c)).count() as f64 * 0.5;
    let total = minutes(&sleeps);
    let all = cells.len() as f64 * 0.5;
    Measures {
        recording_time: all,
        total_sleep: total,
        wake: minutes(&wakes),
        unscored: minutes(&|c| c.stage().is_none()),
        stage_minutes: Stage::ALL
            .into_iter()
            .filter(|s| cells.contains(&Cell::Stage(*s)))
            .map(|s| (s, minutes(&|c| c == Cell::Stage(s))))
            .collect(),
        sleep_latency: Ok(onset as f64 * 0.5),
        sleep_latency_bounds: None,
        wake_after_onset: Ok(wake_after),
        wake_within_sleep: Ok(wake_after - terminal),
        terminal_wake: Ok(terminal),
        sleep_period: Ok((last - onset) as f64 * 0.5),
        efficiency: Ok(100.0 * total / all),
        efficiency_scored: Ok(100.0 * total / (total + minutes(&wakes))),
        maintenance_to_end: Ok(100.0 * total / (after.len() as f64 * 0.5)),
        maintenance_in_period: Ok(100.0 * total / ((last - onset + 1) as f64 * 0.5)),
        rem_latency: rem.map(|r| (r - onset) as f64 * 0.5).ok_or(Undefined::StageAbsent),
        awakenings: Ok(after.windows(2).filter(|w| sleeps(w[0]) && wakes(w[1])).count() as f64),
    }
}

fn summary(name: &str, nights: &[NightComparison]) -> DeviceSummary {
    let own: Vec<&DeviceNight> = nights.iter().flat_map(|n| &n.devices).filter(|d| d.source.name() == name).collect();
    let pool = |pick: fn(&DeviceNight) -> Option<&Agreement>| -> Option<Agreement> {
        let all: Vec<&Agreement> = own.iter().filter_map(|d| pick(d)).collect();
        let first = all.first()?;
        let mut matrix = first.matrix.clone();
        for (i, row) in matrix.iter_mut().enumerate() {
            for (j, count) in row.iter_mut().enumerate() {
                *count = all.iter().filter_map(|a| a.matrix.get(i)?.get(j)).sum();
            }
        }
        Some(of_matrix(first.scheme, matrix))
    };
    let mean = |pick: fn(&Agreement) -> Figure| -> Figure {
        let all: Vec<f64> = own.iter().filter_map(|d| d.agreement.as_ref()).filter_map(|a| pick(a).ok()).collect();
        if all.is_empty() { Err(Undefined::NoPairs) } else { Ok(all.iter().sum::<f64>() / all.len() as f64) }
    };
    let pooled = pool(|d| d.agreement.as_ref());
    DeviceSummary {
        name: name.into(),
        scheme: pooled.as_ref().map(|a| a.scheme),
        nights: own.iter().filter(|d| d.agreement.is_some()).count(),
        participants: usize::from(pooled.is_some()),
        pooled,
        pooled_sleep_wake: pool(|d| d.sleep_wake.as_ref()),
        mean_accuracy: mean(|a| a.accuracy),
        mean_kappa: mean(|a| a.kappa),
        kappa_skipped: 0,
    }
}

fn claim(quantity: Quantity, value: f64) -> Claim {
    Claim { quantity, value, rounding: 1.0, locator: Locator::Text { line: 1, column: 1 } }
}

fn note(start: Instant, minutes: i64, lasting: Option<i64>, kind: NoteKind, text: &str) -> Note {
    let at = Instant(start.0 + minutes * MINUTE);
    Note {
        at,
        until: lasting.map(|m| Instant(at.0 + m * MINUTE)),
        precision_ms: MINUTE,
        kind,
        text: text.into(),
        locator: None,
    }
}

fn remarks() -> Vec<NightNote> {
    let own = |minutes, kind, text: &str| NightNote {
        decision: 1,
        source: None,
        note: note(START, minutes, None, kind, text),
    };
    vec![own(95, NoteKind::Other, "a dog barked"), own(425, NoteKind::Alarm, "")]
}

fn findings() -> Vec<FindingLine> {
    let line = |severity, code: &str, source: &str, message: &str, place: &str, count, status| FindingLine {
        severity,
        code: code.into(),
        night: "P01, night 2026-04-04".into(),
        source: source.into(),
        message: message.into(),
        place: place.into(),
        count,
        status,
    };
    let accepted = Status::Accepted {
        reason: "the later export repeats the first ten minutes".into(),
        author: "reviewer".into(),
        date: "2026-04-06".into(),
    };
    vec![
        line(
            Severity::Error,
            "spans-overlap",
            "watch-a",
            "`light` from 02:10 overlaps `deep` until 02:20",
            "watch-a.json $.levels[41]",
            3,
            accepted,
        ),
        line(
            Severity::Warning,
            "clock-changed",
            "",
            "the clocks went back by 30 minutes inside this night",
            "",
            1,
            Status::Open,
        ),
        line(
            Severity::Info,
            "snapped",
            "band-a",
            "neighbours closer than 50 ms were joined",
            "band-a.json $.spans[3]",
            112,
            Status::Open,
        ),
    ]
}

fn provenance() -> Vec<ProvenanceLine> {
    let line = |name: &str, file: &str, definition: &str, basis: &str, digit: &str| ProvenanceLine {
        recording: format!("P01/2026-04-04/{name}"),
        file: file.into(),
        sha256: digit.repeat(32),
        definition: definition.into(),
        definition_sha256: digit.chars().rev().collect::<String>().repeat(32),
        time_basis: basis.into(),
        zone: "Australia/Lord_Howe".into(),
        zone_rules: "2026f, second opinion 2025b".into(),
    };
    vec![
        line("psg-A", "psg-2026-04-04.edf", "edf-annotations", "elapsed from an anchor", "0a"),
        line("band-a-1", "band-a.json", "band-a", "offset in the source", "1b"),
        line("clip-a-1", "clip-a.tsv", "sheet", "zone of the night", "2c"),
        line("mat-a-1", "mat-a.csv", "mat-a", "zone of the night", "3d"),
        line("ring-a-1", "ring-a.zip", "ring-a", "zone in the source", "4e"),
        line("watch-a-1", "watch-a.xml", "watch-a", "offset in the source", "5f"),
    ]
}
