//! Pages in headless Chromium: the demo's report, and the page of `sheet trace`.
#![expect(clippy::unwrap_used, clippy::panic, clippy::print_stdout, reason = "a test may panic and print")]

/// The report: `check_report.py` looks and touches.
mod report;
/// The tracing page: `check_trace.py` traces pictures of eight styles.
mod trace;

#[path = "../common/mod.rs"]
mod common;

use common::{absent, passed_over, root};
use std::process::Command;

/// Returns the Python that speaks to the browser; none, and says so, where either is absent.
fn browser() -> Option<String> {
    let python = std::env::var("COUNTERPANE_PYTHON").unwrap_or_else(|_| "python3".into());
    let there = |program: &str| Command::new(program).arg("--version").output().is_ok_and(|o| o.status.success());
    if ["chromium", python.as_str()].into_iter().all(there) {
        return Some(python);
    }
    absent("browser", "chromium and python3; on Debian: apt-get install chromium");
    None
}

/// Runs a script of this folder and returns what it said.
fn script(python: &str, name: &str, words: &[&std::ffi::OsStr]) -> String {
    let output = Command::new(python).arg(root().join("tests/browser").join(name)).args(words).output().unwrap();
    let said = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    println!("{said}");
    assert!(output.status.success(), "{said}");
    assert!(said.lines().filter(|l| l.contains("ok")).count() >= 5, "the script says what it looked at: {said}");
    said
}

#[test]
fn every_test_here_is_passed_over_without_a_browser_and_fails_where_it_is_required() {
    passed_over("browser", &["--skip", "every_test_here"]);
}
