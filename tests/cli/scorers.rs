use crate::common::{Bench, Run};
use crate::import::study;

/// Three invented scorings of ten epochs. By hand: the majority is `W ? 1 2 3 ? 2 2 R W`. Counted from 0, epochs 1 and 5
/// are ties of three, epoch 8 is decided by two of three, and in the other seven all who scored agree.
const S1: &str = "WW123R22RW";
const S2: &str = "W11232223W";
const S3: &str = "W2123W2?RW";

/// A study whose night `scorings` scored from 22:30, and a device that says what S1 says.
fn scored(bench: &Bench, scorings: &[(&str, &str, &str)]) {
    study(bench, "Europe/Berlin");
    declare(bench, &scorings.iter().filter(|s| s.0 != "S1").map(|s| (s.0, s.1)).collect::<Vec<_>>());
    for (code, _, letters) in scorings {
        import(bench, &format!("--scorer {code}"), letters, "22:30").ends(0);
    }
    import(bench, "--device ring-a", S1, "22:30").ends(0);
}

fn declare(bench: &Bench, scorers: &[(&str, &str)]) {
    for (code, by) in scorers {
        append(bench, &format!("[[scorer]]\ncode = \"{code}\"\nscored_by = \"{by}\"\n"));
    }
}

fn append(bench: &Bench, lines: &str) {
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", format!("{text}\n{lines}"));
}

fn import(bench: &Bench, whose: &str, letters: &str, start: &str) -> Run {
    let line = |c| if "123".contains(c) { format!("N{c}\n") } else { format!("{c}\n") };
    let file = format!("{}.txt", whose.replace("--", "").replace(' ', "-"));
    bench.write(&file, letters.chars().map(line).collect::<String>());
    bench
        .line(&format!("--study s import {file} {whose} --night 2026-04-03 --start {start} --definition code-per-line"))
}

const THREE: &[(&str, &str, &str)] = &[("S1", "human", S1), ("S2", "human", S2), ("S3", "human", S3)];

fn night(bench: &Bench, words: &str) -> serde_json::Value {
    bench.line(&format!("--study s compare --format json {words}")).ends(0).json()["nights"][0].clone()
}

fn text(bench: &Bench, words: &str) -> String {
    unwrapped(&bench.line(&format!("--study s compare {words}")).ends(0).stdout)
}

fn unwrapped(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn with_several_scorers_nothing_is_taken_unasked_and_the_choice_is_said() {
    let bench = Bench::new();
    scored(&bench, THREE);
    let said = unwrapped(&bench.line("--study s compare").ends(2).stderr);
    assert!(said.contains("has 3 references, and none of them is taken unasked"), "{said}");
    assert!(said.contains("--scorer (S1, S2 or S3)") && said.contains("--scorer majority"), "{said}");
    let said = text(&bench, "--scorer S2");
    let chosen = "reference S2 (scored by a person, chosen from S1, S2 and S3 on the command line)";
    assert!(said.contains(chosen), "{said}");
    append(&bench, "[protocol]\nscorer = \"S3\"");
    let said = text(&bench, "");
    assert!(said.contains("reference S3 (scored by a person, chosen from S1, S2 and S3 by the protocol"), "{said}");
    assert_eq!(night(&bench, "--scorer S1")["chosen"]["by"], "command");
    let unknown = bench.line("--study s compare --scorer S9").ends(2).stderr;
    assert!(unwrapped(&unknown).contains("there is no scorer `S9` in study.toml; it has S1, S2 and S3"), "{unknown}");
}

#[test]
fn the_majority_is_a_reference_of_its_own() {
    let bench = Bench::new();
    scored(&bench, THREE);
    let found = night(&bench, "--scorer majority");
    assert_eq!(found["reference"], "W?123?22RW");
    let epochs = serde_json::json!({"unanimous": 7, "majority": 1, "settled": 0, "tied": 2, "too_few": 0});
    assert_eq!(found["consensus"]["epochs"], epochs);
    assert_eq!((&found["scorer"], &found["scored_by"]), (&"majority".into(), &"human".into()));
    // The device says what S1 says, and S1 is never outvoted where the majority decides.
    let agreement = &found["devices"][0]["agreement"];
    assert_eq!((agreement["n"].as_u64(), agreement["accuracy"].as_f64()), (Some(8), Some(1.0)));
    let said = text(&bench, "--scorer majority");
    assert!(said.contains("reference majority (scored by 3 people, chosen on the command line)"), "{said}");
    assert!(said.contains("A tie, and an epoch that fewer than two of them scored, is unscored."), "{said}");
    let counts = "Of 10 epochs of the window, 7 were decided unanimously by those who scored them, 1 by majority; 2 were left \
                  unscored (2 tied, 0 scored by fewer than two).";
    assert!(said.contains(counts), "{said}");
    bench.line("--study s report --scorer majority -o r.html").ends(0);
    let html = std::fs::read_to_string(bench.path("r.html")).unwrap();
    for words in ["majority of S1, S2 and S3 (reference, scored by 3 people)", counts, "the majority called"] {
        assert!(html.contains(words), "{words}");
    }
    assert!(!html.contains("the scorer called"));
    let origin = bench.line("--study s lineage 2026-04-03 ring-a --scorer majority").ends(2).stderr;
    assert!(unwrapped(&origin).contains("a majority has no lines of its own"), "{origin}");
}

#[test]
fn one_scorer_may_settle_ties() {
    let bench = Bench::new();
    scored(&bench, THREE);
    append(&bench, "[protocol]\nscorer = \"majority\"\ntie = \"S3\"");
    let found = night(&bench, "");
    assert_eq!((&found["reference"], &found["consensus"]["tie"]), (&"W2123W22RW".into(), &"S3".into()));
    let said = text(&bench, "");
    assert!(said.contains("A tie is settled by the word of S3, where that is one of the tied stages"), "{said}");
    assert!(said.contains("1 by majority, 2 as a tie by S3; 0 were left unscored"), "{said}");
}

#[test]
fn people_and_programs_make_no_common_majority() {
    let bench = Bench::new();
    let program = "RRRRRRRRRR";
    scored(
        &bench,
        &[("S1", "human", S1), ("A1", "algorithm", program), ("S2", "human", S2), ("A2", "algorithm", program)],
    );
    assert_eq!(night(&bench, "--scorer majority")["reference"], "W?123?22?W");
    let said = text(&bench, "--scorer majority");
    assert!(said.contains("A1 and A2: no vote, because people and programs are never mixed"), "{said}");
    // Without the people the programs vote, and are called programs.
    let exclude = |source: &str| {
        let words =
            ["--study", "s", "--author", "me", "exclude", "2026-04-03", "--source", source, "--looked", "before"];
        bench.run(&[&words[..], &["--reason", "in training"]].concat()).ends(0);
    };
    exclude("S1");
    let why = bench.line("--study s compare --scorer majority").ends(2).stderr;
    assert!(unwrapped(&why).contains("make no majority: only that of `S2` counts"), "{why}");
    exclude("S2");
    let said = text(&bench, "--scorer majority");
    assert!(said.contains("reference majority (scored by 2 programs"), "{said}");
    assert!(said.contains("S1: left out by decision"), "{said}");
}

#[test]
fn clocks_stretches_and_rows_of_epochs_are_brought_together_before_the_vote() {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    declare(&bench, &[("S2", "human"), ("S3", "human")]);
    import(&bench, "--scorer S1", S1, "22:30").ends(0);
    // The clock of S2 is three minutes ahead, and the epochs of S3 begin 10 s later.
    import(&bench, "--scorer S2", S2, "22:33").ends(0);
    import(&bench, "--scorer S3", S3, "22:30:10").ends(0);
    import(&bench, "--device ring-a", S1, "22:30").ends(0);
    let me = ["--study", "s", "--author", "me"];
    let decide = |words: &[&str]| bench.run(&[&me[..], words].concat()).ends(0);
    decide(&["clock", "set", "2026-04-03", "S2", "--shift", "-3min", "--reason", "set by hand"]);
    assert_eq!(night(&bench, "--scorer majority")["reference"], "W?123?22RW");
    let said = text(&bench, "--scorer majority");
    assert!(said.contains("The clock of S2 is corrected by -3:00 min"), "{said}");
    assert!(said.contains("The epochs are those of S1; those of S3 begin 10 s later, and were laid on them"), "{said}");
    // Without the last two minutes of S3 its word is missing from the two votes that it decided.
    let stretch =
        ["--source", "S3", "--from", "22:33:10", "--until", "22:36", "--looked", "before", "--reason", "asleep"];
    decide(&[&["exclude", "2026-04-03"], &stretch[..]].concat());
    assert_eq!(night(&bench, "--scorer majority")["reference"], "W?123?22?W");
}

#[test]
fn scorers_are_compared_with_each_other_without_a_choice() {
    let bench = Bench::new();
    scored(&bench, THREE);
    let answer = bench.line("--study s compare --scorers --format json").ends(0).json();
    let pairs = answer["scorers"]["pairs"].as_array().unwrap().clone();
    let told = |p: &serde_json::Value| {
        let name = |i: usize| p["scorers"][i]["scorer"].as_str().unwrap().to_owned();
        let pooled = &p["pooled"];
        (name(0) + &name(1), pooled["n"].as_u64().unwrap(), pooled["accuracy"].as_f64().unwrap())
    };
    // By hand: S1 and S2 differ in epochs 1, 5 and 8; S1 and S3 in 1 and 5, S2 and S3 in 1, 5 and 8, of the nine that S3 scored.
    let by_hand = [("S1S2".into(), 10, 0.7), ("S1S3".into(), 9, 7.0 / 9.0), ("S2S3".into(), 9, 6.0 / 9.0)];
    assert_eq!(pairs.iter().map(told).collect::<Vec<_>>(), by_hand);
    // Both say wake in epochs 0 and 9; S1 says so in 0, 1, 9 and S2 in 0, 9: 2 * 2 / (3 + 2).
    assert_eq!(pairs[0]["specific_agreement"]["W"], 0.8);
    let group = &answer["scorers"]["groups"][0];
    assert_eq!((group["fleiss_n"].as_u64(), group["alpha_n"].as_u64()), (Some(9), Some(10)));
    // Six of the nine epochs are unanimous, two have no two alike, one has two of three: P = (6 + 1/3) / 9. Of 27 ratings 8
    // are W, 4 N1, 8 N2, 4 N3, 3 R: Pe = (64 + 16 + 64 + 16 + 9) / 729.
    let (p, pe) = ((6.0 + 1.0 / 3.0) / 9.0, 169.0 / 729.0);
    assert!((group["fleiss_kappa"].as_f64().unwrap() - (p - pe) / (1.0 - pe)).abs() < 1e-12, "{group}");
    let said = text(&bench, "--scorers");
    assert!(said.contains("S1 and S2 people five 10 70.0 %"), "{said}");
    assert!(said.contains("Cesari et al. 2021") && said.contains("one scorer against another"), "{said}");
    // The same stands beside the devices, in the comparison and in the report.
    assert!(text(&bench, "--scorer S1").contains("S1 and S2 people five 10 70.0 %"));
    bench.line("--study s report --scorer S1 -o r.html").ends(0);
    let html = std::fs::read_to_string(bench.path("r.html")).unwrap();
    assert!(html.contains("Scorer against scorer over all nights") && html.contains("S1 and S2"));
}

#[test]
fn without_two_scorers_there_is_nothing_to_compare_them_with() {
    let bench = Bench::new();
    scored(&bench, &THREE[..1]);
    let said = bench.line("--study s compare --scorers").ends(2).stderr;
    assert!(said.contains("no night asked for has two scorers"), "{said}");
    assert!(bench.line("--study s compare --format json").ends(0).json()["scorers"].is_null());
}
