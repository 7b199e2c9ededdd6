//! Numbers and lengths in words.

/// Returns `1 row`, `1,032 rows`.
pub(super) fn rows(n: usize) -> String {
    count(n, "row")
}

pub(super) fn count(n: usize, one: &str) -> String {
    format!("{} {one}{}", thousands(n), if n == 1 { "" } else { "s" })
}

pub(super) fn thousands(n: usize) -> String {
    let digits = n.to_string();
    let mut out = String::new();
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push(',');
        }
        out.push(c);
    }
    out
}

/// Returns a length in words: `30 s`, `12.5 min`, `7.5 h`.
pub(super) fn words_of(seconds: f64) -> String {
    match seconds {
        s if s < 120.0 => format!("{} s", trimmed(s)),
        s if s < 7200.0 => format!("{} min", trimmed(s / 60.0)),
        s if s < 172_800.0 => format!("{} h", trimmed(s / 3600.0)),
        s => format!("{} days", trimmed(s / 86_400.0)),
    }
}

/// Returns a number with at most one decimal.
pub(super) fn trimmed(n: f64) -> String {
    let text = format!("{n:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_lengths_read_well() {
        assert_eq!(rows(1), "1 row");
        assert_eq!(rows(1032), "1,032 rows");
        assert_eq!([30.0, 750.0, 27_000.0, 864_000.0].map(words_of), ["30 s", "12.5 min", "7.5 h", "10 days"]);
    }
}
