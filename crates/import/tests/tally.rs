//! Whatever stands in a file, every row has one outcome; and what is written in a shape is read back.

#![allow(clippy::panic, clippy::unwrap_used, reason = "helpers of tests")]

mod common;

use common::{back, definition, run};
use counterpane_import::{Bindings, Definition};
use counterpane_model::{Instant, Span, Zone};
use proptest::prelude::*;

const STAGES: &str = "[stages]\nw = \"W\"\nl = \"Light\"\nd = \"N3\"\nr = \"R\"\nx = \"ignored\"\nend = \"end\"\n[notes]\nout = \"out-of-bed\"\n";
const NO_END: &str =
    "[stages]\nw = \"W\"\nl = \"Light\"\nd = \"N3\"\nr = \"R\"\nx = \"ignored\"\n[notes]\nout = \"out-of-bed\"\n";

fn cell() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => (20u8..24, 0u8..60).prop_map(|(h, m)| format!("{h:02}:{m:02}")),
        3 => (0u8..8, 0u8..60).prop_map(|(h, m)| format!("{h:02}:{m:02}")),
        1 => "[a-z:0-9]{0,5}",
    ]
}

fn word() -> impl Strategy<Value = String> {
    prop_oneof![8 => prop::sample::select(vec!["w", "l", "d", "r", "x", "end", "out"]).prop_map(str::to_owned), 1 => "[a-z]{0,3}"]
}

fn table() -> impl Strategy<Value = String> {
    let row = (cell(), cell(), word(), prop::bool::weighted(0.05));
    prop::collection::vec(row, 0..40).prop_map(|rows| {
        let line = |(a, b, s, short): &(String, String, String, bool)| match short {
            true => format!("{a},{b}\n"),
            false => format!("{a},{b},{s}\n"),
        };
        format!("a,b,s\n{}", rows.iter().map(line).collect::<String>())
    })
}

const CLOCK: &str = "read = \"clock\", zone = \"night\", fold = \"order\"";

fn definitions() -> Vec<Definition> {
    let (start, end) = (format!("start = {{ at = \"a\", {CLOCK} }}\n"), format!("end = {{ at = \"b\", {CLOCK} }}\n"));
    let stage = "stage = { at = \"s\" }\norder = \"file\"\n";
    let length = "length = { at = \"b\", read = \"h:mm\" }\n";
    let keep = "keep = { at = \"s\", in = [\"w\", \"l\", \"x\", \"q\"] }\n";
    let block = |shape: &str, body: &str| format!("[[rows]]\nshape = \"{shape}\"\n{body}");
    let layered = format!(
        "{}layer = 1\n{}",
        block("interval", &format!("{start}{end}{stage}")),
        block("length", &format!("{start}{length}{stage}{keep}"))
    );
    [
        format!("{}{NO_END}", block("interval", &format!("{start}{end}{stage}"))),
        format!("{}{NO_END}", block("length", &format!("{start}{length}{stage}{keep}"))),
        format!("{}{STAGES}", block("change", &format!("{start}{stage}"))),
        format!("{}{STAGES}", block("notes", &format!("{start}note = {{ at = \"s\" }}\norder = \"file\"\n")).replace("end = \"end\"\n", "")).replace("end = \"end\"\n", ""),
        format!("{}{NO_END}", block("codes", "start = { bound = \"start\" }\nepoch = { const = 30, read = \"s\" }\ncodes = { at = \"s\", split = \"letter\" }\n")),
        format!("{}[rows.claims]\n\"total-sleep\" = {{ at = \"b\", unit = \"h:mm\", rounding = \"1 min\" }}\n\"start\" = {{ at = \"a\", read = \"clock\", zone = \"night\", rounding = \"1 min\" }}\n{NO_END}", block("claims", "")),
        format!("{layered}{NO_END}"),
        format!("{}keep = {{ at = \"s\", in = [\"w\", \"l\"], otherwise = \"error\" }}\n{NO_END}", block("interval", &format!("{start}{end}{stage}"))),
        format!("{}{NO_END}", block("interval", &format!("{start}{end}length = {{ at = \"a\", read = \"h:mm\" }}\n{stage}"))),
        format!("{}{NO_END}", block("interval", &format!("{start}{end}{stage}").replace("\"clock\"", "\"clock 12h\""))),
        format!("{}{STAGES}", block("change", &format!("{start}{stage}").replace("\"clock\"", "\"clock 12h\""))),
    ]
    .iter()
    .map(|body| definition("csv", body))
    .collect()
}

proptest! {
    #[test]
    fn every_row_has_one_outcome(input in table()) {
        let bindings = Bindings { start: Some("22:00".into()), ..back() };
        for definition in definitions() {
            let outcome = run(&definition, &bindings, &input).unwrap();
            prop_assert_eq!(outcome.tally.rows, outcome.tally.sum());
            let rows = input.lines().count() as u64 - 1;
            let one_each = !["codes", "claims", "layer"].iter().any(|w| definition.text().contains(w));
            prop_assert!(!one_each || outcome.tally.rows == rows, "a row without an outcome");
            let told: u64 = outcome.parts.iter().flat_map(|p| &p.findings).chain(&outcome.findings)
                .filter(|f| f.severity == counterpane_model::Severity::Error).map(|f| f.count).sum();
            prop_assert!(told > 0 || outcome.tally.faulty == 0, "a faulty row without a finding");
        }
    }
}

/// Spans of a night in 30 s steps, each beside the next or after a gap, over the half hour that happens twice.
fn spans() -> impl Strategy<Value = Vec<(i64, i64, char)>> {
    prop::collection::vec((0i64..20, 1i64..90, prop::sample::select(vec!['w', 'l', 'd', 'r'])), 1..20).prop_map(
        |steps| {
            let mut at = 1_775_302_260_000; // 2026-04-04 22:31 on Lord Howe Island
            steps
                .iter()
                .map(|(gap, length, word)| {
                    let start = at + gap * 30_000;
                    at = start + length * 30_000;
                    (start, at, *word)
                })
                .collect()
        },
    )
}

fn read_back(definition: &Definition, input: &str) -> Vec<(i64, i64, char)> {
    let outcome = run(definition, &back(), input).unwrap();
    let short = |s: &Span| (s.start.0, s.end.0, s.label.chars().next().unwrap());
    outcome.parts.iter().flat_map(|p| p.spans.iter().map(short)).collect()
}

proptest! {
    #[test]
    fn spans_written_in_a_shape_are_read_back(spans in spans()) {
        let zone = Zone::named("Australia/Lord_Howe").unwrap();
        let rfc = |ms: i64| zone.text_of(Instant(ms));

        let interval = definition("csv", &format!("[[rows]]\nshape = \"interval\"\nstart = {{ at = \"a\", read = \"rfc3339\", offset = \"trust\" }}\nend = {{ at = \"b\", read = \"rfc3339\", offset = \"trust\" }}\nstage = {{ at = \"s\" }}\n{NO_END}"));
        let lines: String = spans.iter().map(|(a, b, s)| format!("{},{},{s}\n", rfc(*a), rfc(*b))).collect();
        prop_assert_eq!(read_back(&interval, &format!("a,b,s\n{lines}")), spans.clone());

        let length = definition("csv", &format!("[[rows]]\nshape = \"length\"\nstart = {{ at = \"a\", read = \"epoch ms\" }}\nlength = {{ at = \"b\", read = \"min\" }}\nstage = {{ at = \"s\" }}\n{NO_END}"));
        let lines: String = spans.iter().map(|(a, b, s)| format!("{a},{},{s}\n", (b - a) as f64 / 60_000.0)).collect();
        prop_assert_eq!(read_back(&length, &format!("a,b,s\n{lines}")), spans.clone());

        let change = definition("jsonl", &format!("[[rows]]\nshape = \"change\"\norder = \"file\"\nstart = {{ at = \"a\", read = \"epoch ms\" }}\nstage = {{ at = \"s\" }}\n{STAGES}"));
        let mut lines = String::new();
        for (n, (a, b, s)) in spans.iter().enumerate() {
            lines += &format!("{{\"a\":{a},\"s\":\"{s}\"}}\n");
            if spans.get(n + 1).is_none_or(|next| next.0 > *b) {
                lines += &format!("{{\"a\":{b},\"s\":\"end\"}}\n");
            }
        }
        prop_assert_eq!(read_back(&change, &lines), spans.clone());
    }

    #[test]
    fn codes_are_read_back_one_by_one(letters in "[wldr]{1,200}") {
        let codes = definition("json", &format!("[[rows]]\neach = \"$\"\nshape = \"codes\"\nstart = {{ at = \"t\", read = \"%Y-%m-%d %H:%M\", zone = \"night\" }}\nepoch = {{ const = 30, read = \"s\" }}\ncodes = {{ at = \"c\", split = \"letter\" }}\n{NO_END}"));
        let back = read_back(&codes, &format!("{{\"t\":\"2026-04-05 01:10\",\"c\":\"{letters}\"}}"));
        // Equal neighbours are one run; every 30 s of it is one code.
        let each = |(start, end, c): &(i64, i64, char)| String::from(*c).repeat(usize::try_from((end - start) / 30_000).unwrap());
        prop_assert_eq!(back.iter().map(each).collect::<String>(), letters.clone());
        prop_assert!(back.windows(2).all(|w| w[0].1 == w[1].0 && w[0].2 != w[1].2));
    }
}
