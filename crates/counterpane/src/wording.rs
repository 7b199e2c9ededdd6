//! Small words that messages share.

/// Returns `1 night`, `2 nights`.
pub(crate) fn count(n: u64, one: &str) -> String {
    count_of(n, one, &format!("{one}s"))
}

/// Returns `1 box`, `2 boxes`.
pub(crate) fn count_of(n: u64, one: &str, many: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {many}") }
}

/// Returns `a`, `a and b`, `a, b and c`; `none` for nothing.
pub(crate) fn and<T: AsRef<str>>(words: &[T]) -> String {
    list(words, "and")
}

/// Returns all of a short list, and of a long one the first twelve and how many more there are.
pub(crate) fn and_more<T: AsRef<str>>(words: &[T]) -> String {
    const MOST: usize = 12;
    if words.len() <= MOST + 1 {
        return and(words);
    }
    let shown: Vec<&str> = words.iter().take(MOST).map(AsRef::as_ref).collect();
    format!("{} and {} more", shown.join(", "), words.len() - MOST)
}

/// Returns `a`, `a or b`, `a, b or c`; `none` for nothing.
pub(crate) fn or<T: AsRef<str>>(words: &[T]) -> String {
    list(words, "or")
}

/// Returns a part in per cent of its whole; 0 of nothing.
pub(crate) fn per_cent(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { 100.0 * part / whole } else { 0.0 }
}

/// Returns how much two readings told differently: `3 of 5 rows (60.0 %) and 436.0 of 475.0 min (91.8 %)`.
pub(crate) fn apart_words(s: &counterpane_store::Settles) -> String {
    let (part, whole) = (s.seconds_differing as f64 / 60.0, s.seconds as f64 / 60.0);
    format!(
        "{} of {} ({:.1} %) and {part:.1} of {whole:.1} min ({:.1} %)",
        s.rows_differing,
        count(s.rows, "row"),
        per_cent(s.rows_differing as f64, s.rows as f64),
        per_cent(part, whole)
    )
}

fn list<T: AsRef<str>>(words: &[T], last: &str) -> String {
    match words {
        [] => "none".into(),
        [one] => one.as_ref().into(),
        [rest @ .., end] => {
            let rest: Vec<&str> = rest.iter().map(AsRef::as_ref).collect();
            format!("{} {last} {}", rest.join(", "), end.as_ref())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_lists_read_well() {
        assert_eq!(count(1, "night"), "1 night");
        assert_eq!(count(0, "night"), "0 nights");
        assert_eq!(and::<&str>(&[]), "none");
        assert_eq!(and(&["a", "b", "c"]), "a, b and c");
        assert_eq!(or(&["a", "b"]), "a or b");
        assert_eq!(and_more(&["a"; 13]), and(&["a"; 13]));
        assert!(and_more(&["a"; 14]).ends_with("a, a and 2 more"));
    }
}
