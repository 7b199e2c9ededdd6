//! Spans that are printed in a shape and read back are the same spans, and no damaged sample ends the program.

#![allow(clippy::panic, clippy::unwrap_used, reason = "helpers of tests")]

mod common;

use common::{back, definition, run};
use counterpane_import::{Bindings, Definition, import};
use counterpane_model::{Instant, Span, Zone};
use proptest::prelude::*;
use std::path::{Path, PathBuf};

const STAGES: &str = "[stages]\nw = \"W\"\nl = \"Light\"\nd = \"N3\"\nr = \"R\"\n";
const RFC: &str = "start = { at = \"a\", read = \"rfc3339\", offset = \"trust\" }\nend = { at = \"b\", read = \"rfc3339\", offset = \"trust\" }\n";

/// Start, end and label; times in milliseconds.
type Piece = (i64, i64, char);

/// Pieces of a night in steps of half a minute, each beside the next or after a gap, over the half hour that
/// happens twice on Lord Howe Island.
fn pieces() -> impl Strategy<Value = Vec<Piece>> {
    let step = (0i64..20, 1i64..90, prop::sample::select(vec!['w', 'l', 'd', 'r']));
    prop::collection::vec(step, 1..20).prop_map(|steps| {
        let mut at = 1_775_302_260_000; // 2026-04-04 22:31 +11:00
        let piece = |(gap, length, label): &(i64, i64, char)| {
            let start = at + gap * 30_000;
            at = start + length * 30_000;
            (start, at, *label)
        };
        steps.iter().map(piece).collect()
    })
}

fn rfc(ms: i64) -> String {
    Zone::named("Australia/Lord_Howe").unwrap().text_of(Instant(ms))
}

/// What a definition makes of a text, in order of time.
fn read_back(definition: &Definition, input: &str) -> Vec<Piece> {
    let outcome = run(definition, &back(), input).unwrap();
    assert_eq!(outcome.tally.faulty, 0, "{outcome:#?}\n{input}");
    let piece = |s: &Span| (s.start.0, s.end.0, s.label.chars().next().unwrap());
    let mut all: Vec<Piece> = outcome.parts.iter().flat_map(|p| p.spans.iter().map(piece)).collect();
    all.sort_unstable();
    all
}

/// Neighbours that touch and say the same as one piece, as a source that counts epochs knows them.
fn joined(pieces: &[Piece]) -> Vec<Piece> {
    let mut out: Vec<Piece> = Vec::new();
    for piece in pieces {
        match out.last_mut() {
            Some(last) if last.1 == piece.0 && last.2 == piece.2 => last.1 = piece.1,
            _ => out.push(*piece),
        }
    }
    out
}

fn list<T: std::fmt::Display>(items: impl Iterator<Item = T>) -> String {
    items.map(|i| i.to_string()).collect::<Vec<_>>().join(",")
}

fn objects(pieces: &[Piece]) -> String {
    list(pieces.iter().map(|(a, b, s)| format!(r#"{{"a":"{}","b":"{}","s":"{s}"}}"#, rfc(*a), rfc(*b))))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn lists_side_by_side_are_read_back(pieces in pieces()) {
        let arrays = definition("json", &format!("[[rows]]\neach = \"$.nights[*]\"\nshape = \"arrays\"\nstart = {{ at = \"a\", read = \"epoch ms\" }}\nlength = {{ at = \"n\", read = \"s\" }}\nstage = {{ at = \"s\" }}\n{STAGES}"));
        let (starts, stages) = (list(pieces.iter().map(|p| p.0)), list(pieces.iter().map(|p| format!("\"{}\"", p.2))));
        let lengths = list(pieces.iter().map(|p| (p.1 - p.0) / 1000));
        let input = format!(r#"{{"nights":[{{"a":[{starts}],"n":[{lengths}],"s":[{stages}]}}]}}"#);
        prop_assert_eq!(joined(&read_back(&arrays, &input)), joined(&pieces));
    }

    #[test]
    fn lists_under_the_names_of_their_stages_are_read_back(pieces in pieces()) {
        let keyed = definition("json", &format!("[[rows]]\neach = \"$.nights[*]\"\nshape = \"keyed\"\nlists = {{ at = \"p\" }}\nstage = {{ key = true }}\n{RFC}{STAGES}"));
        let of = |label: char| pieces.iter().filter(|p| p.2 == label).copied().collect::<Vec<_>>();
        let lists = list("wldr".chars().rev().map(|c| format!("\"{c}\":[{}]", objects(&of(c)))));
        prop_assert_eq!(read_back(&keyed, &format!(r#"{{"nights":[{{"p":{{{lists}}}}}]}}"#)), pieces);
    }

    #[test]
    fn child_rows_with_an_anchor_above_them_are_read_back_in_any_order(pieces in pieces(), seed in any::<u64>()) {
        let nested = definition("json", &format!("[[rows]]\neach = \"$.nights[*]\"\nnest = \"p[*]\"\nshape = \"length\"\norder = \"any\"\nstart = {{ at = \"m\", read = \"offset min\", from = {{ at = \"began\", up = 1, read = \"rfc3339\", offset = \"trust\" }} }}\nlength = {{ at = \"n\", read = \"s\" }}\nstage = {{ at = \"s\" }}\n{STAGES}"));
        let began = pieces[0].0 - 60_000;
        let mut shuffled = pieces.clone();
        let n = shuffled.len();
        (0..n).for_each(|i| shuffled.swap(i, (seed.rotate_left(u32::try_from(i).unwrap()) % n as u64) as usize));
        let rows = list(shuffled.iter().map(|(a, b, s)| format!(r#"{{"m":{},"n":{},"s":"{s}"}}"#, (a - began) as f64 / 60_000.0, (b - a) / 1000)));
        prop_assert_eq!(read_back(&nested, &format!(r#"{{"nights":[{{"began":"{}","p":[{rows}]}}]}}"#, rfc(began))), pieces);
    }

    #[test]
    fn attributes_and_texts_of_xml_are_read_back(pieces in pieces()) {
        let rows = |of: fn(&Piece) -> String| pieces.iter().map(|p| format!("<x kind='other'/>{}", of(p))).collect::<String>();
        let attributes = definition("xml", &format!("[[rows]]\neach = \"R[@kind='sleep']\"\nshape = \"interval\"\n{}stage = {{ at = \"@s\" }}\n{STAGES}", RFC.replace("\"a\"", "\"@a\"").replace("\"b\"", "\"@b\"")));
        let input = rows(|(a, b, s)| format!("<R kind='sleep' a='{}' b=\"{}\" s='&#{};'/>", rfc(*a), rfc(*b), *s as u32));
        prop_assert_eq!(read_back(&attributes, &format!("<E>{input}</E>")), pieces.clone());
        let texts = definition("xml", &format!("[[rows]]\neach = \"E/R\"\nshape = \"interval\"\n{RFC}stage = {{ at = \"s\" }}\n{STAGES}"));
        let input = rows(|(a, b, s)| format!("<R><a>{}</a><!-- - --><b><![CDATA[{}]]></b><s>{s}</s></R>\n", rfc(*a), rfc(*b)));
        prop_assert_eq!(read_back(&texts, &format!("<?xml version='1.0'?><E>{input}</E>")), pieces);
    }

    #[test]
    fn json_in_the_cell_of_a_table_is_read_back(pieces in pieces()) {
        let cell = definition("csv", &format!("[[rows]]\ncell = \"payload\"\nnest = \"p[*]\"\nshape = \"interval\"\n{RFC}stage = {{ at = \"s\" }}\n{STAGES}"));
        let json = format!(r#"{{"p":[{}]}}"#, objects(&pieces)).replace('"', "\"\"");
        prop_assert_eq!(read_back(&cell, &format!("id,payload\n1,\"{json}\"\n")), pieces);
    }

    #[test]
    fn one_column_for_each_epoch_is_read_back(letters in "[wldr]{6}") {
        let columns = definition("csv", &format!("[[rows]]\nshape = \"columns\"\nstart = {{ at = \"from\", read = \"rfc3339\", offset = \"trust\" }}\ncodes = {{ first = \"#2\", last = \"#7\" }}\nepoch = {{ const = 5, read = \"min\" }}\n{STAGES}"));
        let cells = list(letters.chars());
        let back = read_back(&columns, &format!("from,e1,e2,e3,e4,e5,e6\n{},{cells}\n", rfc(1_775_302_260_000)));
        let epoch = |(n, c): (usize, char)| {
            let at = 1_775_302_260_000 + n as i64 * 300_000;
            (at, at + 300_000, c)
        };
        prop_assert_eq!(joined(&back), joined(&letters.chars().enumerate().map(epoch).collect::<Vec<_>>()));
    }

    #[test]
    fn a_finer_layer_is_read_back_beside_the_coarser_one(pieces in pieces()) {
        let layers = definition("json", &format!("[[rows]]\neach = \"$.coarse[*]\"\nshape = \"interval\"\n{RFC}stage = {{ at = \"s\" }}\n[[rows]]\neach = \"$.fine[*]\"\nlayer = 1\nshape = \"interval\"\n{RFC}stage = {{ at = \"s\" }}\n{STAGES}"));
        let (from, until) = (pieces[0].0 - 600_000, pieces[pieces.len() - 1].1 + 600_000);
        let input = format!(r#"{{"coarse":[{}],"fine":[{}]}}"#, objects(&[(from, until, 'l')]), objects(&pieces));
        let back = read_back(&layers, &input);
        // Where the finer layer is silent the coarser one speaks, and nowhere do two speak at once.
        let said = |at: i64, of: &[Piece]| of.iter().filter(|p| p.0 <= at && at < p.1).map(|p| p.2).collect::<String>();
        for at in (from..until).step_by(30_000) {
            let fine = said(at, &pieces);
            prop_assert_eq!(said(at, &back), if fine.is_empty() { "l".to_owned() } else { fine });
        }
    }
}

/// Every sample of a shipped importer or a shape, with its definition.
fn samples() -> Vec<(Definition, PathBuf)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut out = Vec::new();
    for folder in ["importers", "tests/shapes"] {
        for entry in std::fs::read_dir(root.join(folder)).unwrap() {
            let folder = entry.unwrap().path();
            let Ok(text) = std::fs::read_to_string(folder.join("importer.toml")) else { continue };
            let Ok(files) = std::fs::read_dir(folder.join("samples")) else { continue };
            for file in files.map(|f| f.unwrap().path()) {
                let ending = file.extension().unwrap_or_default().to_string_lossy().into_owned();
                if !["toml", "expected"].contains(&ending.as_str()) && file.is_file() && !text.contains("filter") {
                    out.push((Definition::parse("t", &text).unwrap(), file));
                }
            }
        }
    }
    out.sort_by(|a, b| a.1.cmp(&b.1));
    out
}

/// A damaged copy: a byte changed, a stretch cut out, doubled, or taken from elsewhere in the file.
fn damaged(bytes: &[u8], luck: &mut impl FnMut(usize) -> usize) -> Vec<u8> {
    let mut out = bytes.to_vec();
    for _ in 0..=luck(3) {
        if out.is_empty() {
            break;
        }
        let (at, n) = (luck(out.len()), luck(40) + 1);
        let end = (at + n).min(out.len());
        match luck(5) {
            0 => out[at] ^= 1 << luck(8),
            1 => drop(out.drain(at..end)),
            2 => out.truncate(at),
            3 => {
                let piece = out[at..end].to_vec();
                let to = luck(out.len());
                drop(out.splice(to..to, piece));
            }
            _ => out[at] = u8::try_from(luck(256)).unwrap(),
        }
    }
    out
}

#[test]
fn no_damaged_sample_ends_the_program() {
    let seed: u64 = std::env::var("COUNTERPANE_SEED").ok().and_then(|s| s.parse().ok()).unwrap_or(20_261_125);
    println!("seed {seed}: COUNTERPANE_SEED repeats it");
    let mut state = seed;
    let mut luck = |below: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(state >> 33).unwrap() % below.max(1)
    };
    let bindings = Bindings { start: Some("2026-04-04 22:00".into()), ..back() };
    let (mut n, mut refused) = (0, 0);
    for (definition, file) in samples() {
        let bytes = std::fs::read(&file).unwrap();
        for _ in 0..40 {
            let copy = damaged(&bytes, &mut luck);
            let outcome = import(&definition, &mut copy.as_slice(), &bindings, counterpane_formats::Limits::default());
            n += 1;
            match outcome {
                Ok(outcome) => assert_eq!(outcome.tally.rows, outcome.tally.sum(), "{}", file.display()),
                Err(_) => refused += 1,
            }
        }
    }
    println!("{n} damaged files, {refused} refused");
    assert!(n > 2000 && refused > 100 && refused < n, "{n} damaged files, {refused} refused");
}
