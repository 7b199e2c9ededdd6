//! The way of an import, beside its peers, in one run.
//!
//! `cargo bench -p counterpane --bench import` measures files of 20 MB; `-- 200` and `-- 2000` larger ones, `-- 20 200 2000`
//! all three, and a name such as `-- csv` that format only. Each pass is a process of its own over the same file, which has been read before.
//! The passes take turns, and of each the fastest counts: whatever else the machine does can only make one slower.
//!
//! `lxml` is asked by the Python that `COUNTERPANE_PYTHON` names, else by `python3`.

#![allow(missing_docs, clippy::print_stdout, reason = "the table is what a run is for")]

/// Files of any size.
mod files;
/// The passes over a file.
mod passes;

use anyhow::bail;
use files::{CASES, Case};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Fastest time and highest peak of some runs.
#[derive(Clone, Copy)]
struct Measured {
    seconds: f64,
    peak_kib: u64,
    kept: u64,
}

fn main() -> anyhow::Result<()> {
    let words: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    if let [pass, case, path] = words.as_slice()
        && ["mapped", "bare"].contains(&pass.as_str())
    {
        return passes::child(pass, case, path);
    }
    let mut sizes: Vec<u64> = words.iter().filter_map(|w| w.parse().ok()).collect();
    if sizes.is_empty() {
        sizes.push(20);
    }
    let named = |case: &&Case| {
        let names: Vec<&String> = words.iter().filter(|w| w.parse::<u64>().is_err()).collect();
        names.is_empty() || names.iter().any(|n| case.name.starts_with(n.as_str()))
    };
    let python = python();
    if python.is_none() {
        println!("not measured: lxml, because no Python with lxml is there; docs/testing.md says how to get it");
    }
    println!(
        "| file | MB | read and map, MB/s | bare parser, MB/s | ratio | lxml, MB/s | ratio | whole import, MB/s | peak, map | peak, import |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    for megabytes in sizes {
        for case in CASES.iter().filter(named) {
            row(case, megabytes, python.as_deref())?;
        }
    }
    Ok(())
}

fn row(case: &Case, megabytes: u64, python: Option<&Path>) -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join(format!("export.{}", case.ending));
    files::write(&path, case.ending, megabytes * 1_000_000)?;
    let bytes = std::fs::metadata(&path)?.len();
    let turns = if megabytes < 100 { 7 } else { 3 };
    let (mut mapped, mut bare, mut lxml, mut whole) = (None, None, None, None);
    for _ in 0..turns {
        again(&mut mapped, own("mapped", case, &path)?);
        again(&mut bare, own("bare", case, &path)?);
        if let Some(python) = python.filter(|_| case.ending == "xml") {
            let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/python/iterparse.py");
            again(&mut lxml, told(Command::new(python).arg(script).arg(&path))?);
        }
    }
    for _ in 0..turns.min(3) {
        again(&mut whole, import(folder.path(), case, &path)?);
    }
    let (Some(mapped), Some(bare), Some(whole)) = (mapped, bare, whole) else { bail!("no turn was taken") };
    if let Some(lxml) = lxml {
        anyhow::ensure!(lxml.kept == mapped.kept, "lxml keeps {}, we keep {}", lxml.kept, mapped.kept);
    }
    let speed = |m: Measured| bytes as f64 / 1e6 / m.seconds;
    let beside = lxml.map_or(("-".to_owned(), "-".to_owned()), |l| {
        (format!("{:.0}", speed(l)), format!("{:.1}", l.seconds / mapped.seconds))
    });
    println!(
        "| {} | {} | {:.0} | {:.0} | {:.2} | {} | {} | {:.0} | {:.0} MB | {:.0} MB |",
        case.name,
        bytes / 1_000_000,
        speed(mapped),
        speed(bare),
        bare.seconds / mapped.seconds,
        beside.0,
        beside.1,
        speed(whole),
        mapped.peak_kib as f64 / 1024.0,
        whole.peak_kib as f64 / 1024.0,
    );
    Ok(())
}

fn again(best: &mut Option<Measured>, now: Measured) {
    let earlier = best.unwrap_or(now);
    let (seconds, peak_kib) = (earlier.seconds.min(now.seconds), earlier.peak_kib.max(now.peak_kib));
    *best = Some(Measured { seconds, peak_kib, kept: now.kept });
}

/// One of our own passes, in a process of its own.
fn own(pass: &str, case: &Case, path: &Path) -> anyhow::Result<Measured> {
    told(Command::new(std::env::current_exe()?).args([pass, case.name]).arg(path))
}

/// Runs what prints seconds, peak KiB and what was kept.
fn told(command: &mut Command) -> anyhow::Result<Measured> {
    let output = command.stderr(Stdio::inherit()).output()?;
    let text = String::from_utf8(output.stdout)?;
    let numbers: Vec<f64> = text.split_whitespace().filter_map(|w| w.parse().ok()).collect();
    match numbers.as_slice() {
        [seconds, peak, kept] => Ok(Measured { seconds: *seconds, peak_kib: *peak as u64, kept: *kept as u64 }),
        _ => bail!("{command:?} said {text:?}"),
    }
}

/// The whole of it by the command: a new study, hashing and keeping the original, reading, checks, the store.
fn import(folder: &Path, case: &Case, path: &Path) -> anyhow::Result<Measured> {
    let study = folder.join("study");
    let _ = std::fs::remove_dir_all(&study);
    let counterpane = |words: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_counterpane"));
        command.args(words).arg("--study").arg(&study).stdout(Stdio::null());
        command
    };
    let made = Command::new(env!("CARGO_BIN_EXE_counterpane"))
        .args(["new", "--zone", "UTC"])
        .arg(&study)
        .stderr(Stdio::null())
        .status()?;
    anyhow::ensure!(made.success(), "no study was made");
    let toml = std::fs::read_to_string(study.join("study.toml"))?;
    let declared = "\n[[participant]]\ncode = \"P01\"\n[[device]]\nname = \"ring-a\"\n[[unit]]\nname = \"ring-a-1\"\ndevice = \"ring-a\"\n[[night]]\nparticipant = \"P01\"\nlabel = \"2001-01-04\"\n";
    std::fs::write(study.join("study.toml"), toml + declared)?;
    std::fs::create_dir_all(study.join("importers/bench"))?;
    std::fs::write(study.join("importers/bench/importer.toml"), case.definition)?;
    let begun = Instant::now();
    let file = path.to_string_lossy();
    // Into a file: a pipe that nobody empties would hold the import up.
    let told = folder.join("told.txt");
    let mut child = counterpane(&["import", &file, "--device", "ring-a", "--definition", "bench"])
        .stderr(std::fs::File::create(&told)?)
        .spawn()?;
    let id = child.id().to_string();
    let mut peak = 0;
    let status = loop {
        peak = peak.max(peak_of(&id).unwrap_or(0));
        if let Some(status) = child.try_wait()? {
            break status;
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    let seconds = begun.elapsed().as_secs_f64();
    let said = std::fs::read_to_string(&told)?;
    anyhow::ensure!(status.success(), "{}: {said}", case.name);
    Ok(Measured { seconds, peak_kib: peak, kept: 0 })
}

/// Returns the most memory that a process had, in KiB, where the machine tells.
pub(crate) fn peak_of(process: &str) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    status.lines().find_map(|l| l.strip_prefix("VmHWM:"))?.trim().trim_end_matches(" kB").trim().parse().ok()
}

/// Returns a Python that has lxml.
fn python() -> Option<PathBuf> {
    let python = PathBuf::from(std::env::var_os("COUNTERPANE_PYTHON").unwrap_or_else(|| "python3".into()));
    let has = Command::new(&python).args(["-c", "import lxml"]).stderr(Stdio::null()).status().ok()?;
    has.success().then_some(python)
}
