//! Paths: into a row (`a.b[0].c`) and through a document (`$.nights[*]`).
//!
//! The written form is the part of JSONPath (RFC 9535) that can be followed while a file streams by:
//! names, quoted names, indexes from 0 and the wildcard. `[*]` and `.*` find the same, as in the RFC: the
//! items of a list or the members of an object. Only levels are counted by what is written: `.*` leads out
//! of an object, `[*]` out of a list.

use crate::FormatError;

/// One step of a path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Step {
    /// The member of this name.
    Name(String),
    /// The item of this index, from 0.
    Index(usize),
    /// `[*]`: every item of a list (or member of an object).
    Items,
    /// `.*`: every member of an object (or item of a list).
    Members,
}

impl Step {
    /// Returns whether the step leads to many values.
    #[must_use]
    pub fn is_wild(&self) -> bool {
        matches!(self, Step::Items | Step::Members)
    }
}

/// A path that has been read from text.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Path {
    /// Whether it begins with `$`, the root of the document.
    pub from_root: bool,
    /// Its steps, in order; none means the value itself.
    pub steps: Vec<Step>,
}

impl Path {
    /// Reads a path such as `a.b[0]`, `["odd name"]`, `$.nights[*]` or `@` (the value itself).
    ///
    /// # Errors
    /// [`FormatError::Request`] names the path and what is wrong with it.
    pub fn parse(text: &str) -> Result<Path, FormatError> {
        steps(text).map_err(|why| FormatError::Request { what: text.to_owned(), why })
    }

    /// Returns whether the path has a wildcard.
    #[must_use]
    pub fn is_wild(&self) -> bool {
        self.steps.iter().any(Step::is_wild)
    }
}

/// Appends a member name in the short form of a normalized path: `.name`, else `['odd name']`.
pub(crate) fn push_name(out: &mut String, name: &str) {
    let first = |c: char| c == '_' || c.is_alphabetic();
    if name.starts_with(first) && name.chars().all(|c| first(c) || c.is_ascii_digit()) {
        out.push('.');
        out.push_str(name);
        return;
    }
    out.push_str("['");
    for c in name.chars() {
        match c {
            '\'' | '\\' => {
                out.push('\\');
                out.push(c);
            }
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            c if c < ' ' => out.push_str(&format!("\\u{:04x}", c as u32)),
            c => out.push(c),
        }
    }
    out.push_str("']");
}

/// Appends an index in the form of a normalized path.
pub(crate) fn push_index(out: &mut String, index: u64) {
    out.push('[');
    out.push_str(&index.to_string());
    out.push(']');
}

/// Appends steps as they were written.
pub(crate) fn push_steps(out: &mut String, steps: &[Step]) {
    for step in steps {
        match step {
            Step::Name(name) => push_name(out, name),
            Step::Index(index) => push_index(out, *index as u64),
            Step::Items => out.push_str("[*]"),
            Step::Members => out.push_str(".*"),
        }
    }
}

fn steps(text: &str) -> Result<Path, String> {
    let (from_root, mut rest) = match text.strip_prefix('$') {
        Some(rest) => (true, rest),
        None => (false, text),
    };
    let mut path = Path { from_root, steps: Vec::new() };
    if text == "@" {
        return Ok(path);
    }
    if !from_root && !rest.is_empty() && !rest.starts_with('[') {
        rest = bare(rest, &mut path.steps)?;
    }
    while !rest.is_empty() {
        rest = match rest.as_bytes()[0] {
            b'.' => bare(&rest[1..], &mut path.steps)?,
            b'[' => bracket(&rest[1..], &mut path.steps)?,
            _ => return Err(format!("`{rest}` should begin with `.` or `[`")),
        };
    }
    Ok(path)
}

/// Reads `name` or `*` up to the next `.` or `[`.
fn bare<'a>(text: &'a str, steps: &mut Vec<Step>) -> Result<&'a str, String> {
    let end = text.find(['.', '[']).unwrap_or(text.len());
    let (name, rest) = text.split_at(end);
    match name {
        "" => return Err("a name is missing after a point; write `a.b`, or `[\"odd name\"]`".to_owned()),
        "*" => steps.push(Step::Members),
        name if name.contains(['*', ']', '"', '\'', '?']) || name.contains(char::is_whitespace) => {
            return Err(format!("write the name `{name}` in brackets and quotes, such as `[\"odd name\"]`"));
        }
        name => steps.push(Step::Name(name.to_owned())),
    }
    Ok(rest)
}

/// Reads `3]`, `*]` or `"odd name"]`.
fn bracket<'a>(text: &'a str, steps: &mut Vec<Step>) -> Result<&'a str, String> {
    if let Some(quote) = text.chars().next().filter(|c| matches!(c, '"' | '\'')) {
        let (name, rest) = quoted(&text[1..], quote)?;
        steps.push(Step::Name(name));
        return rest.strip_prefix(']').ok_or_else(|| "a `]` is missing after a quoted name".to_owned());
    }
    let (inside, rest) = text.split_once(']').ok_or_else(|| "a `[` is never closed".to_owned())?;
    match inside {
        "*" => steps.push(Step::Items),
        digits => match digits.parse() {
            Ok(index) => steps.push(Step::Index(index)),
            Err(_) => {
                return Err(format!(
                    "`[{inside}]` is not `[*]`, `[0]` or `[\"name\"]`; filters and slices are not read"
                ));
            }
        },
    }
    Ok(rest)
}

fn quoted(text: &str, quote: char) -> Result<(String, &str), String> {
    let mut name = String::new();
    let mut chars = text.char_indices();
    while let Some((at, c)) = chars.next() {
        match c {
            c if c == quote => return Ok((name, &text[at + 1..])),
            '\\' => match chars.next() {
                Some((_, 'n')) => name.push('\n'),
                Some((_, 'r')) => name.push('\r'),
                Some((_, 't')) => name.push('\t'),
                Some((_, c)) => name.push(c),
                None => break,
            },
            c => name.push(c),
        }
    }
    Err("a quoted name is never closed".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn check(text: &str) -> String {
        match Path::parse(text) {
            Ok(path) => {
                let mut out = if path.from_root { "$".to_owned() } else { "@".to_owned() };
                push_steps(&mut out, &path.steps);
                out
            }
            Err(e) => e.to_string(),
        }
    }

    #[test]
    fn names_indexes_and_wildcards_are_steps() {
        assert_eq!(check("a.b[0].c"), "@.a.b[0].c");
        assert_eq!(check("$.nights[*].at"), "$.nights[*].at");
        assert_eq!(check("$.by_day.*"), "$.by_day.*");
        assert_eq!(check("[2][\"odd name\"]"), "@[2]['odd name']");
        assert_eq!(check("start-time"), "@['start-time']");
    }

    #[test]
    fn nothing_and_the_at_sign_are_the_value_itself() {
        assert_eq!(check(""), "@");
        assert_eq!(check("@"), "@");
        assert_eq!(check("$"), "$");
    }

    #[test]
    fn a_path_that_cannot_be_followed_says_why() {
        let said = |text| check(text).split_once(": ").map(|(_, why)| why.to_owned());
        assert_eq!(said("a..b").as_deref(), Some("a name is missing after a point; write `a.b`, or `[\"odd name\"]`"));
        assert_eq!(said("a[").as_deref(), Some("a `[` is never closed"));
        assert_eq!(
            said("a[?(@.b)]").as_deref(),
            Some("`[?(@.b)]` is not `[*]`, `[0]` or `[\"name\"]`; filters and slices are not read")
        );
        assert_eq!(said("a['b").as_deref(), Some("a quoted name is never closed"));
        assert_eq!(
            said("odd name").as_deref(),
            Some("write the name `odd name` in brackets and quotes, such as `[\"odd name\"]`")
        );
    }

    proptest! {
        #[test]
        fn any_name_can_be_written_and_read(name in "[^\\x00-\\x08\\x0b\\x0c\\x0e-\\x1f]{1,8}") {
            let mut text = "$".to_owned();
            push_name(&mut text, &name);
            let read = Path::parse(&text).map(|p| p.steps);
            prop_assert_eq!(read.ok(), Some(vec![Step::Name(name)]));
        }

        #[test]
        fn no_text_makes_it_panic(text in ".*") {
            let _ = Path::parse(&text);
        }
    }
}
