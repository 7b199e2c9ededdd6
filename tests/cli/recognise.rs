use crate::common::Bench;
use crate::import::{import, ring, study};

const PIECES: &[(&str, &str, &str)] = &[("2026-04-03T22:00:00+02:00", "2026-04-04T06:00:00+02:00", "shallow")];

/// A definition for JSON with `$.sleeps`, read as ring-a reads it, that asks for these facts.
fn definition(bench: &Bench, id: &str, facts: &str) {
    let text = std::fs::read_to_string(crate::common::root().join("importers/ring-a/importer.toml")).unwrap();
    let (from, until) = (text.find("[match]").unwrap(), text.find("[[rows]]").unwrap());
    bench.write(
        &format!("s/importers/{id}/importer.toml"),
        format!("{}[match]\nformat = \"json\"\n{facts}\n{}", &text[..from], &text[until..]),
    );
}

/// A study in which no device has a usual definition.
fn bare(bench: &Bench) {
    study(bench, "Europe/Berlin");
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", text.replace("definition = \"ring-a\"\n", ""));
    bench.write("ring.json", ring(PIECES));
}

#[test]
fn a_file_is_read_by_the_definition_that_fits_and_says_so_in_one_line() {
    let bench = Bench::new();
    bare(&bench);
    let run = import(&bench, "ring.json --unit ring-a-1").ends(0);
    assert!(run.stdout.starts_with("ring.json: read by `ring-a`, the one that fits\n  stored "), "{}", run.stdout);
    assert!(run.stdout.lines().all(|l| l.chars().count() <= 80), "{}", run.stdout);
    let run = import(&bench, "ring.json --unit ring-a-1 --dry-run").ends(0);
    let words = run.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains(" and `$.made_by` says `ring-a (invented)`"), "{}", run.stdout);
    let json = import(&bench, "ring.json --unit ring-a-1 --format json").ends(0).json();
    assert_eq!(json["files"][0]["definition_by"], "fits");
    assert!(json["files"][0]["facts"].as_array().unwrap().len() > 1);
}

#[test]
fn the_most_specific_definition_wins_and_the_others_are_named() {
    let bench = Bench::new();
    bare(&bench);
    definition(&bench, "any-sleeps", "has = [\"$.sleeps\"]");
    let run = import(&bench, "ring.json --unit ring-a-1").ends(0);
    assert!(
        run.stdout.starts_with("ring.json: read by `ring-a`, which fits better than any-sleeps\n"),
        "{}",
        run.stdout
    );
}

#[test]
fn a_tie_stops_and_says_how_to_choose() {
    let bench = Bench::new();
    bare(&bench);
    bench.write("ring.json", ring(PIECES).replace("ring-a (invented)", "ring-q (invented)"));
    definition(&bench, "one", "has = [\"$.sleeps\"]");
    definition(&bench, "two", "has = [\"$.account\"]");
    let said = import(&bench, "ring.json --unit ring-a-1").ends(2).stderr;
    assert!(said.contains("the definitions one and two fit equally well"), "{said}");
    assert!(said.contains("`one`: it looks like json and it has `$.sleeps`"), "{said}");
    assert!(said.contains("next: name one with --definition one, or for always"), "{said}");
    assert!(!bench.path("s/decisions.jsonl").exists());
    import(&bench, "ring.json --unit ring-a-1 --definition two").ends(0);
}

#[test]
fn nothing_fits_says_what_the_file_looks_like_what_is_near_and_how_to_go_on() {
    let bench = Bench::new();
    bare(&bench);
    bench.write("my night.json", ring(PIECES).replace("ring-a (invented)", "ring-q (invented)"));
    let run = bench.run(&["--study", "s", "import", "my night.json", "--unit", "ring-a-1"]).ends(2);
    let said = run.stderr;
    assert!(
        said.contains("no definition fits: the file looks like JSON with `account`, `made_by`, `sleeps` at its top"),
        "{said}"
    );
    assert!(said.contains("near: `ring-a`, "), "{said}");
    assert!(said.contains("but `$.made_by` does not say `ring-a (invented)` at the beginning of the file"), "{said}");
    assert!(said.contains("$ counterpane definition draft 'my night.json'\n"), "{said}");
    // What is no recording at all is not offered a draft.
    bench.write("page.json", "<!doctype html><title>Sign in</title>");
    let said = import(&bench, "page.json --unit ring-a-1").ends(2).stderr;
    assert!(said.contains("the file looks like HTML") && !said.contains("definition draft"), "{said}");
}

#[test]
fn what_a_path_says_is_seen_however_long_the_line_is() {
    let bench = Bench::new();
    bare(&bench);
    // One line, and what tells the device stands behind 20,000 characters.
    let long = ring(PIECES).replacen('{', &format!("{{\"about\": \"{}\", ", "-".repeat(20_000)), 1);
    bench.write("ring.json", long);
    let run = import(&bench, "ring.json --unit ring-a-1").ends(0);
    assert!(run.stdout.contains("read by `ring-a`, the one that fits"), "{}", run.stdout);
}

#[test]
fn a_definition_with_a_mistake_stops_recognition_and_nothing_else() {
    let bench = Bench::new();
    bare(&bench);
    bench.write("s/importers/half/importer.toml", "version = 1\ntitel = \"x\"\n");
    let said = import(&bench, "ring.json --unit ring-a-1").ends(2).stderr;
    assert!(
        said.contains("the definition `half` has a mistake: mend it, or name another one with --definition"),
        "{said}"
    );
    import(&bench, "ring.json --unit ring-a-1 --definition ring-a").ends(0);
}

#[test]
fn the_daily_command_needs_no_option_when_study_toml_says_whose_files_they_are() {
    let bench = Bench::new();
    bench.line("new s --zone Europe/Berlin").ends(0);
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    let rest = "
[[participant]]
code = \"P01\"
[[participant]]
code = \"P02\"
[[device]]
name = \"ring-a\"
[[unit]]
name = \"ring-a-1\"
device = \"ring-a\"
participant = \"P01\"
files = [\"P01/*.json\"]
new_nights = true
[[unit]]
name = \"ring-a-2\"
device = \"ring-a\"
participant = \"P02\"
definition = \"ring-a\"
files = [\"P02/*.json\", \"second-*\"]
new_nights = true
";
    bench.write("s/study.toml", format!("{text}{rest}"));
    bench.write("P01/x.json", ring(PIECES));
    bench.write("P02/x.json", ring(PIECES));
    let run = import(&bench, "P01/x.json").ends(0);
    assert!(run.stdout.contains("stored P01/2026-04-03/ring-a-1"), "{}", run.stdout);
    let run = import(&bench, "P02/x.json").ends(0);
    assert!(run.stdout.contains("read by `ring-a`, usual for ring-a-2\n"), "{}", run.stdout);
    assert!(run.stdout.contains("stored P02/2026-04-03/ring-a-2"), "{}", run.stdout);
    bench.write("P01/second-1.json", ring(PIECES));
    let said = import(&bench, "P01/second-1.json").ends(2).stderr;
    assert!(said.contains("its name fits the `files` of ring-a-1 and ring-a-2 in study.toml"), "{said}");
}
