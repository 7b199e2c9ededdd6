//! The night under check, and the one function that runs every check on it.

use crate::checks::CHECKS;
use crate::order;
use counterpane_model::{Finding, Kind, Lights, Night, Recording, Stage};

/// A night with all its recordings, as the checks see it.
#[derive(Clone, Copy, Debug)]
pub struct NightUnderCheck<'a> {
    /// The declared night.
    pub night: &'a Night,
    /// What every device and every scorer says about it, in the order of the store.
    pub recordings: &'a [Recording],
}

/// One check: the facts of what it finds, and the function that finds it.
#[derive(Clone, Copy, Debug)]
pub struct Check {
    /// Code, severity, reasons and help of its findings.
    pub kind: Kind,
    /// Adds what it finds in the night to the list, in the order of time.
    pub check: fn(&NightUnderCheck<'_>, &mut Vec<Finding>),
}

impl<'a> NightUnderCheck<'a> {
    /// Returns the recordings of devices; one that holds nothing but notes is judged by nothing.
    pub(crate) fn devices(&self) -> impl Iterator<Item = &'a Recording> + use<'a> {
        self.recordings.iter().filter(|r| !r.source.is_reference() && !r.is_notes_only())
    }

    /// Returns lights off and on, where known, as a comparison with this reference takes them.
    pub(crate) fn lights(&self, reference: &Recording) -> Lights {
        self.night.lights_by(Some(reference), self.recordings)
    }

    /// Returns the reference that devices are held against: the first one that scores anything.
    pub(crate) fn reference(&self) -> Option<&'a Recording> {
        let scores = |r: &&Recording| r.source.is_reference() && r.spans.iter().any(|s| s.mark.stage().is_some());
        self.recordings.iter().find(scores)
    }

    /// Returns a finding that speaks of the night as a whole.
    pub(crate) fn finding(&self, kind: &Kind, message: String) -> Finding {
        Finding { night: Some((self.night.participant.clone(), self.night.label.clone())), ..kind.finding(message) }
    }
}

/// Returns everything that the checks find in a night: errors first, then by recording and by place.
///
/// For each code and recording a few samples are kept and all are counted: the sum of
/// [`Finding::count`] over a code is how often it was found. The same input gives the same answer.
#[must_use]
pub fn check_night(night: &Night, recordings: &[Recording]) -> Vec<Finding> {
    let under_check = NightUnderCheck { night, recordings };
    let mut found = Vec::new();
    for check in CHECKS {
        (check.check)(&under_check, &mut found);
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
    use crate::fixture::{device, night, reference};
    use counterpane_model::Severity;

    #[test]
    fn a_night_with_nothing_wrong_has_no_findings() {
        let sound = "22:00-22:20W 22:20-23:10Light 23:10-23:50N3 23:50-00:10R";
        let scored = "22:00-22:20W 22:20-23:10N2 23:10-23:50N3 23:50-00:10R";
        assert_eq!(check_night(&night(), &[reference(scored), device(sound)]), []);
    }

    #[test]
    fn errors_come_first_then_the_recordings_in_order() {
        let broken = device("22:00-22:30W 22:20-23:00Light 23:20-06:00N3 06:00-06:10R");
        let mut second = broken.clone();
        second.key = "P01/2026-04-04/another".into();
        let found = check_night(&night(), &[broken, second]);
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
        let found = check_night(&night(), &[recording]);
        let overlaps: Vec<_> = found.iter().filter(|f| f.code == "spans-overlap").collect();
        assert_eq!(overlaps.len(), crate::sample::SAMPLE);
        assert_eq!(overlaps.iter().map(|f| f.count).sum::<u64>(), 599);
        assert_eq!(overlaps[0].severity, Severity::Error);
    }
}
