use crate::common::{Bench, TRACED};
use serde_json::{Value, json};

fn study() -> Bench {
    let bench = Bench::new();
    bench.write("s/study.toml", TRACED.replacen("zone =", "author = \"R1\"\nzone =", 1));
    bench.line("--study s rebuild").ends(0);
    bench
}

/// What the page knows before anybody types.
fn known(bench: &Bench, file: &str) -> Value {
    let page = std::fs::read_to_string(bench.path(file)).unwrap();
    let rest = page.split_once(r#"id="known">"#).unwrap().1;
    serde_json::from_str(rest.split_once("</script>").unwrap().0).unwrap()
}

#[test]
fn the_page_knows_what_the_study_knows() {
    let bench = study();
    let run = bench.line("--study s sheet trace --unit ring-x --night 2026-10-24 --pass 2 -o t.html").ends(0);
    assert_eq!(run.stdout, "");
    assert_eq!(run.stderr, "wrote t.html; open it in a browser, it needs no network\n");
    let expected = json!({
        "unit": "ring-x-1", "night": "2026-10-24", "participant": "P01", "zone": "Europe/Berlin", "reader": "R1", "pass": "2",
        // The window begins at noon; clocks go back an hour 15 hours later.
        "clock": {"begins": 720.0, "shifts": [[900.0, -60.0]]},
    });
    assert_eq!(known(&bench, "t.html"), expected);
}

#[test]
fn without_a_study_the_page_knows_nothing() {
    let bench = Bench::new();
    bench.line("sheet trace").ends(0);
    let known = known(&bench, "trace.html");
    assert_eq!(known["unit"], "");
    assert_eq!(known["clock"], Value::Null);
}

#[test]
fn what_is_not_in_the_study_is_told() {
    let bench = study();
    let run = bench.line("--study s sheet trace --unit ring-y --night 2026-10-24").ends(2);
    assert!(run.stderr.contains("there is no unit, device or scorer `ring-y`"), "{}", run.stderr);
    let run = bench.line("--study s sheet trace --unit ring-x").ends(2);
    assert!(run.stderr.contains("there is no unit `ring-x` in study.toml"), "{}", run.stderr);
    bench.line("--study s sheet trace --night 2020-01-01").ends(2);
    bench.line("sheet trace --night 2026-10-24").ends(2);
    bench.line("sheet trace --pass 3").ends(2);
}

#[test]
fn the_page_takes_no_place_of_the_study() {
    let bench = study();
    let run = bench.line("--study s sheet trace -o s/study.toml").ends(2);
    assert!(run.stderr.contains("belongs to the study"), "{}", run.stderr);
}

#[test]
fn a_page_that_is_there_is_written_over_only_when_that_is_said() {
    let bench = study();
    bench.line("sheet trace").ends(0);
    let said = bench.line("sheet trace").ends(2).stderr;
    assert!(said.contains("trace.html is there already") && said.contains("--replace"), "{said}");
    bench.line("sheet trace --replace").ends(0);
}
