//! What the demo's files must be: what they say they are, the same every time, and instructive.

mod read;

use super::*;
use counterpane_model::grid::project;
use counterpane_model::{Grid, Instant, Mark, Scheme, Span, Stage};
use read::Read;

type Reader = fn(&DemoFile) -> Vec<Read>;

/// Every raw file, with dumps of the nights alone.
fn files(seed: u64) -> Vec<DemoFile> {
    let mut all = super::files(seed).unwrap();
    for dump in dumps(seed, 0) {
        let mut bytes = Vec::new();
        dump.write(&mut bytes).unwrap();
        all.push(DemoFile { path: dump.path, bytes });
    }
    all.sort_by(|a, b| a.path.cmp(&b.path));
    all
}

fn with(folder: &str) -> Vec<DemoFile> {
    files(SEED).into_iter().filter(|f| f.path.starts_with(&format!("{folder}/"))).collect()
}

/// Every recording of a device with the night that it is of.
fn recordings(seed: u64, folder: &str, reader: Reader) -> Vec<(TrueNight, Vec<Span>)> {
    let truth = truth(seed);
    let of_device = |f: &DemoFile| f.path.starts_with(&format!("{folder}/"));
    let mut out = Vec::new();
    for file in files(seed).iter().filter(|f| of_device(f)) {
        let participant = &file.path[folder.len() + 1..][..3];
        for Read { evening, spans } in reader(file) {
            let night = truth.iter().find(|n| n.participant == participant && n.evening == evening).unwrap();
            out.push((night.clone(), spans));
        }
    }
    let absent = usize::from(folder == "band-b");
    assert_eq!(out.len(), 6 - absent, "{folder} has every night that it should have");
    out
}

/// Per cent of the epochs from lights off to lights on that agree, of those that the device scores;
/// the device moved earlier by `late_ms` first.
fn agreement(recordings: &[(TrueNight, Vec<Span>)], scheme: Scheme, late_ms: i64) -> u64 {
    let (mut agree, mut n) = (0, 0);
    for (night, spans) in recordings {
        let earlier = |at: Instant| Instant(at.0 - late_ms);
        let moved: Vec<Span> =
            spans.iter().map(|s| Span { start: earlier(s.start), end: earlier(s.end), ..s.clone() }).collect();
        let grid = Grid { start: night.at(night.lights_off), n: night.lights_on - night.lights_off };
        for (cell, stage) in project(&moved, grid).iter().zip(night.in_bed()) {
            if let Some(said) = cell.stage() {
                n += 1;
                agree += u64::from(scheme.fold(said) == scheme.fold(*stage));
            }
        }
    }
    (agree * 100 + n / 2) / n
}

fn runs(stages: &[Stage]) -> Vec<(Stage, usize)> {
    stages.chunk_by(|a, b| a == b).map(|run| (run[0], run.len())).collect()
}

#[test]
fn a_seed_gives_the_same_files_and_another_seed_gives_others() {
    assert_eq!(files(SEED), files(SEED));
    let (a, b) = (files(1), files(2));
    assert_eq!(a.len(), b.len());
    assert!(a.iter().zip(&b).all(|(x, y)| x.path == y.path && x.bytes != y.bytes));
}

#[test]
fn every_device_has_every_night() {
    let paths: Vec<String> = files(SEED).into_iter().map(|f| f.path).collect();
    let count = |start: &str| paths.iter().filter(|p| p.starts_with(start)).count();
    let nightly = ["psg/", "watch-a/", "band-a/", "patch-z/"];
    assert_eq!(nightly.map(count), [6; 4]);
    let accounts = ["ring-a/", "ring-b/", "ring-c/", "mat-a/", "patch-a/", "band-b/"];
    assert_eq!(accounts.map(count), [2; 6]);
    assert_eq!(count("README"), 1);
    assert_eq!(paths.len(), 4 * 6 + 6 * 2 + 1);
    assert!(paths.is_sorted());
    assert!(paths.contains(&"psg/P01_2026-04-03.edf".to_owned()));
}

#[test]
fn nights_are_ordinary_nights_whatever_the_seed() {
    for seed in (0..40).chain([SEED]) {
        for night in truth(seed) {
            let name = format!("seed {seed} {} {}", night.participant, night.evening);
            assert!(night::is_ordinary(night.in_bed()), "{name}");
            let long_rem = runs(night.in_bed()).iter().filter(|(s, n)| *s == Stage::R && *n >= 4).count();
            assert!(long_rem >= 3, "{name} has at least three cycles");
            let third = night.in_bed().len() / 3;
            let count = |part: &[Stage], stage| part.iter().filter(|s| **s == stage).count();
            let (early, late) = (&night.in_bed()[..third], &night.in_bed()[2 * third..]);
            assert!(count(early, Stage::N3) > 2 * count(late, Stage::N3), "{name} has its deep sleep early");
            assert!(count(late, Stage::R) > count(early, Stage::R), "{name} has its REM sleep late");
            assert!(night.stages[..night.lights_off].iter().all(|s| *s == Stage::W));
        }
    }
}

#[test]
fn the_first_participant_lies_awake_while_the_clock_goes_back() {
    let nights = truth(SEED);
    let night = nights.iter().find(|n| (n.participant, n.evening) == ("P01", "2026-04-04")).unwrap();
    let epoch = (lord_howe::CHANGE.0 - night.start.0) / counterpane_model::EPOCH_MS;
    let epoch = usize::try_from(epoch).unwrap();
    assert!(night.stages[epoch - 8..epoch + 8].iter().all(|s| *s == Stage::W));
    for night in nights {
        let until = night.at(night.stages.len());
        assert_eq!(night.start < lord_howe::CHANGE && lord_howe::CHANGE < until, night.evening == "2026-04-04");
    }
}

#[test]
fn the_polysomnogram_says_what_was_slept_and_leaves_one_epoch_open() {
    for (file, night) in with("psg").iter().zip(truth(SEED)) {
        let edf = read::edf(file);
        assert_eq!(edf.patient, format!("{} X X X", night.participant));
        let day = &night.evening[8..];
        assert_eq!(edf.recording, format!("Startdate {day}-APR-2026 X X counterpane_demo_invented"));
        let clock = lord_howe::clock(night.start).replace(':', ".");
        assert_eq!(edf.start, format!("{day}.04.26 {clock}"));
        let stages: Vec<_> = edf.annotations.iter().filter(|a| a.2.starts_with("Sleep stage ")).collect();
        assert_eq!(stages.len(), night.stages.len());
        for (i, (annotation, stage)) in stages.iter().zip(&night.stages).enumerate() {
            let word = if i == night.unscored { "?" } else { stage.code() };
            assert_eq!(**annotation, (i as i64 * 30, Some(30), format!("Sleep stage {word}")));
        }
        let at = |text: &str| edf.annotations.iter().find(|a| a.2 == text).map(|a| (a.0, a.1));
        assert_eq!(at("Lights off"), Some((night.lights_off as i64 * 30, None)));
        assert_eq!(at("Lights on"), Some((night.lights_on as i64 * 30, None)));
        assert_eq!(edf.annotations.len(), stages.len() + 2);
    }
}

#[test]
fn devices_are_as_good_as_they_are_meant_to_be() {
    // Targets, per cent of epochs in four classes, from `Quality` by trial: they differ by clear steps.
    let four = |folder, reader, late| agreement(&recordings(SEED, folder, reader), Scheme::Four, late);
    let ring_a = four("ring-a", read::ring_a, 0);
    let watch_a = four("watch-a", read::watch_a, 0);
    let band_a = four("band-a", read::band_a, 0);
    let ring_b = four("ring-b", read::ring_b, 0);
    let in_time = four("ring-b", read::ring_b, ring_b::LATE_MS);
    let ring_c = four("ring-c", read::ring_c, 0);
    let patch_a = four("patch-a", read::patch_a, 0);
    let patch_a_in_time = four("patch-a", read::patch_a, -patch_a::EARLY_MS);
    let band_b = four("band-b", read::band_b, 0);
    let patch_z = agreement(&recordings(SEED, "patch-z", read::patch_z), Scheme::SleepWake, 0);
    println!("ring-a {ring_a} watch-a {watch_a} band-a {band_a} ring-b {ring_b} in time {in_time} patch-z {patch_z}");
    println!("ring-c {ring_c} patch-a {patch_a} in time {patch_a_in_time} band-b {band_b}");
    assert!((82..=90).contains(&ring_a), "ring-a {ring_a}");
    assert!((72..=80).contains(&watch_a), "watch-a {watch_a}");
    assert!((62..=70).contains(&band_a), "band-a {band_a}");
    assert!((45..=57).contains(&ring_b), "ring-b {ring_b}");
    assert!(in_time >= ring_b + 2, "ring-b is late: {ring_b}, moved back {in_time}");
    assert!((90..=97).contains(&patch_z), "patch-z {patch_z}");
    assert!((78..=84).contains(&ring_c), "ring-c {ring_c}");
    assert!((66..=73).contains(&patch_a), "patch-a {patch_a}");
    assert!(patch_a_in_time >= patch_a + 3, "patch-a is early: {patch_a}, moved on {patch_a_in_time}");
    assert!((57..=64).contains(&band_b), "band-b {band_b}");
}

#[test]
fn devices_keep_their_order_whatever_the_seed() {
    for seed in 0..8 {
        let four = |folder, reader| agreement(&recordings(seed, folder, reader), Scheme::Four, 0);
        let quality = [
            four("ring-a", read::ring_a),
            four("watch-a", read::watch_a),
            four("band-a", read::band_a),
            four("ring-b", read::ring_b),
        ];
        assert!(quality.windows(2).all(|w| w[0] > w[1]), "seed {seed}: {quality:?}");
    }
}

/// Milliseconds from each end to the next start: more than 0 is a gap, less is an overlap.
fn seams(spans: &[Span]) -> Vec<i64> {
    spans.windows(2).map(|w| w[1].start.ms_since(w[0].end)).filter(|ms| *ms != 0).collect()
}

fn planted(folder: &str, reader: Reader) -> Vec<(String, Vec<i64>)> {
    let name = |n: &TrueNight| format!("{} {}", n.participant, n.evening);
    let seams = recordings(SEED, folder, reader).into_iter().map(|(n, spans)| (name(&n), seams(&spans)));
    seams.filter(|(_, s)| !s.is_empty()).collect()
}

#[test]
fn faults_lie_where_they_were_put_and_nowhere_else() {
    assert_eq!(planted("ring-a", read::ring_a), [("P01 2026-04-05".to_owned(), vec![-360_000])]);
    assert_eq!(planted("watch-a", read::watch_a), [("P02 2026-04-03".to_owned(), vec![watch_a::GAP_MS])]);
    assert_eq!(planted("ring-b", read::ring_b), [("P02 2026-04-05".to_owned(), vec![3_600_000])]);
    assert_eq!(planted("ring-c", read::ring_c), [("P01 2026-04-03".to_owned(), vec![ring_c::MISSING_MS])]);
    assert_eq!(planted("band-a", read::band_a), []);
    assert_eq!(planted("band-b", read::band_b), []);
    assert_eq!(planted("patch-a", read::patch_a), []);
    assert_eq!(planted("patch-z", read::patch_z), []);
}

#[test]
fn one_day_of_an_archive_is_listed_and_absent() {
    let read: Vec<(String, String)> = recordings(SEED, "band-b", read::band_b)
        .into_iter()
        .map(|(n, _)| (n.participant.to_owned(), n.evening.to_owned()))
        .collect();
    assert!(!read.contains(&(band_b::ABSENT.0.to_owned(), band_b::ABSENT.1.to_owned())));
    let listed = with("band-b").iter().map(|f| read::member(f, "index.json").matches("\"id\"").count()).sum::<usize>();
    assert_eq!((listed, read.len()), (6, 5));
}

#[test]
fn a_dump_is_as_long_as_it_was_asked_for_and_nearly_nothing_in_it_is_sleep() {
    for (dump, least) in dumps(SEED, 2).iter().zip([2_000_000, 200_000]) {
        let mut bytes = Vec::new();
        dump.write(&mut bytes).unwrap();
        assert!((least..3 * least).contains(&bytes.len()), "{} has {} bytes", dump.path, bytes.len());
        let text = String::from_utf8(bytes).unwrap();
        let shortest =
            text.lines().filter(|l| l.contains(" teller=") || l.starts_with(" <walk")).map(|l| l.len() + 1).min();
        assert!(
            shortest >= Some(ring_c::SHORTEST_LINE as usize),
            "a line has {shortest:?} bytes, fewer than are reckoned"
        );
        if least == 2_000_000 {
            let own = text.lines().filter(|l| l.contains("teller=\"ring-c\"")).count();
            assert!(own * 50 < text.lines().count(), "{own} lines are the ring's");
        }
    }
}

#[test]
fn lengths_of_the_patch_that_are_no_stage_are_longer_than_a_day() {
    for file in with("patch-a") {
        let sheet = read::member(&file, "xl/worksheets/sheet1.xml");
        assert!(sheet.contains("<mergeCell ref=\"A1:D1\"/>"), "the title runs over all columns");
        assert!(read::rows(&file).iter().all(|r| r.worn_days > 1.0 && r.worn_days < 5.0));
    }
}

#[test]
fn what_overlaps_has_two_different_depths() {
    for (_, spans) in recordings(SEED, "ring-a", read::ring_a) {
        let overlapping = |w: &&[Span]| w[1].start < w[0].end;
        assert!(spans.windows(2).filter(overlapping).all(|w| w[0].mark != w[1].mark && w[0].end < w[1].end));
    }
}

#[test]
fn one_sheet_of_the_watch_has_a_word_of_its_own() {
    let rows = |f: &DemoFile| String::from_utf8(f.bytes.clone()).unwrap().matches(";Drowsy\n").count();
    let with_it: Vec<(String, usize)> =
        with("watch-a").iter().map(|f| (f.path.clone(), rows(f))).filter(|(_, n)| *n > 0).collect();
    assert_eq!(with_it, [("watch-a/P02_2026-04-05.csv".to_owned(), 3)]);
}

#[test]
fn the_totals_of_the_mat_add_up() {
    for file in with("mat-a") {
        let json: serde_json::Value = serde_json::from_slice(&file.bytes).unwrap();
        assert_eq!(json["kind"], "mat-a nightly totals (invented)");
        for night in json["nights"].as_array().unwrap() {
            let minutes = |stage: &str| night["minutes"][stage].as_i64().unwrap();
            let asleep = minutes("light") + minutes("deep") + minutes("rem");
            assert_eq!(night["asleep_total"], asleep);
            assert!((350..510).contains(&asleep), "{night}");
            let clock = |key: &str| night[key].as_str().unwrap().to_owned();
            assert!(clock("in_bed").starts_with("22:") && *clock("out_of_bed") < *"08:00", "{night}");
        }
    }
}

#[test]
fn devices_use_the_words_they_have() {
    let marks = |folder, reader| {
        let mut marks: Vec<Mark> =
            recordings(SEED, folder, reader).into_iter().flat_map(|(_, s)| s).map(|s| s.mark).collect();
        marks.sort();
        marks.dedup();
        marks
    };
    let four = devices::CLASSES.map(Mark::Stage);
    let readers: [(&str, Reader); 5] = [
        ("band-b", read::band_b),
        ("patch-a", read::patch_a),
        ("ring-a", read::ring_a),
        ("ring-b", read::ring_b),
        ("ring-c", read::ring_c),
    ];
    for (folder, reader) in readers {
        assert!(marks(folder, reader).iter().all(|m| four.contains(m)) && marks(folder, reader).len() == 4);
    }
    assert_eq!(marks("patch-z", read::patch_z).len(), 2);
}

#[test]
fn the_readme_says_that_everything_is_invented() {
    let readme = files(SEED).into_iter().find(|f| f.path == "README.txt").unwrap();
    let text = String::from_utf8(readme.bytes).unwrap();
    assert!(text.starts_with("EVERYTHING IN THIS FOLDER IS INVENTED."));
    for file in files(SEED) {
        let folder = file.path.split('/').next().unwrap();
        assert!(text.contains(folder) || folder == "README.txt", "README.txt tells of {folder}");
    }
}
