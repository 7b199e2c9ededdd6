//! A night has no reference.

use crate::Check;
use crate::words::counted;
use counterpane_model::{Accepted, Finding, Kind, NightFacts, Severity};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "reference-missing",
        severity: Severity::Info,
        title: "a night has no reference",
        why: "Without a scored polysomnogram, or whatever else is the reference, the devices of a night can be shown \
              beside each other but not judged. Most studies wait for the scoring for a while, so it is no fault.",
        example: "info[reference-missing]: the night of P01, 2026-04-04, has 6 recordings of devices and no scored \
                  reference",
        help: "import the scoring with `counterpane import` and its `--scorer`; `counterpane nights` shows \
               which nights have one",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    if night.reference().is_some() {
        return;
    }
    let devices = counted(night.devices().count() as u64, "recording of a device", "recordings of devices");
    let message = format!(
        "the night of {}, {}, has {devices} and no scored reference",
        night.night.participant, night.night.label
    );
    found.push(night.finding(&CHECK.kind, message));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found, night, reference};

    #[test]
    fn a_night_without_a_reference_says_so() {
        assert_eq!(
            found(&CHECK, &night(), &[device("22:00-23:00W")]),
            "info: the night of P01, 2026-04-04, has 1 recording of a device and no scored reference\n"
        );
        assert_eq!(
            found(&CHECK, &night(), &[]),
            "info: the night of P01, 2026-04-04, has 0 recordings of devices and no scored reference\n"
        );
    }

    #[test]
    fn a_reference_that_scores_nothing_is_none() {
        assert!(found(&CHECK, &night(), &[reference("22:00-23:00unscored")]).contains("no scored reference"));
        assert_eq!(found(&CHECK, &night(), &[reference("22:00-23:00W")]), "");
    }
}
