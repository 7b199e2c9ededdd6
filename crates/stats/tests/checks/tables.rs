//! Printed values of tables of two sides.

use crate::{Check, Source};
use counterpane_stats::{
    Table, accuracy, balanced_accuracy, bowker, cohen_kappa, f1, gwet_ac1, gwet_ac1_se, kappa_null_se, kappa_se,
    macro_f1, mcc, mcnemar, newcombe_paired, pabak, prevalence_index, scott_pi, weighted_f1,
};

fn table<const K: usize>(rows: [[u64; K]; K]) -> Table {
    Table::from_counts(rows.iter().map(|row| row.to_vec()).collect()).unwrap()
}

fn sides(classes: usize, reference: &[usize], other: &[usize]) -> Table {
    let some = |side: &[usize]| side.iter().map(|class| Some(*class)).collect::<Vec<_>>();
    Table::from_pairs(classes, &some(reference), &some(other)).unwrap()
}

pub(crate) fn checks(rows: &mut Vec<Check>) {
    kappas(rows);
    paradoxes(rows);
    coefficients(rows);
    libraries(rows);
    pairs(rows);
}

fn kappas(rows: &mut Vec<Check>) {
    let t = table([[88, 14, 18], [10, 40, 10], [2, 6, 12]]);
    Source::of(rows, "3 x 3, n = 200", "Cohen 1960, as quoted in the R package psych")
        .row("accuracy", "0.70", accuracy(&t).unwrap())
        .row("Cohen's kappa", "0.492", cohen_kappa(&t).unwrap());
    let t = table([[106, 10, 4], [22, 28, 10], [2, 12, 6]]);
    Source::of(
        rows,
        "3 x 3, n = 200",
        "Fleiss, Cohen and Everitt 1969; table from the R package psych, digits from memory",
    )
    .row("Cohen's kappa", "0.429", cohen_kappa(&t).unwrap())
    .row("standard error of kappa", "0.0537", kappa_se(&t).unwrap())
    .row("standard error of kappa if kappa is 0", "0.0555", kappa_null_se(&t).unwrap());
    let t = table([[0, 4, 1], [0, 8, 0], [0, 1, 5]]);
    Source::of(rows, "3 x 3, one class never used", "SAS PROC FREQ, kept in the tests of statsmodels")
        .row("Cohen's kappa", "0.4842", cohen_kappa(&t).unwrap())
        .row("standard error of kappa", "0.1380", kappa_se(&t).unwrap())
        .row("standard error of kappa if kappa is 0", "0.1484", kappa_null_se(&t).unwrap());
    let a = [3, 6, 4, 6, 2, 4, 2, 4, 3, 3, 2, 3, 3, 3, 2, 2, 1, 3, 3, 4].map(|class| class - 1);
    let b = [2, 1, 4, 4, 3, 2, 1, 6, 1, 1, 1, 2, 3, 3, 1, 1, 3, 3, 2, 2].map(|class| class - 1);
    let t = sides(6, &a, &b);
    Source::of(rows, "`anxiety`, two raters", "R package irr, kept in the tests of statsmodels")
        .row("Cohen's kappa", "-0.006289308", cohen_kappa(&t).unwrap())
        .row(
            "kappa over its standard error if it is 0",
            "-0.0604067",
            cohen_kappa(&t).unwrap() / kappa_null_se(&t).unwrap(),
        );
    let t = table([[75, 1, 4], [5, 4, 1], [0, 0, 10]]);
    Source::of(
        rows,
        "psychiatric diagnoses, n = 100",
        "Fleiss 1981, Statistical Methods for Rates and Proportions (from memory)",
    )
    .row("Cohen's kappa", "0.676", cohen_kappa(&t).unwrap())
    .row("standard error of kappa", "0.088", kappa_se(&t).unwrap())
    .row("standard error of kappa if kappa is 0", "0.076", kappa_null_se(&t).unwrap());
    let t = table([[21, 12, 0, 0], [4, 17, 1, 0], [3, 9, 15, 2], [0, 0, 0, 1]]);
    Source::of(rows, "85 mammograms, two radiologists", "Boyd 1982, as in Altman 1991 (from memory)")
        .row("Cohen's kappa", "0.4728", cohen_kappa(&t).unwrap())
        .row("standard error of kappa if kappa is 0", "0.0694", kappa_null_se(&t).unwrap());
    let t = table([[1467, 782], [1309, 16232]]);
    Source::of(rows, "chest films, n = 19790", "Gerstman, Epidemiology Kept Simple, example 10.1")
        .row("accuracy", "0.8943", accuracy(&t).unwrap())
        .row("Cohen's kappa", "0.524", cohen_kappa(&t).unwrap());
}

fn paradoxes(rows: &mut Vec<Check>) {
    let seen = "Feinstein and Cicchetti 1990, as printed in Gerstman, example 10.2";
    let memory = "Feinstein and Cicchetti 1990 (from memory)";
    for (data, source, counts, kappa, free) in [
        ("paradox, table a", seen, [[40, 9], [6, 45]], "0.70", "0.70"),
        ("paradox, table b", seen, [[80, 10], [5, 5]], "0.32", "0.70"),
        ("paradox, table c", memory, [[45, 15], [25, 15]], "0.13", "0.20"),
        ("paradox, table d", memory, [[25, 35], [5, 35]], "0.26", "0.20"),
    ] {
        let t = table(counts);
        Source::of(rows, data, source).row("Cohen's kappa", kappa, cohen_kappa(&t).unwrap()).row(
            "PABAK",
            free,
            pabak(&t).unwrap(),
        );
    }
    for (data, source, counts, kappa, free) in [
        (
            "2 x 2, n = 291",
            "Dohoo, Martin and Stryhn, Veterinary Epidemiologic Research, in the R package epiR",
            [[19, 10], [6, 256]],
            "0.67",
            "0.89",
        ),
        (
            "pregnancy, n = 1673",
            "Watson and Petrie 2010, Theriogenology 73, 1167, in the R package epiR",
            [[596, 61], [29, 987]],
            "0.89",
            "0.89",
        ),
        (
            "2 x 2, n = 39",
            "Sim and Wright 2005, Physical Therapy 85, 257-268 (from memory)",
            [[22, 2], [4, 11]],
            "0.67",
            "0.69",
        ),
    ] {
        let t = table(counts);
        Source::of(rows, data, source).row("Cohen's kappa", kappa, cohen_kappa(&t).unwrap()).row(
            "PABAK",
            free,
            pabak(&t).unwrap(),
        );
    }
    let t = table([[22, 2], [4, 11]]);
    Source::of(rows, "2 x 2, n = 39", "Sim and Wright 2005, Physical Therapy 85, 257-268 (from memory)").row(
        "prevalence index",
        "0.28",
        prevalence_index(&t).unwrap(),
    );
}

fn coefficients(rows: &mut Vec<Check>) {
    let t = table([[118, 5], [2, 0]]);
    Source::of(
        rows,
        "2 x 2, n = 125",
        "Gwet 2002, Statistical Methods for Inter-Rater Reliability Assessment (from memory)",
    )
    .row("Cohen's kappa", "-0.023", cohen_kappa(&t).unwrap())
    .row("Gwet's AC1", "0.941", gwet_ac1(&t).unwrap())
    .row("Scott's pi", "-0.029", scott_pi(&t).unwrap());
    let t = table([[13, 0, 0], [0, 20, 7], [0, 4, 56]]);
    Source::of(
        rows,
        "3 x 3, n = 100",
        "Gwet 2014, Handbook of Inter-Rater Reliability; output in the README of irrCAC",
    )
    .row("Cohen's kappa", "0.7964094", cohen_kappa(&t).unwrap())
    .row("Scott's pi", "0.7962397", scott_pi(&t).unwrap())
    .row("Gwet's AC1", "0.8493305", gwet_ac1(&t).unwrap())
    .row("standard error of AC1", "0.04321747", gwet_ac1_se(&t).unwrap())
    .row("PABAK", "0.835", pabak(&t).unwrap())
    .row("accuracy", "0.89", accuracy(&t).unwrap());
}

fn libraries(rows: &mut Vec<Check>) {
    Source::of(rows, "6 hits, 2 misses, 1 false, 3 right rejections", "a widely reprinted example (from memory)").row(
        "MCC",
        "0.478",
        mcc(&table([[6, 2], [1, 3]])).unwrap(),
    );
    Source::of(rows, "four labels", "scikit-learn, documentation of matthews_corrcoef").row(
        "MCC",
        "-0.33",
        mcc(&sides(2, &[1, 1, 1, 0], &[1, 0, 1, 1])).unwrap(),
    );
    let t = sides(2, &[0, 1, 0, 0, 1, 0], &[0, 1, 0, 0, 0, 1]);
    Source::of(rows, "six labels", "scikit-learn, documentation of balanced_accuracy_score").row(
        "balanced accuracy",
        "0.625",
        balanced_accuracy(&t).unwrap(),
    );
    let t = sides(3, &[0, 1, 2, 0, 1, 2], &[0, 2, 1, 0, 0, 1]);
    Source::of(rows, "six labels, three classes", "scikit-learn, documentation of f1_score")
        .row("macro F1", "0.267", macro_f1(&t).unwrap())
        .row("weighted F1", "0.267", weighted_f1(&t).unwrap())
        .row("accuracy", "0.33", accuracy(&t).unwrap())
        .row("F1 of the first class", "0.8", f1(&t, 0).unwrap());
}

fn pairs(rows: &mut Vec<Check>) {
    let source =
        "Fagerland, Lydersen and Laake, Statistical Analysis of Contingency Tables, in the R package contingencytables";
    let t = table([[59, 6], [16, 80]]);
    let (d, m) = (newcombe_paired(&t).unwrap(), mcnemar(&t).unwrap());
    Source::of(rows, "paired, n = 161", source)
        .row("paired difference of shares", "-0.0621", d.difference)
        .row("Newcombe, lower limit", "-0.1186", d.interval.0)
        .row("Newcombe, upper limit", "-0.0046", d.interval.1)
        .row("McNemar, p", "0.033006", m.p)
        .row("McNemar, exact p", "0.052479", m.p_exact);
    let d = newcombe_paired(&table([[36, 12], [2, 0]])).unwrap();
    Source::of(rows, "paired, n = 50", "Newcombe 1998, Statistics in Medicine 17, 2635-2650, method 10 (from memory)")
        .row("paired difference of shares", "0.2", d.difference)
        .row("Newcombe, lower limit", "0.0569", d.interval.0)
        .row("Newcombe, upper limit", "0.3404", d.interval.1);
    let m = mcnemar(&table([[101, 121], [59, 33]])).unwrap();
    Source::of(rows, "121 against 59", "R mcnemar.test, kept in the tests of statsmodels")
        .row("McNemar", "21.35556", m.statistic)
        .row("McNemar, p", "3.815136e-06", m.p);
    let m = mcnemar(&table([[794, 150], [86, 570]])).unwrap();
    Source::of(rows, "approval ratings", "Agresti 1990, p. 350; help page of R mcnemar.test").row(
        "McNemar",
        "17.36",
        m.statistic,
    );
    let b = bowker(&table([[596, 18, 6, 5], [0, 2, 0, 0], [0, 0, 42, 0], [11, 0, 0, 0]])).unwrap();
    Source::of(rows, "4 x 4 with empty pairs of cells", source).row("Bowker", "26.250", b.statistic).row(
        "Bowker, p",
        "0.000200",
        b.p,
    );
}
