//! What the time since lights off alone would say.

use crate::{Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "time_of_night_prior",
    name: "Time-of-night baseline",
    meaning: "The stages that one would guess from the time since lights off alone, learned from the nights of other participants: deep sleep \
              comes early, REM sleep late.",
    formula: "for each stretch of the night the class that the other participants' references give most often there, each participant \
              counting equally; of equal ones the smaller number",
    range: "the classes",
    undefined: "there is no other participant with a scored epoch",
    caution: "The hard baseline. Never learn it from the participant whose nights are judged. Beyond the longest night it repeats the last \
              stretch.",
    source: "common practice, no source",
};

/// Returns the guessed class of each of `length` epochs, learned from `others`: the nights of each other participant.
///
/// `stretch` is how many epochs are taken together, at least 1. Classes that are not below `classes` are left out.
///
/// ```
/// # use counterpane_stats::time_of_night_prior;
/// let others = [vec![vec![Some(0), Some(2), Some(1)]], vec![vec![Some(0), Some(2), Some(2)], vec![Some(1), Some(2), Some(2)]]];
/// // Third epoch: one participant says 1, the other 2, and the smaller number is taken.
/// assert_eq!(time_of_night_prior(&others, 3, 4, 1), Ok(vec![0, 2, 1, 1]));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn time_of_night_prior(
    others: &[Vec<Vec<Option<usize>>>],
    classes: usize,
    length: usize,
    stretch: usize,
) -> Result<Vec<usize>, Undefined> {
    let stretch = stretch.max(1);
    let stretches = length.div_ceil(stretch);
    let mut shares = vec![vec![0.0; classes]; stretches];
    for person in others {
        for (at, share) in shares.iter_mut().enumerate() {
            let seen = person.iter().flat_map(|night| night.iter().skip(at * stretch).take(stretch));
            let seen: Vec<usize> = seen.flatten().copied().filter(|class| *class < classes).collect();
            seen.iter().for_each(|class| share[*class] += 1.0 / seen.len() as f64);
        }
    }
    let guesses: Vec<Option<usize>> = shares.iter().map(|share| most(share)).collect();
    // A stretch that nobody scored takes the one before, the first ones the first that was scored.
    let mut guess = guesses.iter().flatten().next().copied().ok_or(Undefined::NTooSmall)?;
    let mut filled = Vec::with_capacity(length);
    for known in guesses {
        guess = known.unwrap_or(guess);
        filled.extend(std::iter::repeat_n(guess, stretch.min(length - filled.len())));
    }
    Ok(filled)
}

fn most(shares: &[f64]) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for (class, share) in shares.iter().enumerate() {
        // Shares of one third added up in another order must still tie.
        if *share > best.map_or(0.0, |(_, largest)| largest + 1e-9) {
            best = Some((class, *share));
        }
    }
    best.map(|(class, _)| class)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_participant_alone_has_no_others_to_learn_from() {
        assert_eq!(time_of_night_prior(&[], 3, 4, 1), Err(Undefined::NTooSmall));
        assert_eq!(time_of_night_prior(&[vec![vec![None, None]]], 3, 2, 1), Err(Undefined::NTooSmall));
    }

    #[test]
    fn epochs_are_taken_together_and_gaps_take_the_stretch_before() {
        let others = [vec![vec![None, Some(1), None, None, Some(2), Some(2)]]];
        assert_eq!(time_of_night_prior(&others, 3, 7, 2), Ok(vec![1, 1, 1, 1, 2, 2, 2]));
    }
}
