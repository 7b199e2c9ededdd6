//! A point in time that is given as text, as a reader wants it.

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// Returns RFC 3339 text as a person writes it: `2026-11-25T02:45:10Z` is `25 November 2026, 02:45 UTC`.
/// Seconds are left out, and an offset stays as it is. Text of another form is returned unchanged.
#[must_use]
pub fn when(text: &str) -> String {
    read(text).unwrap_or_else(|| text.to_owned())
}

fn read(text: &str) -> Option<String> {
    let (date, time) = text.split_once(['T', 't', ' '])?;
    let mut parts = date.split('-');
    let (year, month, day) = (digits(parts.next()?, 4)?, digits(parts.next()?, 2)?, digits(parts.next()?, 2)?);
    let month = MONTHS.get(usize::try_from(month).ok()?.checked_sub(1)?)?;
    let (clock, zone) = time.split_at_checked(time.find(['Z', 'z', '+', '-'])?)?;
    let mut parts = clock.split(':');
    let (hour, minute) = (digits(parts.next()?, 2)?, digits(parts.next()?, 2)?);
    let seconds = parts.next().is_some_and(|s| s.split('.').next().and_then(|s| digits(s, 2)).is_some_and(|s| s < 61));
    let whole = seconds && parts.next().is_none() && (1..=31).contains(&day) && hour < 24 && minute < 60;
    whole.then_some(())?;
    Some(format!("{day} {month} {year}, {hour:02}:{minute:02} UTC{}", offset(zone)?))
}

fn offset(zone: &str) -> Option<String> {
    if zone.eq_ignore_ascii_case("z") || zone == "+00:00" {
        return Some(String::new());
    }
    let (hours, minutes) = zone.get(1..)?.split_once(':')?;
    digits(hours, 2)?;
    digits(minutes, 2)?;
    Some(zone.replace('-', "\u{2212}"))
}

fn digits(text: &str, n: usize) -> Option<u32> {
    (text.len() == n && text.bytes().all(|b| b.is_ascii_digit())).then(|| text.parse().ok())?
}

#[cfg(test)]
mod tests {
    use super::when;

    #[test]
    fn a_time_is_written_as_people_write_it() {
        let check = |text: &str, said: &str| assert_eq!(when(text), said);
        check("2026-11-25T02:45:10Z", "25 November 2026, 02:45 UTC");
        check("2026-11-05T02:45:10.123456Z", "5 November 2026, 02:45 UTC");
        check("2026-11-25T02:45:10+11:00", "25 November 2026, 02:45 UTC+11:00");
        check("2026-11-25T02:45:10-03:30", "25 November 2026, 02:45 UTC\u{2212}03:30");
    }

    #[test]
    fn what_is_no_such_time_stays() {
        for text in ["2026-05-01", "yesterday", "", "2026-13-01T00:00:00Z", "2026-11-25T02:45Z", "2026-11-25T25:00:00Z"]
        {
            assert_eq!(when(text), text);
        }
    }
}
