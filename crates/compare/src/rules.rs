//! Nights that are marked or left out because too much of the window has no pair of stages.

use crate::NightComparison;
use crate::counted::counted;
use counterpane_model::Rules;

/// A device's night of which more of the window has no pair than a rule allows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ruled {
    /// Share of the window without a pair of stages, of what nobody left out on purpose, 0..=1.
    pub share: f64,
    /// The share above which the rule holds, per cent.
    pub limit: f64,
    /// It is left out of every figure over nights, and not only marked.
    pub excluded: bool,
}

/// Marks the devices of a night to which a rule applies.
///
/// The night keeps its own figures: what a rule leaves out is left out of figures over nights, and shown.
pub fn apply_rules(night: &mut NightComparison, rules: Rules) {
    let ruled: Vec<Option<Ruled>> =
        night.devices.iter().map(|device| ruled(counted(night, device).collect(), rules)).collect();
    for (device, ruled) in night.devices.iter_mut().zip(ruled) {
        device.ruled = ruled;
    }
}

fn ruled(epochs: Vec<(counterpane_model::Cell, counterpane_model::Cell)>, rules: Rules) -> Option<Ruled> {
    if epochs.is_empty() {
        return None;
    }
    let without = epochs.iter().filter(|(r, d)| r.stage().is_none() || d.stage().is_none()).count();
    let share = without as f64 / epochs.len() as f64;
    let above = |limit: Option<f64>| limit.filter(|limit| 100.0 * share > *limit);
    let excluded = above(rules.exclude_unscored).map(|limit| Ruled { share, limit, excluded: true });
    excluded.or_else(|| above(rules.flag_unscored).map(|limit| Ruled { share, limit, excluded: false }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{at, night, psg, ring};
    use crate::{Protocol, Window, compare, compare_night};
    use counterpane_model::Stage::{Light, N3, R, W};
    use counterpane_model::{Decided, Exclusion, Looked};

    const SCORED: Protocol = Protocol { scheme: None, window: Window::Scored };

    fn check(reference: &str, device: &str, decided: &Decided, rules: (f64, f64)) -> Option<(f64, bool)> {
        let others = [&ring(&[W, Light, N3, R], device)];
        let mut found = compare_night(&night(), &psg(reference), &others, decided, &SCORED).unwrap();
        apply_rules(&mut found, Rules { flag_unscored: Some(rules.0), exclude_unscored: Some(rules.1) });
        found.devices[0].ruled.map(|r| (r.share, r.excluded))
    }

    #[test]
    fn a_night_is_marked_above_one_share_and_left_out_above_another() {
        let none = Decided::default();
        assert_eq!(check("W2222222RW", "WLLLLLLLRW", &none, (5.0, 20.0)), None);
        assert_eq!(check("W2222222RW", "WLLL.LLLRW", &none, (5.0, 20.0)), Some((0.1, false)));
        assert_eq!(check("W2222222RW", "WL...LLLRW", &none, (5.0, 20.0)), Some((0.3, true)));
        assert_eq!(check("W2222222RW", "WLLL..LLRW", &none, (5.0, 20.0)), Some((0.2, false)), "above, not at");
        assert_eq!(check("W22??222RW", "WLLLL.LLRW", &none, (5.0, 20.0)), Some((0.3, true)), "either side");
    }

    #[test]
    fn what_was_left_out_on_purpose_is_no_gap() {
        let stretch = Exclusion {
            decision: 1,
            source: None,
            stretch: Some((at(2), at(5))),
            looked: Looked::Before,
            reason: "r".into(),
            by: "me".into(),
            at: String::new(),
        };
        let decided = Decided { exclusions: vec![stretch], ..Decided::default() };
        assert_eq!(check("W2222222RW", "WL...LLLRW", &decided, (5.0, 20.0)), None);
    }

    #[test]
    fn a_night_that_a_rule_leaves_out_enters_no_figure_over_nights() {
        let others = [&ring(&[W, Light, N3, R], "WL...LLLRW")];
        let mut found = compare_night(&night(), &psg("W2222222RW"), &others, &Decided::default(), &SCORED).unwrap();
        let nights = |found: &NightComparison| compare(vec![found.clone()], SCORED).devices[0].nights;
        assert_eq!(nights(&found), 1);
        apply_rules(&mut found, Rules { flag_unscored: None, exclude_unscored: Some(20.0) });
        assert_eq!(nights(&found), 0);
        assert!(found.devices[0].agreement.is_some(), "the night itself is still told of");
    }
}
