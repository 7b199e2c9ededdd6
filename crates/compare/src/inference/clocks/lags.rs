//! Agreement of a night at every shift, over the same epochs.

use super::{MAX_LAG, NoOffset, Shifted};
use counterpane_model::{Cell, Scheme};
use counterpane_stats::{
    ClockOffset, Figure, LagCounts, Table, Undefined, accuracy, clock_offset, cohen_kappa, lag_counts,
};

/// Positions that are drawn together: 20 min, longer than most bouts of a stage (own choice).
const BLOCK: usize = 40;

/// Both sides as classes; `None` where nothing is said.
#[derive(Debug)]
pub(super) struct Classes {
    pub(super) n: usize,
    pub(super) reference: Vec<Option<usize>>,
    pub(super) device: Vec<Option<usize>>,
}

impl Classes {
    pub(super) fn of(scheme: Scheme, reference: &[Cell], device: &[Cell]) -> Classes {
        let class = |cell: &Cell| cell.stage().and_then(|stage| scheme.index(stage));
        Classes {
            n: scheme.classes().len(),
            reference: reference.iter().map(class).collect(),
            device: device.iter().map(class).collect(),
        }
    }

    /// Equal pairs of each shift of the device beside a reference, in blocks.
    pub(super) fn beside(&self, reference: &[Option<usize>]) -> Result<LagCounts, Undefined> {
        lag_counts(reference, &self.device, MAX_LAG, BLOCK)
    }

    /// Agreement when the device is moved back by so many epochs, no more than [`MAX_LAG`].
    pub(super) fn shifted(&self, epochs: i64) -> Shifted {
        let table = self.table(epochs);
        let of = |figure: fn(&Table) -> Figure| table.as_ref().map_err(|why| *why).and_then(figure);
        Shifted { epochs, accuracy: of(accuracy), kappa: of(cohen_kappa) }
    }

    fn table(&self, epochs: i64) -> Result<Table, Undefined> {
        let n = self.reference.len().min(self.device.len());
        let first = usize::try_from(MAX_LAG as i64 + epochs).map_err(|_| Undefined::OutsideRange)?;
        if n <= 2 * MAX_LAG {
            return Err(Undefined::NTooSmall);
        }
        let inner = |side: &[Option<usize>], first: usize| {
            side.get(first..first + n - 2 * MAX_LAG).map(<[_]>::to_vec).ok_or(Undefined::OutsideRange)
        };
        Table::from_pairs(self.n, &inner(&self.reference, MAX_LAG)?, &inner(&self.device, first)?)
            .map_err(|_| Undefined::OutsideRange)
    }
}

/// Returns the best lag, where it is inside the search.
pub(super) fn found(counts: Result<&LagCounts, Undefined>) -> Result<i64, NoOffset> {
    match counts.and_then(clock_offset) {
        Err(_) => Err(NoOffset::TooShort),
        Ok(ClockOffset { at_boundary: true, .. }) => Err(NoOffset::AtTheEdge),
        Ok(offset) => Ok(offset.best),
    }
}

/// Returns what the best lag gains in accuracy; `None` when a lag has no pair.
pub(super) fn gain(counts: &LagCounts) -> Option<f64> {
    clock_offset(counts).ok().map(|offset| offset.agreement - offset.unshifted)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A night of bouts, and a device that is so many epochs late.
    fn night(late: usize) -> Classes {
        let side = |late: usize| (0..200_usize).map(|t| Some(t.saturating_sub(late) / 13 % 3)).collect();
        Classes { n: 3, reference: side(0), device: side(late) }
    }

    #[test]
    fn every_shift_is_counted_over_the_same_epochs() {
        let of = |epochs| night(1).table(epochs).map(|t| t.n());
        assert_eq!([of(-10), of(0), of(10)], [Ok(180); 3]);
        assert_eq!(of(11), Err(Undefined::OutsideRange));
    }

    #[test]
    fn the_best_lag_agrees_as_the_crate_of_statistics_says() {
        for late in [0, 3, 7] {
            let (classes, offset) = (night(late), night(late));
            let counts = offset.beside(&offset.reference).unwrap();
            let best = clock_offset(&counts).unwrap();
            assert_eq!(found(Ok(&counts)), Ok(late as i64));
            assert_eq!(classes.shifted(best.best).accuracy, Ok(best.agreement));
            assert_eq!(classes.shifted(0).accuracy, Ok(best.unshifted));
            assert_eq!(gain(&counts), Some(best.agreement - best.unshifted));
        }
    }

    #[test]
    fn the_edge_is_no_offset_and_a_short_night_has_none() {
        let late = night(12);
        assert_eq!(found(late.beside(&late.reference).as_ref().map_err(|e| *e)), Err(NoOffset::AtTheEdge));
        let short = Classes { n: 1, reference: vec![Some(0); 20], device: vec![Some(0); 20] };
        assert_eq!(found(short.beside(&short.reference).as_ref().map_err(|e| *e)), Err(NoOffset::TooShort));
        assert_eq!(short.shifted(0).accuracy, Err(Undefined::NTooSmall));
    }
}
