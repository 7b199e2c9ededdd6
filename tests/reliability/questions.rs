use crate::common::{Bench, Run};
use crate::study::{state, study};
use std::process::Command;
use std::time::{Duration, Instant};

/// Statements that would change something, look elsewhere or set something: refused, whatever they are dressed as.
const FORBIDDEN: &[&str] = &[
    "DELETE FROM span",
    "UPDATE span SET mark = 'W' RETURNING mark",
    "INSERT INTO meta VALUES ('a', 'b') RETURNING key",
    "REPLACE INTO meta VALUES ('tool', 'x')",
    "WITH x AS (SELECT 1) DELETE FROM span",
    "WITH x AS (SELECT 1) INSERT INTO meta SELECT 'a', 'b' FROM x",
    "DROP TABLE span",
    "DROP VIEW epoch_local",
    "ALTER TABLE span RENAME TO s",
    "CREATE TABLE t (x)",
    "CREATE TEMP TABLE t AS SELECT * FROM span",
    "CREATE TEMP VIEW v AS SELECT 1",
    "CREATE VIEW v AS SELECT 1",
    "CREATE TEMP TRIGGER t AFTER INSERT ON span BEGIN SELECT 1; END",
    "CREATE INDEX i ON span (mark)",
    "CREATE VIRTUAL TABLE t USING fts5 (x)",
    "ATTACH 'elsewhere.db' AS a",
    "ATTACH ':memory:' AS a",
    "DETACH main",
    "VACUUM",
    "VACUUM INTO 'elsewhere.db'",
    "REINDEX",
    "ANALYZE",
    "BEGIN",
    "COMMIT",
    "SAVEPOINT s",
    "PRAGMA writable_schema = 1",
    "PRAGMA journal_mode = WAL",
    "PRAGMA query_only = 0",
    "PRAGMA hard_heap_limit = 0",
    "PRAGMA table_info(span)",
    "SELECT * FROM pragma_table_info('span')",
    "SELECT * FROM pragma_database_list",
    "SELECT load_extension('x')",
    "SELECT readfile('/etc/passwd')",
    "SELECT writefile('elsewhere.db', 'x')",
    "SELECT edit('x')",
    "SELECT fts3_tokenizer('x')",
    "SELECT sqlite_compileoption_get(1)",
    "SELECT randomblob(1000000000)",
    "SELECT zeroblob(1000000000)",
    "SELECT random()",
    "SELECT * FROM sqlite_dbpage",
    "SELECT * FROM dbstat",
    "SELECT * FROM temp.sqlite_schema, elsewhere.t",
    "SELECT 1; DELETE FROM span",
    "SELECT 1; SELECT 2",
    "/* SELECT */ DELETE FROM span -- SELECT",
    "EXPLAIN DELETE FROM span",
    ".read /etc/passwd",
    "",
    ";",
];

#[test]
fn a_question_that_would_do_more_than_read_is_refused() {
    let bench = study();
    let before = state(&bench.path("s"));
    for sql in FORBIDDEN {
        let run = bench.run(&["--study", "s", "query", sql]);
        assert_eq!(run.code, 2, "`{sql}` was answered: {}", run.stdout);
        assert!(run.stdout.is_empty() && run.stderr.starts_with("error: "), "{sql}: {}", run.stderr);
        assert!(run.stderr.len() < 1000 && !run.stderr.contains("panicked"), "{sql}: {}", run.stderr);
    }
    assert_eq!(state(&bench.path("s")), before);
    assert!(!bench.path("elsewhere.db").exists());
    println!("{} statements refused", FORBIDDEN.len());
}

/// A text of a million letters, in SQL.
const LONG: &str = "printf('%.*c', 1000000, 'a')";

/// Statements that would take all time or all memory.
fn endless() -> Vec<String> {
    let n = "WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n)";
    let many = "epoch_number a, epoch_number b, epoch_number c, epoch_number d";
    vec![
        format!("{n} SELECT count(*) FROM n"),
        format!("{n} SELECT i FROM n ORDER BY i DESC"),
        format!("{n} SELECT group_concat(i) FROM n"),
        format!("{n} SELECT json_group_array(i) FROM n"),
        "WITH RECURSIVE n (i) AS (SELECT 1 UNION SELECT i + 1 FROM n) SELECT max(i) FROM n".into(),
        format!(
            "WITH RECURSIVE n (t) AS (SELECT {LONG} UNION ALL SELECT t || 'b' FROM n) SELECT count(DISTINCT t) FROM n"
        ),
        format!("WITH RECURSIVE n (t) AS (SELECT 'a' UNION ALL SELECT t || t FROM n) SELECT max(length(t)) FROM n"),
        format!("SELECT count(*) FROM {many}"),
        format!("SELECT DISTINCT a.i * b.i * c.i FROM {many}"),
        format!("SELECT * FROM {many} ORDER BY d.i, c.i DESC"),
        format!("SELECT sum(a.i) OVER (ORDER BY b.i, c.i) FROM {many}"),
        format!("SELECT {LONG} LIKE '%a%a%a%a%a%a%b'"),
        format!("SELECT {LONG} GLOB '*a*a*a*a*a*a*b'"),
        format!("SELECT count(*) FROM epoch_number WHERE {LONG} LIKE printf('%%%.*c%%b', 20000, '_')"),
        format!("SELECT length(replace({LONG}, 'a', {LONG}))"),
        format!("SELECT length(hex(hex({LONG})) || hex(hex(hex({LONG}))))"),
        "SELECT length(printf('%1000000000d', 1))".into(),
        "SELECT length(printf('%.*c', 1000000000, 'x'))".into(),
        format!("SELECT {LONG} FROM epoch_number a, epoch_number b"),
        format!("SELECT sum(instr({LONG}, {LONG} || 'b')) FROM epoch_number a, epoch_number b"),
        format!("SELECT {}1", "(".repeat(5000)),
        format!("SELECT {}1", "1 + ".repeat(5000)),
        format!("SELECT 1 {}", "UNION SELECT 1 ".repeat(1000)),
        format!("SELECT '{}'", "x".repeat(120_000)),
    ]
}

/// Runs a question with little time and in little memory.
fn bounded(bench: &Bench, sql: &str) -> (Run, Duration) {
    // 2.5 GB of addresses: what SQLite may take, the answer as rows and as text, and the program.
    let script = format!(
        "ulimit -v 2500000; exec {} --study s query \"$0\" --seconds 1 --most 10",
        env!("CARGO_BIN_EXE_counterpane")
    );
    let begun = Instant::now();
    let output = Command::new("sh").args(["-c", &script, sql]).current_dir(bench.path(".")).output().unwrap();
    (output.into(), begun.elapsed())
}

#[cfg(unix)]
#[test]
fn a_question_without_end_is_stopped_in_time_and_memory() {
    let bench = study();
    let (mut refused, mut answered) = (0, 0);
    for sql in endless() {
        let (run, took) = bounded(&bench, &sql);
        let start: String = sql.chars().take(100).collect();
        match run.code {
            0 => answered += 1,
            2 => {
                assert!(
                    run.stderr.starts_with("error: ") && !run.stderr.contains("panicked"),
                    "{start}: {}",
                    run.stderr
                );
                refused += 1;
            }
            other => panic!("{start}: exit {other}: {}", run.stderr),
        }
        // A second, and room for a machine that has other work.
        assert!(took < Duration::from_secs(20), "{start}: {took:?}");
    }
    println!("{refused} statements without end were stopped, {answered} answered with what fits");
    bench.run(&["--study", "s", "query", "SELECT count(*) FROM span WHERE label LIKE '%ee%'"]).ends(0);
}

#[test]
fn a_long_answer_is_cut_and_told() {
    let bench = study();
    let run =
        bench.run(&["--study", "s", "query", &format!("SELECT {LONG} FROM epoch_number"), "--format", "csv"]).ends(0);
    assert!(run.stderr.contains("was cut"), "{}", run.stderr);
    assert!((200_000_000..300_000_000).contains(&run.stdout.len()), "{}", run.stdout.len());
}

#[test]
fn what_is_shared_and_harmless_is_answered() {
    let bench = study();
    for sql in [
        "SELECT sql FROM sqlite_schema WHERE name = 'span'",
        "SELECT recording, count(*) FROM epoch_local GROUP BY recording",
        "WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 100000) SELECT sum(i) FROM n",
        "SELECT json_extract(act, '$.import.file') FROM decision",
        "EXPLAIN QUERY PLAN SELECT * FROM span",
        "VALUES (1), (2)",
    ] {
        bench.run(&["--study", "s", "query", sql]).ends(0);
    }
}
