//! Real recordings from open data sets: none is part of this project.
//!
//! Set `COUNTERPANE_OPEN_DATA` to a folder that holds them to run these tests, and `COUNTERPANE_REQUIRE` to fail when they are
//! not there. Sources: PhysioNet Sleep-EDF Expanded (ODC-By 1.0), PhysioNet Haaglanden Medisch Centrum
//! sleep staging database (CC BY 4.0), test files of edfio (Apache-2.0) and pyedflib (BSD).

#![allow(clippy::print_stdout, reason = "a test that was not run says so")]
#![allow(clippy::panic, clippy::unwrap_used, reason = "helpers of tests")]

use counterpane_formats::{Event, Flow, Format, Request, Value, Want, read};
use sha2::{Digest as _, Sha256};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Reads a file after its SHA-256 is checked, or says in one line that it is not there.
fn file(path: &str, sha256: &str) -> Option<Vec<u8>> {
    let folder = std::env::var_os("COUNTERPANE_OPEN_DATA").map(std::path::PathBuf::from);
    let Some(bytes) = folder.and_then(|f| std::fs::read(f.join(path)).ok()) else {
        assert!(std::env::var_os("COUNTERPANE_REQUIRE").is_none(), "{path} is not there");
        println!("not run: {path} is not there; get it from its source and set COUNTERPANE_OPEN_DATA");
        return None;
    };
    let sum = Sha256::digest(&bytes).iter().fold(String::new(), |mut out, b| {
        let _ = write!(out, "{b:02x}");
        out
    });
    assert_eq!(sum, sha256, "{path} is another file");
    Some(bytes)
}

struct Read {
    start: String,
    rows: usize,
    /// Seconds under each text.
    seconds: BTreeMap<String, f64>,
    first: String,
    last: String,
    unreadable: Vec<String>,
}

fn annotations(bytes: &[u8]) -> Read {
    let want = |path: &str| Want { up: 0, path: path.to_owned() };
    let request = Request { wants: vec![want("text"), want("duration")], ..Request::default() };
    let mut out = Read {
        start: String::new(),
        rows: 0,
        seconds: BTreeMap::new(),
        first: String::new(),
        last: String::new(),
        unreadable: Vec::new(),
    };
    read(Format::Edf, &mut &*bytes, &request, &mut |event| {
        match event {
            Event::Head(head) => out.start = head.start.map(|s| s.to_string()).unwrap_or_default(),
            Event::Row(row) => {
                let Some(Value::Text(text)) = row.value(0) else { panic!("an annotation has a text") };
                let seconds = match row.value(1) {
                    Some(Value::Number(n)) => n.parse().unwrap(),
                    _ => 0.0,
                };
                *out.seconds.entry(text.into_owned()).or_default() += seconds;
                out.rows += 1;
                out.last = format!("{}: {}", row.locator(), row.line());
                if out.rows == 1 {
                    out.first = out.last.clone();
                }
            }
            Event::Unreadable { locator, problem, .. } => out.unreadable.push(format!("{locator}: {problem}")),
        }
        Flow::Continue
    })
    .unwrap();
    out
}

fn epochs(read: &Read) -> String {
    let stages = read.seconds.iter().filter_map(|(text, s)| Some((text.strip_prefix("Sleep stage ")?, s / 30.0)));
    stages.map(|(stage, n)| format!("{stage} {n}")).collect::<Vec<_>>().join(", ")
}

#[test]
fn a_night_by_the_older_rules() {
    for (path, sha256) in [
        ("sleep-edf/SC4001EC-Hypnogram.edf", "a4cf67694ade1b52a0ddd06d5817fd45d2d3e8bac5302f640f3e9cfbbf12a996"),
        ("edf-samples/SC4001EC-Hypnogram.bdf", "9c57bbe55cfc3e929f8332fd60aef2ea45619c5a1c68ebe97c6502a87505bcc4"),
    ] {
        let Some(bytes) = file(path, sha256) else { continue };
        let read = annotations(&bytes);
        assert_eq!(read.start, "1989-04-24T16:13:00");
        assert_eq!(epochs(&read), "1 58, 2 250, 3 101, 4 119, ? 230, R 125, W 1997");
        assert_eq!(read.first, "record 0 onset +0: +0 30630 Sleep stage W");
        assert_eq!(read.unreadable, [""; 0]);
    }
}

#[test]
fn a_night_by_the_newer_rules() {
    let Some(bytes) = file("hmc/test_edfann.edf", "fc2f6d4514ddd0c6f9c03a47122b293896dca38ab4bc8dc60f9edf34cc994561")
    else {
        return;
    };
    let read = annotations(&bytes);
    assert_eq!(read.start, "2001-01-01T23:59:30");
    assert_eq!(epochs(&read), "N1 109, N2 430, N3 23, R 141, W 151");
    assert_eq!(read.last, "record 0 onset +25618.74: +25618.74 0 Lights on@@EEG Fpz-Cz");
    assert_eq!((read.rows, read.unreadable), (856, Vec::new()));
}

#[test]
fn samples_that_begin_within_a_second_beside_annotations_that_do_not_care() {
    let sha256 = "ac1cc70b0b9b345c7b5006f0f27d98656b1d891c2c02505b6c18ed399f077379";
    let Some(bytes) = file("edf-samples/test_subsecond.edf", sha256) else { return };
    let read = annotations(&bytes);
    // The first record keeps time from +0.3945312, which is no part of the header's start.
    assert_eq!(read.start, "2020-01-24T04:05:56");
    assert_eq!(read.first, "record 0 onset +2.3457031: +2.3457031 XLSpike");
    assert_eq!((read.rows, read.unreadable), (4, Vec::new()));
}

#[test]
fn texts_in_utf_8() {
    let sha256 = "8c45e762c5ef9887ba88f98cb9d0de0707591857ab389f29a496a3e9560910fe";
    let Some(bytes) = file("edf-samples/test_utf8.edf", sha256) else { return };
    let read = annotations(&bytes);
    assert!(read.seconds.contains_key("中文测试八个字"), "{:?}", read.seconds);
    assert_eq!((read.rows, read.unreadable), (5, Vec::new()));
}
