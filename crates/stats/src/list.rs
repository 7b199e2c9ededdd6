//! Every statistic of this crate with its facts.

use crate::{
    accuracy, atanh_interval, balanced_accuracy, bca_interval, bias, bias_index, block_length, bootstrap_p, bowker,
    ccc, chance_accuracy, clock_offset, cluster_bootstrap, cohen_kappa, effective_n, equivalence, exact_interval, f1,
    fleiss_kappa, gwet_ac1, gwet_ac1_se, holm, icc, kappa_null_se, kappa_se, krippendorff_alpha, limits_of_agreement,
    log_limits, logit_interval, macro_f1, mae, mape, mcc, mcnemar, mover_limits, newcombe_paired, night_interval, npv,
    pabak, participant_interval, percent_deviation, percentile_interval, plan_difference, plan_icc, plan_limits,
    plan_mean, plan_simulation, ppv, prevalence_index, proportional_bias, random_night, rank_interval, rank_shares,
    regression_limits, repeated_limits, replicate_limits, rmse, scott_pi, sensitivity, sign_flip, skill, specificity,
    spread_growth, stationary_bootstrap, t_interval, time_of_night_prior, wake_bouts, weighted_f1, weighted_kappa,
    wilson_interval, worst_sensitivity,
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
    &bca_interval::STATISTIC,
    &bias::STATISTIC,
    &bias_index::STATISTIC,
    &block_length::STATISTIC,
    &bootstrap_p::STATISTIC,
    &bowker::STATISTIC,
    &ccc::STATISTIC,
    &chance_accuracy::STATISTIC,
    &clock_offset::STATISTIC,
    &cluster_bootstrap::STATISTIC,
    &cohen_kappa::STATISTIC,
    &effective_n::STATISTIC,
    &equivalence::STATISTIC,
    &exact_interval::STATISTIC,
    &f1::STATISTIC,
    &fleiss_kappa::STATISTIC,
    &gwet_ac1::STATISTIC,
    &gwet_ac1_se::STATISTIC,
    &holm::STATISTIC,
    &icc::STATISTIC,
    &kappa_null_se::STATISTIC,
    &kappa_se::STATISTIC,
    &krippendorff_alpha::STATISTIC,
    &limits_of_agreement::STATISTIC,
    &log_limits::STATISTIC,
    &logit_interval::STATISTIC,
    &macro_f1::STATISTIC,
    &mae::STATISTIC,
    &mape::STATISTIC,
    &mcc::STATISTIC,
    &mcnemar::STATISTIC,
    &mover_limits::STATISTIC,
    &newcombe_paired::STATISTIC,
    &night_interval::STATISTIC,
    &npv::STATISTIC,
    &pabak::STATISTIC,
    &participant_interval::STATISTIC,
    &percent_deviation::STATISTIC,
    &percentile_interval::STATISTIC,
    &plan_difference::STATISTIC,
    &plan_icc::STATISTIC,
    &plan_limits::STATISTIC,
    &plan_mean::STATISTIC,
    &plan_simulation::STATISTIC,
    &ppv::STATISTIC,
    &prevalence_index::STATISTIC,
    &proportional_bias::STATISTIC,
    &random_night::STATISTIC,
    &rank_interval::STATISTIC,
    &rank_shares::STATISTIC,
    &regression_limits::STATISTIC,
    &repeated_limits::STATISTIC,
    &replicate_limits::STATISTIC,
    &rmse::STATISTIC,
    &scott_pi::STATISTIC,
    &sensitivity::STATISTIC,
    &sign_flip::STATISTIC,
    &skill::STATISTIC,
    &specificity::STATISTIC,
    &spread_growth::STATISTIC,
    &stationary_bootstrap::STATISTIC,
    &t_interval::STATISTIC,
    &time_of_night_prior::STATISTIC,
    &wake_bouts::STATISTIC,
    &weighted_f1::STATISTIC,
    &weighted_kappa::STATISTIC,
    &wilson_interval::STATISTIC,
    &worst_sensitivity::STATISTIC,
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Files of the folder that hold no statistic.
    const OTHERS: [&str; 18] = [
        "agree",
        "bouts",
        "draws",
        "lib",
        "line",
        "list",
        "measured_coverage",
        "night_draws",
        "outcomes",
        "page",
        "quantiles",
        "ratings",
        "special",
        "table",
        "testing",
        "threads",
        "undefined",
        "wake_match",
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
