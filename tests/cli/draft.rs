use crate::common::{Bench, Run, root};

/// A study `s` with one participant and one unit of a device that no definition knows.
fn study(bench: &Bench) {
    bench.line("new s --zone Asia/Kathmandu").ends(0);
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    let more = "\n[[participant]]\ncode = \"P01\"\n[[device]]\nname = \"hat-q\"\n[[unit]]\nname = \"hat-q-1\"\ndevice = \"hat-q\"\n";
    bench.write("s/study.toml", format!("{text}{more}"));
}

/// Writes the meaning of words into a drafted definition, as a person with an editor does.
fn map(bench: &Bench, file: &str, words: &[(&str, &str)]) {
    let path = bench.path(file);
    let mut text = std::fs::read_to_string(&path).unwrap();
    for (word, stage) in words {
        let open = format!("# \"{word}\" = \"\"");
        assert!(text.contains(&open), "{text}");
        text = text.replace(&open, &format!("\"{word}\" = \"{stage}\""));
    }
    std::fs::write(path, text).unwrap();
}

/// Returns the commands that a run proposes, without their dollar sign.
fn proposed(run: &Run) -> Vec<String> {
    run.stdout.lines().filter_map(|l| l.strip_prefix("$ counterpane ")).map(str::to_owned).collect()
}

const JSON: &str = r#"{"made_by": "hat-q (invented)", "owner": {"nickname": "q"}, "nights": [{"n": 1, "pieces": [
  {"from": "2026-03-10T22:31:00+05:45", "to": "2026-03-10T22:58:30+05:45", "depth": "up"},
  {"from": "2026-03-10T22:58:30+05:45", "to": "2026-03-11T01:10:00+05:45", "depth": "shallow"},
  {"from": "2026-03-11T01:10:00+05:45", "to": "2026-03-11T02:00:00+05:45", "depth": "bottom"},
  {"from": "2026-03-11T02:00:00+05:45", "to": "2026-03-11T06:00:00+05:45", "depth": "shallow"}]}]}"#;

#[test]
fn a_newcomer_walks_from_unknown_json_to_a_night() {
    let bench = Bench::new();
    study(&bench);
    bench.write("hat.json", JSON);
    let before = bench.line("--study s import hat.json --unit hat-q-1").ends(2).stderr;
    assert!(before.contains("no definition fits"), "{before}");
    let run = bench.line("definition draft hat.json -o s --id hat-q").ends(0);
    assert!(run.stdout.contains("4 rows at $.nights[*].pieces[*]: shape `interval`"), "{}", run.stdout);
    assert!(run.stdout.contains("tried on the sample: 4 of 4 rows become spans"), "{}", run.stdout);
    assert!(run.stdout.contains("write what 3 words mean"), "{}", run.stdout);
    let words = [("up", "W"), ("shallow", "Light"), ("bottom", "N3")];
    map(&bench, "s/importers/hat-q/importer.toml", &words);
    let next = proposed(&run);
    bench.line(&next[0]).ends(0);
    let dry = next[1].replace("UNIT", "hat-q-1").replace("--dry-run", "--new-nights --dry-run");
    let dry = bench.line(&dry).ends(0).stdout;
    assert!(dry.contains("would store"), "{dry}");
    // The definition is known by its file now, without being named.
    bench.line("--study s import hat.json --unit hat-q-1 --new-nights").ends(0);
    let shown = bench.line("--study s show 2026-03-10").ends(0).stdout;
    assert!(shown.contains("hat-q"), "{shown}");
    let sql = "SELECT minutes_wake, minutes_light, minutes_n3 FROM night_summary";
    let got = bench.run(&["--study", "s", "query", sql, "--format", "csv"]).ends(0).stdout;
    assert_eq!(got.lines().nth(1), Some("27.5,371.5,50"));
}

const CSV: &str = "Device report (invented)\nBegin;Lasts;Phase\n\
10.03.2026 22:31:00;0:27:30;up\n10.03.2026 22:58:30;2:11:30;shallow\n\
11.03.2026 01:10:00;0:50:00;bottom\n11.03.2026 02:00:00;4:00:00;shallow\n";

#[test]
fn the_same_walk_with_a_table_asks_for_the_zone_first() {
    let bench = Bench::new();
    study(&bench);
    bench.write("hat report.csv", CSV);
    let draft = |more: &[&str]| bench.run(&[&["--study", "s", "definition", "draft", "hat report.csv"], more].concat());
    let run = draft(&["--id", "asks"]).ends(0);
    assert!(run.stdout.contains("choose `zone` (line 30)"), "{}", run.stdout);
    let refused = bench.run(&["--study", "s", "import", "hat report.csv", "--definition", "asks", "--unit", "hat-q-1"]);
    let refused = refused.ends(2).stderr;
    assert!(refused.contains("zone = \"choose one\"") && refused.contains("importer.toml:"), "{refused}");
    std::fs::remove_dir_all(bench.path("s/importers/asks")).unwrap();
    let run = draft(&["--zone-of-night"]).ends(0);
    assert!(run.stdout.contains("drafted `hat-report`"), "{}", run.stdout);
    map(&bench, "s/importers/hat-report/importer.toml", &[("up", "W"), ("shallow", "Light"), ("bottom", "N3")]);
    bench.run(&["--study", "s", "import", "hat report.csv", "--unit", "hat-q-1", "--new-nights"]).ends(0);
    let shown = bench.line("--study s show 2026-03-10").ends(0).stdout;
    assert!(shown.contains("hat-q"), "{shown}");
}

#[test]
fn a_draft_overwrites_nothing() {
    let bench = Bench::new();
    bench.write("hat.json", JSON);
    bench.line("definition draft hat.json -o .").ends(0);
    let said = bench.line("definition draft hat.json -o .").ends(2).stderr;
    assert!(said.contains("is there already; choose another name with --id"), "{said}");
    let said = bench.line("definition draft hat.json -o . --id ../x").ends(2).stderr;
    assert!(said.contains("cannot be the id"), "{said}");
}

#[test]
fn the_draft_of_a_corpus_file_can_be_tested_at_once() {
    let bench = Bench::new();
    let sample = root().join("tests/draft/json-keyed-lists/sample.json");
    bench.run(&["definition", "draft", &sample.to_string_lossy(), "-o", ".", "--id", "keyed"]).ends(0);
    bench.line("definition test importers/keyed").ends(0);
    let tried = std::fs::read_to_string(bench.path("importers/keyed/as-drafted.txt")).unwrap();
    assert!(tried.contains("unscored") && tried.contains("2026-03-10T"), "{tried}");
}

#[test]
fn what_is_no_recording_is_answered_in_a_sentence() {
    let bench = Bench::new();
    bench.write("page.json", "<!DOCTYPE html><p>please log in</p>");
    let said = bench.line("definition draft page.json -o .").ends(2).stderr;
    assert!(said.contains("page.json: there is nothing to draft from: the file is HTML"), "{said}");
    assert!(!bench.path("importers").exists());
}

/// Walks from an export that nobody has described to its stored nights: draft, map, import, show.
fn walk(folder: &str, file: &str, options: &[&str], words: &[(&str, &str)], night: &str, sums: &str) {
    let bench = Bench::new();
    study(&bench);
    let sample = root().join("tests/draft").join(folder).join(file);
    let bytes = std::fs::read(&sample).unwrap();
    std::fs::write(bench.path(file), bytes).unwrap();
    let draft = [&["--study", "s", "definition", "draft", file, "--id", "hat-q"], options].concat();
    let run = bench.run(&draft).ends(0);
    assert!(run.stdout.contains(&format!("write what {} words mean", words.len())), "{}", run.stdout);
    assert!(run.stdout.lines().all(|l| l.chars().count() <= 80 || l.starts_with('$')), "{}", run.stdout);
    map(&bench, "s/importers/hat-q/importer.toml", words);
    bench.line(&proposed(&run)[0]).ends(0);
    bench.run(&["--study", "s", "import", file, "--unit", "hat-q-1", "--new-nights"]).ends(0);
    let shown = bench.line(&format!("--study s show {night}")).ends(0).stdout;
    assert!(shown.contains("hat-q"), "{shown}");
    let sql = "SELECT minutes_wake, minutes_light, minutes_n3, minutes_r FROM night_summary ORDER BY night";
    let got = bench.run(&["--study", "s", "query", sql, "--format", "csv"]).ends(0).stdout;
    assert_eq!(got.lines().skip(1).collect::<Vec<_>>().join(" "), sums);
}

const PLAIN: [(&str, &str); 4] = [("awake", "W"), ("light", "Light"), ("deep", "N3"), ("rem", "R")];

#[test]
fn the_same_walk_with_a_spreadsheet() {
    let words = [("awake", "W"), ("light", "Light"), ("deep", "N3"), ("rem", "R"), ("end of night", "end")];
    walk("sheet-date-and-time", "sample.xlsx", &["--zone-of-night"], &words, "2026-03-10", "49,43.5,58,14");
}

#[test]
fn the_same_walk_with_xml() {
    let words = [("awake", "W"), ("light", "Light"), ("deep", "N3"), ("dream", "R")];
    walk("xml-children-zone-above", "sample.xml", &[], &words, "2026-03-10", "115,124.5,43,115.5 115.5,121,107,62");
}

#[test]
fn the_same_walk_with_an_archive_whose_zone_stands_in_another_member() {
    walk(
        "zip-zone-in-an-index",
        "sample.zip",
        &[],
        &PLAIN,
        "2026-03-10",
        "92.5,18.5,29.5,56 34,49,51.5,55 54,24,45,32",
    );
}

#[test]
fn what_is_open_is_answered_without_an_editor() {
    let bench = Bench::new();
    study(&bench);
    bench.write("hat.csv", CSV);
    let run = bench.line("--study s definition draft hat.csv --id hat-q").ends(0);
    assert!(run.stdout.contains("    --choose zone=night  the zone of the night"), "{}", run.stdout);
    let said = bench.line("--study s definition draft hat.csv --id hat-q --replace --choose zone=Mars").ends(2).stderr;
    assert!(said.contains("`zone=Mars` answers nothing that the sample leaves open; open are `zone=night`"), "{said}");
    let run =
        bench.line("--study s definition draft hat.csv --id hat-q --replace --choose zone=Asia/Kathmandu").ends(0);
    assert!(!run.stdout.contains("--choose"), "{}", run.stdout);
    let text = std::fs::read_to_string(bench.path("s/importers/hat-q/importer.toml")).unwrap();
    assert!(text.contains("\nzone = { const = \"Asia/Kathmandu\" }\n"), "{text}");
}

/// Puts the three members of an archive of one file for each night into a folder, with others beside them.
fn folder(bench: &Bench) {
    for (name, day) in [("a/night_1.csv", "10"), ("a/night_2.csv", "11")] {
        let row = |h: u8, m: u8, word: &str| format!("2026-03-{day}T{h}:{m:02}:00+05:45,{word}\n");
        let rows = [
            row(22, 30, "awake"),
            row(22, 41, "light"),
            row(22, 55, "deep"),
            row(23, 20, "light"),
            row(23, 40, "stop"),
        ];
        bench.write(&format!("takeout/{name}"), format!("begins,phase\n{}", rows.concat()));
    }
    bench.write("takeout/readme.txt", "an invented export\n");
    bench.write("takeout/b/steps.csv", "at,steps\n2026-03-10T10:00:00+05:45,31\n");
}

#[test]
fn of_a_folder_the_files_with_stages_are_found() {
    let bench = Bench::new();
    study(&bench);
    folder(&bench);
    let run = bench.line("--study s definition draft takeout --id hat-q").ends(0);
    assert!(
        run.stdout.contains("the stages stand in 2 files of takeout: a/night_1.csv and a/night_2.csv"),
        "{}",
        run.stdout
    );
    let words = [("awake", "W"), ("light", "Light"), ("deep", "N3"), ("stop", "end")];
    map(&bench, "s/importers/hat-q/importer.toml", &words);
    bench.line("--study s import takeout/a/night_2.csv --unit hat-q-1 --new-nights").ends(0);
    let sql = "SELECT night, minutes_wake, minutes_light, minutes_n3 FROM night_summary";
    let got = bench.run(&["--study", "s", "query", sql, "--format", "csv"]).ends(0).stdout;
    assert_eq!(got.lines().nth(1), Some("2026-03-11,11,34,25"));
}

#[test]
fn a_folder_whose_files_need_each_other_is_to_be_packed() {
    let bench = Bench::new();
    for day in ["2026-03-10", "2026-03-11"] {
        bench.write(
            &format!("takeout/{day}.csv"),
            "clock,minutes,phase\n22:31,30,awake\n23:01,30,light\n23:31,60,deep\n0:31,20,light\n",
        );
    }
    let said = bench.line("definition draft takeout -o .").ends(2).stderr;
    assert!(said.contains("pack the folder as a ZIP"), "{said}");
}

#[test]
fn of_rival_blocks_one_is_chosen_by_its_number() {
    let bench = Bench::new();
    let sample = root().join("tests/draft/json-raw-and-final/sample.json");
    let draft = |more: &[&str]| {
        let first = ["definition", "draft", &sample.to_string_lossy(), "-o", ".", "--id", "x"];
        bench.run(&[&first, more].concat())
    };
    let run = draft(&[]).ends(0);
    assert!(run.stdout.contains("--choose block=1  12 rows at $.final[*], shape `interval`"), "{}", run.stdout);
    assert_eq!(run.stdout.matches("choose at line").count(), 0, "{}", run.stdout);
    let said = draft(&["--replace", "--choose", "block=9"]).ends(2).stderr;
    assert!(said.contains("2 blocks are rivals"), "{said}");
    draft(&["--replace", "--choose", "block=1"]).ends(0);
    let text = std::fs::read_to_string(bench.path("importers/x/importer.toml")).unwrap();
    assert!(text.contains("each = \"$.final[*]\"") && !text.contains("$.raw"), "{text}");
}
