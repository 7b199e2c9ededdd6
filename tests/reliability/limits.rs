use crate::common::{Bench, Run};
use crate::study::{copy, files, ring, state, study};
use std::process::{Command, Stdio};

/// Runs the binary where no file may grow beyond so many blocks of 512 bytes.
fn with_blocks(bench: &Bench, blocks: u64, line: &str) -> Run {
    // Without the trap the signal would end the program before it can say why.
    let script = format!("trap '' XFSZ; ulimit -f {blocks}; exec {} {line}", env!("CARGO_BIN_EXE_counterpane"));
    let mut shell = Command::new("sh");
    shell.args(["-c", &script]).current_dir(bench.path(".")).env_remove("COUNTERPANE_STUDY");
    shell.output().unwrap().into()
}

#[cfg(unix)]
#[test]
fn without_room_an_import_is_absent_or_whole_and_says_why() {
    let bench = study();
    bench.write("more.json", ring("2026-04-05", &["awake", "deep", "dream"]));
    let size = std::fs::metadata(bench.path("s/study.db")).unwrap().len() / 512;
    let (mut refused, mut whole) = (0, 0);
    for blocks in (0..8).chain([size / 2, size - 1, size, size + 1, size + 8, size + 64]) {
        copy(&bench, "s", "t");
        let run = with_blocks(&bench, blocks, "--study t import more.json --unit ring-a-1");
        match run.code {
            0 => whole += 1,
            2 => {
                assert!(!run.stderr.trim().is_empty() && !run.stderr.contains("panicked"), "{}", run.stderr);
                refused += 1;
            }
            other => panic!("{blocks} blocks: exit {other}: {}", run.stderr),
        }
        bench.line("--study t verify --full").ends(0);
        bench.line("--study t import more.json --unit ring-a-1").ends(0);
        bench.line("--study t verify --full").ends(0);
    }
    println!("files limited in size: {refused} imports refused, {whole} whole");
    assert!(refused > 0 && whole > 0);
}

/// A small disk, as far as this machine lets a test have one.
#[cfg(target_os = "linux")]
struct Disk(std::path::PathBuf);

#[cfg(target_os = "linux")]
impl Disk {
    fn new(at: std::path::PathBuf, bytes: u64) -> Option<Disk> {
        std::fs::create_dir_all(&at).unwrap();
        let size = format!("size={bytes}");
        let mount =
            Command::new("mount").args(["-t", "tmpfs", "-o", &size, "tmpfs"]).arg(&at).stderr(Stdio::null()).status();
        mount.is_ok_and(|s| s.success()).then_some(Disk(at))
    }
}

#[cfg(target_os = "linux")]
impl Drop for Disk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(&self.0).status();
    }
}

#[cfg(target_os = "linux")]
#[test]
fn on_a_full_disk_an_import_is_absent_or_whole_and_says_why() {
    let bench = study();
    bench.write("more.json", ring("2026-04-05", &["awake", "deep", "dream"]));
    let size: u64 =
        files(&bench.path("s")).iter().map(|f| std::fs::metadata(f).unwrap().len().next_multiple_of(4096)).sum();
    let (mut refused, mut whole) = (0, 0);
    for room in [0, 4, 8, 12, 16, 24, 32, 40, 48, 64, 96, 128, 256] {
        // Folders and an empty lock take pages of their own.
        let Some(disk) = Disk::new(bench.path("disk"), size + (room + 8) * 1024) else {
            println!("not run: this machine lets no test mount a small disk");
            return;
        };
        copy(&bench, "s", "disk/t");
        let run = bench.line("--study disk/t import more.json --unit ring-a-1");
        match run.code {
            0 => whole += 1,
            2 => {
                assert!(run.stderr.contains("full") || run.stderr.contains("space"), "{}", run.stderr);
                refused += 1;
            }
            other => panic!("{room} kB of room: exit {other}: {}", run.stderr),
        }
        bench.line("--study disk/t verify --full").ends(0);
        drop(disk);
    }
    println!("small disks: {refused} imports refused, {whole} whole");
    assert!(refused > 0 && whole > 0);
}

/// Runs the binary as somebody who may not write: as another user where the test runs as root.
#[cfg(unix)]
fn as_a_guest(bench: &Bench, line: &str) -> Run {
    use std::os::unix::fs::MetadataExt as _;
    use std::os::unix::process::CommandExt as _;
    let mut command = bench.command(&line.split_whitespace().collect::<Vec<_>>());
    if std::fs::metadata(bench.path("s")).unwrap().uid() == 0 {
        command.uid(65_534).gid(65_534);
    }
    command.output().unwrap().into()
}

#[cfg(unix)]
#[test]
fn in_a_read_only_folder_reading_works_and_writing_says_why_not() {
    use std::os::unix::fs::PermissionsExt as _;
    let bench = study();
    let mode = |path: &std::path::Path, mode| {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
    };
    bench.write("more.json", ring("2026-04-05", &["awake", "deep"]));
    let mut folders = vec![bench.path("."), bench.path("s"), bench.path("s/originals")];
    folders.extend(std::fs::read_dir(bench.path("s/originals")).unwrap().map(|e| e.unwrap().path()));
    files(&bench.path(".")).iter().for_each(|f| mode(f, 0o444));
    folders.iter().for_each(|f| mode(f, 0o555));
    let before = state(&bench.path("s"));
    for line in [
        "nights",
        "show 2026-04-03",
        "check",
        "compare",
        "verify",
        "verify --full",
        "lineage 2026-04-03 ring-a N3",
        "query SELECT(1)",
    ] {
        let run = as_a_guest(&bench, &format!("--study s {line}"));
        assert_eq!(run.code, 0, "{line}: {}{}", run.stdout, run.stderr);
    }
    for line in ["import more.json --unit ring-a-1", "rebuild", "load more.csv"] {
        let run = as_a_guest(&bench, &format!("--study s {line}"));
        assert_eq!(run.code, 2, "{line}: {}{}", run.stdout, run.stderr);
        assert!(run.stderr.starts_with("error: "), "{line}: {}", run.stderr);
    }
    assert_eq!(state(&bench.path("s")), before);
    folders.iter().for_each(|f| mode(f, 0o755));
}

#[test]
fn a_newer_store_is_refused_and_an_older_one_migrated_with_a_copy_kept() {
    let bench = study();
    copy(&bench, "s", "t");
    let db = bench.path("t/study.db");
    rusqlite::Connection::open(&db).unwrap().pragma_update(None, "user_version", 99).unwrap();
    let before = std::fs::read(&db).unwrap();
    for line in ["nights", "import ring.json --unit ring-a-1", "verify"] {
        let said = bench.line(&format!("--study t {line}")).ends(2).stderr.replace('\n', " ");
        assert!(said.contains("has schema 99") && said.contains("use a newer counterpane"), "{line}: {said}");
    }
    assert_eq!(std::fs::read(&db).unwrap(), before);
    copy(&bench, "s", "t");
    as_schema_1(&db);
    let old = std::fs::read(&db).unwrap();
    assert!(bench.line("--study t verify").ends(2).stderr.contains("older schema"));
    assert_eq!(std::fs::read(&db).unwrap(), old, "verify migrates nothing");
    bench.line("--study t check").ends(0);
    let kept = rusqlite::Connection::open(bench.path("t/study.schema-1.db")).unwrap();
    assert_eq!(kept.query_row("PRAGMA user_version", [], |r| r.get::<_, i64>(0)).unwrap(), 1);
    bench.line("--study t verify --full").ends(0);
}

/// Makes a store as the first schema had it, with the contents of a store of today.
pub(crate) fn as_schema_1(path: &std::path::Path) {
    let today = path.with_file_name("today.db");
    std::fs::rename(path, &today).unwrap();
    let db = rusqlite::Connection::open(path).unwrap();
    db.execute_batch(include_str!("../../crates/store/tests/data/store-1.sql")).unwrap();
    db.execute("ATTACH ?1 AS today", [today.to_str().unwrap()]).unwrap();
    let names = "SELECT group_concat(name) FROM main.sqlite_schema WHERE type = 'table'";
    let names: String = db.query_row(names, [], |r| r.get(0)).unwrap();
    for name in names.split(',') {
        let sql = "SELECT group_concat('\"' || name || '\"') FROM pragma_table_info(?1)";
        let columns: String = db.query_row(sql, [name], |r| r.get(0)).unwrap();
        db.execute_batch(&format!("INSERT INTO main.{name} ({columns}) SELECT {columns} FROM today.{name}")).unwrap();
    }
    db.pragma_update(None, "application_id", 0x6370_616e).unwrap();
    db.pragma_update(None, "user_version", 1).unwrap();
    drop(db);
    std::fs::remove_file(&today).unwrap();
}

#[test]
fn many_writers_at_once_leave_a_study_that_can_be_proven() {
    let bench = study();
    let start = |i: usize| {
        let depth = ["awake", "deep", "dream", "shallow"][i % 4];
        let name = format!("w{i}.json");
        bench.write(&name, ring("2026-04-05", &[depth, "deep", "awake", depth][..2 + i % 3]));
        let words =
            ["--study", "s", "import", &name, "--unit", if i.is_multiple_of(2) { "ring-a-1" } else { "ring-a-2" }];
        bench.command(&words).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap()
    };
    let children: Vec<_> = (0..8).map(start).collect();
    let mut done = 0;
    for child in children {
        let run: Run = child.wait_with_output().unwrap().into();
        assert!(run.code == 0 || run.stderr.contains("another counterpane is writing"), "{}", run.stderr);
        done += u64::from(run.code == 0);
    }
    bench.line("--study s verify --full").ends(0);
    println!("8 writers at once: {done} done, {} told to try again", 8 - done);
    assert!(done > 0);
}

#[test]
fn verify_waits_for_a_writer_and_says_so_when_it_takes_long() {
    let bench = study();
    let lock = std::fs::File::options().write(true).open(bench.path("s/.lock")).unwrap();
    lock.lock().unwrap();
    assert!(bench.line("--study s verify").ends(2).stderr.contains("another counterpane is writing"));
    drop(lock);
    bench.line("--study s verify").ends(0);
}
