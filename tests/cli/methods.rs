use crate::protocol::{unwrapped, with};

#[test]
fn a_methods_text_says_what_was_done_and_numbers_its_sources() {
    let bench = with("[protocol]\nprimary = \"kappa\"\nmissing = \"wrong\"\nexclude_unscored = 30\n");
    bench
        .run(&[
            "--study",
            "s",
            "--author",
            "me",
            "exclude",
            "2026-04-03",
            "--source",
            "ring-a",
            "--from",
            "22:30:30",
            "--until",
            "22:31",
            "--looked",
            "before",
            "--reason",
            "fell off",
        ])
        .ends(0);
    let said = unwrapped(&bench.line("--study s compare --methods --replicates 300 --seed 7").ends(0).stdout);
    for words in [
        "1 night of 1 participant was recorded with 1 device: ring-a.",
        "The reference is the scoring by one person (S1) in epochs of 30 s.",
        "from the first to the last epoch that the reference scored (1 night)",
        "In the primary measure epochs that a device did not give count as wrong.",
        "By 1 decision something was left out, 1 before and 0 after results were looked at",
        "more than 30 % of its window had no pair of stages; this holds for 0 nights.",
        "No clock was corrected.",
        "as Cohen's kappa [1]",
        "the stationary bootstrap [2], with lengths of blocks after [3] and [4], 300 times from seed 7",
        "All nights are of one person, so nothing is said of other people.",
        "The primary measure is Cohen's kappa. The protocol was noted",
        "before any comparison was made",
        "It is predeclared for 1 device; all other results are exploratory.",
        "All numbers were computed with counterpane",
        "To be added by the authors:",
        "1. Cohen J. Educational and Psychological Measurement 1960",
    ] {
        assert!(said.contains(words), "{words}\n--- in\n{said}");
    }
    // What was not used is not cited.
    assert!(!said.contains("Student") && !said.contains("Holm") && !said.contains("Bland"), "{said}");
    let answer = bench.line("--study s compare --methods --format json").ends(0).json();
    let references = answer["methods"]["references"].as_array().unwrap();
    let paragraphs = answer["methods"]["paragraphs"].to_string();
    for n in 1..=references.len() {
        assert!(paragraphs.contains(&format!("[{n}]")), "reference {n} is named in the text");
    }
    bench.line("--study s report -o r.html").ends(0);
    let html = std::fs::read_to_string(bench.path("r.html")).unwrap();
    assert!(html.contains("Methods, to be pasted") && html.contains("Cohen J. Educational"));
}
