//! What somebody may have meant.

/// Returns the one of `known` that is closest to `word`, if it is close enough to be a slip of the hand:
/// at most two keystrokes away, and fewer than half of the word.
pub(crate) fn near<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    let away = |k: &str| strsim::damerau_levenshtein(&word.to_lowercase(), &k.to_lowercase());
    let (distance, best) = known.into_iter().map(|k| (away(k), k)).min_by_key(|(d, _)| *d)?;
    (distance <= 2 && distance * 2 < word.chars().count().max(2)).then_some(best)
}

#[cfg(test)]
mod tests {
    use super::near;

    #[test]
    fn a_slip_is_near_and_another_word_is_not() {
        let known = ["start", "stage", "end", "W"];
        assert_eq!(near("strat", known), Some("start"));
        assert_eq!(near("Stage", known), Some("stage"));
        assert_eq!(near("w", known), Some("W"));
        assert_eq!(near("layer", known), None);
        assert_eq!(near("xx", known), None);
    }
}
