//! One class against all others: the four counts that the figures of a class are made of.

use crate::{Table, Undefined};

/// Hits and misses of one class.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Outcomes {
    /// Both sides say the class.
    pub true_positive: u64,
    /// The reference says it, the other side does not.
    pub false_negative: u64,
    /// The other side says it, the reference does not.
    pub false_positive: u64,
    /// Neither says it.
    pub true_negative: u64,
}

impl Outcomes {
    /// Returns the four counts of a class.
    ///
    /// # Errors
    /// [`Undefined::NoPairs`] for an empty table.
    pub fn of(table: &Table, class: usize) -> Result<Outcomes, Undefined> {
        if table.n() == 0 {
            return Err(Undefined::NoPairs);
        }
        let true_positive = table.count(class, class);
        let false_negative = table.row_sum(class) - true_positive;
        let false_positive = table.column_sum(class) - true_positive;
        let true_negative = table.n() - true_positive - false_negative - false_positive;
        Ok(Outcomes { true_positive, false_negative, false_positive, true_negative })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::table;

    #[test]
    fn the_four_counts_add_up_to_all_pairs() {
        let of = Outcomes::of(&table([[5, 1, 0], [2, 7, 3], [0, 4, 8]]), 1);
        assert_eq!(of, Ok(Outcomes { true_positive: 7, false_negative: 5, false_positive: 5, true_negative: 13 }));
    }
}
