//! Text on its way into SVG and HTML.

/// Returns the text without characters that could change how the rest is read: control characters
/// and marks that turn the direction of writing become `U+FFFD`; line breaks and tabs become blanks.
///
/// A name of a file or a device is chosen by somebody else; XML forbids most control characters, and
/// a direction mark could make `mat-a 60 %` read as another number.
#[must_use]
pub fn clean(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\n' | '\r' | '\t' => ' ',
            '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{200e}' | '\u{200f}' | '\u{061c}' => '\u{fffd}',
            '\u{fffe}' | '\u{ffff}' => '\u{fffd}',
            c if c.is_control() => '\u{fffd}',
            c => c,
        })
        .collect()
}

/// Returns the cleaned text for the content of an element or an attribute in double quotes.
#[must_use]
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in clean(text).chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    out
}

/// Returns the escaped text with what stands between backticks as `code` elements; a backtick without
/// a partner stays.
#[must_use]
pub fn coded(text: &str) -> String {
    let escaped = escape(text);
    let mut parts: Vec<&str> = escaped.split('`').collect();
    let tail = if parts.len().is_multiple_of(2) { parts.pop() } else { None };
    let mut out: String = parts
        .iter()
        .enumerate()
        .map(|(i, p)| if i % 2 == 0 { (*p).to_owned() } else { format!("<code>{p}</code>") })
        .collect();
    if let Some(tail) = tail {
        out.push('`');
        out.push_str(tail);
    }
    out
}

/// Returns the text without backticks, for a picture, which has no other type for code.
#[must_use]
pub fn uncoded(text: &str) -> String {
    text.replace('`', "")
}

/// Returns JSON that can stand inside a `script` element: nothing in it can end the element or open
/// a comment, whatever the texts in it say.
#[must_use]
pub fn script_json(json: &str) -> String {
    let mut out = String::with_capacity(json.len());
    for c in json.chars() {
        match c {
            '<' | '>' | '&' | '\u{2028}' | '\u{2029}' => out.push_str(&format!("\\u{:04x}", u32::from(c))),
            c => out.push(c),
        }
    }
    out
}

/// Returns a coordinate: at most two decimals, no trailing zeros, never `-0`, and `0` for what is
/// not a number.
#[must_use]
pub fn number(value: f64) -> String {
    if !value.is_finite() {
        return "0".into();
    }
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.to_owned() }
}

/// Returns how wide a text is at a size, about: 0.6 of the size for each character, which leaves room
/// for the wider of the common sans-serif letters; nothing here can ask a font.
#[must_use]
pub fn width(text: &str, size: f64) -> f64 {
    text.chars().map(|c| if c.is_ascii() { 0.6 } else { 0.8 }).sum::<f64>() * size
}

/// Returns the text, cut with `…` where it would be wider than `room` at a size.
#[must_use]
pub fn fit(text: &str, size: f64, room: f64) -> String {
    let text = clean(text);
    if width(&text, size) <= room {
        return text;
    }
    let mut out = String::new();
    for c in text.chars() {
        if width(&out, size) + 1.5 * size > room {
            break;
        }
        out.push(c);
    }
    out.push('…');
    out
}

/// Returns the text in lines that are no wider than `room` at a size, broken at blanks; a word that is
/// wider by itself is cut.
#[must_use]
pub fn wrap(text: &str, size: f64, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words(&clean(text)) {
        let word = word.as_str();
        match lines.last_mut() {
            Some(line) if width(line, size) + width(word, size) + 0.3 * size <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(fit(word, size, room)),
        }
    }
    lines
}

/// The words of a text; a unit stays with its number.
fn words(text: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match out.last_mut() {
            Some(last) if word.starts_with('%') && last.ends_with(|c: char| c.is_ascii_digit()) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => out.push(word.to_owned()),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_opens_an_element_or_ends_an_attribute() {
        assert_eq!(escape("<b a=\"1\" c='2'>&"), "&lt;b a=&quot;1&quot; c=&#39;2&#39;&gt;&amp;");
    }

    #[test]
    fn what_stands_between_backticks_is_code_and_still_escaped() {
        assert_eq!(coded("`<b>` is `x`"), "<code>&lt;b&gt;</code> is <code>x</code>");
        assert_eq!(coded("a `lone one"), "a `lone one");
        assert_eq!(uncoded("`ring-a` gives"), "ring-a gives");
    }

    #[test]
    fn control_characters_and_direction_marks_are_shown_as_unknown() {
        assert_eq!(clean("a\u{0}b\u{1b}[31m\u{202e}c\nd"), "a\u{fffd}b\u{fffd}[31m\u{fffd}c d");
    }

    #[test]
    fn script_data_cannot_end_the_script() {
        assert_eq!(script_json("\"</script><!--\""), "\"\\u003c/script\\u003e\\u003c!--\"");
    }

    #[test]
    fn coordinates_are_short_and_never_minus_zero() {
        let check = |value: f64, said: &str| assert_eq!(number(value), said);
        check(12.0, "12");
        check(12.345, "12.35");
        check(-0.001, "0");
        check(100.0, "100");
        check(f64::NAN, "0");
    }

    #[test]
    fn long_names_are_cut_to_their_room() {
        assert_eq!(fit("ring-a", 10.0, 100.0), "ring-a");
        assert_eq!(fit("a-very-long-name-of-a-device", 10.0, 60.0), "a-very-l…");
    }

    #[test]
    fn lines_are_broken_at_blanks() {
        assert_eq!(wrap("one two three", 10.0, 45.0), ["one two", "three"]);
        assert_eq!(wrap("add to 100 %)", 10.0, 60.0), ["add to", "100 %)"]);
        assert_eq!(wrap("", 10.0, 45.0), Vec::<String>::new());
    }
}
