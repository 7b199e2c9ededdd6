//! The measure that a study is about, of one device on one night.

use crate::counted::counted;
use crate::measures::minutes;
use crate::{DeviceNight, NightComparison};
use counterpane_model::{Cell, Missing, PlanMeasure, Scheme, Stage};
use counterpane_stats::{Figure, Scale, Table, Undefined, accuracy, balanced_accuracy, cohen_kappa, sensitivity};

/// Returns the scheme in which a measure of a device is formed, `finest` being the finest in which its nights can be
/// compared: that one, or the finest that has the class of which the measure speaks; `None` where there is none.
#[must_use]
pub fn scheme_of(measure: PlanMeasure, finest: Option<Scheme>) -> Option<Scheme> {
    let finest = finest?;
    let has = |scheme: &Scheme| match measure.class() {
        None => true,
        Some(Stage::Asleep) if measure.in_minutes() => true,
        Some(class) => scheme.classes().contains(&class),
    };
    Scheme::ALL.into_iter().rev().filter(|s| *s <= finest).find(has)
}

/// Returns a measure of one device on one night in a scheme.
///
/// Missing epochs are those that the reference scored and to which the device gives no stage. Where they count as wrong,
/// they are a class of their own that the reference never gives: they are no hit in accuracy and sensitivity, lower kappa
/// the same way, and are minutes that the device does not give to a stage.
///
/// # Errors
/// Why there is no value: [`Undefined::NoPairs`] where the two cannot be compared in the scheme.
pub fn primary(
    night: &NightComparison,
    device: &DeviceNight,
    measure: PlanMeasure,
    missing: Missing,
    scheme: Scheme,
) -> Figure {
    let expressed = device.agreement.as_ref().map_or(device.accuracy_missing_wrong.is_ok(), |a| a.scheme >= scheme);
    if !expressed {
        return Err(Undefined::NoPairs);
    }
    let table = with_missing(night, device, missing, scheme)?;
    of_table(measure, &table, scheme)
}

/// Returns a measure of a table whose first classes are those of the scheme.
pub(crate) fn of_table(measure: PlanMeasure, table: &Table, scheme: Scheme) -> Figure {
    let index = |class: Stage| scheme.classes().iter().position(|c| *c == class).ok_or(Undefined::NoPairs);
    match measure {
        PlanMeasure::Accuracy => accuracy(table),
        PlanMeasure::Kappa => cohen_kappa(table),
        PlanMeasure::MeanSensitivity => balanced_accuracy(table),
        PlanMeasure::Sensitivity(class) => sensitivity(table, index(class)?),
        PlanMeasure::Difference(_) if table.n() == 0 => Err(Undefined::NoPairs),
        PlanMeasure::Difference(Stage::Asleep) => {
            let sleep = scheme.classes().iter().enumerate().filter(|(_, class)| class.is_sleep());
            Ok(sleep.map(|(i, _)| difference(table, i)).sum())
        }
        PlanMeasure::Difference(class) => Ok(difference(table, index(class)?)),
    }
}

/// What values a measure can take.
pub(crate) fn scale(measure: PlanMeasure) -> Scale {
    match measure {
        PlanMeasure::Kappa => Scale::Coefficient,
        PlanMeasure::Difference(_) => Scale::Plain,
        PlanMeasure::Accuracy | PlanMeasure::MeanSensitivity | PlanMeasure::Sensitivity(_) => Scale::Share,
    }
}

fn difference(table: &Table, class: usize) -> f64 {
    let of = |n: u64| minutes(usize::try_from(n).unwrap_or(usize::MAX));
    of(table.column_sum(class)) - of(table.row_sum(class))
}

/// The matrix with one class more, the last, for what the device does not give; the reference never gives it.
fn with_missing(
    night: &NightComparison,
    device: &DeviceNight,
    missing: Missing,
    scheme: Scheme,
) -> Result<Table, Undefined> {
    let k = scheme.classes().len();
    let wrong = missing == Missing::Wrong;
    let fold = |cell: Cell| cell.stage().and_then(|stage| scheme.index(stage));
    let (reference, said): (Vec<_>, Vec<_>) =
        counted(night, device).map(|(r, d)| (fold(r), fold(d).or(wrong.then_some(k)))).unzip();
    // Rows of one length whose classes are of the scheme make a table; nothing else is built here.
    Table::from_pairs(k + usize::from(wrong), &reference, &said).map_err(|_| Undefined::NoPairs)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{night, psg, ring};
    use crate::{Protocol, Window, compare_night};
    use counterpane_model::Decided;
    use counterpane_model::Stage::{Asleep, Light, N1, N3, R, W};

    fn check(reference: &str, device: &str, measure: PlanMeasure) -> (Figure, Figure) {
        let protocol = Protocol { scheme: None, window: Window::Scored };
        let others = [&ring(&[W, Light, N3, R], device)];
        let found = compare_night(&night(), &psg(reference), &others, &Decided::default(), &protocol).unwrap();
        let scheme = scheme_of(measure, Some(Scheme::Four)).unwrap();
        let of = |missing| primary(&found, &found.devices[0], measure, missing, scheme);
        (of(Missing::LeftOut), of(Missing::Wrong))
    }

    #[test]
    fn missing_epochs_are_left_out_or_wrong() {
        // Eight epochs scored, two of them missing in the device, five of the other six right.
        assert_eq!(check("WW2233RR", "WW.LL3.R", PlanMeasure::Accuracy), (Ok(5.0 / 6.0), Ok(5.0 / 8.0)));
        assert_eq!(check("WW2233RR", "WW.LL3.R", PlanMeasure::Sensitivity(R)), (Ok(1.0), Ok(0.5)));
        assert_eq!(check("WW2233RR", "WW.LL3.R", PlanMeasure::MeanSensitivity), (Ok(3.5 / 4.0), Ok(2.5 / 4.0)));
        assert_eq!(check("WW2233RR", "WW.LL3.R", PlanMeasure::Difference(Light)), (Ok(0.5), Ok(0.0)));
        assert_eq!(check("WW2233RR", "WW.LL3.R", PlanMeasure::Difference(Asleep)), (Ok(0.0), Ok(-1.0)));
    }

    #[test]
    fn kappa_counts_missing_epochs_as_a_class_of_their_own() {
        // By hand: po 5/8; pe = (2*2 + 2*2 + 2*1 + 2*1 + 0*2) / 64 = 12/64; kappa = (40 - 12) / (64 - 12).
        let (left_out, wrong) = check("WW2233RR", "WW.LL3.R", PlanMeasure::Kappa);
        assert_eq!(wrong, Ok(28.0 / 52.0));
        // po 5/6; pe = (2*2 + 1*2 + 2*1 + 1*1) / 36 = 9/36; kappa = (30 - 9) / (36 - 9).
        assert!(left_out.is_ok_and(|k| (k - 21.0 / 27.0).abs() < 1e-12));
        assert_eq!(check("WW22", "WWLL", PlanMeasure::Kappa), (Ok(1.0), Ok(1.0)));
    }

    #[test]
    fn a_class_chooses_the_finest_scheme_that_has_it() {
        let of = |measure, finest| scheme_of(measure, Some(finest));
        assert_eq!(of(PlanMeasure::Kappa, Scheme::Four), Some(Scheme::Four));
        assert_eq!(of(PlanMeasure::Sensitivity(W), Scheme::Five), Some(Scheme::Five));
        assert_eq!(of(PlanMeasure::Sensitivity(Asleep), Scheme::Five), Some(Scheme::SleepWake));
        assert_eq!(of(PlanMeasure::Sensitivity(Light), Scheme::Five), Some(Scheme::Four));
        assert_eq!(of(PlanMeasure::Sensitivity(N1), Scheme::Four), None);
        assert_eq!(of(PlanMeasure::Difference(Asleep), Scheme::Four), Some(Scheme::Four));
    }
}
