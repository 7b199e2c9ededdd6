//! The start of an EDF+ recording: local date and time of the header, without a zone.

use super::header::Header;
use counterpane_model::Wall;

/// What is known of the start.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub(super) struct Start {
    pub(super) wall: Option<Wall>,
    /// `Startdate dd-MMM-yyyy` as the recording field has it, and nothing else of that field.
    pub(super) written: String,
    pub(super) problem: Option<String>,
}

/// Returns the start that a header gives.
///
/// The header's own date has two digits of the year: 85 to 99 are 1985 to 1999, 00 to 84 are 2000 to 2084. A
/// full date in the recording field (`Startdate 24-APR-1989 …`) counts before it (EDF+ specification,
/// 2.1.3.3); where day, month or the last two digits differ, that is told.
pub(super) fn start(header: &Header) -> Start {
    let full = header.recording_words().first().filter(|_| header.has_startdate()).copied().unwrap_or("X");
    let written = if full == "X" { String::new() } else { format!("Startdate {full}") };
    let (short, full_date) = (numbers(&header.date), full_date(full));
    let time = numbers(&header.time).and_then(|[h, m, s]| jiff::civil::Time::new(h, m, s, 0).ok());
    let date = match (full_date, short) {
        (Some(date), _) => Some(date),
        (None, Some([d, m, y])) => jiff::civil::Date::new(century(y) + i16::from(y), m, d).ok(),
        (None, None) => None,
    };
    let differ = matches!((full_date, short), (Some(f), Some([d, m, y])) if (f.day(), f.month(), f.year() % 100) != (d, m, i16::from(y)));
    let problem = match (date, time) {
        (None, _) => {
            Some("the header has no start date that exists, so its onsets cannot be placed in time".to_owned())
        }
        (_, None) => {
            Some("the header has no start time that exists, so its onsets cannot be placed in time".to_owned())
        }
        _ if differ => Some(format!(
            "the header's start date `{}` is not the date `{full}` of its recording field; the latter is used",
            header.date
        )),
        _ if full != "X" && full_date.is_none() => Some(format!(
            "the date `{full}` of the recording field is not a date such as `24-APR-1989`; the header's start date is used"
        )),
        _ => None,
    };
    Start { wall: date.zip(time).map(|(date, time)| date.to_datetime(time)), written, problem }
}

fn century(two_digits: i8) -> i16 {
    if two_digits >= 85 { 1900 } else { 2000 }
}

/// Reads `24.04.89` or `16.13.00`; other separators than points are taken too.
fn numbers(text: &str) -> Option<[i8; 3]> {
    let mut parts = text.trim().split(['.', ':', '-', '/']);
    let mut next =
        || parts.next().filter(|p| (1..=2).contains(&p.len()) && p.bytes().all(|b| b.is_ascii_digit()))?.parse().ok();
    let found = [next()?, next()?, next()?];
    parts.next().is_none().then_some(found)
}

/// Reads `24-APR-1989`.
fn full_date(text: &str) -> Option<jiff::civil::Date> {
    const MONTHS: [&str; 12] = ["JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC"];
    let mut parts = text.split('-');
    let (day, month, year) = (parts.next()?, parts.next()?, parts.next()?);
    let month = MONTHS.iter().position(|m| month.eq_ignore_ascii_case(m))? + 1;
    if parts.next().is_some() || year.len() != 4 {
        return None;
    }
    jiff::civil::Date::new(year.parse().ok()?, i8::try_from(month).ok()?, day.parse().ok()?).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(date: &str, time: &str, recording: &str) -> String {
        let header = Header { date: date.into(), time: time.into(), recording: recording.into(), ..Header::default() };
        let Start { wall, problem, .. } = start(&header);
        let wall = wall.map_or("no start".to_owned(), |w| w.to_string());
        problem.map_or(wall.clone(), |p| format!("{wall}; {p}"))
    }

    #[test]
    fn two_digits_of_a_year_are_read_as_the_standard_says() {
        assert_eq!(check("24.04.85", "16.13.00", "Startdate X X X X"), "1985-04-24T16:13:00");
        assert_eq!(check("24.04.84", "16.13.00", ""), "2084-04-24T16:13:00");
        assert_eq!(check("01.01.00", "00.00.00", ""), "2000-01-01T00:00:00");
    }

    #[test]
    fn the_full_date_counts_before_two_digits() {
        assert_eq!(check("24.04.51", "16.13.00", "Startdate 24-APR-1951 X X X"), "1951-04-24T16:13:00");
        assert_eq!(check("01.01.yy", "23.59.30", "Startdate 01-jan-2091 X X X"), "2091-01-01T23:59:30");
    }

    #[test]
    fn dates_that_differ_are_told() {
        assert_eq!(
            check("23.04.89", "16.13.00", "Startdate 24-APR-1989 X X X"),
            "1989-04-24T16:13:00; the header's start date `23.04.89` is not the date `24-APR-1989` of its recording field; the latter is used"
        );
    }

    #[test]
    fn a_start_that_does_not_exist_is_told() {
        assert_eq!(
            check("31.02.89", "16.13.00", ""),
            "no start; the header has no start date that exists, so its onsets cannot be placed in time"
        );
        assert_eq!(
            check("24.04.89", "25.13.00", ""),
            "no start; the header has no start time that exists, so its onsets cannot be placed in time"
        );
        assert_eq!(
            check("24.04.89", "16.13.00", "Startdate 24.4.1989 X X X"),
            "1989-04-24T16:13:00; the date `24.4.1989` of the recording field is not a date such as `24-APR-1989`; the header's start date is used"
        );
    }
}
