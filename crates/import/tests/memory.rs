//! What an import of very many codes takes in memory: a night has a thousand, a file may have millions.

#![allow(clippy::panic, clippy::unwrap_used, clippy::print_stdout, reason = "helpers of tests")]

mod common;

use common::{back, definition};
use counterpane_formats::Limits;
use counterpane_import::{Outcome, import};

/// Codes of each file.
const CODES: usize = 2_000_000;

/// Returns the largest memory that the process has taken since the last call, in bytes; `None` where the system does not
/// say so.
fn peak() -> Option<usize> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
    std::fs::write("/proc/self/clear_refs", "5").ok()?;
    line.split_whitespace().nth(1)?.parse::<usize>().ok().map(|kib| kib * 1024)
}

/// Imports a file and returns how many bytes that took for each code, the input left out.
fn bytes_a_code(body: &str, input: &str) -> Option<usize> {
    let text = format!(
        "[[rows]]\neach = \"$\"\nstart = {{ at = \"t\", read = \"rfc3339\", offset = \"trust\" }}\n{body}\n[stages]\nw = \"W\"\nl = \"Light\"\n"
    );
    let definition = definition("json", &text);
    let rest = || std::fs::read_to_string("/proc/self/statm").ok()?.split(' ').nth(1)?.parse::<usize>().ok();
    let before = rest().map(|pages| pages * 4096);
    peak();
    let outcome: Outcome = import(&definition, &mut input.as_bytes(), &back(), Limits::default()).unwrap();
    assert_eq!(outcome.tally.rows, CODES as u64);
    let spans: usize = outcome.parts.iter().map(|p| p.spans.len()).sum();
    println!("{spans} spans, {} faulty", outcome.tally.faulty);
    assert_eq!(outcome.tally.sum(), outcome.tally.rows);
    let taken = peak()?.saturating_sub(before?);
    drop(outcome);
    Some(taken / CODES)
}

const TEXT: &str =
    "shape = \"codes\"\ncodes = { at = \"c\", split = \"letter\" }\nepoch = { const = 30, read = \"s\" }";
const LIST: &str = "shape = \"codes\"\ncodes = { at = \"c\" }\nepoch = { const = 30, read = \"s\" }";

fn letters(run: usize) -> impl Iterator<Item = char> {
    (0..CODES).map(move |n| if (n / run).is_multiple_of(2) { 'w' } else { 'l' })
}

fn text(run: usize) -> String {
    let mut out = String::with_capacity(CODES + 100);
    out.push_str("{\"t\":\"2020-04-04T22:00:00Z\",\"c\":\"");
    out.extend(letters(run));
    out + "\"}"
}

fn list(run: usize) -> String {
    let mut out = String::with_capacity(CODES * 4 + 100);
    out.push_str("{\"t\":\"2020-04-04T22:00:00Z\",\"c\":[");
    for (n, c) in letters(run).enumerate() {
        out.push_str(if n == 0 { "\"" } else { ",\"" });
        out.push(c);
        out.push('"');
    }
    out + "]}"
}

/// A file and the most bytes that each of its codes may take.
type Case = (&'static str, &'static str, fn() -> String, usize);

const CASES: [Case; 4] = [
    ("a text, ten equal codes in a row", TEXT, || text(10), 60),
    ("a text, five equal codes in a row", TEXT, || text(5), 60),
    ("a text, every code another: refused", TEXT, || text(1), 60),
    ("a list, ten equal codes in a row", LIST, || list(10), 160),
];

/// Each case runs in a process of its own: memory that an earlier one gave back would hide what a later one takes.
#[test]
fn millions_of_codes_take_little_memory() {
    if let Some(case) = std::env::var("MEMORY_CASE").ok().and_then(|n| n.parse::<usize>().ok()) {
        let (what, body, input, most) = CASES[case];
        return match bytes_a_code(body, &input()) {
            Some(bytes) => {
                println!("{what}: {bytes} bytes a code");
                assert!(bytes < most, "{what}: {bytes} bytes a code, at most {most}");
            }
            None => println!("not measured: this system does not say what a process takes"),
        };
    }
    for case in 0..CASES.len() {
        let child = std::process::Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "millions_of_codes_take_little_memory", "--nocapture"])
            .env("MEMORY_CASE", case.to_string())
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&child.stdout).into_owned();
        assert!(child.status.success(), "{said}{}", String::from_utf8_lossy(&child.stderr));
        said.lines()
            .filter(|l| l.contains("measured") || l.contains("bytes") || l.contains("faulty"))
            .for_each(|l| println!("{l}"));
    }
}
