//! Every shape and peculiarity of exports, each a folder with a definition, samples and what they give; and filters that
//! mean harm.
//!
//! A filter runs in a child process of the same binary, so this binary is both: with the hidden command it is the
//! child, otherwise it runs the tests below, without the usual harness, which would not let the command through.

#![allow(clippy::panic, clippy::unwrap_used, clippy::print_stdout, reason = "helpers of tests")]

mod common;

use common::samples::{entries, given, samples, shapes};
use common::{back, definition, run};
use counterpane_import::{Definition, FILTER_COMMAND, run_filter};
use expect_test::expect_file;
use std::fs;
use std::time::{Duration, Instant};

/// The tests, alphabetically.
const TESTS: &[(&str, fn())] = &[
    ("a_filter_is_kept_for_many_rows", a_filter_is_kept_for_many_rows),
    ("a_filter_that_means_harm_is_stopped", a_filter_that_means_harm_is_stopped),
    ("a_filter_that_will_not_end_is_given_up", a_filter_that_will_not_end_is_given_up),
    ("a_row_at_which_the_filter_fails_is_an_error", a_row_at_which_the_filter_fails_is_an_error),
    ("each_folder_gives_what_stands_beside_its_samples", each_folder_gives_what_stands_beside_its_samples),
];

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if arguments.first().is_some_and(|a| a == FILTER_COMMAND) {
        return run_filter(std::io::BufReader::new(std::io::stdin()), std::io::stdout()).unwrap();
    }
    let wanted = arguments.iter().find(|a| !a.starts_with('-'));
    for (name, test) in TESTS.iter().filter(|(name, _)| wanted.is_none_or(|w| name.contains(w.as_str()))) {
        test();
        println!("test {name} ... ok");
    }
}

fn each_folder_gives_what_stands_beside_its_samples() {
    let folders: Vec<_> = entries(&shapes()).into_iter().filter(|p| p.is_dir()).collect();
    assert!(!folders.is_empty(), "the folder tests/shapes is empty");
    let only = std::env::var("SHAPE").ok();
    for folder in folders {
        let id = folder.file_name().unwrap().to_string_lossy().into_owned();
        if only.as_ref().is_some_and(|o| *o != id) {
            continue;
        }
        let text = fs::read_to_string(folder.join("importer.toml"))
            .unwrap_or_else(|_| panic!("tests/shapes/{id} lacks its importer.toml"));
        let definition = Definition::parse(&id, &text).unwrap_or_else(|e| panic!("{}", e.render(&id)));
        let samples = samples(&folder);
        assert!(!samples.is_empty(), "put a sample and its bindings into tests/shapes/{id}/samples");
        for sample in samples {
            expect_file![sample.with_extension("expected")].assert_eq(&given(&definition, &sample));
        }
    }
}

/// Returns a definition whose rows go through a filter.
fn filtered(filter: &str) -> Definition {
    let body = format!(
        "[[rows]]\neach = \"$[*]\"\nfilter = '{filter}'\nshape = \"length\"\nstart = {{ at = \"t\", read = \"rfc3339\", offset = \"trust\" }}\nlength = {{ at = \"n\", read = \"min\" }}\nstage = {{ at = \"s\" }}\n[stages]\nw = \"W\"\n"
    );
    definition("json", &body)
}

const ROW: &str = r#"{"t":"2026-04-04T22:00:00+11:00","n":1,"s":"w"}"#;

/// Returns how many rows became spans, how many were faulty, and the first message.
fn outcome(filter: &str, rows: usize) -> (u64, u64, String) {
    let input = format!("[{}]", vec![ROW; rows].join(","));
    let outcome = run(&filtered(filter), &back(), &input).unwrap();
    let message = outcome.findings.iter().chain(outcome.parts.iter().flat_map(|p| &p.findings)).next();
    assert_eq!(outcome.tally.rows, outcome.tally.sum());
    // The same row over and over is one span.
    let spans = outcome.tally.spans + outcome.tally.ignored.values().sum::<u64>();
    (spans, outcome.tally.faulty, message.map(|f| f.message.clone()).unwrap_or_default())
}

fn a_filter_is_kept_for_many_rows() {
    let begun = Instant::now();
    assert_eq!(outcome("{t, n, s}", 3000).0, 3000);
    assert!(begun.elapsed() < Duration::from_secs(20), "a child for each row would take much longer");
    assert_eq!(outcome("select(.n > 1)", 2).0, 2, "a row for which the filter gives nothing is ignored, and counted");
}

fn a_filter_that_means_harm_is_stopped() {
    for (filter, why) in [
        ("def f: [f]; f", "stack"),
        ("[range(1e9)]", ""),
        ("[limit(1e9; repeat(\"x\"))]", ""),
        ("reduce range(60) as $i (\"x\"; . + .)", ""),
        ("range(1e9)", "more than"),
        ("\"x\" * 1e9", ""),
    ] {
        let begun = Instant::now();
        let (spans, faulty, message) = outcome(filter, 1);
        assert_eq!((spans, faulty), (0, 1), "{filter}: {message}");
        assert!(message.contains(why), "{filter}: {message}");
        assert!(begun.elapsed() < Duration::from_secs(10), "{filter} took {:?}", begun.elapsed());
    }
}

fn a_filter_that_will_not_end_is_given_up() {
    let begun = Instant::now();
    let (_, faulty, message) = outcome("last(range(1e12))", 500);
    assert_eq!(faulty, 500);
    assert!(message.starts_with("the filter took more than 2 s and was stopped, in `last(range(1e12))`"), "{message}");
    assert!(begun.elapsed() < Duration::from_secs(20), "after a few rows it is not tried any more");
}

fn a_row_at_which_the_filter_fails_is_an_error() {
    let input = format!(r#"[{ROW},{{"t":5,"n":"x"}},{ROW}]"#);
    let outcome = run(&filtered("{t, n: (.n + 0), s}"), &back(), &input).unwrap();
    assert_eq!((outcome.tally.rows, outcome.tally.faulty), (3, 1));
    let finding = outcome
        .parts
        .iter()
        .flat_map(|p| &p.findings)
        .chain(&outcome.findings)
        .find(|f| f.code == "filter-failed")
        .unwrap();
    assert_eq!(finding.place.as_ref().unwrap().locator.to_string(), "$[1]");
    assert!(finding.message.contains("in `{t, n: (.n + 0), s}`"), "{}", finding.message);
}
