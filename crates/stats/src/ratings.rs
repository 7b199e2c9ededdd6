//! What several raters say of the same units.

use crate::TableError;

/// Counts of ratings: `counts[u][k]` raters gave unit `u` the class `k`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ratings {
    counts: Vec<Vec<u64>>,
}

impl Ratings {
    /// Returns the ratings of several raters, each a row of class numbers from 0, `None` where the
    /// rater did not rate the unit.
    ///
    /// # Errors
    /// When two raters differ in length, or a class number is not below `classes`.
    pub fn from_raters(classes: usize, raters: &[&[Option<usize>]]) -> Result<Ratings, TableError> {
        let units = raters.first().map_or(0, |first| first.len());
        let mut counts = vec![vec![0; classes]; units];
        for rater in raters {
            if rater.len() != units {
                return Err(TableError::UnequalLength { reference: units, other: rater.len() });
            }
            for (unit, class) in rater.iter().enumerate() {
                match class {
                    Some(class) if *class < classes => counts[unit][*class] += 1,
                    Some(class) => return Err(TableError::UnknownClass { pair: unit + 1, class: *class, classes }),
                    None => {}
                }
            }
        }
        Ok(Ratings { counts })
    }

    /// Returns the ratings with these counts; units of different length are filled up with zeros.
    #[must_use]
    pub fn from_counts(mut counts: Vec<Vec<u64>>) -> Ratings {
        let classes = counts.iter().map(Vec::len).max().unwrap_or(0);
        for unit in &mut counts {
            unit.resize(classes, 0);
        }
        Ratings { counts }
    }

    /// Returns the counts of each unit.
    #[must_use]
    pub fn counts(&self) -> &[Vec<u64>] {
        &self.counts
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn raters_become_counts_of_each_unit() {
        let ratings = Ratings::from_raters(2, &[&[Some(0), Some(1)], &[Some(0), None]]).unwrap();
        assert_eq!(ratings.counts(), [[2, 0], [0, 1]]);
    }

    #[test]
    fn raters_of_different_length_or_with_an_unknown_class_are_refused() {
        assert!(Ratings::from_raters(2, &[&[Some(0)], &[]]).is_err());
        assert!(Ratings::from_raters(2, &[&[Some(2)]]).is_err());
    }
}
