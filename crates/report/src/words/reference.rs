//! How the reference of a night was chosen, and how a majority came about.

use super::decided::shifts;
use super::{count, listed, scheme_words};
use counterpane_compare::{ChosenBy, Consensus, LightsNamed, NightComparison};
use counterpane_model::{ClockSetting, Instant, ScoredBy, Zone};

/// Returns how the reference was chosen from several: `chosen from S1, S2 and S3 by an option`; `None` where the night has
/// one scorer.
#[must_use]
pub fn chosen_words(night: &NightComparison) -> Option<String> {
    let chosen = night.chosen.as_ref()?;
    let by = match chosen.by {
        ChosenBy::Command => "on the command line",
        ChosenBy::Study => "by the protocol in study.toml",
    };
    Some(match night.consensus {
        Some(_) => format!("chosen {by}"),
        None => format!("chosen from {} {by}", listed(&chosen.of)),
    })
}

/// Returns who scored a reference: `3 people`, `2 programs`, `a person`.
#[must_use]
pub fn scored_by_words(night: &NightComparison) -> String {
    match (&night.consensus, night.scored_by) {
        (None, ScoredBy::Human) => "a person".into(),
        (None, ScoredBy::Algorithm) => "a program".into(),
        (Some(consensus), by) => people(consensus.voters.len(), by),
    }
}

/// Returns how a majority came about, sentence by sentence; nothing where the reference is one scorer.
///
/// What is said: the rule and its classes, how ties are settled, how many epochs were decided in which way, and what was
/// done to bring the scorers onto one row of epochs and one clock.
#[must_use]
pub fn consensus_sentences(night: &NightComparison, zone: &Zone) -> Vec<String> {
    let Some(consensus) = &night.consensus else { return Vec::new() };
    let mut out = vec![rule(consensus, night.scored_by), tie(consensus), counts(consensus)];
    out.push(epochs(consensus));
    out.extend(lights("off", &consensus.lights_off, consensus.declared.off, zone));
    out.extend(lights("on", &consensus.lights_on, consensus.declared.on, zone));
    out.extend(consensus.voters.iter().filter_map(|v| Some(clock(&v.code, v.clock.as_ref()?))));
    if !consensus.programs_aside.is_empty() {
        out.push(format!(
            "{}: no vote, because people and programs are never mixed in a majority.",
            listed(&consensus.programs_aside)
        ));
    }
    if !consensus.silent.is_empty() {
        out.push(format!("{}: no vote, because there are no stages over time.", listed(&consensus.silent)));
    }
    out.push("Agreement with a majority is higher than agreement with one of its scorers: compare it with other agreements with a majority only.".into());
    out
}

fn people(n: usize, by: ScoredBy) -> String {
    match by {
        ScoredBy::Human => format!("{n} people"),
        ScoredBy::Algorithm => count(n, "program"),
    }
}

fn codes(consensus: &Consensus) -> Vec<&str> {
    consensus.voters.iter().map(|v| v.code.as_str()).collect()
}

fn rule(consensus: &Consensus, by: ScoredBy) -> String {
    format!(
        "The reference is the majority of {} ({}): in each epoch the stage that most of them give, with votes counted in \
         {} before anything is folded.",
        people(consensus.voters.len(), by),
        listed(&codes(consensus)),
        scheme_words(consensus.scheme)
    )
}

fn tie(consensus: &Consensus) -> String {
    match &consensus.tie {
        None => "A tie, and an epoch that fewer than two of them scored, is unscored.".into(),
        Some(code) if codes(consensus).contains(&code.as_str()) => format!(
            "A tie is settled by the word of {code}, where that is one of the tied stages; any other tie, and an epoch that \
             fewer than two of them scored, is unscored."
        ),
        Some(code) => format!(
            "The word of {code} settles ties, and {code} has no vote on this night: a tie, and an epoch that fewer than two \
             of them scored, is unscored."
        ),
    }
}

fn counts(consensus: &Consensus) -> String {
    let c = consensus.counts;
    let all = c.unanimous + c.majority + c.settled + c.tied + c.too_few;
    let settled = match &consensus.tie {
        Some(code) => format!(", {} as a tie by {code}", c.settled),
        None => String::new(),
    };
    format!(
        "Of {} of the window, {} were decided unanimously by those who scored them, {} by majority{settled}; {} were left \
         unscored ({} tied, {} scored by fewer than two).",
        count(usize::try_from(all).unwrap_or(usize::MAX), "epoch"),
        c.unanimous,
        c.majority,
        c.tied + c.too_few,
        c.tied,
        c.too_few
    )
}

fn epochs(consensus: &Consensus) -> String {
    let shifted = consensus.voters.iter().filter(|v| v.phase_ms != 0).map(|v| {
        let seconds = v.phase_ms as f64 / 1000.0;
        format!("those of {} begin {} s {}", v.code, seconds.abs(), if seconds > 0.0 { "later" } else { "earlier" })
    });
    let shifted: Vec<String> = shifted.collect();
    let first = consensus.voters.first().map_or("", |v| v.code.as_str());
    if shifted.is_empty() {
        return format!("The epochs are those of {first}; the others have the same.");
    }
    format!(
        "The epochs are those of {first}; {}, and were laid on them: each epoch gets what covers most of it.",
        listed(&shifted)
    )
}

/// Nothing is said where no scorer names the light.
fn lights(which: &str, named: &LightsNamed, declared: Option<Instant>, zone: &Zone) -> Option<String> {
    let each: Vec<String> = named.named.iter().map(|(code, at)| format!("{code} {}", zone.clock_of(*at))).collect();
    let said = listed(&each);
    match (declared, named.agreed, named.named.is_empty()) {
        (_, _, true) => None,
        (Some(at), ..) => {
            Some(format!("Lights {which} are as declared for the night, {}; scorers: {said}.", zone.clock_of(at)))
        }
        (None, Some(at), _) => {
            Some(format!("Lights {which}, {}, are those on which the scorers agree: {said}.", zone.clock_of(at)))
        }
        (None, None, _) => {
            Some(format!("The scorers differ on lights {which} ({said}), so none of these times is used."))
        }
    }
}

fn clock(code: &str, setting: &ClockSetting) -> String {
    format!(
        "The clock of {code} is corrected by {} (decision {}): {}",
        shifts(setting),
        setting.decision,
        setting.reason
    )
}
