//! In which scheme two recordings can be compared, and what stands in the way.

use counterpane_model::{Recording, Scheme};

/// Returns the finest scheme that both recordings can express.
#[must_use]
pub fn finest(reference: &Recording, device: &Recording) -> Option<Scheme> {
    Scheme::ALL.into_iter().rev().find(|s| reference.expresses(*s) && device.expresses(*s))
}

/// Returns in words what keeps two recordings from being compared in a scheme, or `None` if nothing does.
#[must_use]
pub fn obstacle(reference: &Recording, device: &Recording, scheme: Scheme) -> Option<String> {
    let found: Vec<String> = [reference, device].into_iter().filter_map(|r| obstacle_of(r, scheme)).collect();
    (!found.is_empty()).then(|| format!("not comparable in the scheme `{scheme}`: {}", found.join("; and ")))
}

fn obstacle_of(recording: &Recording, scheme: Scheme) -> Option<String> {
    let who = &recording.source;
    if recording.spans.is_empty() {
        return Some(format!("`{who}` gives no stages over time"));
    }
    if let Some(stage) = recording.stages_used().into_iter().find(|s| scheme.fold(*s).is_none()) {
        return Some(format!("`{who}` says `{stage}`, which is too coarse for it"));
    }
    let can_say = &recording.vocabulary.0;
    let lacks = |class: &&counterpane_model::Stage| !can_say.iter().any(|s| scheme.fold(*s) == Some(**class));
    let missing: Vec<String> = scheme.classes().iter().filter(lacks).map(|c| format!("`{c}`")).collect();
    (!missing.is_empty()).then(|| format!("`{who}` has no word for {}", missing.join(", ")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{psg, ring};
    use counterpane_model::Stage::{Asleep, Light, N1, N2, N3, Nrem, R, W};

    #[test]
    fn the_finest_scheme_is_that_of_the_coarser_side() {
        assert_eq!(finest(&psg("W12R"), &ring(&[W, N1, N2, N3, R], "W12R")), Some(Scheme::Five));
        assert_eq!(finest(&psg("W12R"), &ring(&[W, Light, N3, R], "WL3R")), Some(Scheme::Four));
        assert_eq!(finest(&psg("W12R"), &ring(&[W, Nrem, R], "WNNR")), Some(Scheme::Three));
        assert_eq!(finest(&psg("W12R"), &ring(&[W, Asleep], "WAAA")), Some(Scheme::SleepWake));
        assert_eq!(finest(&psg("W12R"), &ring(&[Asleep], "AAAA")), None);
    }

    #[test]
    fn the_word_that_prevents_a_scheme_is_named_with_its_side() {
        let check = |device, scheme| obstacle(&psg("W12R"), &device, scheme);
        assert_eq!(check(ring(&[W, Light, N3, R], "WL3R"), Scheme::Four), None);
        assert_eq!(
            check(ring(&[W, Light, N3, R], "WL3R"), Scheme::Five).as_deref(),
            Some("not comparable in the scheme `five`: `ring-a-1` says `Light`, which is too coarse for it")
        );
        assert_eq!(
            check(ring(&[W, Light, N3], "WL3W"), Scheme::Four).as_deref(),
            Some("not comparable in the scheme `four`: `ring-a-1` has no word for `R`")
        );
        assert_eq!(
            obstacle(&psg("WAAA"), &ring(&[W, Asleep], "WAAA"), Scheme::Three).as_deref(),
            Some(
                "not comparable in the scheme `three`: `scorer A` says `Asleep`, which is too coarse for it; and \
                 `ring-a-1` says `Asleep`, which is too coarse for it"
            )
        );
    }
}
