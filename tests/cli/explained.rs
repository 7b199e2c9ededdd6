use crate::protocol::{unwrapped, with};

/// What a part adds up to in one class.
fn class<'a>(of: &'a serde_json::Value, name: &str) -> &'a serde_json::Value {
    of["classes"].as_array().unwrap().iter().find(|c| c["class"] == name).unwrap()
}

#[test]
fn a_difference_in_minutes_is_split_and_its_parts_add_up() {
    let bench = with("");
    let answer = bench.line("--study s compare --explain --format json").ends(0).json();
    let explained = &answer["explained"];
    for of in [&explained["nights"][0], &explained["devices"][0]] {
        // The ring misses two epochs of sleep and calls one of wake asleep.
        let sleep = class(of, "Asleep");
        assert_eq!((sleep["displayed"].as_f64(), sleep["reference"].as_f64()), (Some(3.0), Some(3.5)));
        assert_eq!((sleep["parts"]["missing"].as_f64(), sleep["parts"]["called_so"].as_f64()), (Some(-1.0), Some(0.5)));
        for c in of["classes"].as_array().unwrap() {
            let sum: f64 = c["parts"].as_object().unwrap().values().map(|v| v.as_f64().unwrap()).sum();
            assert_eq!(sum, c["displayed"].as_f64().unwrap() - c["reference"].as_f64().unwrap(), "{c}");
        }
    }
    let said = unwrapped(&bench.line("--study s compare --explain").ends(0).stdout);
    assert!(said.contains("ring-a displays 3.0 min of sleep and the reference has 3.5 min: -0.5 min."), "{said}");
    assert!(said.contains("missing in the device -1.0"), "{said}");
    assert!(bench.line("--study s compare --format json").ends(0).json()["explained"].is_null());
    bench.line("--study s report -o r.html").ends(0);
    let html = std::fs::read_to_string(bench.path("r.html")).unwrap();
    assert!(html.contains("Where differences in minutes come from") && html.contains("missing in the device"));
}

#[test]
fn what_lies_outside_the_lights_is_no_mistake_about_stages() {
    let bench = with("");
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    let night = "label = \"2026-04-03\"\n";
    bench.write(
        "s/study.toml",
        text.replacen(night, &format!("{night}lights_off = \"22:31\"\nlights_on = \"22:34\"\n"), 1),
    );
    let answer = bench.line("--study s compare 2026-04-03 --explain --format json").ends(0).json();
    let sleep = class(&answer["explained"]["nights"][0], "Asleep");
    // The lights are off from the third to the eighth epoch: one epoch of sleep before, one of REM sleep after.
    assert_eq!(sleep["parts"]["window"].as_f64(), Some(1.0), "{sleep}");
    assert_eq!(sleep["parts"]["called_so"].as_f64(), Some(0.0));
    let said = unwrapped(&bench.line("--study s compare 2026-04-03 --explain").ends(0).stdout);
    assert!(said.contains("outside the reference's window +1.0"), "{said}");
}
