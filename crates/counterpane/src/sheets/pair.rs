//! Two readings of one picture, laid beside each other row by row.

use super::{Sheet, Typed};
use anyhow::{Context as _, bail};

/// A change of stage with its time.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Change {
    /// Seconds on a clock that goes on over midnight.
    pub(crate) seconds: i64,
    /// The stage, in small letters.
    pub(crate) stage: String,
    /// As it was typed.
    pub(crate) typed: Typed,
}

/// Rows that belong together; a row that the other reading does not have stands alone.
pub(crate) type Pair<'a> = (Option<&'a Change>, Option<&'a Change>);

/// Half a day: a time that is earlier by more than this is after midnight; one that is earlier by less is on a clock
/// that was put back, or wrong, and both are for the import to say.
const HALF_DAY: i64 = 43_200;
/// What a row costs that the other reading does not have.
const ALONE: f64 = 1.2;
/// What it costs that two rows differ in their stage.
const OTHER_STAGE: f64 = 1.0;
/// Minutes of difference that cost 1, and the most that a difference of times costs: less than two rows alone, so
/// that an hour's slip is one difference and not two.
const MINUTES: f64 = 20.0;
const MOST: f64 = 2.0;

/// Returns the changes of a sheet.
///
/// # Errors
/// A time cannot be read; the message says where.
pub(crate) fn changes(sheet: &Sheet) -> anyhow::Result<Vec<Change>> {
    let mut out: Vec<Change> = Vec::new();
    let mut days = 0;
    for typed in &sheet.rows {
        let clock = counterpane_import::clock_as_typed(&typed.at)
            .with_context(|| format!("{}: `{}` is not a time of day", typed.place, typed.at))?;
        if typed.is.is_empty() {
            bail!("{}: the row has no stage", typed.place);
        }
        let of_day = i64::from(clock.hour()) * 3600 + i64::from(clock.minute()) * 60 + i64::from(clock.second());
        if out.last().is_some_and(|above| of_day + days * 2 * HALF_DAY < above.seconds - HALF_DAY) {
            days += 1;
        }
        let seconds = of_day + days * 2 * HALF_DAY;
        out.push(Change { seconds, stage: typed.is.to_lowercase(), typed: typed.clone() });
    }
    Ok(out)
}

/// Lays two readings beside each other so that as little as can be differs (Needleman and Wunsch 1970, Journal of
/// Molecular Biology 48, 443-453, with costs of our own).
pub(crate) fn align<'a>(first: &'a [Change], second: &'a [Change]) -> Vec<Pair<'a>> {
    let width = second.len() + 1;
    let mut least = vec![0.0; (first.len() + 1) * width];
    for i in (0..=first.len()).rev() {
        for j in (0..=second.len()).rev() {
            let at = |i: usize, j: usize| least[i * width + j];
            let ways = [
                first.get(i).zip(second.get(j)).map(|(a, b)| cost(a, b) + at(i + 1, j + 1)),
                first.get(i).map(|_| ALONE + at(i + 1, j)),
                second.get(j).map(|_| ALONE + at(i, j + 1)),
            ];
            let best = ways.into_iter().flatten().fold(f64::INFINITY, f64::min);
            least[i * width + j] = if best.is_finite() { best } else { 0.0 };
        }
    }
    let (mut i, mut j, mut out) = (0, 0, Vec::new());
    let at = |i: usize, j: usize| least[i * width + j];
    let same = |a: f64, b: f64| (a - b).abs() < 1e-9;
    loop {
        match (first.get(i), second.get(j)) {
            (None, None) => return out,
            (Some(a), Some(b)) if same(at(i, j), cost(a, b) + at(i + 1, j + 1)) => {
                out.push((Some(a), Some(b)));
                (i, j) = (i + 1, j + 1);
            }
            (Some(a), b) if b.is_none() || same(at(i, j), ALONE + at(i + 1, j)) => {
                out.push((Some(a), None));
                i += 1;
            }
            (_, b) => {
                out.push((None, b));
                j += 1;
            }
        }
    }
}

fn cost(a: &Change, b: &Change) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a night has far fewer than 2^52 seconds")]
    let minutes = (a.seconds - b.seconds).abs() as f64 / 60.0;
    (minutes / MINUTES).min(MOST) + if a.stage == b.stage { 0.0 } else { OTHER_STAGE }
}

#[cfg(test)]
mod tests {
    use super::*;
    use counterpane_model::Locator;

    fn read(rows: &str) -> Vec<Change> {
        let typed = |row: &str| {
            let (at, is) = row.split_once(' ').unwrap();
            Typed { at: at.into(), is: is.into(), place: Locator::Text { line: 1, column: 1 } }
        };
        let rows = rows.split(", ").map(typed).collect();
        changes(&Sheet { form: super::super::Form::Changes, head: Default::default(), shown: Vec::new(), rows })
            .unwrap()
    }

    fn check(first: &str, second: &str) -> String {
        let (first, second) = (read(first), read(second));
        let word = |c: Option<&Change>| c.map_or("-".to_owned(), |c| format!("{} {}", c.typed.at, c.typed.is));
        align(&first, &second)
            .into_iter()
            .map(|(a, b)| format!("{}={}", word(a), word(b)))
            .collect::<Vec<_>>()
            .join(", ")
    }

    #[test]
    fn a_missing_row_does_not_shift_the_rest() {
        assert_eq!(
            check(
                "22:10 wake, 22:30 light, 23:50 deep, 0:40 rem, 6:05 end",
                "22:10 wake, 22:30 light, 0:40 rem, 6:05 end"
            ),
            "22:10 wake=22:10 wake, 22:30 light=22:30 light, 23:50 deep=-, 0:40 rem=0:40 rem, 6:05 end=6:05 end"
        );
    }

    #[test]
    fn a_slip_is_one_difference() {
        assert_eq!(
            check("22:10 wake, 23:30 light, 6:05 end", "22:10 wake, 22:30 light, 6:05 end"),
            "22:10 wake=22:10 wake, 23:30 light=22:30 light, 6:05 end=6:05 end"
        );
        assert_eq!(check("22:10 wake, 6:05 end", "22:10 light, 6:05 end"), "22:10 wake=22:10 light, 6:05 end=6:05 end");
    }

    #[test]
    fn midnight_is_crossed_and_a_clock_put_back_is_not_another_day() {
        let seconds = |rows: &str| read(rows).iter().map(|c| c.seconds / 60).collect::<Vec<_>>();
        assert_eq!(seconds("23:50 wake, 00:10 light"), [1430, 1450]);
        assert_eq!(seconds("1:50 wake, 1:40 light, 6:00 end"), [110, 100, 360]);
    }
}
