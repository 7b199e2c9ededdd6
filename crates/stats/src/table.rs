//! The confusion matrix: counts of pairs, the reference in rows.

/// Largest sum of counts that a table takes. Below it every count is exact as `f64` and every
/// product of two totals is exact as `i128`.
const LARGEST_TOTAL: u64 = 1 << 53;

/// A K x K table of counts of pairs: rows the reference, columns the other side.
///
/// Row `i`, column `j` counts the pairs in which the reference says class `i` and the other side
/// says class `j`. The classes are those that were declared, used or not.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    counts: Vec<Vec<u64>>,
    row_sums: Vec<u64>,
    column_sums: Vec<u64>,
    n: u64,
    agreeing: u64,
}

/// Why there is no table.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TableError {
    /// The counts are not K rows of K columns.
    #[error("row {row} is of length {columns} and the table has {rows} rows; give as many columns as rows")]
    NotSquare {
        /// The row, counted from 1.
        row: usize,
        /// Its columns.
        columns: usize,
        /// Rows of the table.
        rows: usize,
    },
    /// The two sides are not of one length.
    #[error("labels of the reference: {reference}, of the other side: {other}; give both one label for each epoch")]
    UnequalLength {
        /// Labels of the reference.
        reference: usize,
        /// Labels of the other side.
        other: usize,
    },
    /// A class that was not declared.
    #[error("pair {pair} has class number {class}, and only {classes} classes are declared (numbers start at 0)")]
    UnknownClass {
        /// The pair, counted from 1.
        pair: usize,
        /// The class number that was given.
        class: usize,
        /// Number of classes.
        classes: usize,
    },
    /// More counts than can be computed with exactly.
    #[error("the counts add up to more than {LARGEST_TOTAL}; split the table")]
    TooMany,
}

impl Table {
    /// Returns the table with these counts: `counts[i][j]` has reference class `i` and other class `j`.
    ///
    /// # Errors
    /// When a row has not as many columns as the table has rows, or the counts add up to more than 2^53.
    pub fn from_counts(counts: Vec<Vec<u64>>) -> Result<Table, TableError> {
        let k = counts.len();
        if let Some((row, found)) = counts.iter().enumerate().find(|(_, row)| row.len() != k) {
            return Err(TableError::NotSquare { row: row + 1, columns: found.len(), rows: k });
        }
        let total = counts.iter().flatten().try_fold(0_u64, |sum, c| sum.checked_add(*c));
        let n = total.filter(|n| *n <= LARGEST_TOTAL).ok_or(TableError::TooMany)?;
        let row_sums = counts.iter().map(|row| row.iter().sum()).collect();
        let column_sums = (0..k).map(|j| counts.iter().map(|row| row[j]).sum()).collect();
        let agreeing = (0..k).map(|i| counts[i][i]).sum();
        Ok(Table { counts, row_sums, column_sums, n, agreeing })
    }

    /// Returns the table of pairs of class numbers (from 0); a pair with a `None` on either side was
    /// not scored there and is left out.
    ///
    /// # Errors
    /// When the two sides differ in length, or a class number is not below `classes`.
    pub fn from_pairs(
        classes: usize,
        reference: &[Option<usize>],
        other: &[Option<usize>],
    ) -> Result<Table, TableError> {
        if reference.len() != other.len() {
            return Err(TableError::UnequalLength { reference: reference.len(), other: other.len() });
        }
        let mut counts = vec![vec![0_u64; classes]; classes];
        for (pair, (i, j)) in reference.iter().zip(other).enumerate() {
            if let Some(class) = [i, j].into_iter().copied().flatten().find(|c| *c >= classes) {
                return Err(TableError::UnknownClass { pair: pair + 1, class, classes });
            }
            if let (Some(i), Some(j)) = (i, j) {
                counts[*i][*j] += 1;
            }
        }
        Table::from_counts(counts)
    }

    /// Returns the number of declared classes, K.
    #[must_use]
    pub fn classes(&self) -> usize {
        self.counts.len()
    }

    /// Returns the counts, rows the reference.
    #[must_use]
    pub fn counts(&self) -> &[Vec<u64>] {
        &self.counts
    }

    /// Returns the number of pairs.
    #[must_use]
    pub fn n(&self) -> u64 {
        self.n
    }

    /// Returns the number of pairs that agree: the sum of the diagonal.
    #[must_use]
    pub fn agreeing(&self) -> u64 {
        self.agreeing
    }

    /// Returns the count of one cell; 0 outside the table.
    #[must_use]
    pub fn count(&self, reference: usize, other: usize) -> u64 {
        self.counts.get(reference).and_then(|row| row.get(other)).copied().unwrap_or(0)
    }

    /// Returns how often the reference says the class; 0 outside the table.
    #[must_use]
    pub fn row_sum(&self, class: usize) -> u64 {
        self.row_sums.get(class).copied().unwrap_or(0)
    }

    /// Returns how often the other side says the class; 0 outside the table.
    #[must_use]
    pub fn column_sum(&self, class: usize) -> u64 {
        self.column_sums.get(class).copied().unwrap_or(0)
    }

    /// Returns the same pairs with the roles of the two sides swapped.
    #[must_use]
    pub fn transposed(&self) -> Table {
        let k = self.classes();
        Table {
            counts: (0..k).map(|j| (0..k).map(|i| self.counts[i][j]).collect()).collect(),
            row_sums: self.column_sums.clone(),
            column_sums: self.row_sums.clone(),
            n: self.n,
            agreeing: self.agreeing,
        }
    }

    /// Returns the table of coarser classes: class `i` becomes class `of[i]`, below `classes`.
    ///
    /// # Errors
    /// When `of` has not one entry for each class, or names a class that is not below `classes`.
    pub fn folded(&self, classes: usize, of: &[usize]) -> Result<Table, TableError> {
        if of.len() != self.classes() {
            return Err(TableError::UnequalLength { reference: self.classes(), other: of.len() });
        }
        if let Some((at, class)) = of.iter().enumerate().find(|(_, class)| **class >= classes) {
            return Err(TableError::UnknownClass { pair: at + 1, class: *class, classes });
        }
        let mut counts = vec![vec![0_u64; classes]; classes];
        for (row, i) in self.counts.iter().zip(of) {
            row.iter().zip(of).for_each(|(count, j)| counts[*i][*j] += count);
        }
        Table::from_counts(counts)
    }

    /// Returns a table without a pair, to be filled again and again.
    pub(crate) fn blank(classes: usize) -> Table {
        let sums = vec![0; classes];
        Table { counts: vec![sums.clone(); classes], row_sums: sums.clone(), column_sums: sums, n: 0, agreeing: 0 }
    }

    /// Puts other counts into the table, row by row, without allocating; what comes after the last cell is not read.
    pub(crate) fn refill(&mut self, cells: &[u32]) {
        let classes = self.counts.len();
        self.column_sums.fill(0);
        (self.n, self.agreeing) = (0, 0);
        for (i, (row, of)) in self.counts.iter_mut().zip(cells.chunks_exact(classes.max(1))).enumerate() {
            let mut sum = 0;
            for ((count, column), cell) in row.iter_mut().zip(&mut self.column_sums).zip(of) {
                *count = u64::from(*cell);
                *column += *count;
                sum += *count;
            }
            self.agreeing += row[i];
            self.row_sums[i] = sum;
            self.n += sum;
        }
    }

    /// Returns both row and column sum of each class, in the order of the classes.
    pub(crate) fn margins(&self) -> impl Iterator<Item = (i128, i128)> + '_ {
        self.row_sums.iter().zip(&self.column_sums).map(|(r, c)| (i128::from(*r), i128::from(*c)))
    }

    /// Returns the variance over the pairs of what `value` gives for each cell.
    ///
    /// The large-sample variances of kappa and AC1 are of this form (the delta method). Taken as a
    /// sum of squares it cannot come out negative, as the textbook difference does by rounding.
    pub(crate) fn variance_of(&self, value: impl Fn(usize, usize) -> f64) -> f64 {
        let cells =
            || self.counts.iter().enumerate().flat_map(|(i, row)| row.iter().enumerate().map(move |(j, c)| (i, j, *c)));
        let n = self.n as f64;
        let mean = cells().map(|(i, j, c)| c as f64 * value(i, j)).sum::<f64>() / n;
        cells().map(|(i, j, c)| c as f64 * (value(i, j) - mean).powi(2)).sum::<f64>() / n
    }
}

/// Returns the quotient of two whole numbers; the caller has made sure that `denominator` is not 0.
pub(crate) fn quotient(numerator: impl Into<i128>, denominator: impl Into<i128>) -> f64 {
    numerator.into() as f64 / denominator.into() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn error(result: Result<Table, TableError>) -> String {
        result.map_err(|e| e.to_string()).unwrap_err()
    }

    #[test]
    fn rows_are_the_reference() {
        let table = Table::from_pairs(2, &[Some(0), Some(0), Some(1)], &[Some(0), Some(1), Some(1)]).unwrap();
        assert_eq!(table.counts(), [[1, 1], [0, 1]]);
        assert_eq!((table.row_sum(0), table.column_sum(0), table.agreeing(), table.n()), (2, 1, 2, 3));
        assert_eq!(table.transposed().counts(), [[1, 0], [1, 1]]);
    }

    #[test]
    fn a_pair_that_one_side_did_not_score_is_left_out() {
        let table = Table::from_pairs(2, &[Some(0), None, Some(1)], &[Some(0), Some(1), None]).unwrap();
        assert_eq!(table.n(), 1);
    }

    #[test]
    fn what_is_no_table_is_refused_with_its_place() {
        assert_eq!(
            error(Table::from_counts(vec![vec![1, 2], vec![3]])),
            "row 2 is of length 1 and the table has 2 rows; give as many columns as rows"
        );
        assert_eq!(
            error(Table::from_pairs(2, &[Some(0)], &[])),
            "labels of the reference: 1, of the other side: 0; give both one label for each epoch"
        );
        assert_eq!(
            error(Table::from_pairs(2, &[Some(0), Some(1)], &[Some(0), Some(2)])),
            "pair 2 has class number 2, and only 2 classes are declared (numbers start at 0)"
        );
        assert_eq!(Table::from_counts(vec![vec![u64::MAX, 1], vec![0, 0]]), Err(TableError::TooMany));
    }

    #[test]
    fn folded_classes_add_up() {
        let five = Table::from_counts(vec![vec![3, 1, 0], vec![2, 5, 1], vec![0, 4, 7]]).unwrap();
        assert_eq!(five.folded(2, &[0, 1, 1]).unwrap().counts(), [[3, 1], [2, 17]]);
        assert!(five.folded(2, &[0, 1]).is_err() && five.folded(2, &[0, 1, 2]).is_err());
    }

    #[test]
    fn an_unscored_partner_does_not_hide_an_unknown_class() {
        assert!(Table::from_pairs(2, &[None], &[Some(5)]).is_err());
    }
}
