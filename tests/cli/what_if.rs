use crate::protocol::{import, unwrapped, with};

fn decide(bench: &crate::common::Bench, words: &str) {
    let words: Vec<&str> = ["--study", "s", "--author", "me"].into_iter().chain(words.split(' ')).collect();
    bench.run(&[&words[..], &["--reason", "because"]].concat()).ends(0);
}

fn otherwise<'a>(answer: &'a serde_json::Value, choice: &str) -> &'a serde_json::Value {
    answer["what_if"]["otherwise"].as_array().unwrap().iter().find(|o| o["choice"] == choice).unwrap()
}

#[test]
fn each_choice_is_undone_alone_and_the_one_that_changes_most_is_named() {
    // Seven of eight pairs agree.
    let bench = with("[protocol]\nprimary = \"accuracy\"\n");
    decide(&bench, "exclude 2026-04-03 --source ring-a --from 22:30:30 --until 22:31 --looked before");
    decide(&bench, "clock set 2026-04-03 ring-a --shift -30s");
    import(&bench, "--device ring-a", "WWLLLL33RW").ends(0);
    let answer = bench.line("--study s compare --what-if --format json").ends(0).json();
    let value = |of: &serde_json::Value| of["values"]["accuracy"].as_f64().unwrap();
    let as_is = value(&answer["what_if"]["as_is"][0]);
    let of = |choice: &str| &otherwise(&answer, choice)["headlines"][0];
    assert_eq!(value(of("clock")), 1.0, "the second epoch, the only wrong one, is left out");
    assert!(value(of("export")) > as_is && of("export")["changes"]["accuracy"].as_f64().unwrap() > 0.0);
    assert_eq!(otherwise(&answer, "export")["instead"], "P01/2026-04-03/ring-a-1#2");
    assert!(value(of("missing")) < as_is);
    assert_eq!(
        (&otherwise(&answer, "exclusion")["decision"], &otherwise(&answer, "clock")["decision"]),
        (&4.into(), &5.into())
    );
    let largest = &answer["what_if"]["largest"][0];
    assert_eq!((&largest["measure"], &largest["device"]), (&"accuracy".into(), &"ring-a".into()));
    assert_eq!(answer["what_if"]["otherwise"][largest["choice"].as_u64().unwrap() as usize]["choice"], "clock");
    let said = unwrapped(&bench.line("--study s compare --what-if").ends(0).stdout);
    assert!(said.contains("Most is changed in share of epochs that agree by this: P01/2026-04-03 ring-a-1: its clock not corrected (decision 5)."), "{said}");
    bench.line("--study s report -o r.html").ends(0);
    let html = std::fs::read_to_string(bench.path("r.html")).unwrap();
    assert!(
        html.contains("What if one choice had been made otherwise") && html.contains("missing epochs count as wrong")
    );
}

#[test]
fn a_night_that_a_rule_leaves_out_comes_back_where_the_rule_is_undone() {
    let bench = with("[protocol]\nexclude_unscored = 15\n");
    let answer = bench.line("--study s compare --what-if --format json").ends(0).json();
    // Too many gaps: without its only night the device has no headline as it is.
    assert_eq!(answer["what_if"]["as_is"], serde_json::json!([]));
    let rules = &otherwise(&answer, "rules")["headlines"][0];
    assert_eq!((&rules["nights"], rules["values"]["accuracy"].as_f64()), (&1.into(), Some(7.0 / 8.0)));
    assert!(rules["changes"]["accuracy"].is_null());
    let said = unwrapped(&bench.line("--study s compare --what-if").ends(0).stdout);
    assert!(said.contains("no night left out because of ring-a 1 0.83"), "{said}");
}
