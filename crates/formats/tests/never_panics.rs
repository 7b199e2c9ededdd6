//! No bytes make any reader panic or loop: random ones, and honest files with a few bytes changed.

use counterpane_formats::{Event, Flow, Format, Limits, Request, TextOptions, Want, read, sniff};
use proptest::prelude::*;

const FORMATS: [Format; 8] =
    [Format::Csv, Format::Edf, Format::Json, Format::Jsonl, Format::Sheet, Format::Text, Format::Xml, Format::Zip];

fn honest(format: Format) -> Vec<u8> {
    match format {
        Format::Csv => "night sheet\nclock;stage\n22:47;light\n\"22:58\";\"de\"\"ep\"\n23:10;ä\n".into(),
        Format::Edf => edf(),
        Format::Json => {
            r#"{"device":"x","nights":[{"id":1,"b":[{"s":"li\u00e4ght","n":1.5e3}]},{"b":{"k":[null,true]}}],"z":"ä"}"#
                .into()
        }
        Format::Jsonl => "{\"t\":1,\"b\":[1,2]}\n\n{\"t\":2,\"b\":{\"k\":3}}\n".into(),
        Format::Xml => "<?xml version='1.0'?><!DOCTYPE x><x d='1'><z>a</z>\n<n k='s'><s at='1'>li<!-- -->&#228;ght&amp;</s><b><![CDATA[c]]></b></n><n/></x>".into(),
        Format::Text | Format::Sheet | Format::Zip => "W\n  23:47 light\n\nä R\n".into(),
    }
}

fn edf() -> Vec<u8> {
    let mut out = Vec::new();
    let mut put = |text: &str, len: usize| {
        let mut field = text.as_bytes().to_vec();
        field.resize(len, b' ');
        out.extend(field);
    };
    let fields = [("0", 8), ("X X X X", 80), ("Startdate 04-APR-2026 X X X", 80), ("04.04.26", 8), ("22.30.15", 8)];
    for (text, len) in fields {
        put(text, len);
    }
    for (text, len) in [("768", 8), ("EDF+C", 44), ("2", 8), ("0", 8), ("2", 4), ("EDF Annotations", 16), ("EEG", 16)] {
        put(text, len);
    }
    for (text, len) in [("", 400), ("30", 8), ("4", 8), ("", 64)] {
        put(text, len);
    }
    for list in ["+0\x14\x14\0+30\x1530\x14Sleep stage 2@@EEG\x14\0", "+60\x14\x14\0-1.5\x14ä\x14b\x14\0"] {
        let mut record = list.as_bytes().to_vec();
        record.resize(68, 0);
        out.extend(record);
    }
    out
}

fn request() -> impl Strategy<Value = Request> {
    let each = prop_oneof![
        3 => Just(String::new()),
        1 => "#[0-3]",
        3 => Just("$.nights[*]".to_owned()),
        1 => Just("$.*".to_owned()),
        1 => Just("$[*].b.*".to_owned()),
        1 => "\\$[.\\[\\]*a\"0-9]{0,8}",
        2 => Just("n/s".to_owned()),
        1 => Just("//*".to_owned()),
        1 => Just("x/n[@k='s']".to_owned()),
        1 => Just("*".to_owned()),
    ];
    let nest = proptest::option::weighted(0.3, prop_oneof!["b\\[\\*\\]", "b\\.\\*\\[\\*\\]", "[.\\[\\]*a\"0-9]{0,8}"]);
    let paths = [
        "clock", "#2", "line", "word 2", "rest 2", "onset", "text", "channel", "s", "b[0]", "@key", "$.device", "$.z",
        "", "@at", ".", "s/text", "b", "@d", "z/@k", "name()",
    ];
    let want = (0usize..3, proptest::sample::select(paths.to_vec()));
    let wants = proptest::collection::vec(want.prop_map(|(up, path)| Want { up: up / 2, path: path.to_owned() }), 0..3);
    let text = (
        proptest::option::weighted(
            0.2,
            proptest::sample::select(vec!["utf-8", "utf-16le", "utf-16be", "iso-8859-1", "gb18030", "no"]),
        ),
        proptest::option::of(proptest::sample::select(vec![';', '\t', 'ä', '"'])),
        proptest::option::weighted(0.2, Just("clock".to_owned())),
        proptest::option::weighted(0.2, proptest::sample::select(vec!["#", "W", ""])),
    );
    let limits = (1usize..400, 1u64..20, 1usize..6);
    (each, nest, wants, text, limits).prop_map(|(each, nest, wants, text, (row_bytes, rows, depth))| Request {
        each,
        nest,
        wants,
        text: TextOptions {
            encoding: text.0.map(str::to_owned),
            delimiter: text.1,
            header_with: text.2,
            comment: text.3.map(str::to_owned),
        },
        member: Some("*.csv".to_owned()),
        inner: Some(Format::Csv),
        limits: Limits { row_bytes, rows, depth, bytes: 100_000, columns: 40, ..Limits::default() },
    })
}

/// Reads and asks everything of every row.
fn exercise(format: Format, bytes: &[u8], request: &Request) {
    let mut events = 0;
    let mut heads = 0;
    let mut rest = bytes;
    let _ = read(format, &mut rest, request, &mut |event| {
        events += 1;
        match event {
            Event::Head(_) => heads += 1,
            Event::Row(row) => {
                assert_eq!(heads, 1, "the head comes before the first row");
                assert!(row.line().chars().count() <= 200);
                let _ = row.locator().to_string();
                for want in 0..request.wants.len() + 1 {
                    let _ = (row.value(want), row.locate(want).to_string());
                }
            }
            Event::Unreadable { locator, line, problem } => {
                assert_eq!(heads, 1, "the head comes before the first row");
                assert!(line.chars().count() <= 200 && !problem.is_empty() && !problem.ends_with('.'));
                let _ = locator.to_string();
            }
        }
        Flow::Continue
    });
    assert!(events <= bytes.len() + 2, "{events} events of {} bytes", bytes.len());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    #[test]
    fn random_bytes(bytes: Vec<u8>, request in request()) {
        for format in FORMATS {
            exercise(format, &bytes, &request);
        }
        let _ = sniff("night.csv", &bytes);
    }

    #[test]
    fn honest_files_with_bytes_changed(
        request in request(),
        changes in proptest::collection::vec((any::<prop::sample::Index>(), prop_oneof![
            any::<u8>(),
            proptest::sample::select(b"\"\\{}[],:;\n\r\0\x14\x15+-0".to_vec()),
        ], 0u8..3), 0..4),
        cut in proptest::option::weighted(0.3, any::<prop::sample::Index>()),
    ) {
        for format in FORMATS {
            let mut bytes = honest(format);
            for (at, byte, what) in &changes {
                let at = at.index(bytes.len());
                match what {
                    0 => bytes[at] = *byte,
                    1 => bytes.insert(at, *byte),
                    _ => {
                        bytes.remove(at);
                    }
                }
            }
            if let Some(cut) = &cut {
                bytes.truncate(cut.index(bytes.len()));
            }
            exercise(format, &bytes, &request);
            let _ = sniff("night.json", &bytes);
        }
    }
}

#[test]
fn honest_files_are_read() {
    let count = |format, each: &str| {
        let request = Request {
            each: each.to_owned(),
            text: TextOptions { delimiter: Some(';'), header_with: Some("clock".into()), ..TextOptions::default() },
            ..Request::default()
        };
        let mut rows = 0;
        read(format, &mut honest(format).as_slice(), &request, &mut |event| {
            rows += usize::from(matches!(event, Event::Row(_)));
            Flow::Continue
        })
        .unwrap();
        rows
    };
    assert_eq!(count(Format::Csv, ""), 3);
    assert_eq!(count(Format::Edf, ""), 3);
    assert_eq!(count(Format::Json, "$.nights[*]"), 2);
    assert_eq!(count(Format::Jsonl, ""), 2);
    assert_eq!(count(Format::Text, ""), 3);
    assert_eq!(count(Format::Xml, "n"), 2);
}

#[test]
fn reading_ends_when_the_caller_has_enough() {
    for format in [Format::Csv, Format::Edf, Format::Jsonl, Format::Text] {
        for enough in 1..3 {
            let request = Request {
                text: TextOptions { delimiter: Some(';'), header_with: Some("clock".into()), ..TextOptions::default() },
                ..Request::default()
            };
            let mut events = 0;
            let mut bytes = honest(format);
            bytes.extend(b"\xff");
            read(format, &mut bytes.as_slice(), &request, &mut |_| {
                events += 1;
                if events == enough { Flow::Stop } else { Flow::Continue }
            })
            .unwrap();
            assert_eq!(events, enough);
        }
    }
}
