//! Numbers in sentences: lengths of time, counts with the right plural, lists.

/// Returns a length of time as a person would write it: `45 s`, `12.5 min`, `480 min`.
///
/// `ms` is in milliseconds. From one minute on, minutes with one decimal unless it is 0; below that,
/// seconds, and below one second, milliseconds.
pub(crate) fn length(ms: i64) -> String {
    match ms.abs() {
        0..1000 => format!("{ms} ms"),
        // Up to here no number of seconds with one decimal reads 60.
        1000..59_950 => format!("{} s", one_decimal(ms as f64 / 1000.0)),
        _ => format!("{} min", one_decimal(ms as f64 / 60_000.0)),
    }
}

/// Returns a number with one decimal, without a decimal that is 0.
pub(crate) fn one_decimal(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map(str::to_owned).unwrap_or(text)
}

/// Returns a count with its noun, such as `1 span` or `3 spans`.
pub(crate) fn counted(n: u64, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// Returns the items as a list in a sentence, such as `W, Light and R`.
pub(crate) fn listed(items: &[String]) -> String {
    match items {
        [] => "nothing".into(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// Returns a share as a percentage, such as `84.6 %`, never rounded up to 100 or down to 0.
pub(crate) fn percent(part: u64, whole: u64) -> String {
    let share = 100.0 * part as f64 / whole.max(1) as f64;
    let rounded = (share * 10.0).round() / 10.0;
    let shown = match (part, rounded) {
        (0, _) => 0.0,
        (_, r) if r >= 100.0 && part < whole => 99.9,
        (_, r) if r <= 0.0 => 0.1,
        (_, r) => r,
    };
    format!("{} %", one_decimal(shown))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_read_as_a_person_would_write_them() {
        assert_eq!(length(750_000), "12.5 min");
        assert_eq!(length(1_500_000), "25 min");
        assert_eq!(length(60_000), "1 min");
        assert_eq!(length(59_999), "1 min");
        assert_eq!(length(45_000), "45 s");
        assert_eq!(length(-1_500), "-1.5 s");
        assert_eq!(length(80), "80 ms");
    }

    #[test]
    fn counts_carry_the_right_plural() {
        assert_eq!(counted(1, "span", "spans"), "1 span");
        assert_eq!(counted(0, "span", "spans"), "0 spans");
        assert_eq!(listed(&["W".into(), "Light".into(), "R".into()]), "W, Light and R");
        assert_eq!(listed(&["W".into()]), "W");
    }

    #[test]
    fn a_share_that_is_not_whole_never_reads_as_whole() {
        assert_eq!(percent(9_999, 10_000), "99.9 %");
        assert_eq!(percent(1, 10_000), "0.1 %");
        assert_eq!(percent(0, 10), "0 %");
        assert_eq!(percent(812, 960), "84.6 %");
        assert_eq!(percent(10, 10), "100 %");
    }
}
