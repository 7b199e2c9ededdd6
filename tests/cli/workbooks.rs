//! Sheets as workbooks, filled in and saved by other programs.

use crate::common::{Bench, absent, passed_over, root};
use crate::import::study;
use std::process::{Command, Stdio};

fn python() -> String {
    std::env::var("COUNTERPANE_PYTHON").unwrap_or_else(|_| "python3".into())
}

/// Says whether a program runs with these words; says so and fails where it must be there.
fn there(what: &str, how: &str, program: &str, words: &[&str]) -> bool {
    let run = Command::new(program).args(words).stdout(Stdio::null()).stderr(Stdio::null()).status();
    let runs = run.is_ok_and(|s| s.success());
    if !runs {
        absent(what, how);
    }
    runs
}

fn python_is_there() -> bool {
    let how = "a Python with openpyxl: pip install -r tests/python/requirements.txt";
    there("python", how, &python(), &["-c", "import openpyxl"])
}

/// A study, and `filled.xlsx`, a sheet of it that Python filled in.
fn filled() -> Bench {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.line("--study s sheet new 2026-04-03 ring-a-1 -o blank.xlsx").ends(0);
    fill(&bench, &["blank.xlsx", "filled.xlsx"]);
    bench
}

/// Looks at a workbook, and fills it in where a second name is given.
fn fill(bench: &Bench, files: &[&str]) {
    let script = root().join("tests/python/fill_sheet.py");
    let output = Command::new(python()).arg(script).args(files.iter().map(|f| bench.path(f))).output().unwrap();
    assert!(output.status.success(), "{files:?}: {}", String::from_utf8_lossy(&output.stderr));
}

/// The minutes that an import of a sheet would give.
fn minutes(bench: &Bench, file: &str) -> String {
    let said = bench.line(&format!("--study s import {file} --dry-run --format json")).ends(0).json();
    said["files"][0]["recordings"][0]["minutes"].to_string()
}

const MINUTES: &str = r#"{"Light":80.0,"N3":50.0,"R":325.0,"W":20.0}"#;

#[test]
fn a_workbook_is_filled_in_by_another_program() {
    if python_is_there() {
        assert_eq!(minutes(&filled(), "filled.xlsx"), MINUTES);
    }
}

#[test]
fn a_workbook_that_libreoffice_saved_says_the_same() {
    let how = "LibreOffice: apt-get install libreoffice-calc";
    if !there("soffice", how, "soffice", &["--version"]) || !python_is_there() {
        return;
    }
    let bench = filled();
    let profile = format!("-env:UserInstallation=file://{}", bench.path("profile").display());
    let convert = |to: &str, file: &str| {
        let mut command = Command::new("soffice");
        command.args([&profile, "--headless", "--convert-to", to, "--outdir"]).arg(bench.path("saved"));
        assert!(command.arg(bench.path(file)).output().unwrap().status.success());
    };
    convert("ods", "filled.xlsx");
    convert("xlsx", "saved/filled.ods");
    assert_eq!([minutes(&bench, "saved/filled.ods"), minutes(&bench, "saved/filled.xlsx")], [MINUTES; 2]);
    fill(&bench, &["saved/filled.xlsx"]);
}

#[test]
fn what_needs_other_programs_is_passed_over_without_them_and_fails_where_they_are_required() {
    passed_over("python", &["--exact", "workbooks::a_workbook_is_filled_in_by_another_program"]);
    passed_over("soffice", &["--exact", "workbooks::a_workbook_that_libreoffice_saved_says_the_same"]);
}
