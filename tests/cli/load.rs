use crate::common::Bench;
use crate::import::{ring, study};

const GOOD: &[(&str, &str, &str)] = &[
    ("2026-04-03T22:00:00+02:00", "2026-04-03T22:20:00+02:00", "awake"),
    ("2026-04-03T22:20:00+02:00", "2026-04-04T06:00:00+02:00", "shallow"),
];

/// A study and a folder `in` with a good file, one that is no JSON, one with an unknown word and one of
/// another night.
fn files(bench: &Bench) {
    study(bench, "Europe/Berlin");
    bench.write("in/good.json", ring(GOOD));
    bench.write("in/login.json", "<!doctype html>");
    bench.write("in/odd.json", ring(&[(GOOD[0].0, GOOD[0].1, "dozing")]));
    bench.write("in/later.json", ring(&[("2026-04-08T22:00:00+02:00", "2026-04-09T06:00:00+02:00", "deep")]));
}

#[test]
fn a_list_is_loaded_file_by_file_and_goes_on_after_a_bad_one() {
    let bench = Bench::new();
    files(&bench);
    bench.write(
        "in/list.csv",
        "path,unit,new_nights\ngood.json,ring-a-1,\nlogin.json,ring-a-1,\nodd.json,ring-a-1,\nlater.json,ring-a-1,true\n",
    );
    let run = bench.line("--study s load in/list.csv").ends(1);
    assert!(run.stdout.contains("4 files: brought in 3 with 3 recordings, 0 imported before"), "{}", run.stdout);
    assert!(run.stdout.contains("1 file could not be imported (nothing of them is stored):"), "{}", run.stdout);
    assert!(run.stdout.contains("login.json: this is not JSON"), "{}", run.stdout);
    assert!(run.stdout.contains("odd.json: unmapped-label"), "{}", run.stdout);
    assert!(run.stdout.lines().count() <= 24, "the summary fits a screen: {}", run.stdout);
    // Mended, the same list brings in what is missing and passes over the rest.
    bench.write("in/login.json", ring(&GOOD[..1]));
    let run = bench.line("--study s load in/list.csv");
    assert!(run.stdout.contains("4 files: brought in 1 with 1 recording, 3 imported before"), "{}", run.stdout);
}

#[test]
fn a_dry_run_of_a_list_stores_nothing() {
    let bench = Bench::new();
    files(&bench);
    bench.write("in/list.toml", "version = 1\n[defaults]\nunit = \"ring-a-1\"\n[[file]]\npath = \"good.json\"\n");
    let run = bench.line("--study s load in/list.toml --dry-run").ends(0);
    assert!(run.stdout.contains("1 file: would bring in 1 with 1 recording"), "{}", run.stdout);
    assert!(!bench.path("s/decisions.jsonl").exists());
    bench.line("--study s load in/list.toml").ends(0);
}

#[test]
fn a_mistake_in_a_list_is_named_and_nothing_is_loaded() {
    let bench = Bench::new();
    files(&bench);
    for (name, text, why) in [
        ("a.toml", "version = 1\n[[file]]\npath = \"good.json\"\nunti = \"ring-a-1\"\n", "unknown field `unti`"),
        ("b.toml", "version = 2\n[[file]]\npath = \"good.json\"\n", "version 2 is not known"),
        ("c.toml", "version = 1\n[[file]]\nunit = \"ring-a-1\"\n", "number 1 has no `path`"),
        ("d.csv", "path,unti\ngood.json,x\n", "unknown field `unti`"),
        ("e.csv", "path,unit\n", "the list names no file"),
    ] {
        bench.write(&format!("in/{name}"), text);
        let said = bench.line(&format!("--study s load in/{name}")).ends(2).stderr;
        assert!(said.contains(why) && said.contains(name), "{said}");
    }
    assert!(!bench.path("s/decisions.jsonl").exists());
}

#[test]
fn an_interrupted_load_goes_on_where_it_was_and_each_file_is_whole_or_absent() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    let mut list = "path,unit,new_nights\n".to_owned();
    for day in 1..=28 {
        let (from, until) = (format!("2026-02-{day:02}T22:00:00+01:00"), format!("2026-02-{day:02}T23:00:00+01:00"));
        bench.write(&format!("in/{day}.json"), ring(&[(&from, &until, "deep")]));
        list.push_str(&format!("{day}.json,ring-a-1,true\n"));
    }
    bench.write("in/list.csv", list);
    let mut child = bench.command(&["--study", "s", "load", "in/list.csv"]).spawn().unwrap();
    // Killed as soon as something is decided.
    let log = bench.path("s/decisions.jsonl");
    for _ in 0..2000 {
        if std::fs::read_to_string(&log).is_ok_and(|text| text.lines().count() > 2) {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    child.kill().unwrap();
    child.wait().unwrap();
    bench.line("--study s load in/list.csv").ends(0);
    let nights = bench.run(&[
        "--study",
        "s",
        "query",
        "SELECT count(*), count(DISTINCT night_id) FROM recording",
        "--format",
        "csv",
    ]);
    assert!(nights.ends(0).stdout.ends_with("28,28\n"));
    let run = bench.line("--study s load in/list.csv").ends(0);
    assert!(run.stdout.contains("28 imported before"), "{}", run.stdout);
    assert_eq!(std::fs::read_to_string(&log).unwrap().lines().count(), 28);
}
