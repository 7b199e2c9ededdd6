//! What a device is measured against: what the terminal and the page say alike.

use super::{called, count, fine_share, listed, scheme_words, two};
use counterpane_compare::{Baselines, Beside, Ceiling, CeilingPair, Figure, RandomNights};
use counterpane_model::Scheme;
use std::collections::BTreeSet;

/// What the baselines are.
pub const MEANING: &str = "What comes for free, in the same epochs: always says one stage all night (light; N2 in five classes, non-REM in \
    three, asleep in sleep and wake); lots draws the device's own stages in its own shares, epoch by epoch; both have kappa 0. Random is a \
    night with bouts as long as the device's that knows nothing of the reference: its kappa is 0 on average, and how far luck carries one \
    night stands behind it, of 200 such nights. Time guesses from the time since lights off, learned on the nights of other people only: the hard one, for deep \
    sleep comes early and REM sleep late. Skill is the part of the way from always to full agreement. None of them is a device.";

/// Why there is no time of night.
pub const ALONE: &str =
    "Time of night: unavailable, for it is learned on the nights of other people, and none is in this comparison.";

/// What has been published of people against people.
pub const PUBLISHED: &str = "Published, one person against another, in five classes: kappa 0.76 (0.71 to 0.81) over 11 studies, by stage W 0.70, \
    N1 0.24, N2 0.57, N3 0.57, R 0.69 (Lee et al. 2022, J Clin Sleep Med 18:193); 0.66 +/- 0.13 between the 1066 nights of one pair (Cesari et \
    al. 2021, J Clin Sleep Med 17:1237). With N1 and N2 as one class it would be higher, and can only be had from two scorings of the same \
    nights.";

/// Returns the kappas of random nights: their mean and the spread of one.
#[must_use]
pub fn random(of: &RandomNights) -> String {
    match (of.kappa, of.kappa_sd) {
        (Ok(mean), Ok(sd)) => format!("{} \u{b1}{}", two(mean), two(sd)),
        _ => "-".to_owned(),
    }
}

/// Returns how many of the random nights got as far as the device: `reached by none`.
#[must_use]
pub fn reached(of: &RandomNights) -> String {
    match of.reached {
        Err(_) => String::new(),
        Ok(0.0) => "reached by none".to_owned(),
        Ok(part) => format!("reached by {}", fine_share(part)),
    }
}

/// Returns a share, or `-`.
#[must_use]
pub fn share(figure: Figure) -> String {
    figure.map_or_else(|_| "-".to_owned(), fine_share)
}

/// Returns a coefficient, or `-`.
#[must_use]
pub fn coefficient(figure: Figure) -> String {
    figure.map_or_else(|_| "-".to_owned(), two)
}

/// Says whether no number of the time of night is there.
#[must_use]
pub fn is_alone(baselines: &Baselines) -> bool {
    !baselines.nights.is_empty() && baselines.nights.iter().all(|n| n.beside.prior_accuracy.is_err())
}

/// Returns what people reach: the study's own scorers in the classes of its devices, else what has been published.
#[must_use]
pub fn ceiling(baselines: &Baselines, majority: bool) -> Vec<String> {
    let used: BTreeSet<Scheme> = baselines.devices.iter().map(|d| d.beside.scheme).collect();
    let mut out: Vec<String> = used.iter().filter_map(|scheme| own(&baselines.ceiling, *scheme)).collect();
    if out.is_empty() {
        out.push(format!(
            "No night has two people who scored it, so this study has no ceiling of its own. {PUBLISHED}"
        ));
    }
    if majority {
        out.push("Where the reference is the majority of several scorers, a kappa against it is higher than one scorer against another.".to_owned());
    }
    out
}

fn own(ceiling: &Ceiling, scheme: Scheme) -> Option<String> {
    let pair = |p: &CeilingPair| {
        let (who, nights) = (listed(&p.scorers), count(p.nights, "night"));
        format!("{who} agree on {}, kappa {} ({nights})", share(p.accuracy), coefficient(p.kappa))
    };
    let pairs: Vec<String> = ceiling.in_scheme(scheme).map(pair).collect();
    let who = "the ceiling, for no device can be expected to agree with one person better than another person does";
    (!pairs.is_empty()).then(|| format!("In {}, {}: {who}.", scheme_words(scheme), pairs.join("; ")))
}

/// Returns what is always said, such as `light`.
#[must_use]
pub fn called_alone(of: &Beside) -> &'static str {
    match of.scheme {
        Scheme::SleepWake => "asleep",
        _ => called(of.always),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use counterpane_compare::Undefined;

    #[test]
    fn random_nights_say_their_spread_and_who_got_there() {
        let of = |kappa, reached| RandomNights { accuracy: Ok(0.3), kappa, kappa_sd: Ok(0.071), reached };
        assert_eq!(random(&of(Ok(-0.001), Ok(0.0))), "0.00 \u{b1}0.07");
        assert_eq!(random(&of(Err(Undefined::NTooSmall), Ok(0.0))), "-");
        assert_eq!(reached(&of(Ok(0.0), Ok(0.0))), "reached by none");
        assert_eq!(reached(&of(Ok(0.0), Ok(0.045))), "reached by 4.5 %");
    }

    #[test]
    fn the_ceiling_is_the_study_s_own_where_two_people_scored() {
        let pair = CeilingPair {
            scorers: ["A".into(), "B".into()],
            scheme: Scheme::Four,
            nights: 1,
            accuracy: Ok(0.85),
            kappa: Ok(0.78),
        };
        let ceiling = Ceiling { pairs: vec![pair] };
        assert_eq!(own(&ceiling, Scheme::Five), None);
        let said = own(&ceiling, Scheme::Four).unwrap();
        assert!(
            said.starts_with(
                "In wake, light, deep and REM, A and B agree on 85.0 %, kappa 0.78 (1 night): the ceiling"
            ),
            "{said}"
        );
    }
}
