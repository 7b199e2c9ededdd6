//! The findings that import can make: one file for each.

pub(crate) mod claim_impossible;
pub(crate) mod claims_contradict;
pub(crate) mod clock_outside_night;
pub(crate) mod code_count;
pub(crate) mod duplicate_row;
pub(crate) mod end_missing;
pub(crate) mod filter_failed;
pub(crate) mod length_not_positive;
pub(crate) mod no_rows;
pub(crate) mod no_zone;
pub(crate) mod order_backwards;
pub(crate) mod outside_screen;
pub(crate) mod row_unreadable;
pub(crate) mod snapped;
pub(crate) mod span_very_short;
pub(crate) mod time_repeated;
pub(crate) mod time_settled;
pub(crate) mod time_skipped;
pub(crate) mod time_unreadable;
pub(crate) mod unmapped_label;
pub(crate) mod value_unreadable;
pub(crate) mod zone_differs;

use counterpane_model::Kind;
pub use outside_screen::KIND as OUTSIDE_SCREEN;

/// Every kind of finding that import can make, alphabetically.
pub static KINDS: &[&Kind] = &[
    &claim_impossible::KIND,
    &claims_contradict::KIND,
    &clock_outside_night::KIND,
    &code_count::KIND,
    &duplicate_row::KIND,
    &end_missing::KIND,
    &filter_failed::KIND,
    &length_not_positive::KIND,
    &no_rows::KIND,
    &no_zone::KIND,
    &order_backwards::KIND,
    &outside_screen::KIND,
    &row_unreadable::KIND,
    &snapped::KIND,
    &span_very_short::KIND,
    &time_repeated::KIND,
    &time_settled::KIND,
    &time_skipped::KIND,
    &time_unreadable::KIND,
    &unmapped_label::KIND,
    &value_unreadable::KIND,
    &zone_differs::KIND,
];

#[cfg(test)]
mod tests {
    use super::*;
    use counterpane_model::{Accepted, Severity};

    #[test]
    fn every_file_is_listed() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/kinds");
        let mut files: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .map(|f| f.unwrap().path().file_stem().unwrap().to_string_lossy().replace('_', "-"))
            .collect();
        files.sort();
        let listed: Vec<&str> = KINDS.iter().map(|k| k.code).collect();
        assert_eq!(
            listed, files,
            "list every file of crates/import/src/kinds in KINDS, alphabetically; code = file name"
        );
    }

    #[test]
    fn a_kind_explains_itself() {
        for kind in KINDS {
            let head = format!("{}[{}]: ", kind.severity, kind.code);
            assert!(kind.example.starts_with(&head), "the example of {} must begin with `{head}`", kind.code);
            let needed = !matches!(kind.accepted, Accepted::NotNeeded);
            assert_eq!(needed, kind.severity == Severity::Error, "{}: only an error can be accepted", kind.code);
        }
    }
}
