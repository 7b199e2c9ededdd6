use crate::common::Bench;
use crate::study::{copy, files, study};
use crate::{Dice, times};
use std::collections::BTreeMap;
use std::path::Path;

/// Flips one bit of a file of the study `t`.
fn flip(path: &Path, at: u64, bit: u64) {
    let mut bytes = std::fs::read(path).unwrap();
    bytes[usize::try_from(at).unwrap()] ^= 1 << bit;
    std::fs::write(path, bytes).unwrap();
}

/// The places at which a file of `len` bytes is hurt: its ends, its middle, and some at random.
fn places(len: u64, some: u64, dice: &mut Dice) -> Vec<u64> {
    let mut out = vec![0, len / 2, len - 1];
    out.extend((0..some).map(|_| dice.below(len)));
    out
}

#[test]
fn a_flipped_bit_of_any_original_or_of_the_log_is_named() {
    let bench = study();
    copy(&bench, "s", "t");
    let mut dice = Dice::new();
    let some = times("COUNTERPANE_FLIPS", 60) / 12;
    let mut n = 0;
    let mut kept = files(&bench.path("t/originals"));
    kept.push(bench.path("t/decisions.jsonl"));
    for path in kept {
        let whole = std::fs::read(&path).unwrap();
        for at in places(whole.len() as u64, some, &mut dice) {
            flip(&path, at, dice.below(8));
            let run = bench.line("--study t verify").ends(1);
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            assert!(run.stdout.contains(&name), "byte {at} of {name}: {}", run.stdout);
            std::fs::write(&path, &whole).unwrap();
            n += 1;
        }
    }
    bench.line("--study t verify --full").ends(0);
    println!("{n} flipped bits of originals, definitions and the log, each named");
}

/// Every row of every table but `meta`, which tells of the program and of `study.toml`.
fn dump(path: &Path) -> rusqlite::Result<BTreeMap<String, Vec<String>>> {
    let db = rusqlite::Connection::open_with_flags(path, rusqlite::OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    let mut tables =
        db.prepare("SELECT name FROM sqlite_schema WHERE type = 'table' AND name <> 'meta' ORDER BY name")?;
    let tables: Vec<String> = tables.query_map([], |r| r.get(0))?.collect::<Result<_, _>>()?;
    let mut out = BTreeMap::new();
    for table in tables {
        let mut select = db.prepare(&format!("SELECT * FROM \"{table}\""))?;
        let n = select.column_count();
        let row = |r: &rusqlite::Row<'_>| {
            (0..n).map(|i| r.get_ref(i).map(|v| format!("{v:?}"))).collect::<Result<Vec<_>, _>>().map(|v| v.join("|"))
        };
        let mut rows: Vec<String> = select.query_map([], row)?.collect::<Result<_, _>>()?;
        rows.sort();
        out.insert(table, rows);
    }
    Ok(out)
}

/// A flipped bit of `study.db`: the proof names a difference, or what the store says is unchanged.
#[test]
fn a_flipped_bit_of_the_store_is_named_or_changes_nothing() {
    let bench = study();
    copy(&bench, "s", "t");
    let db = bench.path("t/study.db");
    let whole = std::fs::read(&db).unwrap();
    let good = dump(&db).unwrap();
    let mut dice = Dice::new();
    let flips = times("COUNTERPANE_FLIPS", 60);
    let (mut named, mut refused, mut harmless) = (0, 0, 0);
    // The header of the file and the pages of the schema first, then anywhere.
    let mut at: Vec<u64> = (0..100).step_by(if flips > 100 { 1 } else { 9 }).collect();
    at.extend((0..flips).map(|_| dice.below(whole.len() as u64)));
    for at in at {
        flip(&db, at, dice.below(8));
        let run = bench.line("--study t verify --full");
        match run.code {
            1 => named += 1,
            2 => {
                assert!(run.stderr.contains("study.db"), "byte {at}: {}", run.stderr);
                refused += 1;
            }
            0 => {
                assert_eq!(dump(&db).unwrap(), good, "byte {at} was changed, and verify --full saw nothing");
                harmless += 1;
            }
            other => panic!("byte {at}: exit {other}\n{}\n{}", run.stdout, run.stderr),
        }
        std::fs::write(&db, &whole).unwrap();
    }
    println!(
        "flipped bits of study.db: {named} named, {refused} refused as another file or version, {harmless} in places that say nothing"
    );
    assert!(named > 0);
    rebuilt(&bench);
}

/// Whatever happened to `study.db`, it can be made anew.
fn rebuilt(bench: &Bench) {
    let db = bench.path("t/study.db");
    let bytes = std::fs::read(&db).unwrap();
    std::fs::write(&db, &bytes[..bytes.len() / 2]).unwrap();
    bench.line("--study t verify").ends(1);
    bench.line("--study t rebuild").ends(0);
    bench.line("--study t verify --full").ends(0);
}
