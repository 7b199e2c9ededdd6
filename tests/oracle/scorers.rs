//! Majority, pairs and groups of scorers through the built program, against numpy, scikit-learn and statsmodels.

use crate::common::Bench;
use crate::{ask, python, seed};
use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng as _;
use serde_json::Value;
use std::fmt::Write as _;

const NIGHTS: usize = 12;
const SCORERS: usize = 4;
const EPOCHS: usize = 700;

/// Scorings of a night: bouts of a truth, each scorer wrong and silent now and then.
fn scorings(rng: &mut Pcg32) -> Vec<String> {
    let mut truth = Vec::new();
    while truth.len() < EPOCHS {
        let letter = b"W123R"[rng.next_u32() as usize % 5];
        truth.extend(std::iter::repeat_n(letter, 1 + rng.next_u32() as usize % 40));
    }
    let heard = |truth: u8, rng: &mut Pcg32| match rng.next_u32() % 10 {
        0..=6 => truth,
        7 => b'?',
        _ => b"W123R"[rng.next_u32() as usize % 5],
    };
    // Scored at both ends, so that the window is the whole of it.
    let ends = |at: usize| at == 0 || at == EPOCHS - 1;
    let scorer = |rng: &mut Pcg32| {
        let epochs = truth.iter().take(EPOCHS).enumerate();
        epochs.map(|(at, t)| char::from(if ends(at) { *t } else { heard(*t, rng) })).collect()
    };
    (0..SCORERS).map(|_| scorer(rng)).collect()
}

fn study(bench: &Bench, nights: &[Vec<String>]) {
    bench.line("new s --zone Europe/Berlin").ends(0);
    let mut toml = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    let mut list = "version = 1\n".to_owned();
    toml.push_str("\n[[participant]]\ncode = \"P01\"\n");
    for scorer in 0..SCORERS {
        write!(toml, "\n[[scorer]]\ncode = \"S{scorer}\"\nscored_by = \"human\"\n").unwrap();
    }
    for (night, scorings) in nights.iter().enumerate() {
        let label = format!("2026-03-{:02}", night + 1);
        write!(toml, "\n[[night]]\nparticipant = \"P01\"\nlabel = \"{label}\"\n").unwrap();
        for (scorer, letters) in scorings.iter().enumerate() {
            let line = |c: char| if "123".contains(c) { format!("N{c}\n") } else { format!("{c}\n") };
            bench.write(&format!("{label}-{scorer}.txt"), letters.chars().map(line).collect::<String>());
            write!(
                list,
                "\n[[file]]\npath = \"{label}-{scorer}.txt\"\nscorer = \"S{scorer}\"\nparticipant = \"P01\"\nnight = \"{label}\"\nstart = \"22:30\"\ndefinition = \"code-per-line\"\n"
            )
            .unwrap();
        }
    }
    bench.write("s/study.toml", toml);
    bench.write("list.toml", list);
    bench.line("--study s load list.toml").ends(0);
}

fn close(what: &str, ours: &Value, theirs: &Value) {
    let (a, b) = (ours.as_f64().unwrap(), theirs.as_f64().unwrap());
    assert!((a - b).abs() <= 1e-10 * b.abs().max(1.0), "{what}: {a} and {b}");
}

#[test]
fn majorities_pairs_and_groups_agree_with_other_programs() {
    let Some(python) = python("numpy, sklearn, statsmodels") else { return };
    let mut rng = Pcg32::new(seed("scorers"), 5);
    let nights: Vec<Vec<String>> = (0..NIGHTS).map(|_| scorings(&mut rng)).collect();
    let bench = Bench::new();
    study(&bench, &nights);
    let asked: String = nights.iter().map(|n| serde_json::to_string(n).unwrap() + "\n").collect();
    let said = ask(&python, "scorers_oracle.py", &[], &asked);
    let said: Vec<Value> = said.lines().map(|l| serde_json::from_str(l).unwrap()).collect();
    let found = bench.line("--study s compare --scorer majority --format json").ends(0).json();
    let mut compared = 0;
    for (night, (ours, theirs)) in found["nights"].as_array().unwrap().iter().zip(&said).enumerate() {
        // The majority is without a stage at the ends where nobody agrees; there the window is shorter.
        let whole = theirs["majority"].as_str().unwrap();
        assert_eq!(ours["reference"].as_str().unwrap().trim_matches('?'), whole.trim_matches('?'), "night {night}");
        let scorers = &found["scorers"]["nights"][night];
        for pair in scorers["pairs"].as_array().unwrap() {
            let name = |i: usize| pair["scorers"][i]["scorer"].as_str().unwrap().trim_start_matches('S').to_owned();
            let key = format!("{} {}", name(0), name(1));
            close(&format!("night {night}, pair {key}"), &pair["agreement"]["kappa"], &theirs["kappa"][&key]);
            compared += 1;
        }
        let group = &scorers["groups"][0];
        assert_eq!(group["fleiss_n"], theirs["fleiss_n"]);
        close(&format!("night {night}, Fleiss"), &group["fleiss_kappa"], &theirs["fleiss"]);
    }
    assert_eq!((said.len(), compared), (NIGHTS, NIGHTS * SCORERS * (SCORERS - 1) / 2));
}
