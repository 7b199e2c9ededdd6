//! What end-to-end tests share: the built binary, folders that go away, and tests that need something.

#![allow(dead_code, reason = "not every test binary uses everything")]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// Returns the root of the checkout.
pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// Says that a test is not run because something is absent, and fails when `COUNTERPANE_REQUIRE` lists it.
pub(crate) fn absent(what: &str, how: &str) {
    let required = std::env::var("COUNTERPANE_REQUIRE").unwrap_or_default();
    assert!(
        !required.split(',').any(|r| r.trim() == what),
        "COUNTERPANE_REQUIRE lists `{what}`, which is absent: {how}"
    );
    println!("not run: `{what}` is absent: {how}");
}

/// study.toml of a study with one ring and two nights, on the second of which clocks in Berlin went back.
pub(crate) const TRACED: &str = r#"version = 1
name = "Traced"
zone = "Europe/Berlin"
[[participant]]
code = "P01"
[[device]]
name = "ring-x"
[[unit]]
name = "ring-x-1"
device = "ring-x"
participant = "P01"
[[night]]
participant = "P01"
label = "2026-04-04"
[[night]]
participant = "P01"
label = "2026-10-24"
"#;

/// A folder that is removed at the end of the test, and the binary to be run in it.
pub(crate) struct Bench {
    dir: tempfile::TempDir,
}

/// What a run of the binary gave.
pub(crate) struct Run {
    pub(crate) code: i32,
    pub(crate) stdout: String,
    pub(crate) stderr: String,
}

impl Run {
    /// Returns the run when it ended with that exit status; shows everything otherwise.
    #[track_caller]
    pub(crate) fn ends(self, code: i32) -> Run {
        assert_eq!(self.code, code, "--- stdout\n{}\n--- stderr\n{}", self.stdout, self.stderr);
        self
    }

    /// Returns stdout as JSON.
    #[track_caller]
    pub(crate) fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.stdout).unwrap_or_else(|e| panic!("{e}\n{}", self.stdout))
    }
}

impl From<Output> for Run {
    fn from(output: Output) -> Run {
        Run {
            code: output.status.code().unwrap_or(-1),
            stdout: String::from_utf8(output.stdout).unwrap(),
            stderr: String::from_utf8(output.stderr).unwrap(),
        }
    }
}

impl Bench {
    pub(crate) fn new() -> Bench {
        Bench { dir: tempfile::tempdir().unwrap() }
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    /// Writes a file and returns its path.
    pub(crate) fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, bytes).unwrap();
        path
    }

    /// Returns a command of the binary, in the folder, with an environment that changes nothing.
    pub(crate) fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_counterpane"));
        command
            .args(words)
            .current_dir(self.dir.path())
            .env("COLUMNS", "80")
            .env_remove("COUNTERPANE_STUDY")
            .env_remove("COUNTERPANE_AUTHOR")
            // A zone that no test uses: the machine's own must never matter.
            .env("TZ", "Pacific/Chatham");
        command
    }

    /// Runs the binary with words.
    pub(crate) fn run(&self, words: &[&str]) -> Run {
        self.command(words).output().unwrap().into()
    }

    /// Runs the binary with the words of a line, separated by blanks.
    pub(crate) fn line(&self, line: &str) -> Run {
        self.run(&line.split_whitespace().collect::<Vec<_>>())
    }
}

/// Copies a folder with all that is in it.
pub(crate) fn copy_folder(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy_folder(&path, &target);
        } else {
            std::fs::copy(&path, &target).unwrap();
        }
    }
}
