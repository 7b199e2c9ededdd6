//! The examples that the standards themselves publish, when they are at hand: `COUNTERPANE_OPEN_DATA` names the folder.
//!
//! Open mHealth's points that must pass or fail (github.com/openmhealth/schemas, `test-data`), and the examples of sleep
//! observations of HL7 FHIR Personal Health Records. None of the files is part of this project.

#![allow(clippy::panic, clippy::unwrap_used, clippy::print_stdout, reason = "helpers of tests")]

use counterpane_formats::Limits;
use counterpane_import::{Bindings, Definition, Outcome, import, shipped};
use counterpane_model::{Quantity, Severity, Zone};
use std::path::{Path, PathBuf};

/// Returns the folder of open data; without it the test says that it did not run, or fails where it is required.
fn data() -> Option<PathBuf> {
    let found = std::env::var_os("COUNTERPANE_OPEN_DATA").map(PathBuf::from).filter(|p| p.is_dir());
    if found.is_none() {
        let required = std::env::var("COUNTERPANE_REQUIRE").unwrap_or_default();
        assert!(!required.split(',').any(|r| r == "open-data"), "open-data is required and was not found");
        println!("not run: COUNTERPANE_OPEN_DATA names no folder; docs/testing.md says what belongs there");
    }
    found
}

fn definition(id: &str) -> Definition {
    let text = shipped().iter().find(|(known, _)| *known == id).unwrap().1;
    Definition::parse(id, text).unwrap()
}

fn read(id: &str, text: &str) -> Outcome {
    let bindings = Bindings {
        file: "point.json".into(),
        participant: "P01".into(),
        study_zone: Some(Zone::named("America/New_York").unwrap()),
        night: Some("2022-10-07".into()),
        ..Bindings::default()
    };
    import(&definition(id), &mut text.as_bytes(), &bindings, Limits::default()).unwrap()
}

/// Says whether something in the file is wrong, or nothing in it is a row.
fn fails(outcome: &Outcome) -> bool {
    let findings = outcome.findings.iter().chain(outcome.parts.iter().flat_map(|p| &p.findings));
    findings.filter(|f| f.severity == Severity::Error || f.code == "no-rows").count() > 0
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut all: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    all.sort();
    assert!(!all.is_empty(), "{} is empty", folder.display());
    all
}

/// Puts a time frame into an episode.
fn episode(time_frame: &str) -> String {
    format!("{{\"effective_time_frame\":{time_frame},\"total_sleep_time\":{{\"value\":7.5,\"unit\":\"h\"}}}}")
}

#[test]
fn points_of_open_mhealth_pass_and_fail_as_they_must() {
    let Some(data) = data() else { return };
    let cases = data.join("openmhealth/test-data");
    let read = |text: &str| read("omh-sleep-episode-body", text);
    for schema in ["omh/sleep-episode/1.0", "omh/sleep-episode/1.1", "omh/total-sleep-time/1.0"] {
        for (folder, must_fail) in [("shouldPass", false), ("shouldFail", true)] {
            let folder = cases.join(schema).join(folder);
            // Version 1.1 has no point that must fail.
            for file in folder.is_dir().then(|| files(&folder)).into_iter().flatten() {
                let text = std::fs::read_to_string(&file).unwrap();
                assert_eq!(fails(&read(&text)), must_fail, "{}", file.display());
            }
        }
    }
    for (schema, wrapped) in [("time-interval", true), ("time-frame", false)] {
        for (folder, must_fail) in [("shouldPass", false), ("shouldFail", true)] {
            for file in files(&cases.join(format!("ieee/{schema}/1.0")).join(folder)) {
                let text = std::fs::read_to_string(&file).unwrap();
                // A moment is a time frame, but no episode; several days are an interval, but no sleep.
                let must_fail = must_fail || file.ends_with("date-time.json") || text.contains("\"unit\": \"d\"");
                let frame = if wrapped { format!("{{\"time_interval\":{text}}}") } else { text };
                assert_eq!(fails(&read(&episode(&frame))), must_fail, "{}", file.display());
            }
        }
    }
}

#[test]
fn the_episode_of_open_mhealth_is_read_to_the_minute() {
    let Some(data) = data() else { return };
    let file = data.join("openmhealth/test-data/omh/sleep-episode/1.1/shouldPass/valid-sleep-episode.json");
    let outcome = read("omh-sleep-episode-body", &std::fs::read_to_string(file).unwrap());
    let claims: Vec<(Quantity, f64)> = outcome.parts[0].claims.iter().map(|c| (c.quantity, c.value)).collect();
    let ms = |text: &str| text.parse::<jiff::Timestamp>().unwrap().as_millisecond() as f64;
    assert_eq!(
        claims,
        [
            (Quantity::Awakenings, 1.0),
            (Quantity::End, ms("2016-02-06T06:35:00Z")),
            (Quantity::SleepLatency, 17.5),
            (Quantity::Start, ms("2016-02-05T21:35:00Z")),
            (Quantity::TotalSleep, 510.0),
            (Quantity::WakeAfterOnset, 30.0),
        ]
    );
}

#[test]
fn the_examples_of_fhir_are_read() {
    let Some(data) = data() else { return };
    let text = |name: &str| std::fs::read_to_string(data.join("fhir").join(name)).unwrap();
    let duration = read("fhir-sleep-observation", &text("Observation-PCDSleepObservation-duration-example.json"));
    assert!(!fails(&duration));
    assert_eq!(
        (duration.parts[0].claims[0].quantity, duration.parts[0].claims[0].value),
        (Quantity::TotalSleep, 540.0)
    );
    let stage = read("fhir-sleep-observation", &text("Observation-PCDSleepObservation-stage-example.json"));
    assert!(!fails(&stage));
    let span = &stage.parts[0].spans[0];
    assert_eq!(
        (span.start.utc_text(), span.end.utc_text(), span.mark.code()),
        ("2022-10-07T22:57:00Z".into(), "2022-10-08T09:13:34.211Z".into(), "Asleep")
    );
}
