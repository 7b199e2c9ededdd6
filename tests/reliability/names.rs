use crate::common::Bench;
use std::collections::BTreeSet;

/// Names that somebody could give to a person, a device, a scorer or a night, and that must stay names.
const NAMES: &[&str] = &[
    "\"><img src=x onerror=alert(1)>",
    "<script>alert(1)<script>",
    "]]><svg onload=alert(1)>",
    "' OR 1=1; DROP TABLE span; --",
    "=1+1",
    "@SUM(A1)",
    "-2+3",
    "%s%n{{7*7}}${7}",
    "&lt;&amp;&quot;",
    "gnir-\u{202e}a-gnir",
    "ri\u{200b}ng",
    "r\u{456}ng-a",
    "环\u{1f480}e\u{301}",
    "--help",
];

/// Words of an export that a terminal would obey, or a page, or a sheet.
const WORDS: &[&str] = &[
    "\u{1b}]0;owned\u{7}\u{1b}[2J\u{1b}[31m",
    "\u{9b}31mred",
    "a\r\nb\u{8}\u{8}",
    "<b onclick=alert(1)>deep</b>",
    "=HYPERLINK(\"x\")",
    "\u{202e}peed\u{2066}",
];

/// A text of TOML on one line: JSON escapes what TOML asks to be escaped.
fn toml(text: &str) -> String {
    serde_json::to_string(text).unwrap()
}

/// A study of one night in which everything bears the name, and the device says the word for a stage.
fn study(name: &str, word: &str, file: &str) -> Bench {
    let bench = Bench::new();
    bench.line("new s --zone Europe/Berlin").ends(0);
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    let (person, device, unit, scorer, night) =
        (toml(name), toml(name), toml(&format!("{name}1")), toml(&format!("{name}2")), toml(name));
    let window = "window = [\"2026-04-03 12:00\", \"2026-04-04 12:00\"]";
    bench.write(
        "s/study.toml",
        format!(
            "{text}\n[[participant]]\ncode = {person}\n[[device]]\nname = {device}\ndefinition = \"odd\"\n[[unit]]\nname = {unit}\ndevice = {device}\n\
             [[scorer]]\ncode = {scorer}\nscored_by = \"human\"\n[[night]]\nparticipant = {person}\nlabel = {night}\n{window}\n"
        ),
    );
    let definition = bench.line("definition show ring-a").ends(0).stdout;
    let words = toml(word);
    let definition = definition.replace("[stages]", &format!("[stages]\n{words} = \"N3\""));
    bench.write("s/importers/odd/importer.toml", definition);
    let piece = |from: u32, depth: &str| serde_json::json!({"from": format!("2026-04-03T{from}:00:00+02:00"), "to": format!("2026-04-03T{}:00:00+02:00", from + 1), "depth": depth});
    // Two pieces at once are an error, to be accepted for a reason.
    let both = piece(21, "shallow");
    let export = serde_json::json!({"made_by": "ring-a (invented)", "account": "P01",
        "sleeps": [{"evening": "2026-04-03", "pieces": [piece(21, "awake"), both, piece(22, word)]}]});
    bench.write(file, export.to_string());
    bench.write("S.txt", "W\nN3\n".repeat(120));
    let unit = format!("--unit={name}1");
    let night = format!("--night={name}");
    bench.run(&["--study", "s", "import", &format!("./{file}"), &unit]).ends(1);
    let author = format!("--author={name}");
    let reason = format!("--reason={word}");
    bench.run(&["--study", "s", &author, "accept", &reason, "spans-overlap", "--", name]).ends(0);
    let decided: &[&[&str]] = &[
        &["exclude", &reason, "--looked", "after", "--from", "22:10", "--until", "22:20", "--", name],
        &["note", "--at", "22:30", "--", name, "other", word],
        &["clock", "set", &reason, "--shift=1min", "--", name, &format!("{name}1")],
    ];
    for words in decided {
        bench.run(&[&["--study", "s", &author][..], words].concat()).ends(0);
    }
    let scorer = format!("--scorer={name}2");
    let reference =
        ["--study", "s", "import", "S.txt", &scorer, &night, "--start", "21:00", "--definition", "code-per-line"];
    bench.run(&reference).ends(0);
    bench
}

/// Fails where something that a terminal obeys reached it.
fn harmless(what: &str, text: &str) {
    let bad =
        |c: &char| (c.is_control() && *c != '\n') || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    if let Some(c) = text.chars().find(bad) {
        panic!("{what} printed U+{:04X}: {text:?}", c as u32);
    }
}

/// The names of a page's elements, and of their attributes, as a browser takes them apart.
fn elements(html: &str) -> BTreeSet<String> {
    let mut out = BTreeSet::new();
    for part in html.split('<').skip(1) {
        if !part.starts_with(|c: char| c.is_ascii_alphabetic()) {
            continue;
        }
        let (mut tag, mut quote) = (String::new(), None);
        for c in part.chars() {
            match (quote, c) {
                (Some(q), c) if c == q => quote = None,
                (Some(_), _) => {}
                (None, '"' | '\'') => quote = Some(c),
                (None, '>') => break,
                (None, c) => tag.push(c),
            }
        }
        let mut words = tag.split_whitespace();
        let element = words.next().unwrap_or_default().to_ascii_lowercase();
        out.extend(words.map(|w| format!("{element} {}", w.split('=').next().unwrap().to_ascii_lowercase())));
        out.insert(element);
    }
    out
}

/// Runs every command that shows a name, and returns the report.
fn look_at(bench: &Bench, name: &str) -> String {
    let commands: &[&[&str]] = &[
        &["nights"],
        &["check"],
        &["show", "--", name],
        &["show", "--history", "--", name],
        &["clock", "list", "--", name],
        &["compare"],
        &["lineage", "--", name, name],
        &["query", "SELECT * FROM night_summary"],
        &["query", "SELECT label, locator FROM span"],
        &["verify", "--full"],
        &["rebuild"],
        &["report", "-o", "r.html"],
        &["show", "--", "no such night\u{1b}[31m"],
        &["query", "SELECT '\u{1b}[31m' FROM nothing\u{1b}[31m"],
        &["import", "no such\u{1b}[31m file"],
    ];
    for words in commands {
        let mut all = vec!["--study", "s"];
        all.extend(*words);
        let run = bench.run(&all);
        assert!(matches!(run.code, 0..=2), "{words:?}: {}", run.stderr);
        assert!(run.code < 2 || words.iter().any(|w| w.contains('\u{1b}')), "{words:?}: {}", run.stderr);
        harmless(&format!("{words:?}"), &run.stdout);
        harmless(&format!("{words:?}"), &run.stderr);
    }
    for words in [["query", "SELECT * FROM span", "--format", "json"], ["nights", "--most", "9", "--format=json"]] {
        let mut all = vec!["--study", "s"];
        all.extend(words);
        assert!(bench.run(&all).ends(0).json().is_object());
    }
    let page = std::fs::read_to_string(bench.path("r.html")).unwrap();
    let bad = page.chars().find(|c| matches!(c, '\u{1b}' | '\u{7f}'..='\u{9f}' | '\u{202a}'..='\u{202e}'));
    assert!(bad.is_none(), "the report holds U+{:04X}", bad.map_or(0, |c| c as u32));
    page
}

#[test]
fn hostile_names_and_words_stay_data_everywhere() {
    let plain = elements(&look_at(&study("plain", "deeper", "night.json"), "plain"));
    for (i, name) in NAMES.iter().enumerate() {
        let word = WORDS[i % WORDS.len()];
        let bench = study(name, word, &format!("{}.json", name.replace('/', "")));
        let page = look_at(&bench, name);
        let more: Vec<_> = elements(&page).difference(&plain).cloned().collect();
        assert!(more.is_empty(), "the report of {name:?} has elements that one of plain names has not: {more:?}");
        let csv = ["--study", "s", "query", "SELECT count(*) AS n FROM span", "--format", "csv"];
        assert_eq!(bench.run(&csv).ends(0).stdout, "n\n243\n", "{name}");
    }
    println!("{} names with {} words", NAMES.len(), WORDS.len());
}

#[test]
fn a_very_long_name_breaks_nothing() {
    let long = "ring ".repeat(60).trim().to_owned();
    look_at(&study(&long, "deeper", "night.json"), &long);
}

#[test]
fn a_name_that_could_leave_its_place_is_refused() {
    for name in ["a/b", "a\\b", "a#2", "a\u{1b}b", "a\nb", " a", ""] {
        let bench = Bench::new();
        bench.line("new s --zone UTC").ends(0);
        let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
        bench.write("s/study.toml", format!("{text}\n[[participant]]\ncode = {}\n", toml(name)));
        let run = bench.line("--study s nights").ends(2);
        harmless(name, &run.stderr);
        assert!(run.stderr.contains("must not be empty"), "{name:?}: {}", run.stderr);
    }
}

#[test]
fn csv_is_exact_and_warns_of_formulas_or_quotes_them() {
    let bench = study("=1+1", "=HYPERLINK(\"x\")", "=f.json");
    let ask = |more: &[&str]| {
        let mut words = vec![
            "--study",
            "s",
            "query",
            "SELECT label, start_ms - 9999999999999 AS n FROM span WHERE mark = 'N3' LIMIT 1",
            "--format",
            "csv",
        ];
        words.extend(more);
        bench.run(&words).ends(0)
    };
    let exact = ask(&[]);
    assert!(exact.stdout.starts_with("label,n\n\"=HYPERLINK(\"\"x\"\")\",-"), "{}", exact.stdout);
    assert!(exact.stderr.contains("1 text begins with ="), "{}", exact.stderr);
    let quoted = ask(&["--quote-formulas"]);
    assert!(quoted.stdout.starts_with("label,n\n\"'=HYPERLINK(\"\"x\"\")\",-"), "{}", quoted.stdout);
    assert!(quoted.stderr.is_empty(), "{}", quoted.stderr);
}
