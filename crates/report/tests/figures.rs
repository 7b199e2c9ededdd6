//! Each figure as it is published, from inputs small enough to check by eye.
//!
//! The pictures lie in `tests/golden`; `UPDATE_EXPECT=1 cargo test -p counterpane-report` writes them anew.

#![allow(clippy::unwrap_used, reason = "helpers of tests")]

use counterpane_compare::{Limits, NightPair};
use counterpane_model::{Cell, Instant, Scheme, ScoredBy, Stage, Zone};
use counterpane_report::draw::{Size, Theme};
use counterpane_report::figures::deviations::{Deviation, Deviations, Group, deviations};
use counterpane_report::figures::differences::{Differences, Level, differences as against_size};
use counterpane_report::figures::hypnogram::{Hypnogram, Marker, Row, hypnogram, key};
use counterpane_report::figures::matrix::{Direction, Matrix, matrix};
use counterpane_report::figures::sensitivity::{Line, Sensitivity, WorstStage, sensitivity};
use counterpane_report::words::Voices;
use expect_test::expect_file;

const SMALL: Size = Size { width: 480.0, narrow: false };

/// Cells from text such as `40W 60L 20?`: letters of `Cell::letter`, each after its number of epochs.
fn cells(text: &str) -> Vec<Cell> {
    let one = |word: &str| {
        let (n, letter) = word.split_at(word.len() - 1);
        let cell = Cell::all().into_iter().find(|c| letter.starts_with(c.letter())).unwrap();
        std::iter::repeat_n(cell, n.parse::<usize>().unwrap())
    };
    text.split_whitespace().flat_map(one).collect()
}

/// Three sources from 00:30 to 04:00 in Lord Howe, whose clocks go back at 02:00.
fn night() -> Hypnogram {
    let start = Instant(1_775_309_400_000);
    let minute = |n: i64| Instant(start.0 + n * 60_000);
    let row = |label: &str, under: &str, text: &str| Row {
        label: label.into(),
        under: under.into(),
        cells: cells(text),
        excluded: Vec::new(),
    };
    Hypnogram {
        id: "h".into(),
        title: "Hypnograms of P01, night 2026-04-04".into(),
        start,
        zone: Zone::named("Australia/Lord_Howe").unwrap(),
        rows: vec![
            row("scorer A", "reference, scored by a person", "40W 101 1602 1203 10? 60R 802"),
            row("ring-a", "ring-a-1, compared in wake, light, deep and REM", "50W 150L 1103 60o 60R 50."),
            Row {
                excluded: vec![(minute(-60), minute(6)), (minute(90), minute(150))],
                ..row("mat-a", "compared in wake and sleep", "45W 300A 60N")
            },
        ],
        lights: (Some(minute(-10)), Some(minute(240))),
        markers: vec![
            Marker {
                number: "1".into(),
                at: minute(61),
                until: Some(minute(75)),
                precision_ms: 60_000,
                text: "out of bed".into(),
            },
            Marker { number: "2".into(), at: minute(62), until: None, precision_ms: 0, text: "a dog barked".into() },
            Marker {
                number: "3".into(),
                at: minute(9999),
                until: None,
                precision_ms: 0,
                text: "after the night".into(),
            },
        ],
    }
}

fn table(direction: Direction) -> Matrix {
    Matrix {
        id: "m".into(),
        about: "ring-a; P01, night 2026-04-04; 300 epochs of 30 s that both sides scored (150 min)".into(),
        voices: Voices { scored_by: ScoredBy::Human, majority: false, other: None },
        scheme: Scheme::Four,
        counts: vec![vec![20, 10, 0, 0], vec![5, 150, 0, 40], vec![1, 74, 0, 0], vec![0, 0, 0, 0]],
        direction,
    }
}

fn differences() -> Deviations {
    let one = |label: &str, minutes: Result<f64, String>, claim| Deviation { label: label.into(), minutes, claim };
    Deviations {
        id: "d".into(),
        about: "P01, night 2026-04-04".into(),
        reference: "the scorer".into(),
        groups: vec![
            Group {
                quantity: "Sleep".into(),
                deviations: vec![
                    one("ring-a", Ok(12.5), false),
                    one("clip-a", Ok(-31.0), true),
                    one("mat-a", Ok(0.0), false),
                ],
            },
            Group {
                quantity: "REM".into(),
                deviations: vec![
                    one("ring-a", Ok(-8.0), false),
                    one("mat-a", Err("does not tell it apart".into()), false),
                ],
            },
        ],
    }
}

fn total_sleep() -> Differences {
    let night = |participant: &str, night: &str, reference, device| NightPair {
        participant: participant.into(),
        night: night.into(),
        key: format!("{participant}/{night}/ring-a-1"),
        reference,
        device,
    };
    let level = |name, value, low, high| Level { name, value, interval: Some(Limits { low, high }) };
    Differences {
        id: "t".into(),
        measure: "Total sleep (TST)".into(),
        device: "ring-a".into(),
        unit: " min",
        size_unit: "min",
        about: "4 nights of 3 people".into(),
        nights: vec![
            night("P01", "2026-04-04", 402.5, 420.0),
            night("P01", "2026-04-05", 371.0, 396.0),
            night("P02", "2026-04-04", 455.0, 440.0),
            night("P03", "2026-04-04", 333.5, 360.0),
        ],
        levels: vec![
            level("bias", 10.9, -42.9, 64.7),
            level("lower limit", -29.6, -173.0, -3.0),
            level("upper limit", 51.4, 24.8, 194.8),
        ],
        line: Some((140.0, -0.32)),
    }
}

fn recognised() -> Sensitivity {
    let worst = WorstStage { class: "REM".into(), sensitivity: 0.41, n: 174 };
    Sensitivity {
        id: "s".into(),
        about: "P01, night 2026-04-04".into(),
        lines: vec![
            Line {
                label: "ring-a".into(),
                classes: "wake, light, deep and REM".into(),
                mean: Ok(0.7),
                stages: vec![0.55, 0.9, 0.94, 0.41],
                worst: Ok(worst),
            },
            Line {
                label: "clip-a".into(),
                classes: String::new(),
                mean: Err("not compared: totals only".into()),
                stages: Vec::new(),
                worst: Err("not compared: totals only".into()),
            },
        ],
    }
}

#[test]
fn a_hypnogram_is_drawn_by_day_and_by_night() {
    expect_file!["golden/hypnogram.svg"].assert_eq(&hypnogram(&night(), SMALL, Theme::Light));
    expect_file!["golden/hypnogram-dark.svg"].assert_eq(&hypnogram(&night(), SMALL, Theme::Dark));
}

#[test]
fn what_is_left_out_is_veiled_where_the_axis_shows_it_and_said_in_words() {
    let svg = hypnogram(&night(), SMALL, Theme::Light);
    assert!(svg.contains(">left out<"), "a stretch with room bears the words");
    assert!(svg.contains(" Left out from 01:30 to 02:30."), "{svg}");
    let hatched = |svg: &str| svg.matches("url(#h-left-out)").count();
    let beyond = Row { excluded: vec![(Instant(0), Instant(9))], ..night().rows.remove(0) };
    let none = hypnogram(&Hypnogram { rows: vec![beyond], ..night() }, SMALL, Theme::Light);
    assert_eq!([hatched(&svg), hatched(&none)], [1, 0]);
}

#[test]
fn the_key_shows_each_patch_that_is_used_and_no_other() {
    let svg = key(&night(), Size::WIDE, Theme::Light);
    for words in [
        "Blue with diagonal stripes: N3",
        "Pink with upright stripes: REM",
        "Grey cross-hatching: looked at and not scored",
        "Bars in a heavy frame: left out on purpose",
    ] {
        assert_eq!(svg.matches(&format!(">{words}<")).count(), 1, "{words}");
    }
    let scored = Hypnogram { rows: night().rows[..1].to_vec(), ..night() };
    let svg = key(&scored, Size::NARROW, Theme::Light);
    assert!(!svg.contains("left out on purpose"), "nothing of that source is left out");
    assert!(!svg.contains("off the body") && !svg.contains("the source says nothing") && svg.contains("not scored"));
    expect_file!["golden/key.svg"].assert_eq(&key(&night(), Size::WIDE, Theme::Light));
}

#[test]
fn a_matrix_is_drawn_both_ways() {
    expect_file!["golden/matrix-rows.svg"].assert_eq(&matrix(&table(Direction::Rows), SMALL, Theme::Light));
    expect_file!["golden/matrix-columns.svg"].assert_eq(&matrix(&table(Direction::Columns), SMALL, Theme::Light));
}

#[test]
fn a_matrix_over_many_nights_keeps_its_sums_inside() {
    let counts = vec![vec![4321, 210, 0, 0], vec![905, 21_453, 40, 640], vec![1, 74, 0, 0], vec![0, 0, 0, 9]];
    let svg = matrix(&Matrix { counts, ..table(Direction::Rows) }, Size { width: 360.0, narrow: true }, Theme::Light);
    assert!(svg.contains(">13826.5 min<"), "the sum of all epochs stands at the corner");
    expect_file!["golden/matrix-many.svg"].assert_eq(&svg);
}

#[test]
fn deviations_are_drawn() {
    expect_file!["golden/deviations.svg"].assert_eq(&deviations(&differences(), SMALL, Theme::Light));
}

#[test]
fn differences_are_drawn_against_their_size_by_day_and_by_night() {
    expect_file!["golden/differences.svg"].assert_eq(&against_size(&total_sleep(), SMALL, Theme::Light));
    expect_file!["golden/differences-dark.svg"].assert_eq(&against_size(&total_sleep(), SMALL, Theme::Dark));
}

#[test]
fn differences_are_told_in_words_and_bands_stay_inside_the_plot() {
    let svg = against_size(&total_sleep(), Size { width: 360.0, narrow: true }, Theme::Light);
    assert!(svg.contains("bias +10.9 min (95 % interval \u{2212}42.9 to +64.7)"), "{svg}");
    assert!(svg.contains("P02, 2026-04-04 \u{2212}15 min at 448;"), "every night is told: {svg}");
    assert!(svg.contains("<title>P01: 2026-04-04 +17.5 min at 411; 2026-04-05 +25 min at 384</title>"), "{svg}");
    let alone = Differences { nights: Vec::new(), levels: Vec::new(), line: None, ..total_sleep() };
    let svg = against_size(&alone, SMALL, Theme::Light);
    assert!(svg.ends_with("</svg>\n") && !svg.contains("NaN"));
}

#[test]
fn sensitivities_are_drawn() {
    expect_file!["golden/sensitivity.svg"].assert_eq(&sensitivity(&recognised(), SMALL, Theme::Light));
}

#[test]
fn a_matrix_says_what_is_absent_and_never_as_nothing_of_nothing() {
    let rows = matrix(&table(Direction::Rows), SMALL, Theme::Light);
    assert!(rows.contains(
        "<title id=\"m-t\">What the device said, for each stage the scorer gave (each row adds to 100 %)</title>"
    ));
    assert!(rows.contains(">stage not present<"), "the scorer never says REM");
    let columns = matrix(&table(Direction::Columns), SMALL, Theme::Light);
    assert!(columns.contains("How far to trust each label the device gave (each column adds to 100 %)"));
    assert!(columns.contains("never said") && !columns.contains("NaN") && !rows.contains("NaN"));
}

#[test]
fn a_figure_of_its_own_uses_no_property_of_a_page_and_one_in_a_page_no_name_space() {
    let all = |theme| {
        [
            hypnogram(&night(), SMALL, theme),
            matrix(&table(Direction::Rows), SMALL, theme),
            deviations(&differences(), SMALL, theme),
            against_size(&total_sleep(), SMALL, theme),
            sensitivity(&recognised(), SMALL, theme),
        ]
    };
    assert!(all(Theme::Light).iter().all(|svg| !svg.contains("var(") && svg.contains("xmlns=")));
    assert!(all(Theme::Page).iter().all(|svg| svg.contains("var(--") && !svg.contains("xmlns")));
}

#[test]
fn nothing_to_draw_is_still_a_picture() {
    let empty = Hypnogram { rows: Vec::new(), markers: Vec::new(), ..night() };
    assert!(hypnogram(&empty, SMALL, Theme::Light).ends_with("</svg>\n"));
    let none = Matrix { counts: Vec::new(), ..table(Direction::Rows) };
    assert!(!matrix(&none, SMALL, Theme::Light).contains("NaN"));
    let no_devices = Deviations { groups: Vec::new(), ..differences() };
    assert!(deviations(&no_devices, SMALL, Theme::Light).ends_with("</svg>\n"));
}

#[test]
fn classes_keep_their_place_in_every_scheme() {
    for scheme in Scheme::ALL {
        let k = scheme.classes().len();
        let counts = (0..k).map(|i| (0..k).map(|j| u64::from(i == j) * 40).collect()).collect();
        let svg = matrix(&Matrix { scheme, counts, ..table(Direction::Rows) }, Size::NARROW, Theme::Light);
        assert_eq!(svg.matches(">100 %<").count(), k, "{scheme}");
        assert_eq!(scheme.classes().first(), Some(&Stage::W));
    }
}
