//! How many bouts of a class a series has.

/// Returns how many longest runs of `class` a series has. Leave out what is no epoch of the series before: what one side did
/// not score must not make two bouts of one.
///
/// ```
/// # use counterpane_stats::bouts;
/// assert_eq!(bouts([1, 1, 0, 1, 2, 1].into_iter(), 1), 3);
/// ```
pub fn bouts(series: impl Iterator<Item = usize>, class: usize) -> usize {
    let mut before = None;
    let mut n = 0;
    for own in series {
        if own == class && before != Some(class) {
            n += 1;
        }
        before = Some(own);
    }
    n
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_run_is_a_bout_however_long() {
        let check = |side: &[usize], n| assert_eq!(bouts(side.iter().copied(), 1), n, "{side:?}");
        check(&[], 0);
        check(&[0, 0], 0);
        check(&[1, 1, 1], 1);
        check(&[1, 0, 1, 1, 2, 1], 3);
    }
}
