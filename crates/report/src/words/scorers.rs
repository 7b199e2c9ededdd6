//! Scorers against each other: what the terminal and the page say alike.

use super::{count, listed, scheme_words, two};
use counterpane_compare::{PairSummary, ScorerGroup};
use counterpane_model::{ScoredBy, Source};

/// What stands above the tables of scorers.
pub const CEILING: &str = "Scorer against scorer: this study's own ceiling. A device cannot be expected to agree with one \
    person better than another person does. Each pair is counted in the epochs that both scored; neither of the two is \
    the reference. Only pairs of people are a ceiling; pairs with a program say how programs score. Intervals are 95 %: within a night approximate, over several nights of the mean over \
    people (of one person: over their nights, and for this person only). What pools all epochs has none: specific agreement, Fleiss' \
    kappa, Krippendorff's alpha.";

/// What has been published, and what kind of figure it is.
pub const PUBLISHED: &str = "Published for people, five classes, one scorer against another: kappa 0.66 +/- 0.13 between the \
    1066 nights of one pair (Cesari et al. 2021, J Clin Sleep Med 17:1237); 0.76 (0.71 to 0.81) over several studies (Lee \
    et al. 2022, J Clin Sleep Med 18:193). A kappa against a majority or a consensus is higher than one scorer against \
    another, and so is one in fewer classes: compare like with like.";

/// Returns the two of a pair: `S1 and S2`.
#[must_use]
pub fn pair_name(sources: &[Source; 2]) -> String {
    listed(&sources.each_ref().map(Source::name))
}

/// Returns what the two of a pair are: `people`, `programs` or `person and program`.
#[must_use]
pub fn pair_kind(sources: &[Source; 2]) -> &'static str {
    let person = |s: &Source| matches!(s, Source::Reference { scored_by: ScoredBy::Human, .. });
    match (person(&sources[0]), person(&sources[1])) {
        (true, true) => "people",
        (false, false) => "programs",
        _ => "person and program",
    }
}

/// Returns the least and most kappa of a night, where there are several: `0.58 to 0.71`.
#[must_use]
pub fn kappa_range(pair: &PairSummary) -> Option<String> {
    let (least, most) = pair.kappa_range.filter(|_| pair.nights > 1)?;
    Some(format!("{} to {}", two(least), two(most)))
}

/// Returns what is said of three or more scorers of one kind.
#[must_use]
pub fn group_sentence(group: &ScorerGroup) -> String {
    let who = match group.scored_by {
        ScoredBy::Human => format!("{} people", group.scorers.len()),
        ScoredBy::Algorithm => count(group.scorers.len(), "program"),
    };
    let figure = |f: counterpane_compare::Figure| f.map_or_else(|why| format!("undefined ({})", why.words()), two);
    format!(
        "{who} ({}) in {}: Fleiss' kappa {} over the {} that all of a night scored; Krippendorff's alpha {} over the {} \
         that two or more scored.",
        listed(&group.scorers),
        scheme_words(group.scheme),
        figure(group.fleiss),
        count(usize::try_from(group.fleiss_n).unwrap_or(usize::MAX), "epoch"),
        figure(group.alpha),
        count(usize::try_from(group.alpha_n).unwrap_or(usize::MAX), "epoch"),
    )
}
