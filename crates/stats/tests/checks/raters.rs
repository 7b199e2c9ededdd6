//! Printed values of several raters.

use crate::published::{DIAGNOSES, TEN};
use crate::{Check, Source};
use counterpane_stats::{Ratings, fleiss_kappa, krippendorff_alpha};

fn counts<const K: usize>(rows: &[[u64; K]]) -> Ratings {
    Ratings::from_counts(rows.iter().map(|row| row.to_vec()).collect())
}

/// One text for each rater: a digit for each unit, a dot where there is none.
fn raters(classes: usize, texts: &[&str]) -> Ratings {
    let side = |text: &&str| text.chars().map(|c| c.to_digit(10).map(|d| d as usize)).collect::<Vec<_>>();
    let sides: Vec<Vec<Option<usize>>> = texts.iter().map(side).collect();
    Ratings::from_raters(classes, &sides.iter().map(Vec::as_slice).collect::<Vec<_>>()).unwrap()
}

pub(crate) fn checks(rows: &mut Vec<Check>) {
    Source::of(rows, "10 subjects, 14 raters", "a widely reprinted example, kept in the tests of statsmodels").row(
        "Fleiss' kappa",
        "0.210",
        fleiss_kappa(&counts(&TEN)).unwrap(),
    );
    Source::of(rows, "30 patients, 6 psychiatrists", "Fleiss 1971, Psychological Bulletin 76, 378-382").row(
        "Fleiss' kappa",
        "0.430",
        fleiss_kappa(&counts(&DIAGNOSES)).unwrap(),
    );
    Source::of(rows, "`diagnoses`", "R package irr, kept in the tests of statsmodels").row(
        "Fleiss' kappa",
        "0.4302445",
        fleiss_kappa(&counts(&DIAGNOSES)).unwrap(),
    );
    Source::of(rows, "the first 15 patients of Fleiss 1971", "README of irrCAC")
        .row("Fleiss' kappa", "0.4139265", fleiss_kappa(&counts(&DIAGNOSES[..15])).unwrap())
        .row("Krippendorff's alpha", "0.4204384", krippendorff_alpha(&counts(&DIAGNOSES[..15])).unwrap());
    let calculator = "Randolph's online calculator, kept in the tests of statsmodels";
    Source::of(rows, "2 subjects, 8 raters", calculator).row(
        "Fleiss' kappa",
        "0.161905",
        fleiss_kappa(&counts(&[[7, 1], [3, 5]])).unwrap(),
    );
    Source::of(rows, "2 subjects, 7 raters", calculator).row(
        "Fleiss' kappa",
        "0.708333",
        fleiss_kappa(&counts(&[[6, 1, 0], [0, 7, 0]])).unwrap(),
    );
    let c = raters(5, &["012210301...", "0122113014.2", ".2221231140.", "01221330140."]);
    Source::of(
        rows,
        "4 observers, 12 units, some missing",
        "Krippendorff 2011, Computing Krippendorff's Alpha-Reliability, example C",
    )
    .row("Krippendorff's alpha", "0.743", krippendorff_alpha(&c).unwrap());
    Source::of(rows, "4 observers, 12 units, some missing", "README of irrCAC").row(
        "Krippendorff's alpha",
        "0.74342",
        krippendorff_alpha(&c).unwrap(),
    );
    let a = raters(2, &["0100000000", "1110010100"]);
    Source::of(rows, "2 observers, two values", "Krippendorff 2011, example A (from memory)").row(
        "Krippendorff's alpha",
        "0.095",
        krippendorff_alpha(&a).unwrap(),
    );
    let b = raters(5, &["001132224330", "101112224333"]);
    Source::of(rows, "2 observers, five values", "Krippendorff 2011, example B (from memory)").row(
        "Krippendorff's alpha",
        "0.692",
        krippendorff_alpha(&b).unwrap(),
    );
}
