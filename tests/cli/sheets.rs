use crate::common::{Bench, absent, root};
use crate::import::study;
use std::process::{Command, Stdio};

/// A night whose clocks go back, and a filled sheet of it.
fn filled(bench: &Bench) -> String {
    study(bench, "Europe/Berlin");
    bench.line("--study s sheet new 2026-04-03 ring-a-1 --reader AB -o blank.tsv").ends(0);
    let blank = std::fs::read_to_string(bench.path("blank.tsv")).unwrap();
    let blank = blank.replace("head\tprecision\t", "head\tprecision\t1");
    format!(
        "{blank}change\t22:10\twake\nchange\t22.30\tlight\nchange\t2350\tdeep\nchange\t12:40 am\trem\nchange\t6:05\tend\n"
    )
}

#[test]
fn a_filled_sheet_says_of_itself_whose_it_is() {
    let bench = Bench::new();
    let sheet = filled(&bench);
    assert!(sheet.contains("\nhead\tunit\tring-a-1\n") && sheet.contains("\nhead\tzone\tEurope/Berlin\n"), "{sheet}");
    bench.write("one.tsv", &sheet);
    let said = bench.line("--study s import one.tsv").ends(0);
    assert!(said.stderr.contains("`typed-changes`") || said.stdout.contains("`typed-changes`"), "{}", said.stdout);
    let spans = "SELECT count(*) FROM span";
    assert_eq!(
        bench.run(&["--study", "s", "query", spans, "--format", "csv"]).ends(0).stdout.lines().last(),
        Some("4")
    );
    bench.line("--study s rebuild").ends(0);
    bench.line("--study s verify").ends(0);
}

#[test]
fn a_sheet_of_another_night_unit_or_zone_is_refused() {
    let bench = Bench::new();
    let sheet = filled(&bench);
    bench.write("one.tsv", &sheet);
    let said = bench.line("--study s import one.tsv --night 2026-04-09").ends(2).stderr;
    assert!(said.contains("the sheet is of the night `2026-04-03`, not `2026-04-09`"), "{said}");
    bench.write("zone.tsv", sheet.replace("Europe/Berlin", "Europe/Athens"));
    let said = bench.line("--study s import zone.tsv").ends(2).stderr.replace('\n', " ");
    assert!(said.contains("its times are of Europe/Athens"), "{said}");
    bench.write("twice.tsv", sheet.replace("head\tpass\t1", "head\tpass\t1\nhead\tpass\t2"));
    let said = bench.line("--study s import twice.tsv").ends(2).stderr;
    assert!(said.contains("`pass` stands there twice"), "{said}");
}

#[test]
fn what_cannot_be_meant_is_an_error_at_its_cell() {
    let bench = Bench::new();
    let sheet = filled(&bench);
    for (from, to, code) in [
        ("23.4", "2350", "time-unreadable"),
        ("2350\tdepe", "2350\tdeep", "unmapped-label"),
        ("22:30\tdeep", "2350\tdeep", "length-not-positive"),
        ("22:20\tdeep", "2350\tdeep", "order-backwards"),
        ("", "change\t6:05\tend\n", "end-missing"),
    ] {
        bench.write("bad.tsv", sheet.replace(to, from));
        let said = bench.line("--study s import bad.tsv --dry-run").stdout;
        assert!(said.contains(code) && said.contains("bad.tsv, line "), "{from}: {said}");
    }
}

#[test]
fn a_blank_sheet_is_not_written_over_and_needs_a_name_that_says_what_it_is() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    let new = "--study s sheet new 2026-04-03 ring-a-1";
    bench.line(&format!("{new} -o a.xlsx")).ends(0);
    let said = bench.line(&format!("{new} -o a.xlsx")).ends(2).stderr;
    assert!(said.contains("is there already"), "{said}");
    bench.line(&format!("{new} -o a.xlsx --replace")).ends(0);
    let said = bench.line(&format!("{new} -o a.pdf")).ends(2).stderr;
    assert!(said.contains(".xlsx or .tsv"), "{said}");
    let said = bench.line("--study s sheet new 2026-04-03 S1").ends(2).stderr;
    assert!(said.contains("--scorer S1"), "{said}");
    let said = bench.line("--study s import a.xlsx").ends(2).stderr;
    assert!(said.contains("it holds no rows yet"), "{said}");
}

#[test]
fn a_printed_list_is_typed_as_ranges_of_epochs() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.line("--study s sheet new 2026-04-03 --scorer S1 -o list.tsv").ends(0);
    let blank = std::fs::read_to_string(bench.path("list.tsv")).unwrap();
    let sheet = blank
        .replace("head\tepoch 1\t", "head\tepoch 1\t2026-04-03 22:30:00")
        .replace("head\tlights off\t", "head\tlights off\t22:31");
    bench.write("list.tsv", format!("{sheet}epochs\t1-43\tW\nepochs\t44\tN1\nepochs\t45-100\tS2\n"));
    bench.line("--study s import list.tsv").ends(0);
    let sql = "SELECT count(*) FROM epoch_local";
    assert_eq!(
        bench.run(&["--study", "s", "query", sql, "--format", "csv"]).ends(0).stdout.lines().last(),
        Some("100")
    );
}

/// A workbook that is filled in by another program, and one that LibreOffice saved, say the same as the plain text.
#[test]
fn a_workbook_survives_other_programs() {
    let python = std::env::var("COUNTERPANE_PYTHON").unwrap_or_else(|_| "python3".into());
    let there = |program: &str, args: &[&str]| {
        Command::new(program).args(args).stdout(Stdio::null()).stderr(Stdio::null()).status().is_ok_and(|s| s.success())
    };
    if !there(&python, &["-c", "import openpyxl"]) {
        return absent("python", "a Python with openpyxl: pip install -r tests/python/requirements.txt");
    }
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.line("--study s sheet new 2026-04-03 ring-a-1 -o blank.xlsx").ends(0);
    let script = root().join("tests/python/fill_sheet.py");
    let filled =
        Command::new(&python).arg(script).arg(bench.path("blank.xlsx")).arg(bench.path("filled.xlsx")).output();
    let filled = filled.unwrap();
    assert!(filled.status.success(), "{}", String::from_utf8_lossy(&filled.stderr));
    let minutes = |file: &str| {
        let said = bench.line(&format!("--study s import {file} --dry-run --format json")).ends(0).json();
        said["files"][0]["recordings"][0]["minutes"].to_string()
    };
    let told = minutes("filled.xlsx");
    assert_eq!(told, r#"{"Light":80.0,"N3":50.0,"R":325.0,"W":20.0}"#);
    if !there("soffice", &["--version"]) {
        return absent("soffice", "LibreOffice: apt-get install libreoffice-calc");
    }
    let profile = format!("-env:UserInstallation=file://{}", bench.path("profile").display());
    let convert = |to: &str, file: &str, folder: &str| {
        let (file, folder) = (bench.path(file), bench.path(folder));
        let mut command = Command::new("soffice");
        command.args([&profile, "--headless", "--convert-to", to, "--outdir"]).arg(folder).arg(file);
        assert!(command.output().unwrap().status.success());
    };
    convert("ods", "filled.xlsx", "saved");
    convert("xlsx", "saved/filled.ods", "saved");
    assert_eq!([minutes("saved/filled.ods"), minutes("saved/filled.xlsx")], [told.clone(), told]);
    let script = root().join("tests/python/fill_sheet.py");
    let kept = Command::new(&python).arg(script).arg(bench.path("saved/filled.xlsx")).output().unwrap();
    assert!(kept.status.success(), "what LibreOffice saved: {}", String::from_utf8_lossy(&kept.stderr));
}
