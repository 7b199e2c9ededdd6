use crate::common::{Bench, absent, passed_over, root};
use std::process::{Command, Stdio};

/// Any SQLite tool may read the store: Python's own and pandas see the same rows as `query`.
#[test]
fn python_and_pandas_read_the_views() {
    let python = std::env::var("COUNTERPANE_PYTHON").unwrap_or_else(|_| "python3".into());
    let there = Command::new(&python).args(["-c", "import pandas"]).stderr(Stdio::null()).status();
    if !there.is_ok_and(|s| s.success()) {
        absent(
            "python",
            "a Python with pandas: pip install -r tests/python/requirements.txt, and COUNTERPANE_PYTHON names it",
        );
        return;
    }
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    let script = root().join("tests/python/views.py");
    let output = Command::new(python).arg(script).arg(bench.path("d/study/study.db")).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let said: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let query = |sql: &str| bench.run(&["--study", "d/study", "query", sql, "--format", "json"]).ends(0).json();
    for view in ["epoch_local", "night_summary", "open_finding"] {
        let rows = query(&format!("SELECT count(*) FROM {view}"))["rows"][0][0].clone();
        assert_eq!(said["plain"][view], rows, "{view}");
        assert_eq!(said["pandas"][view], rows, "{view}");
        assert_eq!(said["columns"][view], query(&format!("SELECT * FROM {view} LIMIT 1"))["columns"], "{view}");
    }
    assert_eq!(said["times_wrong"], 0, "local times do not read back to their instants");
    let epochs = query("SELECT recording || ' ' || stage, count(*) FROM epoch_local GROUP BY 1");
    let epochs = epochs["rows"].as_array().unwrap();
    assert!(epochs.len() > 50);
    for row in epochs {
        assert_eq!(said["epochs"][row[0].as_str().unwrap()], row[1], "{}", row[0]);
    }
    println!("SQLite {} of Python and pandas read {} epochs", said["sqlite"], said["plain"]["epoch_local"]);
}

#[test]
fn what_needs_python_is_passed_over_without_it_and_fails_where_it_is_required() {
    passed_over("python", &["--exact", "readers::python_and_pandas_read_the_views"]);
}
