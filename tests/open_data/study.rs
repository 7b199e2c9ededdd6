//! A study of open recordings, and what its store says.

use crate::common::{Bench, copy_folder, root};
use serde_json::Value;
use std::collections::BTreeMap;

/// Makes a study in UTC whose own importers are those of this folder.
pub(crate) fn study(bench: &Bench, declarations: &str) {
    bench.line("new study --zone UTC").ends(0);
    let toml = bench.path("study/study.toml");
    let text = std::fs::read_to_string(&toml).unwrap();
    std::fs::write(&toml, format!("{text}\n{declarations}")).unwrap();
    copy_folder(&root().join("tests/open_data/importers"), &bench.path("study/importers"));
}

/// Epochs of 30 s in each mark, from the store's own view.
pub(crate) fn epochs(bench: &Bench) -> BTreeMap<String, u64> {
    ask_epochs(bench, "SELECT stage, count(*) FROM epoch_local GROUP BY stage")
}

/// The same of one participant.
pub(crate) fn epochs_of(bench: &Bench, participant: &str) -> BTreeMap<String, u64> {
    ask_epochs(
        bench,
        &format!("SELECT stage, count(*) FROM epoch_local WHERE participant = '{participant}' GROUP BY stage"),
    )
}

fn ask_epochs(bench: &Bench, sql: &str) -> BTreeMap<String, u64> {
    let answer = bench.run(&["--study", "study", "query", sql, "--format", "json"]).ends(0).json();
    let row = |r: &Value| (r[0].as_str().unwrap().to_owned(), r[1].as_u64().unwrap());
    answer["rows"].as_array().unwrap().iter().map(row).collect()
}

pub(crate) fn counts(pairs: &[(&str, u64)]) -> BTreeMap<String, u64> {
    pairs.iter().map(|(k, v)| ((*k).to_owned(), *v)).collect()
}
