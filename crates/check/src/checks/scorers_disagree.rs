//! Two people who scored the same night disagree more than scorers are known to.

use crate::Check;
use crate::series::Pair;
use counterpane_model::{Accepted, Finding, Kind, NightFacts, Recording, Scheme, ScoredBy, Severity, Source};

/// Kappa of two scorers over five classes lies above this in all but the rarest nights: the mean of 0.66 less two
/// standard deviations of 0.13 between nights, of 1066 nights with two scorers. Source: Cesari et al. 2021, Journal of
/// Clinical Sleep Medicine 17(6), 1237-1247; less two deviations is an own choice.
const LOWEST: f64 = 0.40;
/// Fewer epochs than an hour say too little (own choice).
const LEAST: usize = 120;

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "scorers-disagree",
        severity: Severity::Warning,
        title: "two people who scored the same night disagree more than scorers are known to",
        why: "Over 1066 nights, each scored twice by hand, kappa over five classes was 0.66 with a standard deviation of 0.13 \
              between nights (Cesari et al. 2021, Journal of Clinical Sleep Medicine 17, 1237), so fewer than about 3 \
              nights in a hundred lie below 0.40. Below it a shifted start, another night or other rules are more \
              likely than opinion, and no device can be judged by either.",
        example: "warning[scorers-disagree]: scorer S1 and scorer S2 agree with kappa 0.21 over 944 epochs in five classes; \
                  fewer than about 3 nights in a hundred lie below 0.40",
        help: "lay both side by side with `counterpane show`; check start, night and stage rules of both files, mend the \
               one that is wrong and repeat `counterpane import`",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let humans: Vec<&Recording> = night.references().filter(|r| is_human(r) && r.expresses(Scheme::Five)).collect();
    for (i, first) in humans.iter().enumerate() {
        for second in &humans[i + 1..] {
            // Both express five classes, so those are the finest that they share.
            let Some((kappa, n)) = Pair::of(first, second, 0).and_then(|p| p.kappa(0)) else { continue };
            if n >= LEAST && kappa < LOWEST {
                let message = format!(
                    "{} and {} agree with kappa {kappa:.2} over {n} epochs in five classes; fewer than about 3 nights in a \
                     hundred lie below {LOWEST:.2}",
                    first.source, second.source
                );
                found.push(CHECK.kind.finding(message).of(second));
            }
        }
    }
}

fn is_human(recording: &Recording) -> bool {
    matches!(recording.source, Source::Reference { scored_by: ScoredBy::Human, .. })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{found, night, reference};

    const FIRST: &str = "22:00-22:30W 22:30-00:00N2 00:00-00:30N3 00:30-01:00R";

    fn second(text: &str, by: ScoredBy) -> Recording {
        let source = Source::Reference { scorer: "S2".into(), scored_by: by };
        Recording { source, key: "P01/2026-04-04/S2".into(), ..reference(text) }
    }

    #[test]
    fn kappa_below_the_published_range_is_told_with_both_scorers() {
        // Of 360 epochs 60 agree, all W: 0.167. By chance (60*120 + 180*120 + 60*120) / 360^2 = 0.278. Kappa
        // (0.167 - 0.278) / (1 - 0.278) = -0.15.
        let other = second("22:00-23:00W 23:00-00:00N3 00:00-01:00N2", ScoredBy::Human);
        let said = found(&CHECK, &night(), &[reference(FIRST), other]);
        assert!(said.starts_with("warning: scorer S1 and scorer S2 agree with kappa -0.15 over 360 epochs"), "{said}");
    }

    #[test]
    fn scorers_who_mostly_agree_an_algorithm_and_too_short_a_night_are_not_told() {
        let close = second("22:00-22:40W 22:40-00:00N2 00:00-00:30N3 00:30-01:00R", ScoredBy::Human);
        assert_eq!(found(&CHECK, &night(), &[reference(FIRST), close]), "");
        let machine = second("22:00-01:00W", ScoredBy::Algorithm);
        assert_eq!(found(&CHECK, &night(), &[reference(FIRST), machine]), "");
        let short = second("22:00-22:59R", ScoredBy::Human);
        assert_eq!(found(&CHECK, &night(), &[reference(FIRST), short]), "");
    }
}
