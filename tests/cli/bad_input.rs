use crate::common::Bench;
use crate::import::{import, ring, study};
use std::fs::File;

/// Imports a file that cannot be read: exit 2, no panic, nothing stored; returns what was said.
fn refused(bench: &Bench, words: &str) -> String {
    let run = import(bench, words).ends(2);
    assert!(!run.stderr.contains("panicked"), "{}", run.stderr);
    let sql =
        "SELECT (SELECT count(*) FROM recording), (SELECT count(*) FROM original), (SELECT count(*) FROM decision)";
    let counts = bench.run(&["--study", "s", "query", sql, "--format", "csv"]).ends(0).stdout;
    assert_eq!(counts.lines().nth(1), Some("0,0,0"), "something was stored");
    assert_eq!(std::fs::read_dir(bench.path("s/originals")).unwrap().count(), 0, "an original was kept");
    run.stderr
}

fn bench() -> Bench {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench
}

const GOOD: &[(&str, &str, &str)] = &[("2026-04-03T22:00:00+02:00", "2026-04-03T22:20:00+02:00", "awake")];

#[test]
fn a_truncated_file() {
    let bench = bench();
    let whole = ring(GOOD);
    for tenth in 1..10 {
        bench.write("cut.json", &whole[..whole.len() * tenth / 10]);
        let said = refused(&bench, "cut.json --unit ring-a-1");
        assert!(said.contains("cut.json"), "{said}");
    }
    let said = refused(&bench, "cut.json --unit ring-a-1");
    assert!(said.contains("line 1"), "the place is named: {said}");
}

#[test]
fn an_empty_file() {
    let bench = bench();
    for (name, unit) in [("a.json", "ring-a-1"), ("a.tsv", "band-a-1")] {
        bench.write(name, "");
        let said = refused(&bench, &format!("{name} --unit {unit} --night 2026-04-03"));
        assert!(said.contains(&format!("{name}: the file is empty")), "{said}");
    }
    bench.write("a.edf", "");
    assert!(refused(&bench, "a.edf --scorer S1").contains("a.edf: the file is empty"));
}

#[test]
fn a_wrong_encoding() {
    let bench = bench();
    bench.write("latin.tsv", b"clock\tstage\n23:00\t\xe9veil\n");
    let said = refused(&bench, "latin.tsv --unit band-a-1 --night 2026-04-03");
    assert!(said.contains("not UTF-8"), "{said}");
    assert!(said.contains("line 2"), "{said}");
}

#[test]
fn a_login_page_saved_as_json() {
    let bench = bench();
    bench.write("export.json", "<!doctype html>\n<html><head><title>Sign in</title></head></html>\n");
    let said = refused(&bench, "export.json --unit ring-a-1");
    assert!(said.contains("this is not JSON"), "{said}");
    assert!(said.contains("HTML"), "{said}");
}

#[test]
fn a_folder_a_missing_file_and_a_loop_of_links() {
    let bench = bench();
    std::fs::create_dir(bench.path("folder")).unwrap();
    assert!(refused(&bench, "folder --unit ring-a-1").contains("folder is a folder; name the files in it"));
    assert!(refused(&bench, "nowhere.json --unit ring-a-1").contains("nowhere.json"));
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("b.json", bench.path("a.json")).unwrap();
        std::os::unix::fs::symlink("a.json", bench.path("b.json")).unwrap();
        let said = refused(&bench, "a.json --unit ring-a-1");
        assert!(said.contains("a.json") && said.contains("symbolic links"), "{said}");
        assert!(refused(&bench, "/dev/null --unit ring-a-1").contains("not a regular file"));
    }
}

#[test]
fn three_gigabytes_of_nothing() {
    let bench = bench();
    for (name, unit) in [("big.json", "--unit ring-a-1"), ("big.tsv", "--unit band-a-1"), ("big.edf", "--scorer S1")] {
        File::create(bench.path(name)).unwrap().set_len(3 << 30).unwrap();
        let begun = std::time::Instant::now();
        let said = refused(&bench, &format!("{name} {unit} --night 2026-04-03"));
        assert!(said.contains(name), "{said}");
        assert!(begun.elapsed().as_secs() < 60, "{name} took {:?}", begun.elapsed());
        std::fs::remove_file(bench.path(name)).unwrap();
    }
}

#[test]
fn another_format_than_the_definition_reads() {
    let bench = bench();
    bench.write("night.edf", ring(GOOD));
    assert!(refused(&bench, "night.edf --scorer S1").contains("this is not EDF"));
    bench.write("table.tsv", "from\tto\n1\t2\n");
    let said = refused(&bench, "table.tsv --unit band-a-1 --night 2026-04-03");
    assert!(said.contains("clock") && said.contains("from"), "the wanted column and those there are named: {said}");
    bench.write("other.json", "{\"sleeps\": 3}");
    let said = refused(&bench, "other.json --unit ring-a-1");
    assert!(said.contains("other.json"), "{said}");
}

#[test]
fn a_definition_with_a_mistake_is_pointed_at() {
    let bench = bench();
    bench.write("ring.json", ring(GOOD));
    bench.write(
        "s/importers/ring-a/importer.toml",
        "version = 1\ntitle = \"t\"\n[match]\nformat = \"json\"\n[[rows]]\nshape = \"intervall\"\n",
    );
    let said = refused(&bench, "ring.json --unit ring-a-1");
    assert!(said.contains("intervall"), "{said}");
    assert!(said.contains("interval"), "what may stand there is named: {said}");
    assert!(said.contains("importer.toml:6"), "{said}");
}

#[test]
fn a_wall_time_without_any_zone_is_an_error_that_says_how_to_give_one() {
    let bench = bench();
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    assert!(text.contains("zone = \"Europe/Berlin\""));
    // The night has a zone, so a time of day needs none of its own; a start without a night does.
    bench.write("codes.txt", "W\nN1\n");
    let said = refused(&bench, "codes.txt --unit band-a-1 --definition code-per-line");
    assert!(said.contains("--start"), "{said}");
}

#[test]
fn hostile_names_reach_the_terminal_harmless() {
    let bench = bench();
    bench.write(
        "ring.json",
        ring(&[("2026-04-03T22:00:00+02:00", "2026-04-03T22:20:00+02:00", "\u{1b}[31mred\u{202e}")]),
    );
    let run = import(&bench, "ring.json --unit ring-a-1").ends(1);
    for text in [&run.stdout, &run.stderr] {
        assert!(!text.contains('\u{1b}') && !text.contains('\u{202e}'), "{text}");
    }
}

#[test]
fn a_torn_decision_is_cut_off_and_a_changed_one_is_named() {
    let bench = bench();
    bench.write("ring.json", ring(GOOD));
    import(&bench, "ring.json --unit ring-a-1").ends(0);
    let path = bench.path("s/decisions.jsonl");
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, format!("{text}{{\"n\":2,\"at\":\"2026")).unwrap();
    bench.line("--study s check").ends(0);
    assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
    std::fs::write(&path, text.replace("ring.json", "rang.json")).unwrap();
    let said = bench.line("--study s nights").ends(2).stderr;
    assert!(said.contains("decisions.jsonl line 1"), "{said}");
}

#[cfg(unix)]
#[test]
fn a_folder_that_cannot_be_written_is_still_read() {
    use std::os::unix::fs::PermissionsExt as _;
    let bench = bench();
    bench.write("ring.json", ring(GOOD));
    import(&bench, "ring.json --unit ring-a-1").ends(0);
    let mode = |m| std::fs::set_permissions(bench.path("s"), std::fs::Permissions::from_mode(m)).unwrap();
    mode(0o555);
    bench.line("--study s nights").ends(0);
    bench.line("--study s show 2026-04-03").ends(0);
    mode(0o755);
}
