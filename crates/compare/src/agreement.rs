//! Agreement of two rows of epochs in one scheme.

use crate::{Agreement, ClassFigures, Worst};
use counterpane_model::{Cell, Scheme};
use counterpane_stats::{
    Table, WORST_NEEDS, accuracy, balanced_accuracy, balanced_accuracy_classes, cohen_kappa, ppv, sensitivity,
    worst_sensitivity,
};

/// Returns the table of two rows of epochs in a scheme, the reference in rows.
///
/// An epoch enters only if both sides give it a stage that folds into the scheme. `None` when the
/// rows differ in length.
#[must_use]
pub fn table(scheme: Scheme, reference: &[Cell], device: &[Cell]) -> Option<Table> {
    let side = |cells: &[Cell]| cells.iter().map(|c| scheme.index(c.stage()?)).collect::<Vec<_>>();
    Table::from_pairs(scheme.classes().len(), &side(reference), &side(device)).ok()
}

/// Returns the statistics of a table whose rows and columns are the classes of the scheme.
#[must_use]
pub fn agreement(scheme: Scheme, table: &Table) -> Agreement {
    let classes = scheme.classes();
    let worst = worst_sensitivity(table, WORST_NEEDS).ok();
    Agreement {
        scheme,
        matrix: table.counts().to_vec(),
        n: table.n(),
        accuracy: accuracy(table),
        kappa: cohen_kappa(table),
        mean_sensitivity: balanced_accuracy(table),
        mean_sensitivity_classes: balanced_accuracy_classes(table),
        worst_sensitivity: worst
            .and_then(|w| Some(Worst { class: *classes.get(w.class)?, sensitivity: w.sensitivity, n: w.n })),
        per_class: classes
            .iter()
            .enumerate()
            .map(|(i, class)| ClassFigures {
                class: *class,
                reference_n: table.row_sum(i),
                device_n: table.column_sum(i),
                sensitivity: sensitivity(table, i),
                ppv: ppv(table, i),
            })
            .collect(),
    }
}

/// Returns the table of an agreement folded down to a coarser scheme; `None` when it is not coarser.
#[must_use]
pub fn fold(agreement: &Agreement, scheme: Scheme) -> Option<Table> {
    let places: Vec<usize> = agreement.scheme.classes().iter().map(|c| scheme.index(*c)).collect::<Option<_>>()?;
    let k = scheme.classes().len();
    let mut counts = vec![vec![0; k]; k];
    for (i, row) in agreement.matrix.iter().enumerate() {
        for (j, count) in row.iter().enumerate() {
            counts[*places.get(i)?][*places.get(j)?] += count;
        }
    }
    Table::from_counts(counts).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use counterpane_model::Stage;
    use counterpane_stats::Undefined;

    fn cells(letters: &str) -> Vec<Cell> {
        let of = |letter| Cell::all().into_iter().find(|c| c.letter() == letter).unwrap();
        letters.chars().map(of).collect()
    }

    fn matrix(scheme: Scheme, reference: &str, device: &str) -> Vec<Vec<u64>> {
        table(scheme, &cells(reference), &cells(device)).unwrap().counts().to_vec()
    }

    #[test]
    fn the_reference_is_in_rows_and_only_pairs_enter() {
        assert_eq!(matrix(Scheme::SleepWake, "WW12?.R", "WR12RRo"), [[1, 1], [0, 2]]);
        assert_eq!(matrix(Scheme::Three, "WRN3", "WR1R"), [[1, 0, 0], [0, 1, 1], [0, 0, 1]]);
    }

    #[test]
    fn a_stage_too_coarse_for_the_scheme_makes_no_pair() {
        assert_eq!(matrix(Scheme::Four, "W12A", "WLLL"), [[1, 0, 0, 0], [0, 2, 0, 0], [0, 0, 0, 0], [0, 0, 0, 0]]);
    }

    #[test]
    fn folding_the_matrix_is_folding_the_epochs() {
        let (reference, device) = ("WW112233RRW21", "W1123W33R2RLL");
        let fine = agreement(Scheme::Four, &table(Scheme::Four, &cells(reference), &cells(device)).unwrap());
        for coarse in [Scheme::SleepWake, Scheme::Three, Scheme::Four] {
            assert_eq!(fold(&fine, coarse).unwrap().counts(), matrix(coarse, reference, device));
        }
        assert_eq!(fold(&fine, Scheme::Five), None);
    }

    #[test]
    fn a_stage_of_less_than_ten_minutes_is_not_the_worst() {
        let reference = format!("{}{}{}", "W".repeat(40), "2".repeat(30), "R".repeat(19));
        let device = format!("{}{}{}", "W".repeat(40), "2W".repeat(15), "W".repeat(19));
        let found = agreement(Scheme::Four, &table(Scheme::Four, &cells(&reference), &cells(&device)).unwrap());
        assert_eq!(found.worst_sensitivity, Some(Worst { class: Stage::Light, sensitivity: 0.5, n: 30 }));
        assert_eq!(found.mean_sensitivity, Ok(0.5));
        assert_eq!(found.mean_sensitivity_classes, 3);
        assert_eq!(found.per_class[2].sensitivity, Err(Undefined::RefClassAbsent));
        assert_eq!(found.per_class[3].ppv, Err(Undefined::DevClassAbsent));
    }
}
