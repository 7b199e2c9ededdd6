//! Texts as a person is shown them: on one line, with an ellipsis when cut.

/// Longest line that is shown, in characters.
pub(crate) const LINE: usize = 200;

/// Returns `text` on one line of at most [`LINE`] characters.
pub(crate) fn line(text: &str) -> String {
    cut(text, LINE)
}

/// Returns `text` on one line of at most `most` characters, the last of them `…` when it was cut.
pub(crate) fn cut(text: &str, most: usize) -> String {
    let mut out = String::new();
    let mut chars = text.chars();
    for n in 0..=most {
        match chars.next() {
            None => return out,
            Some(_) if n == most => break,
            // Control characters would move the cursor of a terminal.
            Some(c) if c.is_control() => out.push(if c == '\0' { '\u{2400}' } else { ' ' }),
            Some(c) => out.push(c),
        }
    }
    out.pop();
    out.push('…');
    out
}

/// Returns a number with its noun, such as `1 field` or `2 fields`.
pub(crate) fn count(n: u64, noun: &str) -> String {
    format!("{n} {noun}{}", if n == 1 { "" } else { "s" })
}

/// Returns names in backticks, at most twenty of them, for an error that says what exists.
pub(crate) fn names<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    let all: Vec<String> = names.into_iter().map(|name| format!("`{}`", cut(name, 40))).collect();
    match all.len() {
        0 => "nothing".to_owned(),
        n if n > 20 => format!("{} and {} more", all[..20].join(", "), n - 20),
        _ => all.join(", "),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_text_is_whole() {
        assert_eq!(cut("abc", 3), "abc");
        assert_eq!(cut("a\tb\n", 9), "a b ");
    }

    #[test]
    fn a_long_text_ends_in_an_ellipsis_and_fits() {
        assert_eq!(cut("abcd", 3), "ab…");
        assert_eq!(line(&"x".repeat(999)).chars().count(), LINE);
    }

    #[test]
    fn many_names_are_counted() {
        assert_eq!(names(["a", "b"]), "`a`, `b`");
        assert!(names(vec!["x"; 23]).ends_with(", `x` and 3 more"));
        assert_eq!(names([]), "nothing");
    }
}
