//! How the statistics must change when the table changes in a known way.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use counterpane_stats::{
    Figure, Ratings, Table, accuracy, agree, balanced_accuracy, cohen_kappa, gwet_ac1, gwet_ac1_se, kappa_null_se,
    kappa_se, krippendorff_alpha, macro_f1, mcc, pabak, ppv, scott_pi, sensitivity, weighted_f1,
};
use proptest::prelude::*;

fn any_table() -> impl Strategy<Value = Table> {
    (2_usize..=6).prop_flat_map(|k| {
        // Many zeros, so that absent classes and constant sides come up.
        let count = prop_oneof![2 => Just(0_u64), 3 => 0_u64..400];
        proptest::collection::vec(proptest::collection::vec(count, k), k).prop_map(|c| Table::from_counts(c).unwrap())
    })
}

fn table_and_order() -> impl Strategy<Value = (Table, Vec<usize>)> {
    any_table().prop_flat_map(|table| {
        let order: Vec<usize> = (0..table.classes()).collect();
        (Just(table), Just(order).prop_shuffle())
    })
}

fn made(classes: usize, count: impl Fn(usize, usize) -> u64) -> Table {
    Table::from_counts((0..classes).map(|i| (0..classes).map(|j| count(i, j)).collect()).collect()).unwrap()
}

/// Equal to 1e-12, or undefined for the same reason.
fn same(a: Figure, b: Figure) -> bool {
    match (a, b) {
        (Ok(a), Ok(b)) => (a - b).abs() <= 1e-12 * a.abs().max(1.0),
        (a, b) => a == b,
    }
}

fn kappa_of_shares(k: usize, shares: &[f64]) -> f64 {
    let all: f64 = shares.iter().sum();
    let agreed: f64 = (0..k).map(|i| shares[i * k + i]).sum::<f64>() / all;
    let row = |i: usize| (0..k).map(|j| shares[i * k + j]).sum::<f64>() / all;
    let column = |j: usize| (0..k).map(|i| shares[i * k + j]).sum::<f64>() / all;
    let chance: f64 = (0..k).map(|i| row(i) * column(i)).sum();
    (agreed - chance) / (1.0 - chance)
}

proptest! {
    #[test]
    fn relabelling_the_classes_changes_nothing((table, order) in table_and_order()) {
        let other = made(table.classes(), |i, j| table.count(order[i], order[j]));
        for of in [accuracy, cohen_kappa, mcc, kappa_null_se, gwet_ac1, pabak, scott_pi, balanced_accuracy, macro_f1, weighted_f1] {
            prop_assert!(same(of(&table), of(&other)));
        }
        // A root: what is nothing may come out as a number near 1e-9.
        prop_assert!((kappa_se(&table).unwrap_or(0.0) - kappa_se(&other).unwrap_or(0.0)).abs() < 1e-8);
    }

    #[test]
    fn swapping_the_sides_keeps_kappa_and_mcc_and_swaps_sensitivity_with_ppv(table in any_table()) {
        let other = table.transposed();
        for of in [accuracy, cohen_kappa, mcc, kappa_se, kappa_null_se, gwet_ac1, gwet_ac1_se, pabak, scott_pi, macro_f1] {
            prop_assert!((of(&table).unwrap_or(7.0) - of(&other).unwrap_or(7.0)).abs() < 1e-8);
        }
        for class in 0..table.classes() {
            prop_assert_eq!(sensitivity(&table, class).ok(), ppv(&other, class).ok());
            prop_assert_eq!(ppv(&table, class).ok(), sensitivity(&other, class).ok());
        }
    }

    #[test]
    fn doubling_every_count_only_narrows_the_standard_error(table in any_table()) {
        let other = made(table.classes(), |i, j| 2 * table.count(i, j));
        for of in [accuracy, cohen_kappa, mcc, gwet_ac1, pabak, scott_pi, balanced_accuracy, macro_f1, weighted_f1] {
            prop_assert!(same(of(&table), of(&other)));
        }
        for of in [kappa_se, kappa_null_se, gwet_ac1_se] {
            let (once, twice) = (of(&table), of(&other));
            prop_assert!((once.unwrap_or(0.0) - twice.unwrap_or(0.0) * 2_f64.sqrt()).abs() < 1e-8);
            prop_assert_eq!(once.is_ok(), twice.is_ok());
        }
    }

    #[test]
    fn a_class_that_nobody_uses_changes_pabak_and_ac1_only(table in any_table()) {
        let other = made(table.classes() + 1, |i, j| table.count(i, j));
        for of in [accuracy, cohen_kappa, mcc, kappa_se, kappa_null_se, scott_pi, balanced_accuracy, macro_f1, weighted_f1] {
            prop_assert!(same(of(&table), of(&other)));
        }
        // PABAK and AC1 stay 1 where there is no disagreement to spread over the classes.
        if table.n() > table.agreeing() {
            prop_assert!(pabak(&other) > pabak(&table));
            prop_assert!(gwet_ac1(&other) != gwet_ac1(&table));
        }
    }

    #[test]
    fn kappa_never_lies_further_from_zero_than_mcc(table in any_table()) {
        if let (Ok(kappa), Ok(mcc)) = (cohen_kappa(&table), mcc(&table)) {
            prop_assert!(kappa.abs() <= mcc.abs() + 1e-12);
        }
    }

    #[test]
    fn kappa_is_mcc_exactly_where_both_sides_use_the_classes_alike(table in any_table()) {
        // Added to its mirror image a table has the same sums in rows and columns.
        let alike = made(table.classes(), |i, j| table.count(i, j) + table.count(j, i));
        if let (Ok(kappa), Ok(mcc)) = (cohen_kappa(&alike), mcc(&alike)) {
            prop_assert!((kappa - mcc).abs() < 1e-12);
        }
        let margins_differ = (0..table.classes()).any(|i| table.row_sum(i) != table.column_sum(i));
        if let (true, Ok(kappa), Ok(mcc)) = (margins_differ, cohen_kappa(&table), mcc(&table)) {
            prop_assert!(kappa == 0.0 || kappa.abs() < mcc.abs());
        }
    }

    #[test]
    fn alpha_does_not_mind_names_nor_sides_and_hardly_the_number_of_units((table, order) in table_and_order()) {
        let alpha = |count: &dyn Fn(usize, usize) -> u64| {
            let mut sides = (Vec::new(), Vec::new());
            for i in 0..table.classes() {
                for j in 0..table.classes() {
                    for _ in 0..count(i, j) {
                        sides.0.push(Some(i));
                        sides.1.push(Some(j));
                    }
                }
            }
            krippendorff_alpha(&Ratings::from_raters(table.classes(), &[&sides.0, &sides.1]).unwrap())
        };
        let own = alpha(&|i, j| table.count(i, j));
        prop_assert!(same(own, alpha(&|i, j| table.count(order[i], order[j]))));
        prop_assert!(same(own, alpha(&|i, j| table.count(j, i))));
        if let (Ok(once), Ok(twice)) = (own, alpha(&|i, j| 2 * table.count(i, j))) {
            // 1 - (n - 1) D: with twice the units (2 n - 1) D / 2, so alpha falls by D / 2, D = (1 - alpha) / (n - 1).
            let n = 2.0 * table.n() as f64;
            prop_assert!((once - twice - (1.0 - once) / (n - 1.0) / 2.0).abs() < 1e-9);
        }
    }

    #[test]
    fn the_standard_error_of_kappa_is_that_of_the_delta_method(table in any_table()) {
        // Kappa is a smooth function of the shares: its variance over n pairs is that of its slopes. The slopes are taken
        // by moving each share a little (Fleiss, Cohen and Everitt 1969 give the same in closed form).
        if let (Ok(se), Ok(kappa)) = (kappa_se(&table), cohen_kappa(&table))
            && kappa.abs() < 0.999 && table.n() > 50
        {
            let (k, n) = (table.classes(), table.n() as f64);
            let shares: Vec<f64> = (0..k * k).map(|at| table.count(at / k, at % k) as f64 / n).collect();
            let step = 1e-5;
            let slopes: Vec<f64> = (0..k * k)
                .map(|at| {
                    let moved = |by: f64| {
                        let mut shares = shares.clone();
                        shares[at] += by;
                        kappa_of_shares(k, &shares)
                    };
                    (moved(step) - moved(-step)) / (2.0 * step)
                })
                .collect();
            let mean: f64 = shares.iter().zip(&slopes).map(|(p, s)| p * s).sum();
            let variance: f64 = shares.iter().zip(&slopes).map(|(p, s)| p * (s - mean).powi(2)).sum();
            prop_assert!((se - (variance / n).sqrt()).abs() < 1e-5 * se.max(1e-2), "{se} {}", (variance / n).sqrt());
        }
    }

    #[test]
    fn every_figure_is_finite_or_has_a_reason(table in any_table()) {
        let names: Vec<String> = (0..table.classes()).map(|c| c.to_string()).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let (mut reference, mut other) = (Vec::new(), Vec::new());
        for i in 0..table.classes() {
            for j in 0..table.classes() {
                for _ in 0..table.count(i, j) {
                    reference.push(Some(i));
                    other.push(Some(j));
                }
            }
        }
        let answer = agree("made up", &names, &reference, &other).unwrap();
        prop_assert_eq!(&answer.matrix, table.counts());
        let whole = [answer.accuracy, answer.kappa, answer.kappa_se, answer.pabak, answer.mcc, answer.ac1,
            answer.balanced_accuracy, answer.macro_f1, answer.weighted_f1];
        let classes = answer.per_class.iter().flat_map(|c| [c.sensitivity, c.specificity, c.ppv, c.npv, c.f1]);
        let all: Vec<Option<f64>> = whole.into_iter().chain(classes).collect();
        prop_assert!(all.iter().flatten().all(|v| v.is_finite()));
        prop_assert_eq!(all.iter().filter(|v| v.is_none()).count(), answer.undefined.len());
    }
}
