//! Every statistic of forty made-up tables, against scikit-learn, statsmodels and the plain definitions.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use counterpane_stats::{
    Figure, Outcomes, Ratings, Table, Undefined, accuracy, agree, balanced_accuracy, bowker, cohen_kappa,
    exact_interval, f1, fleiss_kappa, gwet_ac1, gwet_ac1_se, kappa_null_se, kappa_se, krippendorff_alpha, macro_f1,
    mcc, mcnemar, npv, pabak, ppv, scott_pi, sensitivity, specificity, weighted_f1, wilson_interval, worst_sensitivity,
};
use serde_json::Value;
use std::collections::BTreeSet;

const Z95: f64 = 1.959_963_984_540_054;

/// One pair of label lists with its wanted values, and the names of those that were compared.
struct Case<'a> {
    name: String,
    wanted: &'a Value,
    table: Table,
    sides: [Vec<Option<usize>>; 2],
    seen: BTreeSet<String>,
}

impl Case<'_> {
    fn value(&mut self, key: &str) -> Value {
        self.seen.insert(key.to_owned());
        self.wanted.get(key).unwrap_or_else(|| panic!("{}: `{key}` is not in tables.json", self.name)).clone()
    }

    #[track_caller]
    fn same(&mut self, key: &str, got: Figure) {
        let wanted = self.value(key);
        close(&format!("{}: {key}", self.name), wanted.as_f64(), got.ok(), 1e-10, 0.0);
    }

    /// For values that statsmodels rounds to nothing, or that are a root of nothing.
    #[track_caller]
    fn same_or_tiny(&mut self, key: &str, got: Figure) {
        let wanted = self.value(key);
        close(&format!("{}: {key}", self.name), wanted.as_f64(), got.ok(), 1e-10, 1e-7);
    }

    #[track_caller]
    fn same_limits(&mut self, key: &str, got: Option<(f64, f64)>) {
        let wanted = self.value(key);
        close(&format!("{}: {key} low", self.name), wanted[0].as_f64(), got.map(|g| g.0), 1e-10, 1e-12);
        close(&format!("{}: {key} high", self.name), wanted[1].as_f64(), got.map(|g| g.1), 1e-10, 1e-12);
    }
}

#[track_caller]
fn close(name: &str, wanted: Option<f64>, got: Option<f64>, relative: f64, absolute: f64) {
    match (wanted, got) {
        (None, None) => {}
        (Some(w), Some(g)) => assert!((w - g).abs() <= (relative * w.abs()).max(absolute), "{name}: {g}, not {w}"),
        _ => panic!("{name}: {got:?}, not {wanted:?}"),
    }
}

fn labels(text: &Value) -> Vec<Option<usize>> {
    text.as_str().unwrap().chars().map(|c| c.to_digit(10).map(|d| d as usize)).collect()
}

#[test]
fn every_value_of_every_table_is_met() {
    let file: Value = serde_json::from_str(include_str!("data/tables.json")).unwrap();
    let tables = file["tables"].as_array().unwrap();
    assert_eq!(tables.len(), 40);
    for (number, table) in tables.iter().enumerate() {
        let classes = usize::try_from(table["classes"].as_u64().unwrap()).unwrap();
        let sides = [labels(&table["reference"]), labels(&table["other"])];
        let mut case = Case {
            name: format!("table {} ({})", number + 1, table["kind"].as_str().unwrap()),
            wanted: &table["values"],
            table: Table::from_pairs(classes, &sides[0], &sides[1]).unwrap(),
            sides,
            seen: BTreeSet::new(),
        };
        whole_table(&mut case);
        kappas(&mut case);
        each_class(&mut case);
        tests_and_intervals(&mut case);
        reasons(&case, &table["undefined"]);
        let all: BTreeSet<String> = table["values"].as_object().unwrap().keys().cloned().collect();
        assert_eq!(case.seen, all, "{}: compare every value of tables.json", case.name);
    }
}

fn whole_table(case: &mut Case<'_>) {
    let table = case.table.clone();
    assert_eq!(case.value("n"), table.n(), "{}", case.name);
    assert_eq!(case.value("matrix"), serde_json::json!(table.counts()), "{}", case.name);
    case.same("accuracy", accuracy(&table));
    case.same("balanced_accuracy", balanced_accuracy(&table));
    case.same("macro_f1", macro_f1(&table));
    let absent_as_0 = (0..table.classes()).map(|class| f1(&table, class).unwrap_or(0.0)).sum::<f64>();
    case.same("macro_f1_absent_as_0", Ok(absent_as_0 / table.classes() as f64));
    case.same("weighted_f1", weighted_f1(&table));
    case.same("worst_sensitivity", worst_sensitivity(&table, 1).map(|w| w.sensitivity));
    case.same("mcc", mcc(&table));
    case.same("mcc_undefined_as_0", Ok(mcc(&table).unwrap_or(0.0)));
    case.same("pabak", pabak(&table));
    case.same("ac1", gwet_ac1(&table));
    case.same_or_tiny("ac1_se", gwet_ac1_se(&table));
    case.same("scott_pi", scott_pi(&table));
    // Fleiss' kappa needs two ratings of each epoch, so the epochs that one side did not score are left out.
    let scored = case.sides[0].iter().zip(&case.sides[1]).filter(|(a, b)| a.is_some() && b.is_some());
    let (first, second): (Vec<_>, Vec<_>) = scored.map(|(a, b)| (*a, *b)).unzip();
    case.same("scott_pi", fleiss_kappa(&Ratings::from_raters(table.classes(), &[&first, &second]).unwrap()));
    let ratings = Ratings::from_raters(table.classes(), &[&case.sides[0], &case.sides[1]]).unwrap();
    case.same("krippendorff_alpha", krippendorff_alpha(&ratings));
}

fn kappas(case: &mut Case<'_>) {
    let table = case.table.clone();
    let (kappa, se, null_se) = (cohen_kappa(&table), kappa_se(&table), kappa_null_se(&table));
    case.same("kappa", kappa);
    case.same("kappa_statsmodels", kappa);
    case.same_or_tiny("kappa_null_se", null_se);
    // Without variation there is nothing to divide by, and z is undefined.
    let z = kappa.and_then(|k| if null_se? < 1e-12 { Err(Undefined::ZeroDenominator) } else { Ok(k / null_se?) });
    case.same("kappa_z", z);
    if case.value("kappa_se").is_null() && kappa.is_ok() {
        assert!(kappa == Ok(1.0) || kappa == Ok(0.0), "{}: a root of nothing", case.name);
        assert!(se.is_ok_and(|se| se < 1e-7) && case.value("kappa_interval")[0].is_null(), "{}", case.name);
    } else {
        case.same_or_tiny("kappa_se", se);
        let limits = kappa.and_then(|k| Ok((k - Z95 * se?, k + Z95 * se?))).ok();
        case.same_limits("kappa_interval", limits);
    }
}

fn each_class(case: &mut Case<'_>) {
    let classes = case.value("per_class");
    let classes = classes.as_array().unwrap();
    assert_eq!(classes.len(), case.table.classes());
    for (class, wanted) in classes.iter().enumerate() {
        let of = Outcomes::of(&case.table, class).unwrap();
        let row = of.true_positive + of.false_negative;
        let counts = [of.true_positive, of.false_positive, of.false_negative, of.true_negative, row];
        for (key, got) in ["tp", "fp", "fn", "tn", "reference_n"].into_iter().zip(counts) {
            assert_eq!(wanted[key], got, "{}: {key} of class {class}", case.name);
        }
        let figures = [
            ("sensitivity", sensitivity(&case.table, class)),
            ("specificity", specificity(&case.table, class)),
            ("ppv", ppv(&case.table, class)),
            ("npv", npv(&case.table, class)),
            ("f1", f1(&case.table, class)),
        ];
        for (key, got) in figures {
            close(&format!("{}: {key} of class {class}", case.name), wanted[key].as_f64(), got.ok(), 1e-10, 0.0);
        }
    }
}

fn tests_and_intervals(case: &mut Case<'_>) {
    let table = case.table.clone();
    case.same_limits("accuracy_wilson", wilson_interval(table.agreeing(), table.n()).ok());
    case.same_limits("accuracy_exact", exact_interval(table.agreeing(), table.n()).ok());
    if table.classes() == 2 {
        let wanted = case.value("mcnemar");
        let got = mcnemar(&table).ok();
        close(&format!("{}: McNemar", case.name), wanted["statistic"].as_f64(), got.map(|m| m.statistic), 1e-10, 0.0);
        close(&format!("{}: its p", case.name), wanted["p"].as_f64(), got.map(|m| m.p), 1e-10, 0.0);
        close(&format!("{}: its exact p", case.name), wanted["p_exact"].as_f64(), got.map(|m| m.p_exact), 1e-10, 0.0);
    } else {
        let wanted = case.value("bowker");
        let got = bowker(&table).unwrap();
        close(&format!("{}: Bowker", case.name), wanted["statistic"].as_f64(), Some(got.statistic), 1e-10, 0.0);
        close(&format!("{}: its p", case.name), wanted["p"].as_f64(), Some(got.p), 1e-10, 0.0);
        assert_eq!(wanted["df"], got.df, "{}", case.name);
    }
}

/// The reasons that the file names must be the reasons that are given.
fn reasons(case: &Case<'_>, undefined: &Value) {
    let names: Vec<String> = (0..case.table.classes()).map(|class| class.to_string()).collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let given = agree("made up", &names, &case.sides[0], &case.sides[1]).unwrap();
    let others = [
        ("scott_pi", scott_pi(&case.table)),
        (
            "krippendorff_alpha",
            krippendorff_alpha(&Ratings::from_raters(names.len(), &[&case.sides[0], &case.sides[1]]).unwrap()),
        ),
    ];
    for (name, reason) in undefined.as_object().unwrap() {
        let other =
            others.iter().find(|(n, _)| n == name).map(|(_, figure)| figure.map_err(Undefined::code).unwrap_err());
        let found = other.or_else(|| given.undefined.get(name).map(|why| why.code()));
        assert_eq!(found, reason.as_str(), "{}: why `{name}` is undefined", case.name);
    }
}
