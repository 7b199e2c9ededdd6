//! Statistics of agreement: numbers in, numbers out.
//!
//! **Invariant.** Nothing here knows a device, a night or an epoch, and nothing reads or writes.
//! Every function names its source, and says when its result is undefined.
//!
//! One file holds one statistic: its facts, its function, its tests. [`STATISTICS`] lists them, and
//! [`page`] makes `docs/statistics.md` of the list.

mod accuracy;
mod agree;
mod atanh_interval;
mod balanced_accuracy;
mod bias_index;
mod bowker;
mod clock_offset;
mod cohen_kappa;
mod exact_interval;
mod f1;
mod fleiss_kappa;
mod gwet_ac1;
mod gwet_ac1_se;
mod kappa_null_se;
mod kappa_se;
mod krippendorff_alpha;
mod list;
mod logit_interval;
mod macro_f1;
mod mcc;
mod mcnemar;
mod newcombe_paired;
mod npv;
mod outcomes;
mod pabak;
mod page;
mod percent_deviation;
mod ppv;
mod prevalence_index;
mod quantiles;
mod ratings;
mod scott_pi;
mod sensitivity;
mod special;
mod specificity;
mod t_interval;
mod table;
#[cfg(test)]
mod testing;
mod undefined;
mod weighted_f1;
mod weighted_kappa;
mod wilson_interval;
mod worst_sensitivity;

pub use accuracy::accuracy;
pub use agree::{AGREE_VERSION, Agree, AgreeClass, agree, agree_of};
pub use atanh_interval::atanh_interval;
pub use balanced_accuracy::{balanced_accuracy, balanced_accuracy_classes};
pub use bias_index::bias_index;
pub use bowker::{Bowker, bowker};
pub use clock_offset::{ClockOffset, LagCounts, clock_offset, clock_offset_interval, lag_counts};
pub use cohen_kappa::cohen_kappa;
pub use exact_interval::exact_interval;
pub use f1::f1;
pub use fleiss_kappa::fleiss_kappa;
pub use gwet_ac1::gwet_ac1;
pub use gwet_ac1_se::gwet_ac1_se;
pub use kappa_null_se::kappa_null_se;
pub use kappa_se::kappa_se;
pub use krippendorff_alpha::krippendorff_alpha;
pub use list::{STATISTICS, Statistic};
pub use logit_interval::logit_interval;
pub use macro_f1::macro_f1;
pub use mcc::mcc;
pub use mcnemar::{McNemar, mcnemar};
pub use newcombe_paired::{PairedShares, newcombe_paired};
pub use npv::npv;
pub use outcomes::Outcomes;
pub use pabak::pabak;
pub use page::page;
pub use percent_deviation::percent_deviation;
pub use ppv::ppv;
pub use prevalence_index::prevalence_index;
pub use ratings::Ratings;
pub use scott_pi::scott_pi;
pub use sensitivity::sensitivity;
pub use specificity::specificity;
pub use t_interval::t_interval;
pub use table::{Table, TableError};
pub use undefined::{Figure, Undefined};
pub use weighted_f1::weighted_f1;
pub use weighted_kappa::weighted_kappa;
pub use wilson_interval::{wilson_interval, wilson_interval_of_share};
pub use worst_sensitivity::{WORST_NEEDS, WorstClass, worst_sensitivity};
