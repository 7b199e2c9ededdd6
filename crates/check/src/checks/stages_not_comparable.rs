//! The words of a device allow a comparison of sleep and wake at most.

use crate::Check;
use crate::night::stage_list;
use counterpane_model::{Accepted, Finding, Kind, NightFacts, Recording, Scheme, Severity};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "stages-not-comparable",
        severity: Severity::Info,
        title: "the words of a device allow a comparison of sleep and wake at most",
        why: "A device is compared only in schemes that its own words can express. One that says no more than asleep \
              and awake, or that used a coarse word on this night, enters the sleep and wake figures and no others; \
              one that cannot even say when somebody was awake enters none. Nothing is guessed in between.",
        example: "info[stages-not-comparable]: patch-z-1 can be compared in sleep and wake only, because it can say \
                  W and Asleep",
        help: "nothing, if the device says no more; if it does, look at its label map with `counterpane definition \
               show` and mend it",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    for device in night.devices().filter(|d| !d.stages_used().is_empty()) {
        let beyond = Scheme::ALL.into_iter().filter(|s| *s != Scheme::SleepWake);
        if !beyond.clone().any(|s| device.expresses(s)) {
            found.push(CHECK.kind.finding(message(device)).of(device));
        }
    }
}

fn message(device: &Recording) -> String {
    let where_to = if device.expresses(Scheme::SleepWake) { "in sleep and wake only" } else { "in no scheme" };
    let (can, used) = (&device.vocabulary.0, device.stages_used());
    let finer = Scheme::ALL.into_iter().any(|s| s != Scheme::SleepWake && device.vocabulary.expresses(s, &[]));
    let because = if finer {
        format!("used {} on this night", stage_list(&used))
    } else {
        format!("can say {}", stage_list(can))
    };
    format!("{} can be compared {where_to}, because it {because}", device.source)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found, night};
    use counterpane_model::Stage::{self, Asleep, Light, N3, R, W};
    use counterpane_model::Vocabulary;

    fn check(can: &[Stage], spans: &str) -> String {
        found(&CHECK, &night(), &[Recording { vocabulary: Vocabulary(can.to_vec()), ..device(spans) }])
    }

    #[test]
    fn a_device_that_knows_sleep_and_wake_says_so() {
        assert_eq!(
            check(&[W, Asleep], "22:00-23:00Asleep"),
            "info: ring-a-1 can be compared in sleep and wake only, because it can say W and Asleep\n"
        );
    }

    #[test]
    fn a_device_that_cannot_say_wake_is_compared_nowhere() {
        assert_eq!(
            check(&[Light, N3, R], "22:00-23:00R"),
            "info: ring-a-1 can be compared in no scheme, because it can say Light, N3 and R\n"
        );
    }

    #[test]
    fn a_coarse_word_on_one_night_is_named() {
        assert_eq!(
            check(&[W, Light, N3, R, Asleep], "22:00-23:00Asleep 23:00-23:10R"),
            "info: ring-a-1 can be compared in sleep and wake only, because it used R and Asleep on this night\n"
        );
    }

    #[test]
    fn a_device_with_all_four_classes_is_fine_and_so_is_one_without_stages() {
        assert_eq!(check(&[W, Light, N3, R], "22:00-23:00Light"), "");
        assert_eq!(check(&[W, Asleep], "22:00-23:00off"), "");
        assert_eq!(check(&[W, Asleep], ""), "");
    }
}
