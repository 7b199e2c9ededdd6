use crate::common::{Bench, TRACED, root};
use crate::{browser, script};
use serde_json::{Value, json};
use std::fmt::Write as _;

#[test]
fn pictures_of_eight_styles_become_sheets_that_are_imported() {
    let Some(python) = browser() else { return };
    let bench = Bench::new();
    bench.write("s/study.toml", TRACED);
    bench.line("--study s rebuild").ends(0);
    bench.line("--study s sheet trace --unit ring-x-1 --night 2026-04-04 -o trace.html").ends(0);
    bench.line("--study s sheet trace --unit ring-x-1 --night 2026-10-24 -o autumn.html").ends(0);
    bench.line("--study s sheet trace --unit ring-x-1 --night 2026-04-04 --pass 2 -o second.html").ends(0);
    let [page, out, autumn, second] = ["trace.html", "out", "autumn.html", "second.html"].map(|name| bench.path(name));
    let options = ["--autumn".as_ref(), autumn.as_os_str(), "--second".as_ref(), second.as_os_str()];
    let words = [&[page.as_os_str(), out.as_os_str()], &options[..]].concat();
    script(&python, "check_trace.py", &words);
    let figures: Vec<Value> =
        serde_json::from_str(&std::fs::read_to_string(out.join("figures.json")).unwrap()).unwrap();
    assert_eq!(figures.len(), 10, "eight styles, and one each by clicks and by keys alone");
    for figure in &figures {
        let name = figure["style"].as_str().unwrap();
        let sheet = out.join("sheets").join(format!("{}.tsv", name.replace(' ', "-")));
        the_sheet_is_imported(&bench, name, &sheet);
    }
    the_document_gives_these_figures(&figures);
}

/// Each sheet goes into a study of its own, whole, and gives as many spans as it has stretches.
fn the_sheet_is_imported(bench: &Bench, name: &str, sheet: &std::path::Path) {
    let study = format!("study-{}", name.replace(' ', "-"));
    bench.write(&format!("{study}/study.toml"), TRACED);
    bench.line(&format!("--study {study} rebuild")).ends(0);
    let sheet_path = sheet.to_str().unwrap();
    bench.run(&["--study", &study, "import", sheet_path, "--unit", "ring-x-1", "--night", "2026-04-04"]).ends(0);
    let shown = bench.run(&["--study", &study, "show", "2026-04-04", "--format", "json"]).ends(0).json();
    let spans = shown["recordings"][0]["spans"].as_array().unwrap();
    assert_eq!(spans.len(), 32, "{name}: {}", std::fs::read_to_string(sheet).unwrap());
    assert_eq!(spans[0]["mark"], "R", "{name}");
    let claims = &shown["recordings"][0]["claims"];
    let expected = if name == "tall phone screen" { json!({"total-sleep": 428.0}) } else { json!({}) };
    assert_eq!(*claims, expected, "{name}: what the screen shows");
}

/// The table of docs/tracing.md: what another browser moves a little passes, what changed does not.
fn the_document_gives_these_figures(figures: &[Value]) {
    let path = root().join("docs/tracing.md");
    let text = std::fs::read_to_string(&path).unwrap();
    let (head, rest) = text.split_once("--test browser -->\n").unwrap();
    let (old, tail) = rest.split_once("<!-- end of figures -->").unwrap();
    let mut table =
        String::from("| style | epochs right | clicks | keys | changes proposed |\n| --- | --- | --- | --- | --- |\n");
    for f in figures {
        let percent = f["right"].as_f64().unwrap() * 100.0;
        let proposed = f["proposed"].as_u64().map_or("none".into(), |n| n.to_string());
        let (style, clicks, keys) = (f["style"].as_str().unwrap(), &f["clicks"], &f["keys"]);
        writeln!(table, "| {style} | {percent:.1} % | {clicks} | {keys} | {proposed} |").unwrap();
    }
    if std::env::var("UPDATE_EXPECT").is_ok() {
        std::fs::write(&path, format!("{head}--test browser -->\n{table}<!-- end of figures -->{tail}")).unwrap();
        return;
    }
    let cells = |t: &str| -> Vec<Vec<String>> {
        t.lines().skip(2).map(|l| l.split('|').map(|c| c.trim().to_owned()).collect()).collect()
    };
    let (old, new) = (cells(old), cells(&table));
    let number = |text: &str| text.trim_end_matches(" %").parse::<f64>().unwrap_or(f64::NAN);
    let near = |a: &[String], b: &[String]| {
        a[1] == b[1]
            && (number(&a[2]) - number(&b[2])).abs() <= 1.0
            && (3..5).all(|i| (number(&a[i]) - number(&b[i])).abs() <= 4.0)
    };
    assert!(
        old.len() == new.len() && old.iter().zip(&new).all(|(a, b)| near(a, b)),
        "docs/tracing.md is stale; write it with UPDATE_EXPECT=1 cargo test -p counterpane --test browser\n{table}"
    );
}
