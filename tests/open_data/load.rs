//! `load` with a list that is made from the folder.

use crate::common::{Bench, Run};
use std::fmt::Write as _;
use std::time::{Duration, Instant};

/// One line of a list.
pub(crate) struct File {
    pub(crate) path: String,
    /// `scorer` or `device`, and its name.
    pub(crate) source: (&'static str, &'static str),
    pub(crate) participant: String,
    pub(crate) night: String,
    pub(crate) start: String,
}

/// Loads files, all of which are new and sound.
pub(crate) fn load(bench: &Bench, files: &[File]) {
    list(bench, files);
    let n = files.len();
    told(&run(bench), n, &format!("brought in {n} with {n} recordings, 0 imported before"));
}

/// Loads files, is killed in the middle, and loads them again: what is in already is passed over.
pub(crate) fn load_in_two_goes(bench: &Bench, files: &[File]) {
    list(bench, files);
    let log = bench.path("study/decisions.jsonl");
    let decided = || std::fs::read_to_string(&log).map_or(0, |t| t.lines().count());
    let mut child = bench.command(&WORDS).stdout(std::process::Stdio::null()).spawn().unwrap();
    let begun = Instant::now();
    while decided() < files.len() / 4 {
        assert!(begun.elapsed() < Duration::from_secs(120), "a quarter of the list takes too long");
        std::thread::sleep(Duration::from_millis(5));
    }
    child.kill().unwrap();
    child.wait().unwrap();
    let run = run(bench);
    let before = decided_before(&run);
    let rest = files.len() - before;
    assert!(before >= files.len() / 4 && rest > 0, "the kill came in the middle: {}", run.stdout);
    told(&run, files.len(), &format!("brought in {rest} with {rest} recordings, {before} imported before"));
    assert_eq!(decided(), files.len(), "each file is one decision");
}

const WORDS: [&str; 4] = ["--study", "study", "load", "list.csv"];

fn run(bench: &Bench) -> Run {
    bench.run(&WORDS).ends(0)
}

fn list(bench: &Bench, files: &[File]) {
    let mut text = "path,scorer,device,participant,night,start,new_nights\n".to_owned();
    for f in files {
        let (scorer, device) = if f.source.0 == "scorer" { (f.source.1, "") } else { ("", f.source.1) };
        writeln!(text, "{},{scorer},{device},{},{},{},true", f.path, f.participant, f.night, f.start).unwrap();
    }
    bench.write("list.csv", text);
}

/// Compares the first sentence of a summary, wherever its lines are broken.
fn told(run: &Run, files: usize, what: &str) {
    let said = run.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.starts_with(&format!("{files} files: {what}")), "{}", run.stdout);
}

fn decided_before(run: &Run) -> usize {
    let said: Vec<&str> = run.stdout.split_whitespace().collect();
    let at = said.windows(2).position(|w| w == ["imported", "before"]).unwrap_or_else(|| panic!("{}", run.stdout));
    said[at - 1].parse().unwrap()
}
