//! The pairs of one night, ready to be drawn anew in blocks, thousands of times.
//!
//! A block of consecutive pairs adds to the counts of the cells what two rows of running sums differ by, so a long
//! block costs no more than a short one. Sums wrap around at 2^32: the differences, at most the night, do not.

use crate::draws::Draws;
use crate::{Table, Undefined};

/// Width to which a row of sums is padded, so that it is added in whole machine words.
const LANES: usize = 8;
/// Most numbers that running sums may take, 64 MiB; a longer night is counted pair by pair.
const MOST_SUMS: usize = 1 << 24;

/// One night and how its blocks are drawn.
pub(crate) struct NightDraws {
    classes: usize,
    /// Cell numbers, twice over, so that a block that wraps around at the end is one slice.
    cells: Vec<usize>,
    n: u32,
    /// Logarithm of the probability that a block goes on; minus infinity for blocks of one.
    goes_on: f64,
    /// Row `t`: how often each cell stands among the first `t` pairs. Empty for a night that is too long.
    sums: Vec<[u32; LANES]>,
    /// Groups of lanes in a row.
    width: usize,
}

/// What a thread needs for itself.
pub(crate) struct Scratch {
    counts: Vec<[u32; LANES]>,
    pub(crate) table: Table,
}

impl NightDraws {
    /// Takes `(reference, other)` classes, below `classes`, in the order of time, and the mean length of a block.
    pub(crate) fn new(classes: usize, pairs: &[(usize, usize)], block: f64) -> Result<NightDraws, Undefined> {
        if pairs.is_empty() {
            return Err(Undefined::NoPairs);
        }
        let n = u32::try_from(pairs.len()).ok().filter(|n| *n <= 1 << 31).ok_or(Undefined::OutsideRange)?;
        if pairs.iter().any(|(i, j)| *i >= classes || *j >= classes) {
            return Err(Undefined::OutsideRange);
        }
        let cells: Vec<usize> = pairs.iter().chain(pairs).map(|(i, j)| i * classes + j).collect();
        let width = (classes * classes).div_ceil(LANES);
        let sums = running_sums(&cells[..pairs.len()], width);
        Ok(NightDraws { classes, cells, n, goes_on: (-1.0 / block.max(1.0)).ln_1p(), sums, width })
    }

    pub(crate) fn scratch(&self) -> Scratch {
        Scratch { counts: vec![[0; LANES]; self.width], table: Table::blank(self.classes) }
    }

    /// Draws the night anew into the table of `own`.
    pub(crate) fn draw(&self, draws: &mut Draws, own: &mut Scratch) {
        own.counts.fill([0; LANES]);
        let mut left = self.n;
        while left > 0 {
            let start = draws.below(self.n);
            // The smallest whole number of at least 1 whose tail lies below the draw; as a cast it stops at the largest.
            let length = (1.0 + draws.share().ln() / self.goes_on) as u32;
            let length = length.clamp(1, left);
            self.add(&mut own.counts, start as usize, length as usize);
            left -= length;
        }
        own.table.refill(own.counts.as_flattened());
    }

    fn add(&self, counts: &mut [[u32; LANES]], start: usize, length: usize) {
        // Below this length counting is quicker than two rows of sums.
        if length < 2 * self.width || self.sums.is_empty() {
            for cell in &self.cells[start..start + length] {
                counts[cell / LANES][cell % LANES] += 1;
            }
            return;
        }
        let n = self.n as usize;
        let row = |t: usize| &self.sums[t * self.width..(t + 1) * self.width];
        let (end, turns) = if start + length > n { (start + length - n, u32::MAX) } else { (start + length, 0) };
        for (((count, from), to), all) in counts.iter_mut().zip(row(start)).zip(row(end)).zip(row(n)) {
            for lane in 0..LANES {
                let through_the_end = all[lane] & turns;
                count[lane] = count[lane].wrapping_add(to[lane]).wrapping_sub(from[lane]).wrapping_add(through_the_end);
            }
        }
    }
}

fn running_sums(cells: &[usize], width: usize) -> Vec<[u32; LANES]> {
    if (cells.len() + 1).saturating_mul(width * LANES) > MOST_SUMS {
        return Vec::new();
    }
    let mut row = vec![[0_u32; LANES]; width];
    let mut sums = Vec::with_capacity((cells.len() + 1) * width);
    sums.extend_from_slice(&row);
    for cell in cells {
        row[cell / LANES][cell % LANES] += 1;
        sums.extend_from_slice(&row);
    }
    sums
}

#[cfg(test)]
mod tests {
    use super::*;

    fn night(n: usize, classes: usize) -> Vec<(usize, usize)> {
        (0..n).map(|t| (t / 17 % classes, (t + t * 7919 % 31 / 6) / 17 % classes)).collect()
    }

    #[test]
    fn running_sums_count_each_block_as_one_by_one_does() {
        for classes in [1, 2, 3, 4, 5, 7] {
            let pairs = night(211, classes);
            let summed = NightDraws::new(classes, &pairs, 9.0).unwrap();
            let counted = NightDraws { sums: Vec::new(), ..NightDraws::new(classes, &pairs, 9.0).unwrap() };
            for start in [0, 1, 100, 209, 210] {
                for length in [1, 2, 7, 8, 9, 63, 210, 211] {
                    let of = |night: &NightDraws| {
                        let mut counts = vec![[0; LANES]; night.width];
                        night.add(&mut counts, start, length);
                        counts
                    };
                    assert_eq!(of(&summed), of(&counted), "{classes} classes, {length} pairs from {start}");
                }
            }
        }
    }

    #[test]
    fn a_night_too_long_for_sums_is_drawn_alike() {
        let pairs = night(300, 5);
        let summed = NightDraws::new(5, &pairs, 40.0).unwrap();
        let counted = NightDraws { sums: Vec::new(), ..NightDraws::new(5, &pairs, 40.0).unwrap() };
        let of = |night: &NightDraws| {
            let mut own = night.scratch();
            night.draw(&mut Draws::new(5, 1), &mut own);
            own.table.counts().to_vec()
        };
        assert_eq!(of(&summed), of(&counted));
        assert!(running_sums(&vec![0; MOST_SUMS / 8], 1).is_empty());
    }
}
