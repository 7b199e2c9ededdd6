//! The stretch of a night that a screen covers, as the head of its sheet says.

use super::pair::seconds_of_day;
use super::{Form, Precision, Sheet, Typed};
use anyhow::Context as _;

const DAY: i64 = 86_400;

/// A stretch of the clock, over midnight where it ends before it begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Window {
    from: i64,
    length: i64,
}

impl Window {
    /// Reads two times of day with `-` between, such as `22:00-08:00`. Two equal times cover nothing, and are no window.
    fn of(text: &str) -> Option<Window> {
        let (from, until) = text.split_once(['-', '\u{2013}'])?;
        let [from, until] = [from, until].map(|t| seconds_of_day(t.trim()));
        let length = (until? - from?).rem_euclid(DAY);
        (length > 0).then_some(Window { from: from?, length })
    }

    /// Says whether a time of day lies in it, or no further outside than the precision.
    fn holds(self, at: i64, within: i64) -> bool {
        let behind = (at - self.from).rem_euclid(DAY);
        behind <= self.length + within || behind >= DAY - within
    }
}

/// Returns the rows of a sheet that lie outside the stretch that its head says the screen covers; none where it says
/// nothing of it. A row whose time cannot be read is for the import to tell.
///
/// # Errors
/// What the head says is no stretch of the clock.
pub(crate) fn outside(sheet: &Sheet) -> anyhow::Result<Vec<&Typed>> {
    let Some(text) = sheet.field("window").filter(|_| sheet.form == Form::Changes) else { return Ok(Vec::new()) };
    let window = Window::of(text)
        .with_context(|| format!("the head says `window` is `{text}`; write two times of day, such as 22:00-08:00"))?;
    let within = sheet.precision()?.map_or(0, |Precision(ms)| ms / 1000);
    let lies_outside = |row: &&Typed| seconds_of_day(&row.at).is_some_and(|at| !window.holds(at, within));
    Ok(sheet.rows.iter().filter(lies_outside).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(window: &str, at: &str, within: i64) -> Option<bool> {
        let at = seconds_of_day(at).unwrap();
        Window::of(window).map(|w| w.holds(at, within))
    }

    #[test]
    fn a_window_goes_over_midnight_and_holds_both_its_ends() {
        for at in ["22:00", "23:59", "0:00", "8:00"] {
            assert_eq!(check("22:00-08:00", at, 0), Some(true), "{at}");
        }
        for at in ["21:59", "8:01", "12:00"] {
            assert_eq!(check("22:00-08:00", at, 0), Some(false), "{at}");
        }
        assert_eq!(check("1.00 pm \u{2013} 2.30 pm", "13:15", 0), Some(true));
    }

    #[test]
    fn the_precision_widens_it() {
        assert_eq!([check("22:00-08:00", "21:58", 120), check("22:00-08:00", "8:02", 120)], [Some(true); 2]);
        assert_eq!([check("22:00-08:00", "21:57", 120), check("22:00-08:00", "8:03", 120)], [Some(false); 2]);
    }

    #[test]
    fn what_is_no_stretch_is_no_window() {
        for text in ["22:00", "22:00-", "22:00-22:00", "10-20", "evening-morning"] {
            assert_eq!(Window::of(text), None, "{text}");
        }
    }
}
