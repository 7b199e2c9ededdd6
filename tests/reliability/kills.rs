use crate::common::Bench;
use crate::limits::as_schema_1;
use crate::study::{copy, ring, study};
use crate::{Dice, times};
use std::process::Stdio;
use std::time::{Duration, Instant};

/// Something that changes a study, and how to see whether it did.
struct Act {
    name: &'static str,
    words: &'static [&'static str],
    /// How it may end: open errors are no failure.
    ends: i32,
}

const ACTS: &[Act] = &[
    Act {
        name: "accept",
        words: &["--study", "t", "--author", "me", "accept", "spans-overlap", "2026-04-05", "--reason", "seen"],
        ends: 0,
    },
    Act {
        name: "clock add",
        words: &[
            "--study",
            "t",
            "--author",
            "me",
            "clock",
            "add",
            "2026-04-03",
            "ring-a-1",
            "--shown",
            "22:03",
            "--true",
            "22:00",
            "--picture",
            "clock.png",
        ],
        ends: 0,
    },
    Act {
        name: "clock set",
        words: &[
            "--study",
            "t",
            "--author",
            "me",
            "clock",
            "set",
            "2026-04-03",
            "ring-a-1",
            "--shift=-3min",
            "--reason",
            "seen",
        ],
        ends: 0,
    },
    Act {
        name: "exclude",
        words: &[
            "--study",
            "t",
            "--author",
            "me",
            "exclude",
            "2026-04-03",
            "--from",
            "23:00",
            "--until",
            "23:30",
            "--looked",
            "before",
            "--reason",
            "fell off",
        ],
        ends: 0,
    },
    Act { name: "import", words: &["--study", "t", "import", "long.json", "--unit", "ring-a-1"], ends: 0 },
    Act {
        name: "import --new-nights",
        words: &["--study", "t", "import", "later.json", "--unit", "ring-a-1", "--new-nights"],
        ends: 0,
    },
    Act { name: "load", words: &["--study", "t", "load", "list.csv"], ends: 0 },
    Act { name: "rebuild", words: &["--study", "t", "rebuild"], ends: 0 },
    Act {
        name: "withdraw",
        words: &["--study", "t", "--author", "me", "withdraw", "1", "--reason", "the wrong file"],
        ends: 0,
    },
];

/// A study with an open error, files for the acts, and one of an hour in pieces of a second.
fn bench() -> Bench {
    let bench = study();
    let twice = ring("2026-04-05", &["deep", "dream"]).replace("\"from\":\"2026-04-05T23", "\"from\":\"2026-04-05T22");
    bench.write("twice.json", twice);
    bench.line("--study s import twice.json --unit ring-a-2").ends(1);
    let mut pieces = String::new();
    for i in 0..3600 {
        let at = |s: u32| format!("2026-04-05T{:02}:{:02}:{:02}+02:00", 20 + s / 3600, s / 60 % 60, s % 60);
        let depth = ["awake", "shallow", "deep", "dream"][(i / 600 % 4) as usize];
        let comma = if i > 0 { "," } else { "" };
        pieces.push_str(&format!("{comma}{{\"from\":\"{}\",\"to\":\"{}\",\"depth\":\"{depth}\"}}", at(i), at(i + 1)));
    }
    let long = format!(
        "{{\"made_by\":\"ring-a (invented)\",\"account\":\"P01\",\"sleeps\":[{{\"evening\":\"2026-04-05\",\"pieces\":[{pieces}]}}]}}"
    );
    bench.write("long.json", long);
    bench.write("later.json", ring("2026-04-09", &["awake", "deep", "dream"]));
    bench.write("clock.png", b"\x89PNG an invented picture");
    let mut list = String::from("path,unit\n");
    for (i, depth) in ["awake", "deep", "dream", "shallow"].iter().enumerate() {
        bench.write(&format!("l{i}.json"), ring("2026-04-03", &["awake", depth, "deep"]));
        list.push_str(&format!("l{i}.json,ring-a-2\n"));
    }
    bench.write("list.csv", list);
    bench
}

/// What the store says of itself, in a few numbers.
fn counts(bench: &Bench) -> String {
    let sql = "SELECT (SELECT count(*) FROM decision), (SELECT count(*) FROM recording), (SELECT count(*) FROM span), (SELECT count(*) FROM strip), (SELECT count(*) FROM acceptance), (SELECT count(*) FROM exclusion), (SELECT count(*) FROM withdrawal), (SELECT count(*) FROM finding), (SELECT count(*) FROM clock_reading), (SELECT count(*) FROM clock_setting), (SELECT count(*) FROM recording WHERE stands)";
    bench.run(&["--study", "t", "query", sql, "--format", "csv"]).ends(0).stdout.lines().nth(1).unwrap().to_owned()
}

/// kill -9 at seeded moments of each act: the study can be proven at once, the act is whole or absent, and the same
/// command then completes it. Nights that `--new-nights` declared may be left in study.toml: they say nothing. `load` is an act for each file: there every number of whole files is right.
#[test]
fn a_killed_act_is_whole_or_absent() {
    let bench = bench();
    let mut dice = Dice::new();
    let moments = times("COUNTERPANE_KILLS", 16).div_ceil(ACTS.len() as u64);
    for act in ACTS {
        copy(&bench, "s", "t");
        let before = counts(&bench);
        let begun = Instant::now();
        bench.run(act.words).ends(act.ends);
        let takes = begun.elapsed();
        let after = counts(&bench);
        let (mut absent, mut whole, mut between, mut journals) = (0, 0, 0, 0);
        for _ in 0..moments {
            copy(&bench, "s", "t");
            let mut child = bench.command(act.words).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
            std::thread::sleep(
                takes * u32::try_from(dice.below(1100)).unwrap() / 1000 + Duration::from_micros(dice.below(1000)),
            );
            child.kill().unwrap();
            child.wait().unwrap();
            journals += u64::from(bench.path("t/study.db-journal").exists());
            bench.line("--study t verify").ends(0);
            let now = counts(&bench);
            match now.as_str() {
                same if same == before && before != after => absent += 1,
                done if done == after => whole += 1,
                other => {
                    assert_eq!(act.name, "load", "a killed {} left {other}: before {before}, after {after}", act.name);
                    between += 1;
                }
            }
            bench.line("--study t verify --full").ends(0);
            if now != after {
                bench.run(act.words).ends(act.ends);
            }
            assert_eq!(counts(&bench), after, "{}", act.name);
        }
        println!(
            "{}: {moments} kills within {takes:?}: {absent} absent, {whole} whole, {between} between two files; {journals} journals were rolled back",
            act.name
        );
        assert_eq!(absent + whole + between, moments);
    }
}

/// kill -9 while an older store is brought up to date: it is the old one or the new one, and the copy that is kept
/// is whole.
#[test]
fn a_killed_migration_keeps_the_old_store_or_makes_the_new_one() {
    let bench = study();
    copy(&bench, "s", "old");
    as_schema_1(&bench.path("old/study.db"));
    let mut dice = Dice::new();
    let moments = times("COUNTERPANE_KILLS", 16) / 4;
    let schema = |name: &str| {
        let db = rusqlite::Connection::open(bench.path(name)).unwrap();
        let whole: String = db.query_row("PRAGMA integrity_check", [], |r| r.get(0)).unwrap();
        let spans: i64 = db.query_row("SELECT count(*) FROM span", [], |r| r.get(0)).unwrap();
        assert_eq!((whole.as_str(), spans), ("ok", 285), "{name}");
        db.query_row("PRAGMA user_version", [], |r| r.get::<_, i64>(0)).unwrap()
    };
    copy(&bench, "old", "t");
    let begun = Instant::now();
    bench.line("--study t nights").ends(0);
    let takes = begun.elapsed();
    let newest = schema("t/study.db");
    let (mut old, mut new) = (0, 0);
    for _ in 0..moments {
        copy(&bench, "old", "t");
        let mut child =
            bench.command(&["--study", "t", "nights"]).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        std::thread::sleep(takes * u32::try_from(dice.below(1100)).unwrap() / 1000);
        child.kill().unwrap();
        child.wait().unwrap();
        let copied = bench.path("t/study.schema-1.db").exists();
        if copied {
            assert_eq!(schema("t/study.schema-1.db"), 1);
        }
        match schema("t/study.db") {
            1 => old += 1,
            found => {
                assert!(found == newest && copied);
                new += 1;
            }
        }
        bench.line("--study t nights").ends(0);
        assert_eq!((schema("t/study.db"), schema("t/study.schema-1.db")), (newest, 1));
        bench.line("--study t verify --full").ends(0);
    }
    println!("migration: {moments} kills within {takes:?}: {old} old, {new} new");
}
