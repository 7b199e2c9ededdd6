//! The demo's report in headless Chromium: `tests/browser/check_report.py` looks and touches.
#![expect(clippy::unwrap_used, clippy::panic, clippy::print_stdout, reason = "a test may panic and print")]

#[path = "../common/mod.rs"]
mod common;

use common::{Bench, absent, root};
use std::process::Command;

#[test]
fn the_report_answers_and_asks_nothing_of_the_network() {
    let python = std::env::var("COUNTERPANE_PYTHON").unwrap_or_else(|_| "python3".into());
    let there = |program: &str| Command::new(program).arg("--version").output().is_ok_and(|o| o.status.success());
    if !["chromium", python.as_str()].into_iter().all(there) {
        absent("browser", "chromium and python3; on Debian: apt-get install chromium");
        return;
    }
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let output = Command::new(python)
        .arg(root().join("tests/browser/check_report.py"))
        .arg(bench.path("d/report.html"))
        .output()
        .unwrap();
    let said = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    println!("{said}");
    assert!(output.status.success(), "{said}");
    assert!(said.lines().filter(|l| l.contains("ok")).count() >= 5, "the script says what it looked at: {said}");
}
