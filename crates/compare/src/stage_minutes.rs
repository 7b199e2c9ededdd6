//! Minutes in one class, where measures and the words of a source can tell it.

use crate::Measures;
use counterpane_model::{Scheme, Stage};

/// Says whether a source with these stages can say a class.
#[must_use]
pub fn can_say(vocabulary: &[Stage], class: Stage) -> bool {
    let into = scheme_of(class);
    vocabulary.iter().any(|stage| into.fold(*stage) == Some(class))
}

/// Returns the minutes in a class, finer stages folded into it; `None` where the measures hold minutes of a stage that does
/// not tell it apart, or the source has no word for it. Without a vocabulary every class is taken to be sayable.
#[must_use]
pub fn minutes_in(measures: &Measures, vocabulary: Option<&[Stage]>, class: Stage) -> Option<f64> {
    if vocabulary.is_some_and(|all| !can_say(all, class)) {
        return None;
    }
    let into = scheme_of(class);
    let mut sum = 0.0;
    for (stage, minutes) in &measures.stage_minutes {
        match into.fold(*stage) {
            Some(folded) if folded == class => sum += minutes,
            Some(_) => {}
            None if *minutes > 0.0 => return None,
            None => {}
        }
    }
    Some(sum)
}

/// The coarsest scheme that has the class.
fn scheme_of(class: Stage) -> Scheme {
    Scheme::ALL.into_iter().find(|s| s.classes().contains(&class)).unwrap_or(Scheme::Five)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures;
    use counterpane_model::Cell;

    fn check(letters: &str, vocabulary: Option<&[Stage]>, class: Stage, minutes: Option<f64>) {
        let cell = |c| Cell::all().into_iter().find(|cell| cell.letter() == c);
        let cells: Vec<Cell> = letters.chars().filter_map(cell).collect();
        assert_eq!(minutes_in(&measures(&cells), vocabulary, class), minutes, "{letters}");
    }

    #[test]
    fn finer_stages_add_up_and_coarser_ones_tell_nothing() {
        check("W1223", None, Stage::Light, Some(1.5));
        check("W1223", None, Stage::Nrem, Some(2.0));
        check("WAAA", None, Stage::N3, None);
        check("WAAA", Some(&[Stage::W, Stage::Asleep]), Stage::R, None);
        check("WLLL", Some(&[Stage::W, Stage::Light, Stage::N3, Stage::R]), Stage::R, Some(0.0));
    }
}
