//! The night under check, and the one function that runs every check on it.

use crate::checks::CHECKS;
use crate::order;
use counterpane_model::{Finding, Kind, NightFacts, Stage};

/// One check: the facts of what it finds, and the function that finds it.
#[derive(Clone, Copy, Debug)]
pub struct Check {
    /// Code, severity, reasons and help of its findings.
    pub kind: Kind,
    /// Adds what it finds in the night to the list, in the order of time.
    pub check: fn(&NightFacts<'_>, &mut Vec<Finding>),
}

/// Returns everything that the checks find in a night: errors first, then by recording and by place.
///
/// For each code and recording a few samples are kept and all are counted: the sum of
/// [`Finding::count`] over a code is how often it was found. The same input gives the same answer.
#[must_use]
pub fn check_night(night: &NightFacts<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for check in CHECKS {
        (check.check)(night, &mut found);
    }
    order::sort(&mut found);
    found
}

/// Returns the stages as a list in a sentence, such as `W, Light and R`.
pub(crate) fn stage_list(stages: &[Stage]) -> String {
    crate::words::listed(&stages.iter().map(|s| s.code().to_owned()).collect::<Vec<_>>())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, night, reference, time};
    use counterpane_model::{Lights, Night, Severity};

    #[test]
    fn a_night_with_nothing_wrong_has_no_findings() {
        let sound = "22:00-22:20W 22:20-23:10Light 23:10-23:50N3 23:50-00:10R";
        let scored = "22:00-22:20W 22:20-23:10N2 23:10-23:50N3 23:50-00:10R";
        let lights = Lights { off: Some(time("Asia/Tokyo", "22:00")), on: Some(time("Asia/Tokyo", "00:10")) };
        let night = Night { lights, ..night() };
        assert_eq!(check_night(&NightFacts::of(&night, &[reference(scored), device(sound)])), []);
    }

    #[test]
    fn errors_come_first_then_the_recordings_in_order() {
        let broken = device("22:00-22:30W 22:20-23:00N3 23:20-06:00Light 06:00-06:10R");
        let mut second = broken.clone();
        second.key = "P01/2026-04-04/another".into();
        let found = check_night(&NightFacts::of(&night(), &[broken, second]));
        let seen: Vec<_> = found.iter().map(|f| (f.code.as_ref(), f.recording.as_deref())).collect();
        let (another, ring) = (Some("P01/2026-04-04/another"), Some("P01/2026-04-04/ring-a-1"));
        assert_eq!(
            seen,
            [
                ("spans-overlap", another),
                ("spans-overlap", ring),
                ("gap-inside", another),
                ("gap-inside", ring),
                ("reference-missing", None),
            ]
        );
        assert!(found.windows(2).all(|w| w[0].severity <= w[1].severity));
        assert!(found.iter().all(|f| f.night == Some(("P01".into(), "2026-04-04".into()))));
    }

    #[test]
    fn a_thousand_faults_are_counted_and_a_few_are_shown() {
        let words: Vec<String> = (0..600).map(|i| format!("{:02}:{:02}-12:00W", i / 60, i % 60)).collect();
        let mut recording = device(&words.join(" "));
        for span in recording.spans.iter_mut().step_by(2) {
            span.mark = counterpane_model::Mark::Off;
        }
        let found = check_night(&NightFacts::of(&night(), &[recording]));
        let overlaps: Vec<_> = found.iter().filter(|f| f.code == "spans-overlap").collect();
        assert_eq!(overlaps.len(), crate::sample::SAMPLE);
        assert_eq!(overlaps.iter().map(|f| f.count).sum::<u64>(), 599);
        assert_eq!(overlaps[0].severity, Severity::Error);
    }
}
