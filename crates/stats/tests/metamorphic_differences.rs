//! How statistics of differences must change when the nights change in a known way.

use counterpane_stats::{
    Spread, bias, ccc, differences, holm, icc, limits_of_agreement, mover_limits, proportional_bias, regression_limits,
    repeated_limits, sign_flip,
};
use proptest::prelude::*;

fn nights() -> impl Strategy<Value = Vec<[f64; 2]>> {
    // Minutes with halves, as epochs give them; three of a kind are not rare.
    let minutes = || (0_u32..1000).prop_map(|half| f64::from(half) / 2.0);
    proptest::collection::vec((minutes(), minutes()).prop_map(|(a, b)| [a, b]), 4..40)
}

fn near(a: f64, b: f64, size: f64) -> bool {
    (a - b).abs() <= 1e-8 * size.max(1.0)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn swapping_the_sides_mirrors_bias_limits_and_slope(pairs in nights()) {
        let swapped: Vec<[f64; 2]> = pairs.iter().map(|[a, b]| [*b, *a]).collect();
        let (own, other) = (limits_of_agreement(&differences(&pairs)), limits_of_agreement(&differences(&swapped)));
        let (own, other) = (own.unwrap(), other.unwrap());
        prop_assert!(near(own.bias, -other.bias, 500.0) && near(own.sd, other.sd, 500.0));
        prop_assert!(near(own.upper.value, -other.lower.value, 500.0) && near(own.upper.exact.1, -other.lower.exact.0, 500.0));
        if let (Ok(a), Ok(b)) = (proportional_bias(&pairs), proportional_bias(&swapped)) {
            prop_assert!(near(a.slope, -b.slope, 1.0) && near(a.slope_p, b.slope_p, 1.0));
        }
        if let (Ok(a), Ok(b)) = (ccc(&pairs), ccc(&swapped)) {
            prop_assert!(near(a.value, b.value, 1.0));
        }
    }

    #[test]
    fn a_unit_twice_as_small_doubles_what_has_a_unit_and_nothing_else(pairs in nights()) {
        let other: Vec<[f64; 2]> = pairs.iter().map(|p| p.map(|v| 2.0 * v)).collect();
        let (a, b) = (limits_of_agreement(&differences(&pairs)).unwrap(), limits_of_agreement(&differences(&other)).unwrap());
        prop_assert!(near(2.0 * a.upper.value, b.upper.value, 1e3) && near(2.0 * a.lower.exact.0, b.lower.exact.0, 1e3));
        if let (Ok(a), Ok(b)) = (icc(&pairs), icc(&other)) {
            prop_assert!(near(a.absolute.unwrap().value, b.absolute.unwrap().value, 1.0));
        }
        if let (Ok(a), Ok(b)) = (ccc(&pairs), ccc(&other)) {
            prop_assert!(near(a.value, b.value, 1.0));
        }
        if let (Ok(a), Ok(b)) = (proportional_bias(&pairs), proportional_bias(&other)) {
            prop_assert!(near(a.slope, b.slope, 1.0) && near(2.0 * a.residual_sd, b.residual_sd, 1e3));
        }
    }

    #[test]
    fn a_device_that_adds_ten_minutes_moves_bias_and_limits_by_ten_and_consistency_not_at_all(pairs in nights()) {
        let later: Vec<[f64; 2]> = pairs.iter().map(|[a, b]| [*a, b + 10.0]).collect();
        let (a, b) = (limits_of_agreement(&differences(&pairs)).unwrap(), limits_of_agreement(&differences(&later)).unwrap());
        prop_assert!(near(a.bias + 10.0, b.bias, 500.0) && near(a.sd, b.sd, 500.0));
        prop_assert!(near(a.lower.value + 10.0, b.lower.value, 500.0));
        if let (Ok(a), Ok(b)) = (icc(&pairs), icc(&later)) {
            prop_assert!(near(a.consistency.unwrap().value, b.consistency.unwrap().value, 1.0));
        }
        if let (Ok(a), Ok(b)) = (proportional_bias(&pairs), proportional_bias(&later)) {
            prop_assert!(near(a.slope, b.slope, 1.0));
        }
    }

    #[test]
    fn the_slope_has_the_sign_of_the_difference_of_the_two_spreads(pairs in nights()) {
        // Pitman 1939 and Morgan 1939: the slope is nothing exactly when both sides vary alike.
        let variance = |side: usize| {
            let mean = pairs.iter().map(|p| p[side]).sum::<f64>() / pairs.len() as f64;
            pairs.iter().map(|p| (p[side] - mean).powi(2)).sum::<f64>()
        };
        let (reference, device) = (variance(0), variance(1));
        if let Ok(line) = proportional_bias(&pairs)
            && (device - reference).abs() > 1e-6 * (device + reference)
        {
            prop_assert_eq!(line.slope > 0.0, device > reference);
        }
        // The same minutes, handed out to other nights on the second side, vary alike.
        let alike: Vec<[f64; 2]> = pairs.iter().zip(pairs.iter().cycle().skip(1)).map(|(a, b)| [a[0], b[0]]).collect();
        if let Ok(line) = proportional_bias(&alike) {
            prop_assert!(line.slope.abs() < 1e-9);
        }
    }

    #[test]
    fn limits_along_a_line_pass_through_the_bias_at_the_mean_size(pairs in nights()) {
        let size = pairs.iter().map(|[a, b]| (a + b) / 2.0).sum::<f64>() / pairs.len() as f64;
        if let Ok(limits) = regression_limits(&pairs, size, Spread::Constant) {
            prop_assert!(near(limits.bias, bias(&differences(&pairs)).unwrap().mean, 500.0));
        }
    }

    #[test]
    fn the_order_of_people_and_of_their_nights_does_not_matter(mut people in proptest::collection::vec(
        proptest::collection::vec(-60.0..60.0_f64, 2..5), 2..8)) {
        let (anova, mover) = (repeated_limits(&people).unwrap(), mover_limits(&people).unwrap());
        people.reverse();
        people.iter_mut().for_each(|nights| nights.reverse());
        let (other, other_mover) = (repeated_limits(&people).unwrap(), mover_limits(&people).unwrap());
        prop_assert!(near(anova.within, other.within, 1e3) && near(mover.sd, other_mover.sd, 1e2));
        prop_assert!(near(mover.upper_interval.1, other_mover.upper_interval.1, 1e3));
    }

    #[test]
    fn holm_never_lowers_a_p_nor_changes_their_order(p in proptest::collection::vec(0.0..1.0_f64, 1..20)) {
        let adjusted = holm(&p);
        for (i, own) in p.iter().enumerate() {
            prop_assert!(adjusted[i] >= *own && adjusted[i] <= 1.0);
            prop_assert!(p.iter().zip(&adjusted).all(|(other, a)| other < own || *a >= adjusted[i]));
        }
    }

    #[test]
    fn sign_flip_does_not_mind_the_sign_and_five_people_are_too_few(d in proptest::collection::vec(0.1..9.0_f64, 2..9)) {
        let mirrored: Vec<f64> = d.iter().map(|v| -v).collect();
        let p = sign_flip(&d, 1).unwrap();
        prop_assert!(near(p, sign_flip(&mirrored, 1).unwrap(), 1.0));
        // All on one side: the smallest p there is, 2 of 2^P.
        prop_assert!(near(p, 2.0 / f64::from(1_u32 << d.len()), 1.0));
        prop_assert!(d.len() > 5 || p >= 0.05);
    }
}
