//! What may be said of this many people and nights, and the cautions.

use crate::words::count;
use counterpane_compare::{Comparison, Inference};
use counterpane_model::ScoredBy;
use std::collections::BTreeSet;

/// The cautions in full, in the order of the page.
pub(crate) const CAUTIONS: [&str; 6] = [
    "This is not a medical device, and nothing here is a diagnosis.",
    "Stages from consumer devices are estimates. A device sees movement, pulse or temperature, and infers the rest.",
    "Whoever has a complaint about sleep should see a clinician, whatever a device or this report says.",
    "Scoring of polysomnograms and diagnosis belong to licensed staff under the rules of the place.",
    "Two people who score the same night do not agree on every epoch. A device cannot be expected to agree with one \
     scorer better than another scorer does.",
    "Recordings of sleep are health data. Participants are codes here; whoever passes this page on passes on their \
     nights.",
];

/// Returns how many participants and nights there are, in words.
pub(crate) fn counted(comparison: &Comparison) -> String {
    let devices = comparison.devices.len();
    let nights = count(comparison.nights.len(), "night");
    format!("{nights} of {}, {}", count(participants(comparison), "participant"), count(devices, "device"))
}

fn participants(comparison: &Comparison) -> usize {
    comparison.nights.iter().map(|n| &n.participant).collect::<BTreeSet<_>>().len()
}

/// Returns what may and may not be concluded, sentence by sentence.
pub(crate) fn may_be_said(comparison: &Comparison, inference: &Inference) -> Vec<String> {
    said_of(participants(comparison), comparison.nights.len(), inference.pairs.may_tell())
}

fn said_of(people: usize, nights: usize, may_tell: bool) -> Vec<String> {
    let ranks = "Limits of agreement, ICC, CCC, rankings and p-values need several people and are not computed.";
    let mut out = match (people, nights) {
        (0, _) | (_, 0) => vec!["There is no night to compare.".to_owned()],
        (1, 1) => vec![
            "One night of one person ranks nothing. The numbers say how each device did on this night; they say nothing \
             about other nights or other people."
                .to_owned(),
            ranks.to_owned(),
        ],
        (1, _) => vec![
            format!(
                "{} nights are of one person. What is said holds for this person only, and ranks no device for \
                 anybody else.",
                if nights == 2 { "Both".to_owned() } else { format!("All {nights}") }
            ),
            ranks.to_owned(),
        ],
        (2..=5, _) => vec![
            "With five participants or fewer no exact sign-flip test between two devices can reach p = 0.05 (the \
             smallest two-sided p with five is 2/2^5 = 0.0625), so no device is ranked."
                .to_owned(),
            format!("With {people} participants, look at each person's nights, not at the mean."),
        ],
        _ => vec![
            format!("The numbers come from {people} participants."),
            if may_tell {
                "Which devices can be told apart stands under \"Device against device\". The others are not ranked, whatever \
                 their means."
                    .to_owned()
            } else {
                "No two devices can be told apart by a test here, so no device is ranked.".to_owned()
            },
        ],
    };
    out.push(
        "Devices stand in the order of their names. None is coloured as the better one: a stage mix, a night and a person \
         can change the order."
            .to_owned(),
    );
    out
}

/// Returns who scored the references, in words.
pub(crate) fn who_scored(comparison: &Comparison) -> String {
    let majorities = comparison.nights.iter().filter(|n| n.consensus.is_some()).count();
    if majorities > 0 && majorities == comparison.nights.len() {
        return who_voted(comparison);
    }
    let by = |who: ScoredBy| comparison.nights.iter().filter(|n| n.scored_by == who).count();
    match (by(ScoredBy::Human), by(ScoredBy::Algorithm)) {
        (0, 0) => "There is no reference.".into(),
        (_, 0) => "Every reference was scored by a person.".into(),
        (0, _) => {
            "Every reference was scored by a program, not by a person: agreement with it is agreement between two \
                   programs."
                .into()
        }
        (human, program) => format!(
            "References of {} were scored by a person, those of {} by a program; agreement with a program is agreement \
             between two programs.",
            count(human, "night"),
            count(program, "night")
        ),
    }
}

/// For a comparison with majorities only.
fn who_voted(comparison: &Comparison) -> String {
    let of = |who: ScoredBy| comparison.nights.iter().filter(|n| n.scored_by == who).count();
    let what = "Every reference is the majority of those who scored its night";
    match (of(ScoredBy::Human), of(ScoredBy::Algorithm)) {
        (_, 0) => format!("{what}, all of them people."),
        (0, _) => format!("{what}, all of them programs: agreement with it is agreement between programs."),
        (human, program) => format!(
            "{what}: people on {}, programs on {}; agreement with programs is agreement between programs.",
            count(human, "night"),
            count(program, "night")
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use counterpane_compare::{Protocol, Resampling, Window};

    const ASKED: Resampling = Resampling { replicates: 200, seed: 1, threads: 1 };

    #[test]
    fn few_people_are_looked_at_one_by_one() {
        let said = said_of(2, 6, false).join("\n");
        assert!(said.contains("the smallest two-sided p with five is 2/2^5 = 0.0625), so no device is ranked."));
        assert!(said.contains("With 2 participants, look at each person's nights, not at the mean."));
        assert!(!said_of(6, 6, true).join("\n").contains("sign-flip"));
        assert!(said_of(6, 6, true).join("\n").contains("Which devices can be told apart"));
        assert!(said_of(6, 6, false).join("\n").contains("no device is ranked"));
    }

    #[test]
    fn nothing_to_compare_is_said_plainly() {
        let empty = Comparison {
            protocol: Protocol { scheme: None, window: Window::Lights },
            nights: Vec::new(),
            devices: Vec::new(),
            scorers: counterpane_compare::Scorers::default(),
        };
        assert_eq!(counted(&empty), "0 nights of 0 participants, 0 devices");
        assert_eq!(
            may_be_said(&empty, &counterpane_compare::infer(&empty, None, ASKED))[0],
            "There is no night to compare."
        );
        assert_eq!(who_scored(&empty), "There is no reference.");
    }
}
