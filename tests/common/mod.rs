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

/// Runs tests of this binary, chosen by words, again as if no other program were installed. Each must say that it is not run
/// because `what` is absent, and pass; and where `COUNTERPANE_REQUIRE` lists it, each must fail.
#[track_caller]
pub(crate) fn passed_over(what: &str, words: &[&str]) {
    let nothing = tempfile::tempdir().unwrap();
    let run = |required: &str| {
        let mut command = Command::new(std::env::current_exe().unwrap());
        command.args(["--nocapture", "--test-threads=1"]).args(words).env("PATH", nothing.path());
        command.env_remove("COUNTERPANE_PYTHON").env("COUNTERPANE_REQUIRE", required);
        let output = command.output().unwrap();
        let text = [output.stdout, output.stderr].map(|t| String::from_utf8(t).unwrap()).concat();
        (output.status.success(), text)
    };
    let count = |text: &str, word: &str| -> usize {
        let sum = text.lines().find(|l| l.starts_with("test result: ")).unwrap_or_default();
        sum.split(['.', ';']).find_map(|p| p.trim().strip_suffix(word)?.trim().parse().ok()).unwrap_or(0)
    };
    let (passed, said) = run("");
    let told = said.matches(&format!("not run: `{what}` is absent: ")).count();
    assert!(passed && told > 0 && told == count(&said, "passed"), "without any program: {said}");
    let (passed, said) = run(what);
    assert!(!passed && count(&said, "failed") == told && count(&said, "passed") == 0, "required: {said}");
    assert!(said.contains(&format!("COUNTERPANE_REQUIRE lists `{what}`, which is absent")), "{said}");
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

/// Returns a picture that any program can show: PNG, `width` pixels of one grey in a row, with a text of that name in its
/// metadata where one is given (W3C, Portable Network Graphics, third edition; RFC 1950 and 1951 for its data).
pub(crate) fn png(width: u8, text: Option<&str>) -> Vec<u8> {
    let chunk = |name: &[u8], data: &[u8]| {
        let whole = [name, data].concat();
        let length = u32::try_from(data.len()).unwrap().to_be_bytes();
        [&length[..], &whole, &crc32(&whole).to_be_bytes()].concat()
    };
    // A row begins with its filter, 0 for none.
    let row = [&[0][..], &vec![0x99; usize::from(width)]].concat();
    let n = u16::try_from(row.len()).unwrap();
    let stored =
        [&[0x78, 1, 1][..], &n.to_le_bytes(), &(!n).to_le_bytes(), &row, &adler32(&row).to_be_bytes()].concat();
    let head = [&[0, 0, 0, width, 0, 0, 0, 1, 8, 0, 0, 0, 0][..]].concat();
    let text = text.map(|t| chunk(b"tEXt", format!("{t}\0invented").as_bytes())).unwrap_or_default();
    [b"\x89PNG\r\n\x1a\n".to_vec(), chunk(b"IHDR", &head), text, chunk(b"IDAT", &stored), chunk(b"IEND", b"")].concat()
}

fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |c, _| if c & 1 == 1 { (c >> 1) ^ 0xedb8_8320 } else { c >> 1 })
    })
}

fn adler32(bytes: &[u8]) -> u32 {
    let (a, b) = bytes.iter().fold((1, 0), |(a, b), byte| {
        let a = (a + u32::from(*byte)) % 65521;
        (a, (b + a) % 65521)
    });
    b << 16 | a
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
