use crate::common::Bench;

/// Cohen 1960, Educational and Psychological Measurement 20(1), 37-46: the worked table of 200, printed
/// kappa 0.492 (as quoted in the manual of the R package psych).
const COHEN: [[usize; 3]; 3] = [[88, 14, 18], [10, 40, 10], [2, 6, 12]];
const THREE: [&str; 3] = ["W", "NREM", "R"];

fn write(bench: &Bench, line_end: &str) {
    let (mut reference, mut device) = (Vec::new(), Vec::new());
    for (i, row) in COHEN.iter().enumerate() {
        for (j, n) in row.iter().enumerate() {
            for _ in 0..*n {
                reference.push(THREE[i]);
                device.push(THREE[j]);
            }
        }
    }
    bench.write("ref.txt", reference.join(line_end));
    bench.write("dev.txt", device.join(line_end));
}

#[test]
fn a_published_table_gives_its_published_kappa() {
    let bench = Bench::new();
    write(&bench, "\n");
    let json = bench.line("agree ref.txt dev.txt --scheme three --format json").ends(0).json();
    assert_eq!(json["version"], 1);
    assert_eq!(json["n"], 200);
    assert_eq!(json["matrix"], serde_json::json!(COHEN));
    assert!((json["accuracy"].as_f64().unwrap() - 0.70).abs() < 1e-12);
    assert!((json["kappa"].as_f64().unwrap() - 0.492).abs() < 0.0005);
    let text = bench.line("agree ref.txt dev.txt --scheme three").ends(0).stdout;
    assert!(text.contains("kappa              0.4915"), "{text}");
    assert!(text.contains("95 % intervals, approximate, where the lines are the epochs of one night"), "{text}");
    assert!(!text.contains("not computed yet"), "{text}");
}

#[test]
fn lines_in_order_give_intervals_and_the_json_has_them_when_asked() {
    let bench = Bench::new();
    let night = ["W", "NREM", "R"].map(|stage| format!("{stage}\n").repeat(10)).concat().repeat(6);
    bench.write("ref.txt", &night);
    bench.write("dev.txt", &night);
    let line = "agree ref.txt dev.txt --scheme three";
    let json = |more: &str| bench.line(&format!("{line} --format json {more}")).ends(0).json();
    assert!(json("").get("intervals").is_none(), "the keys that are promised stay the same");
    // All agrees: Wilson 1927 for five blocks, 5 / (5 + 1.959964^2) = 0.5655.
    let found = &json("--intervals")["intervals"];
    assert!((found["accuracy"]["low"].as_f64().unwrap() - 0.5655).abs() < 5e-5, "{found}");
    assert_eq!((&found["per_class"][0]["bouts"], &found["kappa"]["none"]), (&6.into(), &"at_the_end".into()));
    let text = bench.line(line).ends(0).stdout;
    assert!(text.contains(" accuracy           0.5655 to 1.0000"), "{text}");
    assert!(text.contains(" kappa              no interval: at full agreement nothing varies"), "{text}");
}

#[test]
fn line_ends_and_a_byte_order_mark_are_tolerated() {
    let bench = Bench::new();
    write(&bench, "\r\n");
    let plain = bench.line("agree ref.txt dev.txt --scheme three --format json").ends(0).stdout;
    let marked = format!("\u{feff}{}\r\n", std::fs::read_to_string(bench.path("ref.txt")).unwrap());
    bench.write("ref.txt", marked);
    assert_eq!(bench.line("agree ref.txt dev.txt --scheme three --format json").ends(0).stdout, plain);
}

#[test]
fn what_is_undefined_is_null_and_says_why() {
    let bench = Bench::new();
    bench.write("ref.txt", "W\nW\n?\n");
    bench.write("dev.txt", "W\nW\nN2\n");
    let json = bench.line("agree ref.txt dev.txt --scheme five --format json").ends(0).json();
    assert_eq!(json["n"], 2);
    assert!(json["kappa"].is_null());
    assert_eq!(json["undefined"]["kappa"], "expected_agreement_1");
    assert_eq!(json["undefined"]["per_class.R.sensitivity"], "ref_class_absent");
}

#[test]
fn an_unknown_label_is_named_with_its_line() {
    let bench = Bench::new();
    bench.write("ref.txt", "W\ndeep\n");
    bench.write("dev.txt", "W\nN3\n");
    let said = bench.line("agree ref.txt dev.txt --scheme four").ends(2).stderr;
    assert!(said.contains("ref.txt: line 2: `deep` is not a label; labels are W, N1, N2, N3, R"), "{said}");
}

#[test]
fn a_label_too_coarse_for_the_scheme_is_named_with_its_line() {
    let bench = Bench::new();
    bench.write("ref.txt", "W\nLight\n");
    bench.write("dev.txt", "W\nN2\n");
    let said = bench.line("agree ref.txt dev.txt --scheme five").ends(2).stderr;
    assert!(said.contains("ref.txt: line 2: `Light` is too coarse for the scheme `five`"), "{said}");
}

#[test]
fn unequal_lengths_name_the_line_that_is_not_there() {
    let bench = Bench::new();
    bench.write("ref.txt", "W\nW\nW\n");
    bench.write("dev.txt", "W\nW\n");
    let said = bench.line("agree ref.txt dev.txt --scheme four").ends(2).stderr;
    assert!(said.contains("dev.txt: line 3 is not there: the file has 2 labels and ref.txt has 3"), "{said}");
}

#[test]
fn files_that_cannot_be_read_are_named() {
    let bench = Bench::new();
    bench.write("dev.txt", "W\n");
    bench.write("empty.txt", "");
    bench.write("latin.txt", b"W\nN\xe9\n");
    for (file, why) in
        [("none.txt", "none.txt"), ("empty.txt", "empty.txt: the file is empty"), ("latin.txt", "not UTF-8")]
    {
        let said = bench.line(&format!("agree {file} dev.txt --scheme four")).ends(2).stderr;
        assert!(said.contains(why), "{said}");
    }
}
