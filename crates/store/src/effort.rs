//! How much work the store does for one night of many: steps of SQLite's machine, which no other program disturbs.

use crate::originals::hash_of;
use crate::{Access, Act, Deed, ExcludeAct, ImportAct, NewRecording, NightTaken, Original, Study};
use counterpane_model::{
    Finding, Instant, Locator, Looked, Mark, Night, NightFacts, Recording, Severity, Source, Span, Stage, TimeBasis,
    Vocabulary,
};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant as Clock;

const UNITS: usize = 10;
/// Nights of one participant: one import brings them all in.
const NIGHTS: usize = 50;

/// A study of `people` with 50 nights each, and ten units on every night; a recording has `spans` spans.
fn study(root: &Path, people: usize, spans: usize) -> Study {
    let mut toml = String::from("version = 1\nname = \"many, invented\"\nzone = \"UTC\"\n");
    for u in 0..UNITS {
        toml.push_str(&format!("[[device]]\nname = \"d{u}\"\n[[unit]]\nname = \"u{u}\"\ndevice = \"d{u}\"\n"));
    }
    for p in 0..people {
        toml.push_str(&format!("[[participant]]\ncode = \"P{p:03}\"\n"));
        for n in 0..NIGHTS {
            toml.push_str(&format!("[[night]]\nparticipant = \"P{p:03}\"\nlabel = \"{}\"\n", label(n)));
        }
    }
    let mut study = Study::create(root, &toml, "test").unwrap();
    study.db().pragma_update(None, "synchronous", "OFF").unwrap();
    for p in 0..people {
        for u in 0..UNITS {
            import(&mut study, &format!("P{p:03}"), u, spans);
        }
        let exclude = ExcludeAct {
            participant: format!("P{p:03}"),
            night: label(0),
            source: Some("u0".into()),
            stretch: None,
            looked: Looked::Before,
            reason: "fell off".into(),
        };
        let deed = Deed::New { at: "2026-04-06T00:00:00Z", by: "me" };
        study.decide(deed, &Act::Exclude(exclude), &check).unwrap();
    }
    study
}

fn label(n: usize) -> String {
    format!("2026-{:02}-{:02}", 1 + n / 28, 1 + n % 28)
}

/// One finding of every recording, as a checker might have it.
fn check(night: &NightFacts<'_>) -> Vec<Finding> {
    let of = |r: &Recording| Finding {
        code: "gap".into(),
        severity: Severity::Warning,
        recording: Some(r.key.clone()),
        night: None,
        place: None,
        message: "nothing is said from 02:00 to 02:10".into(),
        help: "look at the file".into(),
        count: 1,
    };
    night.recordings.iter().map(of).collect()
}

fn import(study: &mut Study, participant: &str, unit: usize, spans: usize) {
    let nights: Vec<Night> = study.nights().iter().filter(|n| n.participant == participant).cloned().collect();
    let taken = |n: &Night| NightTaken {
        label: n.label.clone(),
        kind: n.kind,
        zone: n.zone.clone(),
        of_unit: false,
        from: n.window.0,
        until: n.window.1,
    };
    let original = hash_of(format!("{participant} {unit}").as_bytes()).unwrap();
    let act = ImportAct {
        original: original.sha256.clone(),
        file: format!("{participant}-u{unit}.json"),
        definition: "ring-a".into(),
        definition_sha256: hash_of(&b"a definition"[..]).unwrap().sha256,
        participant: participant.into(),
        unit: Some(format!("u{unit}")),
        scorer: None,
        night: None,
        zone: None,
        study_zone: "UTC".into(),
        start: None,
        end: None,
        lights_off: None,
        lights_on: None,
        precision_ms: None,
        beside: Vec::new(),
        blanked: None,
        pictures: Vec::new(),
        settles: None,
        clock_reason: None,
        limits: Default::default(),
        nights: nights.iter().map(taken).collect(),
    };
    let new: Vec<NewRecording> = nights.iter().map(|n| recording(n, unit, spans)).collect();
    let original = Original { bytes: 1000, ..original };
    let deed = Deed::New { at: "2026-04-06T00:00:00Z", by: "me" };
    study.import(deed, &act, std::slice::from_ref(&original), "a definition", &new, &check).unwrap();
}

/// Eight hours from 22:00 on, in equal pieces.
fn recording(night: &Night, unit: usize, spans: usize) -> NewRecording {
    let stages = [Stage::W, Stage::Light, Stage::N3, Stage::R];
    let length = 8 * 3_600_000 / i64::try_from(spans).unwrap();
    let span = |i: usize| {
        let start = Instant(night.window.0.0 + 10 * 3_600_000 + i64::try_from(i).unwrap() * length);
        let mark = Mark::Stage(stages[(i + unit) % 4]);
        let locator = Locator::Json { path: format!("$.sleeps[0].pieces[{i}].depth") };
        Span { start, end: Instant(start.0 + length), mark, label: mark.to_string(), locator }
    };
    let recording = Recording {
        key: String::new(),
        source: Source::Device { device: format!("d{unit}"), unit: format!("u{unit}") },
        participant: night.participant.clone(),
        night: night.label.clone(),
        zone: "UTC".into(),
        time_basis: TimeBasis::OffsetInSource,
        vocabulary: Vocabulary(stages.to_vec()),
        step_ms: 30_000,
        precision_ms: 0,
        spans: (0..spans).map(span).collect(),
        claims: Vec::new(),
        notes: Vec::new(),
        file: "night.json".into(),
    };
    NewRecording { recording, raw_time: "22:00".into(), findings: Vec::new() }
}

/// Returns how many steps SQLite's machine takes for something.
fn steps(study: &mut Study, what: impl FnOnce(&Study)) -> u64 {
    let count = Arc::new(AtomicU64::new(0));
    let counter = Arc::clone(&count);
    let tick = move || {
        counter.fetch_add(1, Ordering::Relaxed);
        false
    };
    study.db_mut().progress_handler(1, Some(tick)).unwrap();
    what(study);
    study.db_mut().progress_handler(0, None::<fn() -> bool>).unwrap();
    count.load(Ordering::Relaxed)
}

/// All that `show` asks of the store.
fn show(study: &Study) {
    let (participant, night) = ("P001", "2026-01-07");
    study.stored_night(participant, night).unwrap().unwrap();
    assert_eq!(study.recordings(participant, night).unwrap().len(), UNITS);
    assert_eq!(study.findings(Some((participant, night))).unwrap().len(), UNITS);
    study.decided(participant, night).unwrap();
}

#[test]
fn one_night_costs_the_same_in_a_small_store_and_in_a_large_one() {
    let (a, b) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let (mut small, mut large) = (study(a.path(), 2, 8), study(b.path(), 8, 8));
    let (few, many) = (steps(&mut small, show), steps(&mut large, show));
    assert!(many <= few + few / 20, "a night of 100 takes {few} steps, of 400 nights {many}: a plan scans");
    let page = |skip| move |s: &Study| assert_eq!(s.night_rows(skip, 20).unwrap().len(), 20);
    let (few, many) = (steps(&mut small, page(0)), steps(&mut large, page(0)));
    assert!(many <= few + few / 20, "a page of 100 nights takes {few} steps, of 400 nights {many}");
    let later = steps(&mut large, page(370));
    assert!(later <= many + 370 * 40, "the first page takes {many} steps, a later one {later}");
    let all = |s: &Study| drop(s.findings(None).unwrap());
    let (few, many) = (steps(&mut small, all), steps(&mut large, all));
    assert!(many <= few * 5, "the findings of 100 nights take {few} steps, of 400 nights {many}: not linear");
}

/// The long version: `COUNTERPANE_RECORDINGS=100000 cargo test -p counterpane-store effort -- --ignored --nocapture`.
/// `COUNTERPANE_KEEP` names a folder in which the study is left for other programs.
#[test]
#[ignore = "takes minutes and half a gigabyte"]
fn a_night_of_a_hundred_thousand_recordings() {
    let number = |name: &str, else_| std::env::var(name).ok().and_then(|n| n.parse().ok()).unwrap_or(else_);
    let people = number("COUNTERPANE_RECORDINGS", 100_000) / (NIGHTS * UNITS);
    let dir = tempfile::tempdir().unwrap();
    let root = std::env::var("COUNTERPANE_KEEP").map_or_else(|_| dir.path().to_owned(), std::path::PathBuf::from);
    let begun = Clock::now();
    drop(study(&root, people, 60));
    println!("{} recordings of 60 spans made in {:?}", people * NIGHTS * UNITS, begun.elapsed());
    let begun = Clock::now();
    let mut study = Study::open(&root, Access::Read).unwrap();
    println!("opened in {:?}", begun.elapsed());
    let bytes = std::fs::metadata(root.join("study.db")).unwrap().len();
    println!("study.db {bytes} bytes, {} a recording", bytes / (people * NIGHTS * UNITS) as u64);
    let mut timed = |what: &str, run: &dyn Fn(&Study)| {
        let first = Clock::now();
        run(&study);
        let (first, again) = (first.elapsed(), Clock::now());
        run(&study);
        let again = again.elapsed();
        println!("{what}: {first:?} the first time, {again:?} again, {} steps", steps(&mut study, run));
    };
    timed("show of one night", &show);
    timed("the first page of 200 nights", &|s| drop(s.night_rows(0, 200).unwrap()));
    timed("the last page of 200 nights", &|s| drop(s.night_rows((people * NIGHTS) as u64 - 200, 200).unwrap()));
    timed("findings of all nights", &|s| drop(s.findings(None).unwrap()));
}
