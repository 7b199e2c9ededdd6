//! Every check, one file each. The file is named after the code, with underscores.

mod acceptance_idle;
pub(crate) mod claims_differ;
mod clock_hours_off;
mod clock_offset;
mod coverage_low;
mod exclusion_idle;
mod gap_inside;
mod lights_order;
mod lights_unknown;
mod mostly_deep_sleep;
mod no_rem_sleep;
mod no_wake;
mod outside_window;
mod recording_cut_short;
mod recording_repeated;
mod reference_missing;
mod scorers_disagree;
pub(crate) mod slip_likely;
mod software_changed;
mod spans_overlap;
mod spans_repeated;
pub(crate) mod stage_unchanged;
mod stages_not_comparable;
mod times_off_step;
mod unscored_spans;
mod zone_other;
mod zone_rules_differ;

use crate::Check;
use counterpane_model::Kind;

/// Every check, in alphabetical order of its code. Add a new one here.
pub static CHECKS: &[&Check] = &[
    &acceptance_idle::CHECK,
    &claims_differ::CHECK,
    &clock_hours_off::CHECK,
    &clock_offset::CHECK,
    &coverage_low::CHECK,
    &exclusion_idle::CHECK,
    &gap_inside::CHECK,
    &lights_order::CHECK,
    &lights_unknown::CHECK,
    &mostly_deep_sleep::CHECK,
    &no_rem_sleep::CHECK,
    &no_wake::CHECK,
    &outside_window::CHECK,
    &recording_cut_short::CHECK,
    &recording_repeated::CHECK,
    &reference_missing::CHECK,
    &scorers_disagree::CHECK,
    &slip_likely::CHECK,
    &software_changed::CHECK,
    &spans_overlap::CHECK,
    &spans_repeated::CHECK,
    &stage_unchanged::CHECK,
    &stages_not_comparable::CHECK,
    &times_off_step::CHECK,
    &unscored_spans::CHECK,
    &zone_other::CHECK,
    &zone_rules_differ::CHECK,
];

/// Returns the facts of a code that a check of this crate gives, or `None`.
#[must_use]
pub fn kind_of(code: &str) -> Option<&'static Kind> {
    CHECKS.iter().map(|c| &c.kind).find(|k| k.code == code)
}

#[cfg(test)]
mod tests {
    use super::*;
    use counterpane_model::{Accepted, Severity};

    /// The commands that a help text may send the reader to.
    const COMMANDS: [&str; 13] = [
        "accept",
        "check",
        "clock",
        "compare",
        "definition",
        "exclude",
        "explain",
        "import",
        "lineage",
        "nights",
        "query",
        "show",
        "withdraw",
    ];

    #[test]
    fn every_file_of_the_folder_is_listed_in_order() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/checks");
        let mut files: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .map(|f| f.unwrap().file_name().into_string().unwrap())
            .filter(|name| name != "mod.rs")
            .map(|name| name.trim_end_matches(".rs").replace('_', "-"))
            .collect();
        files.sort();
        let listed: Vec<&str> = CHECKS.iter().map(|c| c.kind.code).collect();
        assert_eq!(
            listed, files,
            "list every file of crates/check/src/checks in CHECKS, alphabetically; the code is the file name with \
             hyphens"
        );
    }

    #[test]
    fn every_kind_is_written_out() {
        for Kind { code, severity, title, why, example, help, accepted } in CHECKS.iter().map(|c| &c.kind) {
            for (name, text) in [("title", title), ("why", why), ("example", example), ("help", help)] {
                assert!(text.len() > 15, "`{code}` needs a {name} that says something");
            }
            assert!(!title.ends_with('.'), "the title of `{code}` is a sentence without a full stop");
            assert!(
                example.starts_with(&format!("{severity}[{code}]: ")),
                "the example of `{code}` begins as the user would see it: `{severity}[{code}]: `"
            );
            assert_eq!(
                *severity == Severity::Error,
                *accepted != Accepted::NotNeeded,
                "`{code}`: an error says what is computed when it is accepted, anything else holds nothing back"
            );
        }
    }

    #[test]
    fn help_sends_the_reader_only_to_commands_that_exist() {
        for kind in CHECKS.iter().map(|c| &c.kind) {
            let page = crate::catalogue_entry(kind);
            let named: Vec<&str> =
                page.split("`counterpane ").skip(1).map(|rest| rest.split([' ', '`']).next().unwrap()).collect();
            for command in named {
                assert!(COMMANDS.contains(&command), "`{}` names the unknown command `{command}`", kind.code);
            }
            assert!(kind.help.contains("`counterpane "), "the help of `{}` names no command", kind.code);
        }
    }

    #[test]
    fn a_kind_is_found_by_its_code() {
        assert_eq!(kind_of("gap-inside").map(|k| k.severity), Some(Severity::Warning));
        assert!(kind_of("gap_inside").is_none());
    }
}
