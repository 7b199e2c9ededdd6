use crate::common::Bench;
use crate::import::study;

const DIARY: &str = "version = 1\ntitle = \"An invented diary\"\n[match]\nformat = \"csv\"\nhas = [\"seconds\", \"event\"]\n[[rows]]\nshape = \"notes\"\nstart = { at = \"seconds\", read = \"offset s\", from = { bound = \"start\" } }\nnote = { at = \"event\" }\n[notes]\n\"out\" = \"lights-off\"\n\"up\" = \"lights-on\"\n";

/// A study whose night is scored for four minutes from 22:30, with a device that agrees and a diary.
fn with_diary(bench: &Bench, diary: &str) {
    study(bench, "Europe/Berlin");
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    let scorer = "[[scorer]]\ncode = \"a-diary\"\nscored_by = \"human\"\ndefinition = \"diary\"\n";
    bench.write("s/study.toml", format!("{text}\n{scorer}"));
    bench.write("s/importers/diary/importer.toml", DIARY);
    let start = "--night 2026-04-03 --start 22:30";
    bench.write("diary.csv", diary);
    bench.line(&format!("--study s import diary.csv --scorer a-diary {start}"));
    bench.write("scored.txt", "W\nW\nN2\nN2\nN2\nN2\nW\nW\n");
    let by = "--definition code-per-line";
    bench.line(&format!("--study s import scored.txt --scorer S1 {start} {by}")).ends(0);
    bench.line(&format!("--study s import scored.txt --device ring-a {start} {by}")).ends(0);
}

fn window(bench: &Bench, words: &str) -> (String, u64) {
    let night = bench.line(&format!("--study s compare --format json {words}")).ends(0).json()["nights"][0].clone();
    (night["window"].as_str().unwrap().to_owned(), night["devices"][0]["agreement"]["n"].as_u64().unwrap())
}

#[test]
fn a_diary_gives_the_lights_and_is_compared_with_nothing() {
    let bench = Bench::new();
    with_diary(&bench, "seconds,event\n60,out\n210,up\n");
    assert_eq!(window(&bench, ""), ("lights".into(), 5));
    assert_eq!(window(&bench, "--window scored"), ("scored".into(), 8));
    let nights = bench.line("--study s nights --format json").ends(0).json();
    assert_eq!(nights["nights"][0]["references"], serde_json::json!(["S1"]));
    assert_eq!(nights["nights"][0]["diaries"], serde_json::json!(["a-diary"]));
    let shown = bench.line("--study s show 2026-04-03").ends(0).stdout;
    assert!(shown.contains("lights off 22:31, lights on 22:33"), "{shown}");
    assert!(shown.contains("a-diary  (notes)"), "{shown}");
    // What the reviewer declares goes before the diary.
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write(
        "s/study.toml",
        text.replace("label = \"2026-04-03\"", "label = \"2026-04-03\"\nlights_off = \"22:30\""),
    );
    assert_eq!(window(&bench, ""), ("lights".into(), 7));
    bench.line("--study s rebuild").ends(0);
    assert_eq!(window(&bench, ""), ("lights".into(), 7));
}

#[test]
fn a_diary_whose_lights_are_exchanged_stops_the_comparison() {
    let bench = Bench::new();
    with_diary(&bench, "seconds,event\n210,out\n60,up\n");
    let said = bench.line("--study s compare").ends(1).stderr;
    assert!(said.contains("lights-order"), "{said}");
    assert!(said.contains("both are from scorer a-diary"), "{said}");
}
