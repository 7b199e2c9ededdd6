//! What the templates show: texts that are ready, and nothing to compute.

pub(crate) mod baselines;
pub(crate) mod bouts;
pub(crate) mod claims;
pub(crate) mod clocks;
pub(crate) mod closing;
pub(crate) mod deviations;
pub(crate) mod device;
pub(crate) mod explained;
pub(crate) mod exports;
pub(crate) mod figure;
pub(crate) mod giving;
pub(crate) mod groups;
pub(crate) mod left_out;
pub(crate) mod minutes_tables;
pub(crate) mod night;
pub(crate) mod notes;
pub(crate) mod once;
pub(crate) mod pairs;
pub(crate) mod pictures;
pub(crate) mod planned;
pub(crate) mod pooled;
pub(crate) mod reading;
pub(crate) mod scorers;
pub(crate) mod statistics;
pub(crate) mod table;
pub(crate) mod what_if;
