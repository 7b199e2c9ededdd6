//! Every sample export of tests/draft, drafted, completed by its label map alone, and imported.

use super::*;
use crate::bindings::Bindings;
use crate::engine::import;
use crate::outcome::Outcome;
use counterpane_formats::Limits;
use counterpane_model::{Fold, Lights, Night, NightKind, Severity, Zone};
use std::path::{Path, PathBuf};

/// A folder of tests/draft.
struct Case {
    name: String,
    file: String,
    bytes: Vec<u8>,
    declared: toml::Table,
}

fn cases() -> Vec<Case> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/draft");
    let mut folders: Vec<PathBuf> =
        std::fs::read_dir(root).unwrap().map(|e| e.unwrap().path()).filter(|p| p.is_dir()).collect();
    folders.sort();
    folders.into_iter().map(|folder| case(&folder)).collect()
}

fn case(folder: &Path) -> Case {
    let sample = |p: &PathBuf| p.file_stem().is_some_and(|s| s == "sample");
    let path = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).find(sample);
    let path = path.unwrap_or_else(|| panic!("put a file sample.* into {}", folder.display()));
    Case {
        name: folder.file_name().unwrap().to_string_lossy().into_owned(),
        file: path.file_name().unwrap().to_string_lossy().into_owned(),
        bytes: std::fs::read(&path).unwrap(),
        declared: std::fs::read_to_string(folder.join("draft.toml")).unwrap().parse().unwrap(),
    }
}

impl Case {
    fn text(&self, key: &str) -> Option<String> {
        self.declared.get(key).map(|v| v.as_str().unwrap().to_owned())
    }

    fn texts(&self, key: &str) -> Vec<String> {
        let list = self.declared.get(key).map(|v| v.as_array().unwrap().clone()).unwrap_or_default();
        list.iter().map(|v| v.as_str().unwrap().to_owned()).collect()
    }

    fn says(&self, key: &str) -> bool {
        self.declared.get(key).is_some_and(|v| v.as_bool().unwrap())
    }

    fn draft(&self) -> Result<Draft, DraftError> {
        self.draft_of(&self.bytes)
    }

    fn draft_of(&self, bytes: &[u8]) -> Result<Draft, DraftError> {
        let answer = |a: &String| a.split_once('=').map(|(k, v)| (k.to_owned(), v.to_owned())).unwrap();
        let answers = self.texts("choose").iter().map(answer).collect();
        let options = Options { id: self.name.clone(), zone_of_night: self.says("zone_of_night"), answers };
        draft(&[SampleFile { name: &self.file, bytes }], &options)
    }

    /// Completes a draft by the label map and by nothing else.
    fn completed(&self, toml: &str) -> Result<String, String> {
        let mut out = toml.to_owned();
        let map = |key: &str| self.declared.get(key).map(|v| v.as_table().unwrap().clone()).unwrap_or_default();
        for (word, stage) in map("stages") {
            let open = format!("# {} = \"\"", write::quoted(&word));
            let done = format!("{} = {stage}", write::quoted(&word));
            if out.matches(&open).count() != 1 {
                return Err(format!("the draft lacks a line for `{word}`\n{toml}"));
            }
            out = out.replacen(&open, &done, 1);
        }
        for (field, claim) in map("claims") {
            let at = format!("at = {},", write::quoted(&field));
            let line = out.lines().find(|l| l.starts_with("# \"?\"") && l.contains(&at));
            let Some(line) = line.map(str::to_owned) else {
                return Err(format!("the draft lacks a line for `{field}`\n{toml}"));
            };
            let done = line.replacen("# \"?\"", &format!("\"{}\"", claim.as_str().unwrap()), 1);
            out = out.replacen(&line, &done, 1);
        }
        Ok(out)
    }

    fn bindings(&self) -> Bindings {
        let nights = self.declared.get("nights").map(|n| n.as_array().unwrap().iter().map(night).collect());
        Bindings {
            file: self.file.clone(),
            participant: "P01".into(),
            nights: nights.unwrap_or_default(),
            night: self.text("night"),
            start: self.text("start"),
            end: self.text("end"),
            ..Bindings::default()
        }
    }
}

fn night(table: &toml::Value) -> Night {
    let get = |key: &str| table.get(key).unwrap().as_str().unwrap().to_owned();
    let zone = Zone::named(&get("zone")).unwrap();
    let day: jiff::civil::Date = get("label").parse().unwrap();
    let noon = |d: jiff::civil::Date| zone.instant_of(d.at(12, 0, 0, 0), Fold::First).unwrap();
    Night {
        participant: "P01".into(),
        label: get("label"),
        kind: NightKind::Night,
        zone: get("zone"),
        window: (noon(day), noon(day.tomorrow().unwrap())),
        lights: Lights::default(),
    }
}

/// Returns spans and claims in short, each on a line.
fn brief(outcome: &Outcome) -> Vec<String> {
    let mut out = Vec::new();
    let mut claims = Vec::new();
    for part in &outcome.parts {
        let zone = Zone::named(&part.zone).unwrap();
        out.extend(part.spans.iter().map(|s| format!("{} {} {}", zone.text_of(s.start), zone.text_of(s.end), s.mark)));
        claims.extend(part.claims.iter().map(|c| format!("{} = {}", c.quantity, c.value)));
    }
    claims.sort();
    out.extend(claims);
    out
}

/// Joins neighbours that say the same: codes are read as runs, and a folder may list them one by one.
fn joined(lines: Vec<String>) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for line in lines {
        let words: Vec<&str> = line.split(' ').collect();
        if let ([_, end, mark], Some(last)) = (words.as_slice(), out.last_mut())
            && let [first, at, said] = *last.split(' ').collect::<Vec<_>>().as_slice()
            && (words[0], *mark) == (at, said)
        {
            *last = format!("{first} {end} {mark}");
            continue;
        }
        out.push(line);
    }
    out
}

/// Completes and imports a draft; the problem, if there is one, in words.
fn problem_of(case: &Case) -> Option<String> {
    let draft = match case.draft() {
        Ok(draft) => draft,
        Err(error) => return Some(format!("nothing was drafted: {error}")),
    };
    if let Some(held) = case.texts("holds").iter().find(|h| !draft.toml.contains(h.as_str())) {
        return Some(format!("the draft lacks `{held}`\n{}", draft.toml));
    }
    let text = match case.completed(&draft.toml) {
        Ok(text) => text,
        Err(problem) => return Some(problem),
    };
    let definition = match Definition::parse(&case.name, &text) {
        Ok(definition) => definition,
        Err(errors) => return Some(format!("{}\n{text}", errors.render("importer.toml"))),
    };
    let look = counterpane_formats::sniff::sniff_file(&case.file, std::io::Cursor::new(&case.bytes), Limits::default());
    let fits = definition.matches(&look.unwrap());
    // A text of times and words has nothing that tells it from others; it is imported by naming the definition.
    if !fits.fits && definition.format() != Format::Text {
        return Some(format!("it does not fit its own sample: {:?}\n{text}", fits.failed));
    }
    let outcome = match import(&definition, &mut case.bytes.as_slice(), &case.bindings(), Limits::default()) {
        Ok(outcome) => outcome,
        Err(error) => return Some(format!("{error}\n{text}")),
    };
    let findings = outcome.findings.iter().chain(outcome.parts.iter().flat_map(|p| &p.findings));
    let errors: Vec<String> = findings.filter(|f| f.severity == Severity::Error).map(|f| f.message.clone()).collect();
    let (given, expected) = (joined(brief(&outcome)), joined(case.texts("expected")));
    if errors.is_empty() && given == expected && !expected.is_empty() {
        return None;
    }
    let n = given.iter().zip(&expected).position(|(a, b)| a != b).unwrap_or(given.len().min(expected.len()));
    let line = |l: &[String]| l.get(n).cloned().unwrap_or_else(|| "(nothing)".into());
    Some(format!(
        "{} lines expected, {} given; line {n}\nexpected {}\ngiven    {}\n{}\n{text}",
        expected.len(),
        given.len(),
        line(&expected),
        line(&given),
        errors.join("\n")
    ))
}

fn declared<'c>(all: &'c [Case], what: &str) -> Vec<&'c Case> {
    all.iter().filter(|c| c.text("draft").as_deref() == Some(what)).collect()
}

#[test]
fn what_must_be_drafted_needs_nothing_but_the_label_map() {
    let all = cases();
    let must = declared(&all, "must");
    assert!(must.len() >= 15, "{} samples are declared `must`", must.len());
    let problems: Vec<String> =
        must.iter().filter_map(|c| Some(format!("=== {}\n{}", c.name, problem_of(c)?))).collect();
    assert!(problems.is_empty(), "{} of {} fail\n{}", problems.len(), must.len(), problems.join("\n"));
}

#[test]
fn what_the_sample_cannot_decide_stands_as_rivals_and_refuses() {
    let all = cases();
    let asks = declared(&all, "asks");
    assert!(asks.len() >= 5);
    for case in asks {
        let draft = case.draft().unwrap_or_else(|e| panic!("{}: {e}", case.name));
        let lines: Vec<&str> =
            draft.open.iter().map(|n| draft.toml.lines().nth(usize::try_from(*n).unwrap() - 1).unwrap()).collect();
        let expected = case.texts("open");
        let at_line = |l: &&str, key: &String| *l == key || l.starts_with(&format!("{key} = "));
        let same = lines.len() == expected.len() && lines.iter().zip(&expected).all(|(l, k)| at_line(l, k));
        assert!(same, "{}: open at {lines:?}, expected {expected:?}\n{}", case.name, draft.toml);
        for held in case.texts("holds") {
            assert!(draft.toml.contains(&held), "{}: the draft holds `{held}`\n{}", case.name, draft.toml);
        }
        assert!(Definition::parse("d", &draft.toml).is_err(), "{}: an open choice refuses", case.name);
        assert!(draft.tried.is_none());
    }
}

#[test]
fn what_cannot_be_drafted_is_answered_in_a_sentence() {
    let all = cases();
    let cannot = declared(&all, "cannot");
    assert!(cannot.len() >= 4);
    for case in cannot {
        let said = match case.draft() {
            Err(error) => error.to_string(),
            Ok(draft) => panic!("{}: drafted all the same\n{}", case.name, draft.toml),
        };
        let part = case.text("sentence").unwrap();
        assert!(said.contains(&part), "{}: `{said}` says `{part}`", case.name);
    }
}

#[test]
fn every_folder_declares_what_is_expected() {
    for case in cases() {
        let what = case.text("draft").unwrap_or_default();
        assert!(["must", "asks", "cannot"].contains(&what.as_str()), "{}: draft = must, asks or cannot", case.name);
    }
}

/// Returns the keys and values of a draft, without its comments.
fn keys(toml: &str) -> Vec<&str> {
    toml.lines()
        .map(|l| l.split("   # ").next().unwrap_or(l))
        .filter(|l| !l.starts_with('#') || l.contains("\" = \"\""))
        .collect()
}

/// Shuffles the lines below the header, or the items of every list of objects.
fn shuffled(case: &Case) -> Option<Vec<u8>> {
    let text = std::str::from_utf8(&case.bytes).ok()?;
    let mut state = 7_u64;
    let mut next = move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        state >> 33
    };
    if let Ok(mut value) = serde_json::from_str::<serde_json::Value>(text) {
        fn turn(value: &mut serde_json::Value, next: &mut dyn FnMut() -> u64) {
            match value {
                serde_json::Value::Array(items) => {
                    items.iter_mut().for_each(|i| turn(i, next));
                    // Lists of single values are parallel to others, or codes in their order.
                    if items.iter().all(|i| i.is_object() || (i.is_array() && i[0].is_number())) {
                        items.sort_by_cached_key(|_| next());
                    }
                }
                serde_json::Value::Object(members) => members.values_mut().for_each(|i| turn(i, next)),
                _ => {}
            }
        }
        turn(&mut value, &mut next);
        return Some(value.to_string().into_bytes());
    }
    let above = text.lines().take_while(|l| !l.starts_with(|c: char| c.is_ascii_digit() || c == '{')).count();
    let mut lines: Vec<&str> = text.lines().skip(above).collect();
    lines.sort_by_cached_key(|_| next());
    let all: Vec<&str> = text.lines().take(above).chain(lines).collect();
    Some(all.join("\n").into_bytes())
}

#[test]
fn the_order_of_rows_decides_nothing() {
    let all = cases();
    let mut looked_at = 0;
    for case in all.iter().filter(|c| c.text("draft").as_deref() != Some("cannot") && !c.says("ordered")) {
        // Times of day and codes without times have nothing but their order.
        let Some(bytes) = shuffled(case).filter(|_| !case.bytes.contains(&0)) else { continue };
        let toml = case.draft().unwrap().toml;
        if toml.contains("order = \"file\"") || toml.contains("split = \"row\"") {
            continue;
        }
        let other = case.draft_of(&bytes).unwrap_or_else(|e| panic!("{}: {e}", case.name)).toml;
        assert_eq!(keys(&toml), keys(&other), "{}", case.name);
        looked_at += 1;
    }
    assert!(looked_at >= 20, "{looked_at} samples were shuffled");
}

#[test]
fn a_damaged_sample_is_drafted_or_refused_and_never_ends_the_program() {
    for (n, case) in cases().iter().enumerate() {
        // A cut, and a few bytes that are changed, at places that differ from case to case.
        let cut = &case.bytes[..case.bytes.len() * (2 + n % 7) / 9];
        let _ = case.draft_of(cut);
        let mut bytes = case.bytes.clone();
        for at in (n + 5..bytes.len()).step_by(97 + n) {
            bytes[at] = b"0:\"{,\n-9a"[(at / 7) % 9];
        }
        let _ = case.draft_of(&bytes);
    }
    for name in ["a.json", "a.csv", "a.txt", "a.edf", "a.xml"] {
        for text in [
            "",
            "[]",
            "{}",
            "[[]]",
            "a,b\n",
            ",\n,\n",
            "<a/>",
            "<a b='1'/>",
            "null",
            "1\n2\n",
            "[1,2,3]",
            "{\"a\":{\"1\":[]}}",
        ] {
            let _ = draft(&[SampleFile { name, bytes: text.as_bytes() }], &Options::default());
        }
    }
}
