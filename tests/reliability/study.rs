use crate::common::Bench;
use std::path::{Path, PathBuf};

/// A study `s` with two nights, a ring, a mat with a fault, and a scorer; what is in it was invented.
pub(crate) fn study() -> Bench {
    let bench = Bench::new();
    bench.line("new s --zone Europe/Berlin").ends(0);
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", format!("{text}{DECLARATIONS}"));
    bench.write("ring.json", ring("2026-04-03", &["awake", "shallow", "deep", "dream", "shallow"]));
    bench.write("S1.txt", "W\nW\nN1\nN2\nN2\nN3\nR\n".repeat(40));
    bench.line("--study s import ring.json --unit ring-a-1").ends(0);
    bench
        .line("--study s import S1.txt --scorer S1 --night 2026-04-03 --start 22:00 --definition code-per-line")
        .ends(0);
    bench
}

const DECLARATIONS: &str = "
[[participant]]
code = \"P01\"
[[scorer]]
code = \"S1\"
scored_by = \"human\"
[[device]]
name = \"ring-a\"
definition = \"ring-a\"
[[unit]]
name = \"ring-a-1\"
device = \"ring-a\"
[[unit]]
name = \"ring-a-2\"
device = \"ring-a\"
[[night]]
participant = \"P01\"
label = \"2026-04-03\"
[[night]]
participant = \"P01\"
label = \"2026-04-05\"
";

/// An export of ring-a of one evening, an hour a piece from 22:00 on.
pub(crate) fn ring(evening: &str, depths: &[&str]) -> String {
    let piece = |(i, depth): (usize, &&str)| {
        let at = |hours: usize| {
            let minutes = 22 * 60 + hours * 60;
            let day = evening[8..].parse::<usize>().unwrap() + minutes / 1440;
            format!("{}{day:02}T{:02}:{:02}:00+02:00", &evening[..8], minutes % 1440 / 60, minutes % 60)
        };
        serde_json::json!({"from": at(i), "to": at(i + 1), "depth": depth})
    };
    let pieces: Vec<_> = depths.iter().enumerate().map(piece).collect();
    serde_json::json!({"made_by": "ring-a (invented)", "account": "P01", "sleeps": [{"evening": evening, "pieces": pieces}]})
        .to_string()
}

/// Every file below a folder, in order.
pub(crate) fn files(folder: &Path) -> Vec<PathBuf> {
    let mut out = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { out.extend(files(&path)) } else { out.push(path) }
    }
    out.sort();
    out
}

/// Copies a study, read-only originals and all.
pub(crate) fn copy(bench: &Bench, from: &str, to: &str) {
    let (from, to) = (bench.path(from), bench.path(to));
    let _ = std::fs::remove_dir_all(&to);
    for file in files(&from) {
        let target = to.join(file.strip_prefix(&from).unwrap());
        std::fs::create_dir_all(target.parent().unwrap()).unwrap();
        std::fs::copy(&file, &target).unwrap();
        let mut permissions = std::fs::metadata(&target).unwrap().permissions();
        #[expect(clippy::permissions_set_readonly_false, reason = "a file of this test alone")]
        permissions.set_readonly(false);
        std::fs::set_permissions(&target, permissions).unwrap();
    }
}

/// Bytes and times of every file of a folder.
pub(crate) fn state(folder: &Path) -> Vec<(PathBuf, Vec<u8>, std::time::SystemTime)> {
    let all = files(folder).into_iter();
    all.map(|f| (f.clone(), std::fs::read(&f).unwrap(), std::fs::metadata(&f).unwrap().modified().unwrap())).collect()
}
