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

/// Returns `a`, `a or b`, `a, b or c`; `none` for nothing.
pub(crate) fn or<T: AsRef<str>>(words: &[T]) -> String {
    list(words, "or")
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
    }
}
