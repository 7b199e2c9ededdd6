//! Points and observations of health standards: what must pass and what must fail.

use crate::common::{Bench, Run};
use crate::data::Data;

const DECLARATIONS: &str = "\n[[participant]]\ncode = \"P01\"\n[[device]]\nname = \"mat-a\"\n[[unit]]\nname = \"mat-a-1\"\ndevice = \"mat-a\"\n";

/// Imports a file into a study of its own, by the definition that fits it.
fn import(bench: &Bench, file: &str, words: &str) -> Run {
    let _ = std::fs::remove_dir_all(bench.path("study"));
    bench.line("new study --zone UTC").ends(0);
    let toml = bench.path("study/study.toml");
    let text = std::fs::read_to_string(&toml).unwrap();
    std::fs::write(&toml, text + DECLARATIONS).unwrap();
    let words: Vec<&str> =
        ["--study", "study", "import", file, "--new-nights"].into_iter().chain(words.split_whitespace()).collect();
    bench.run(&words)
}

/// The words of what was said, wherever its lines are broken.
fn said(run: &Run) -> String {
    format!("{} {}", run.stdout, run.stderr).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A point ends as claims of a night in the store.
fn stored(bench: &Bench, file: &str) {
    let run = import(bench, file, "--device mat-a");
    assert!(run.code < 2, "{file}: {}{}", run.stdout, run.stderr);
    let count = bench.run(&["--study", "study", "query", "SELECT count(*) > 0 FROM claim", "--format", "csv"]).ends(0);
    assert!(count.stdout.ends_with("\n1\n"), "{file}: no claim is stored: {}", said(&run));
}

/// Nothing of a point is stored, and what is said names the file and one of these reasons.
fn refused(bench: &Bench, file: &str, reasons: &[&str]) {
    let run = import(bench, file, "--device mat-a").ends(2);
    let said = said(&run);
    assert!(said.contains(file.rsplit('/').next().unwrap()), "{said}");
    assert!(reasons.iter().any(|r| said.contains(r)), "{file}: none of {reasons:?} in: {said}");
    let count = bench.run(&["--study", "study", "query", "SELECT count(*) FROM recording", "--format", "csv"]);
    assert!(count.stdout.ends_with("\n0\n"), "{file}");
}

/// A value that is wrong is told with its place.
const LOCATED: &str = ".json, $";

/// Open mHealth's own points of sleep: `shouldPass` is stored, `shouldFail` is refused.
#[test]
fn points_of_open_mhealth_pass_and_fail_as_the_schemas_want() {
    let Some(data) = Data::find() else { return };
    let bench = Bench::new();
    let names = data.names("openmhealth/test-data/omh/", ".json");
    let (mut passed, mut failed) = (0, 0);
    for name in &names {
        let file = data.file(name);
        let text = std::fs::read_to_string(&file).unwrap();
        if name.contains("/shouldFail/") {
            // A value that is wrong has a place; what lacks a part that makes it a night has none, and is not taken for one.
            refused(&bench, &file, &[LOCATED, "no definition fits: the file looks like JSON with"]);
            failed += 1;
        } else if text.contains("descriptive_statistic") {
            // Valid, and a mean over months: no night.
            refused(&bench, &file, &["`descriptive_statistic` is there"]);
            passed += 1;
        } else {
            stored(&bench, &file);
            passed += 1;
        }
    }
    assert!(passed >= 9 && failed >= 11, "{passed} should pass, {failed} should fail");
    println!("Open mHealth: {passed} points that should pass, {failed} that should fail");
}

/// Time intervals and time frames of IEEE 1752.1, each as the time frame of a sleep episode.
#[test]
fn time_intervals_of_ieee_1752_pass_and_fail_as_the_schemas_want() {
    let Some(data) = Data::find() else { return };
    let bench = Bench::new();
    let names = data.names("openmhealth/test-data/ieee/", ".json");
    assert_eq!(names.len(), 11);
    for name in &names {
        let own = std::fs::read_to_string(data.file(name)).unwrap();
        let frame = if name.contains("/time-interval/") { format!("{{\"time_interval\": {own}}}") } else { own };
        let point =
            format!("{{\"effective_time_frame\": {frame}, \"total_sleep_time\": {{\"value\": 7, \"unit\": \"h\"}}}}");
        let file = format!("as-{}", name.rsplit('/').next().unwrap());
        bench.write(&file, point);
        // A moment is a valid time frame and no sleep episode; the schema of episodes asks for an interval.
        if name.contains("/shouldPass/") && !name.ends_with("/date-time.json") {
            stored(&bench, &file);
        } else {
            refused(&bench, &file, &[LOCATED]);
        }
    }
}

/// HL7's two examples: a stretch of sleep over a period, and a duration at a moment, which says no night.
#[test]
fn observations_of_hl7_are_stored_or_say_what_is_missing() {
    let Some(data) = Data::find() else { return };
    let bench = Bench::new();
    let file = data.file("fhir/Observation-PCDSleepObservation-stage-example.json");
    import(&bench, &file, "--device mat-a").ends(0);
    let minutes = "SELECT minutes_asleep > 0, spans FROM night_summary";
    let run = bench.run(&["--study", "study", "query", minutes, "--format", "csv"]).ends(0);
    assert!(run.stdout.ends_with("\n1,1\n"), "{}", run.stdout);
    let file = data.file("fhir/Observation-PCDSleepObservation-duration-example.json");
    refused(&bench, &file, &["give the night with `--night`"]);
    let run = import(&bench, &file, "--device mat-a --night 2022-10-07");
    assert!(run.code < 2, "{}{}", run.stdout, run.stderr);
    let claim = "SELECT count(*) FROM claim WHERE quantity = 'total-sleep'";
    let run = bench.run(&["--study", "study", "query", claim, "--format", "csv"]).ends(0);
    assert!(run.stdout.ends_with("\n1\n"), "{}", run.stdout);
}
