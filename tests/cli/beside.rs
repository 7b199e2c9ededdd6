use crate::common::{Bench, Run};
use crate::import::study;

const TABLE: &str = "onset\tduration\ttrial_type\n0\t600\t0\n600\t1200\t5\n";
const OWN: &str = r#"{"trial_type": {"Levels": {"0": "Wake", "5": "REM"}}}"#;
const OTHER: &str = r#"{"trial_type": {"Levels": {"0": "Wake", "5": "Sleep stage 2"}}}"#;

fn events(bench: &Bench, file: &str) -> Run {
    bench.run(&[
        "--study",
        "s",
        "import",
        file,
        "--scorer",
        "S1",
        "--definition",
        "bids-events",
        "--start",
        "2026-04-03 22:00",
    ])
}

fn marks(bench: &Bench) -> String {
    let sql = "SELECT group_concat(s.mark, ' ') FROM span s JOIN recording r ON r.id = s.recording_id WHERE r.replaced_by IS NULL";
    bench.run(&["--study", "s", "query", sql, "--format", "csv"]).ends(0).stdout.lines().last().unwrap().to_owned()
}

fn decisions(bench: &Bench) -> usize {
    std::fs::read_to_string(bench.path("s/decisions.jsonl")).unwrap().lines().count()
}

#[test]
fn a_description_beside_the_file_is_read_kept_and_read_again_by_rebuild() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.write("in/night_events.tsv", TABLE);
    bench.write("in/night_events.json", OWN);
    let run = events(&bench, "in/night_events.tsv").ends(0);
    assert!(run.stdout.contains("described by night_events.json"), "{}", run.stdout);
    assert_eq!(marks(&bench), "W R");
    // The same again is no second import, also without the files that were read.
    events(&bench, "in/night_events.tsv").ends(0);
    assert_eq!(decisions(&bench), 1);
    std::fs::remove_dir_all(bench.path("in")).unwrap();
    std::fs::remove_file(bench.path("s/study.db")).unwrap();
    bench.line("--study s rebuild").ends(0);
    assert_eq!(marks(&bench), "W R");
}

#[test]
fn a_changed_description_is_another_import_and_takes_the_place_of_the_first() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.write("in/night_events.tsv", TABLE);
    bench.write("in/night_events.json", OWN);
    events(&bench, "in/night_events.tsv").ends(0);
    bench.write("in/night_events.json", OTHER);
    events(&bench, "in/night_events.tsv").ends(0);
    assert_eq!((decisions(&bench), marks(&bench).as_str()), (2, "W N2"));
    bench.line("--study s rebuild").ends(0);
    assert_eq!(marks(&bench), "W N2");
}

#[test]
fn a_lost_description_is_named_by_rebuild_and_healed_by_importing_again() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.write("in/night_events.tsv", TABLE);
    bench.write("in/night_events.json", OWN);
    events(&bench, "in/night_events.tsv").ends(0);
    let log = std::fs::read_to_string(bench.path("s/decisions.jsonl")).unwrap();
    let act: serde_json::Value = serde_json::from_str(log.trim()).unwrap();
    let sha256 = act["act"]["import"]["beside"][0]["sha256"].as_str().unwrap().to_owned();
    std::fs::remove_file(bench.path(&format!("s/originals/{}/{sha256}", &sha256[..2]))).unwrap();
    assert!(bench.line("--study s rebuild").ends(2).stderr.contains("night_events.json"));
    let run = events(&bench, "in/night_events.tsv").ends(0);
    assert!(run.stderr.contains("is whole again"), "{}", run.stderr);
    bench.line("--study s rebuild").ends(0);
}

#[test]
fn a_description_is_inherited_from_files_with_fewer_parts_up_to_the_root_of_the_data_set_and_no_further() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    let file = "up/set/sub-01/sub-01_task-sleep_events.tsv";
    bench.write(file, TABLE);
    bench.write("up/events.json", "{ this would be an error }");
    bench.write("up/set/dataset_description.json", "{}");
    bench.write("up/set/task-rest_events.json", "{ this is of another task }");
    bench.write("up/set/task-sleep_events.json", OWN);
    let run = events(&bench, file).ends(0);
    assert!(run.stdout.contains("described by ../task-sleep_events.json"), "{}", run.stdout);
    assert_eq!(marks(&bench), "W R");
    // What the nearer file says at its top hides what the farther one says there.
    bench.write("up/set/sub-01/sub-01_events.json", OTHER);
    let run = events(&bench, file).ends(0);
    assert!(run.stdout.contains("described by sub-01_events.json and ../task-sleep_events.json"), "{}", run.stdout);
    assert_eq!(marks(&bench), "W N2");
    // Two that describe it equally closely are not chosen from.
    bench.write("up/set/sub-01/task-sleep_events.json", OWN);
    let run = events(&bench, file).ends(2);
    assert!(
        run.stderr.contains("sub-01_events.json and task-sleep_events.json describe the file equally closely"),
        "{}",
        run.stderr
    );
}

#[test]
fn without_a_root_nothing_above_the_folder_is_looked_at() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.write("in/sub-01/sub-01_events.tsv", TABLE);
    bench.write("in/events.json", OWN);
    let run = events(&bench, "in/sub-01/sub-01_events.tsv").ends(1);
    assert!(!run.stdout.contains("described by") && run.stdout.contains("unmapped-label"), "{}", run.stdout);
}

#[test]
fn a_description_that_cannot_be_read_stops_the_import_and_is_named() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.write("in/night_events.tsv", TABLE);
    bench.write("in/night_events.json", "<html>");
    let run = events(&bench, "in/night_events.tsv").ends(2);
    assert!(run.stderr.contains("night_events.json, which describes the file: this is not JSON"), "{}", run.stderr);
    assert!(!bench.path("s/decisions.jsonl").exists());
}
