//! Every statistic of this crate with its facts.

use crate::{
    accuracy, atanh_interval, balanced_accuracy, bias_index, bowker, clock_offset, cohen_kappa, exact_interval, f1,
    fleiss_kappa, gwet_ac1, gwet_ac1_se, kappa_null_se, kappa_se, krippendorff_alpha, logit_interval, macro_f1, mcc,
    mcnemar, newcombe_paired, npv, pabak, percent_deviation, ppv, prevalence_index, scott_pi, sensitivity, specificity,
    t_interval, weighted_f1, weighted_kappa, wilson_interval, worst_sensitivity,
};

/// What a reader must know of a statistic.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Statistic {
    /// Name of the file that holds it, of its function, and its anchor in the page.
    pub key: &'static str,
    /// Name as people write it.
    pub name: &'static str,
    /// What it says, in words.
    pub meaning: &'static str,
    /// How it is computed.
    pub formula: &'static str,
    /// What values it can take.
    pub range: &'static str,
    /// When there is no value.
    pub undefined: &'static str,
    /// What it must not be taken for.
    pub caution: &'static str,
    /// Who defined it.
    pub source: &'static str,
}

/// Every statistic, in the order of the keys.
pub const STATISTICS: &[&Statistic] = &[
    &accuracy::STATISTIC,
    &atanh_interval::STATISTIC,
    &balanced_accuracy::STATISTIC,
    &bias_index::STATISTIC,
    &bowker::STATISTIC,
    &clock_offset::STATISTIC,
    &cohen_kappa::STATISTIC,
    &exact_interval::STATISTIC,
    &f1::STATISTIC,
    &fleiss_kappa::STATISTIC,
    &gwet_ac1::STATISTIC,
    &gwet_ac1_se::STATISTIC,
    &kappa_null_se::STATISTIC,
    &kappa_se::STATISTIC,
    &krippendorff_alpha::STATISTIC,
    &logit_interval::STATISTIC,
    &macro_f1::STATISTIC,
    &mcc::STATISTIC,
    &mcnemar::STATISTIC,
    &newcombe_paired::STATISTIC,
    &npv::STATISTIC,
    &pabak::STATISTIC,
    &percent_deviation::STATISTIC,
    &ppv::STATISTIC,
    &prevalence_index::STATISTIC,
    &scott_pi::STATISTIC,
    &sensitivity::STATISTIC,
    &specificity::STATISTIC,
    &t_interval::STATISTIC,
    &weighted_f1::STATISTIC,
    &weighted_kappa::STATISTIC,
    &wilson_interval::STATISTIC,
    &worst_sensitivity::STATISTIC,
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Files of the folder that hold no statistic.
    const OTHERS: [&str; 11] = [
        "agree",
        "lib",
        "list",
        "outcomes",
        "page",
        "quantiles",
        "ratings",
        "special",
        "table",
        "testing",
        "undefined",
    ];

    #[test]
    fn every_file_with_a_statistic_is_listed() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src");
        let mut files: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().path().file_stem().unwrap().to_str().unwrap().to_owned())
            .filter(|stem| !OTHERS.contains(&stem.as_str()))
            .collect();
        files.sort();
        let listed: Vec<&str> = STATISTICS.iter().map(|s| s.key).collect();
        assert_eq!(
            listed, files,
            "list every statistic of crates/stats/src in STATISTICS, alphabetically; key = file name \
             (a file that holds no statistic goes into OTHERS of this test)"
        );
    }

    #[test]
    fn every_fact_is_given() {
        for s in STATISTICS {
            for text in [s.name, s.meaning, s.formula, s.range, s.undefined, s.caution, s.source] {
                assert!(!text.is_empty(), "a fact of `{}` is empty; write it", s.key);
                assert!(!text.contains("  "), "`{}` has a double space in: {text}", s.key);
            }
        }
    }
}
