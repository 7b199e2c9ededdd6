//! Every statistic of two label lists, in the shape in which it is printed as JSON.

use crate::{
    Figure, Table, TableError, Undefined, accuracy, balanced_accuracy, cohen_kappa, f1, gwet_ac1, kappa_se, macro_f1,
    mcc, npv, pabak, ppv, sensitivity, specificity, weighted_f1,
};
use serde::Serialize;
use std::collections::BTreeMap;

/// Version of the shape of [`Agree`].
pub const AGREE_VERSION: u32 = 1;

/// Every statistic of one table of two sides.
///
/// What is undefined is `None` and stands in [`Agree::undefined`] with its reason; the name of a
/// figure of a class is `per_class.` class `.` figure, such as `per_class.R.sensitivity`.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Agree {
    /// Version of this shape, 1.
    pub version: u32,
    /// Name of the scheme.
    pub scheme: String,
    /// The classes in the order of the matrix.
    pub classes: Vec<String>,
    /// Number of pairs that both sides scored.
    pub n: u64,
    /// Counts of pairs: `matrix[i][j]` has reference class `i` and other class `j`.
    pub matrix: Vec<Vec<u64>>,
    /// Share of pairs that agree.
    pub accuracy: Option<f64>,
    /// Cohen's kappa.
    pub kappa: Option<f64>,
    /// Standard error of kappa for independent pairs (Fleiss, Cohen and Everitt 1969).
    pub kappa_se: Option<f64>,
    /// Prevalence- and bias-adjusted kappa.
    pub pabak: Option<f64>,
    /// Multi-class Matthews correlation coefficient.
    pub mcc: Option<f64>,
    /// Gwet's AC1.
    pub ac1: Option<f64>,
    /// Mean of the sensitivities of the classes that the reference uses.
    pub balanced_accuracy: Option<f64>,
    /// Mean of F1 over the classes that either side uses.
    pub macro_f1: Option<f64>,
    /// Mean of F1 weighted with the reference's use of each class.
    pub weighted_f1: Option<f64>,
    /// The figures of each class, in the order of `classes`.
    pub per_class: Vec<AgreeClass>,
    /// Name of each figure that is undefined, and why.
    #[schemars(with = "BTreeMap<String, String>")]
    pub undefined: BTreeMap<String, Undefined>,
}

/// The figures of one class.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct AgreeClass {
    /// The class.
    pub class: String,
    /// Of the reference's epochs of the class, the share that the other side calls so.
    pub sensitivity: Option<f64>,
    /// Of the reference's other epochs, the share that the other side does not call so.
    pub specificity: Option<f64>,
    /// Of the other side's epochs of the class, the share that the reference calls so.
    pub ppv: Option<f64>,
    /// Of the other side's other epochs, the share that the reference does not call so.
    pub npv: Option<f64>,
    /// Harmonic mean of sensitivity and ppv.
    pub f1: Option<f64>,
}

/// Returns every statistic of two lists of labels, as class numbers into `classes`; `None` is unscored.
///
/// # Errors
/// When the lists differ in length or a class number is not below the number of classes.
pub fn agree(
    scheme: &str,
    classes: &[&str],
    reference: &[Option<usize>],
    other: &[Option<usize>],
) -> Result<Agree, TableError> {
    Ok(agree_of(scheme, classes, &Table::from_pairs(classes.len(), reference, other)?))
}

/// Returns every statistic of a table; `classes` names its rows and columns.
#[must_use]
pub fn agree_of(scheme: &str, classes: &[&str], table: &Table) -> Agree {
    let mut undefined = BTreeMap::new();
    let mut keep = |name: &str, figure: Figure| match figure {
        Ok(value) => Some(value),
        Err(why) => {
            undefined.insert(name.to_owned(), why);
            None
        }
    };
    Agree {
        version: AGREE_VERSION,
        scheme: scheme.to_owned(),
        classes: classes.iter().map(|class| (*class).to_owned()).collect(),
        n: table.n(),
        matrix: table.counts().to_vec(),
        accuracy: keep("accuracy", accuracy(table)),
        kappa: keep("kappa", cohen_kappa(table)),
        kappa_se: keep("kappa_se", kappa_se(table)),
        pabak: keep("pabak", pabak(table)),
        mcc: keep("mcc", mcc(table)),
        ac1: keep("ac1", gwet_ac1(table)),
        balanced_accuracy: keep("balanced_accuracy", balanced_accuracy(table)),
        macro_f1: keep("macro_f1", macro_f1(table)),
        weighted_f1: keep("weighted_f1", weighted_f1(table)),
        per_class: classes.iter().enumerate().map(|(i, class)| of_class(table, i, class, &mut keep)).collect(),
        undefined,
    }
}

fn of_class(table: &Table, i: usize, class: &str, keep: &mut impl FnMut(&str, Figure) -> Option<f64>) -> AgreeClass {
    let mut figure = |name: &str, figure: Figure| keep(&format!("per_class.{class}.{name}"), figure);
    AgreeClass {
        class: class.to_owned(),
        sensitivity: figure("sensitivity", sensitivity(table, i)),
        specificity: figure("specificity", specificity(table, i)),
        ppv: figure("ppv", ppv(table, i)),
        npv: figure("npv", npv(table, i)),
        f1: figure("f1", f1(table, i)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use expect_test::expect;

    fn sides(text: &str) -> Vec<Option<usize>> {
        text.chars().map(|c| "WAR".find(c)).collect()
    }

    #[test]
    fn the_keys_are_those_that_are_promised_and_undefined_is_null_with_its_reason() {
        let agree = agree("three", &["W", "NREM", "R"], &sides("WWAA?"), &sides("WAAAA")).unwrap();
        expect![[r#"
            {
              "version": 1,
              "scheme": "three",
              "classes": [
                "W",
                "NREM",
                "R"
              ],
              "n": 4,
              "matrix": [
                [
                  1,
                  1,
                  0
                ],
                [
                  0,
                  2,
                  0
                ],
                [
                  0,
                  0,
                  0
                ]
              ],
              "accuracy": 0.75,
              "kappa": 0.5,
              "kappa_se": 0.375,
              "pabak": 0.625,
              "mcc": 0.5773502691896258,
              "ac1": 0.673469387755102,
              "balanced_accuracy": 0.75,
              "macro_f1": 0.7333333333333334,
              "weighted_f1": 0.7333333333333334,
              "per_class": [
                {
                  "class": "W",
                  "sensitivity": 0.5,
                  "specificity": 1.0,
                  "ppv": 1.0,
                  "npv": 0.6666666666666666,
                  "f1": 0.6666666666666666
                },
                {
                  "class": "NREM",
                  "sensitivity": 1.0,
                  "specificity": 0.5,
                  "ppv": 0.6666666666666666,
                  "npv": 1.0,
                  "f1": 0.8
                },
                {
                  "class": "R",
                  "sensitivity": null,
                  "specificity": 1.0,
                  "ppv": null,
                  "npv": 1.0,
                  "f1": null
                }
              ],
              "undefined": {
                "per_class.R.f1": "zero_denominator",
                "per_class.R.ppv": "dev_class_absent",
                "per_class.R.sensitivity": "ref_class_absent"
              }
            }"#]]
        .assert_eq(&serde_json::to_string_pretty(&agree).unwrap());
    }

    #[test]
    fn without_a_pair_every_figure_is_undefined() {
        let agree = agree("sleep-wake", &["W", "Asleep"], &sides("?W"), &sides("W?")).unwrap();
        assert_eq!(agree.n, 0);
        assert_eq!(agree.undefined.len(), 9 + 2 * 5);
        assert!(agree.undefined.values().all(|why| *why == Undefined::NoPairs));
    }
}
