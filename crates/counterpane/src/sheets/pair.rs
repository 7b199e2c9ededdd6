//! Two readings of one source, laid beside each other row by row.

use super::{Form, Sheet, Typed};
use anyhow::{Context as _, bail};

/// A row of a sheet with its time.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Line {
    /// Where it begins: seconds on a clock that goes on over midnight, or from the first epoch.
    pub(crate) begins: i64,
    /// Where it ends, where the row says so itself; else it lasts to the next one.
    pub(crate) ends: Option<i64>,
    /// The stage, in the letters of the form.
    pub(crate) stage: String,
    /// As it was typed.
    pub(crate) typed: Typed,
}

/// Rows that belong together; a row that the other reading does not have stands alone.
pub(crate) type Pair<'a> = (Option<&'a Line>, Option<&'a Line>);

/// Half a day: a time that is earlier by more than this is after midnight; one that is earlier by less is on a clock
/// that was put back, or wrong, and both are for the import to say.
const HALF_DAY: i64 = 43_200;
/// Seconds of an epoch of a printed list.
const EPOCH: i64 = 30;
/// What a row costs that the other reading does not have.
const ALONE: f64 = 1.2;
/// What it costs that two rows differ in their stage.
const OTHER_STAGE: f64 = 1.0;
/// Minutes of difference that cost 1, and the most that a difference of times costs: less than two rows alone, so
/// that an hour's slip is one difference and not two.
const MINUTES: f64 = 20.0;
const MOST: f64 = 2.0;

/// Returns the rows of a sheet with their times.
///
/// # Errors
/// A time or a range of epochs cannot be read, or a row has no stage; the message says where.
pub(crate) fn lines(sheet: &Sheet) -> anyhow::Result<Vec<Line>> {
    let mut out: Vec<Line> = Vec::new();
    let mut days = 0;
    for typed in &sheet.rows {
        if typed.is.is_empty() {
            bail!("{}: the row has no stage", typed.place);
        }
        let line = match sheet.form {
            Form::Changes => {
                let of_day = seconds_of_day(&typed.at)
                    .with_context(|| format!("{}: `{}` is not a time of day", typed.place, typed.at))?;
                if out.last().is_some_and(|above| of_day + days * 2 * HALF_DAY < above.begins - HALF_DAY) {
                    days += 1;
                }
                let begins = of_day + days * 2 * HALF_DAY;
                Line { begins, ends: None, stage: typed.is.to_lowercase(), typed: typed.clone() }
            }
            Form::Epochs => {
                let (first, last) = counterpane_import::epochs_as_typed(&typed.at).with_context(|| {
                    format!("{}: `{}` is not a range of epochs such as 1-43", typed.place, typed.at)
                })?;
                let begins = (i64::from(first) - 1) * EPOCH;
                let ends = Some(i64::from(last) * EPOCH);
                Line { begins, ends, stage: typed.is.to_uppercase(), typed: typed.clone() }
            }
        };
        out.push(line);
    }
    Ok(out)
}

/// Returns the seconds from midnight to a time of day as a person types it; `None` for anything else.
pub(super) fn seconds_of_day(text: &str) -> Option<i64> {
    let clock = counterpane_import::clock_as_typed(text)?;
    Some(i64::from(clock.hour()) * 3600 + i64::from(clock.minute()) * 60 + i64::from(clock.second()))
}

/// Returns the rows of a second reading on the days of the first: one may have read the first change as 23:59 and the
/// other as 00:01, and no two readings begin half a day apart.
pub(super) fn on_the_same_day(mut second: Vec<Line>, first: &[Line]) -> Vec<Line> {
    let (Some(one), Some(other)) = (first.first(), second.first()) else { return second };
    let apart = one.begins - other.begins;
    let by = if apart.abs() > HALF_DAY { apart.signum() * 2 * HALF_DAY } else { 0 };
    for line in &mut second {
        line.begins += by;
        line.ends = line.ends.map(|end| end + by);
    }
    second
}

/// Lays two readings beside each other so that as little as can be differs (Needleman and Wunsch 1970, Journal of
/// Molecular Biology 48, 443-453, with costs of our own).
pub(crate) fn align<'a>(first: &'a [Line], second: &'a [Line]) -> Vec<Pair<'a>> {
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

fn cost(a: &Line, b: &Line) -> f64 {
    (minutes_between(a.begins, b.begins) / MINUTES).min(MOST) + if a.stage == b.stage { 0.0 } else { OTHER_STAGE }
}

/// Returns the minutes between two times in seconds, without sign.
pub(crate) fn minutes_between(a: i64, b: i64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a night has far fewer than 2^52 seconds")]
    let minutes = (a - b).abs() as f64 / 60.0;
    minutes
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use counterpane_model::Locator;

    /// The rows of a text such as `22:10 wake, 6:05 end`.
    pub(in crate::sheets) fn read(form: Form, rows: &str) -> Vec<Line> {
        let typed = |row: &str| {
            let (at, is) = row.split_once(' ').unwrap();
            Typed { at: at.into(), is: is.into(), place: Locator::Text { line: 1, column: 1 } }
        };
        let rows = rows.split(", ").filter(|r| !r.is_empty()).map(typed).collect();
        lines(&Sheet { form, head: Default::default(), shown: Vec::new(), rows }).unwrap()
    }

    fn laid(form: Form, first: &str, second: &str) -> String {
        let (first, second) = (read(form, first), read(form, second));
        let word = |c: Option<&Line>| c.map_or("-".to_owned(), |c| format!("{} {}", c.typed.at, c.typed.is));
        align(&first, &second)
            .into_iter()
            .map(|(a, b)| format!("{}={}", word(a), word(b)))
            .collect::<Vec<_>>()
            .join(", ")
    }

    fn check(first: &str, second: &str) -> String {
        laid(Form::Changes, first, second)
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
    fn ranges_of_epochs_are_laid_beside_each_other_by_where_they_begin() {
        assert_eq!(
            laid(Form::Epochs, "1-43 W, 44 N1, 45-100 N2", "1-43 w, 45-100 N2"),
            "1-43 W=1-43 w, 44 N1=-, 45-100 N2=45-100 N2"
        );
        let read = read(Form::Epochs, "1-43 W, 44 n1");
        assert_eq!(
            [(read[0].begins, read[0].ends), (read[1].begins, read[1].ends)],
            [(0, Some(1290)), (1290, Some(1320))]
        );
        assert_eq!(read[1].stage, "N1");
    }

    #[test]
    fn first_rows_on_both_sides_of_midnight_are_of_one_night() {
        let (first, second) = (read(Form::Changes, "23:59 wake, 6:00 end"), read(Form::Changes, "0:01 wake, 6:01 end"));
        let begins = |lines: Vec<Line>| lines.iter().map(|l| l.begins / 60).collect::<Vec<_>>();
        assert_eq!(begins(on_the_same_day(second.clone(), &first)), [1441, 1801]);
        assert_eq!(begins(on_the_same_day(first, &second)), [-1, 360]);
    }

    #[test]
    fn midnight_is_crossed_and_a_clock_put_back_is_not_another_day() {
        let minutes = |rows: &str| read(Form::Changes, rows).iter().map(|c| c.begins / 60).collect::<Vec<_>>();
        assert_eq!(minutes("23:50 wake, 00:10 light"), [1430, 1450]);
        assert_eq!(minutes("1:50 wake, 1:40 light, 6:00 end"), [110, 100, 360]);
    }
}
