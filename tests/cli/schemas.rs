use crate::common::{Bench, root};

/// Each command that prints JSON, with the schema that its answer must follow.
const ANSWERS: &[(&str, &str)] = &[
    ("check", "--study d/study check --format json"),
    ("compare", "--study d/study compare --format json"),
    ("compare", "--study d/study compare --explain --format json"),
    ("compare", "--study d/study compare --by side --format json"),
    ("compare", "--study d/study compare --methods --format json"),
    ("compare", "--study d/study compare --what-if --format json"),
    ("compare", "--study d/study compare 2026-04-04 --window scored --scheme three --format json"),
    ("import", "--study d/study import d/raw/ring-a/P01.json --unit ring-a-1 --format json"),
    ("import", "--study d/study import d/raw/ring-b/P01.json --unit ring-b-1 --dry-run --format json"),
    ("lineage", "--study d/study lineage P01/2026-04-04 ring-a N3 --format json"),
    ("nights", "--study d/study nights --format json"),
    ("query", "--study d/study query SELECT(1)AS(a),NULL,'x',1.5 --format json"),
    ("show", "--study d/study show P01/2026-04-04 --format json"),
    ("verify", "--study d/study verify --format json"),
    ("verify", "--study d/study verify --full --format json"),
];

#[test]
fn every_json_answer_follows_its_schema() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    bench.write("a.txt", "W\nN2\n");
    bench.write("a.tsv", "line\tat\tis\nsheet\tform\tchanges 1\nchange\t22:10\twake\nchange\t6:05\tend\n");
    let answers = ANSWERS.iter().copied().chain([
        ("agree", "agree a.txt a.txt --scheme five --format json"),
        ("sheet-compare", "sheet compare a.tsv a.tsv --format json"),
    ]);
    let mut n = 0;
    for (name, line) in answers {
        let line = line.replace("SELECT(1)AS(a)", "SELECT\u{a0}1");
        let words: Vec<String> = line.split(' ').map(|w| w.replace('\u{a0}', " ")).collect();
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let answer = bench.run(&words).ends(0).json();
        assert_eq!(answer["version"], 1, "{line}");
        let schema = std::fs::read_to_string(root().join(format!("schemas/{name}.schema.json"))).unwrap();
        let schema: serde_json::Value = serde_json::from_str(&schema).unwrap();
        let validator = jsonschema::draft202012::new(&schema).unwrap();
        let faults: Vec<String> = validator.iter_errors(&answer).map(|e| e.to_string()).collect();
        assert!(faults.is_empty(), "{line}: {faults:?}");
        n += 1;
    }
    println!("{n} answers follow their schemas");
}

#[test]
fn shipped_definitions_follow_the_schema_of_definitions() {
    let schema = std::fs::read_to_string(root().join("schemas/importer.schema.json")).unwrap();
    let validator = jsonschema::draft202012::new(&serde_json::from_str(&schema).unwrap()).unwrap();
    let mut n = 0;
    for entry in std::fs::read_dir(root().join("importers")).unwrap() {
        let path = entry.unwrap().path().join("importer.toml");
        let text = std::fs::read_to_string(&path).unwrap();
        let value: toml::Value = toml::from_str(&text).unwrap();
        let value = serde_json::to_value(value).unwrap();
        let faults: Vec<String> = validator.iter_errors(&value).map(|e| e.to_string()).collect();
        assert!(faults.is_empty(), "{}: {faults:?}", path.display());
        n += 1;
    }
    assert!(n >= 9);
    let wrong = serde_json::json!({"version": 1, "title": "t", "match": {"format": "csv"}, "rows": [], "strat": 1});
    assert!(!validator.is_valid(&wrong), "a schema that takes everything checks nothing");
}
