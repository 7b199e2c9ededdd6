//! Paths of XML: which elements are rows, and which field of a row is meant.

use crate::{FormatError, Want};

/// Steps of a path: each of them is a bit of the state of an open element, and one bit says that all are done.
const MOST_STEPS: usize = 60;

/// Which elements are rows.
#[derive(Debug)]
pub(super) struct Pattern {
    pub(super) steps: Vec<Step>,
    /// The path began with `/` or `//`.
    pub(super) rooted: bool,
}

/// One step down.
#[derive(Debug)]
pub(super) struct Step {
    /// Any number of elements may stand between: `//`.
    pub(super) anywhere: bool,
    pub(super) name: Name,
    /// Attributes and the values that they must have.
    pub(super) keep: Vec<(Name, String)>,
}

/// A name as it is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Name {
    Any,
    /// The name behind any prefix.
    Local(String),
    /// The name with the prefix that is written.
    Full(String),
}

impl Name {
    /// Returns whether a name as written in the file is meant.
    #[inline]
    pub(super) fn is(&self, written: &str) -> bool {
        match self {
            Name::Any => true,
            Name::Full(name) => name == written,
            Name::Local(name) => {
                let front = written.len().wrapping_sub(name.len());
                match front {
                    0 => name == written,
                    1.. if front < written.len() => {
                        written.as_bytes()[front - 1] == b':' && written.as_bytes().ends_with(name.as_bytes())
                    }
                    _ => false,
                }
            }
        }
    }

    fn parse(text: &str) -> Result<Name, String> {
        match text {
            "" => Err("a name is missing".to_owned()),
            "*" => Ok(Name::Any),
            name if name.contains(|c: char| c.is_whitespace() || "[]()@'\"=<>&*/".contains(c)) => {
                Err(format!("`{name}` is not the name of an element or attribute"))
            }
            name if name.contains(':') => Ok(Name::Full(name.to_owned())),
            name => Ok(Name::Local(name.to_owned())),
        }
    }
}

/// What of an element is wanted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Part {
    Attribute(Name),
    Text,
    /// The element's own name, without its prefix.
    ElementName,
}

/// A field of a row.
#[derive(Clone, Debug)]
pub(super) struct Field {
    pub(super) up: usize,
    /// Elements to step down.
    pub(super) steps: Vec<Name>,
    pub(super) part: Part,
}

impl Pattern {
    /// Reads the path of rows, and below it the path of child rows.
    pub(super) fn parse(each: &str, nest: Option<&str>) -> Result<Pattern, FormatError> {
        let refuse = |what: &str, why: String| FormatError::Request { what: what.to_owned(), why };
        if each.trim().is_empty() {
            let why = "say which elements are rows, such as `night/stage` or `//stage`";
            return Err(refuse("each", why.to_owned()));
        }
        let mut steps = Vec::new();
        let text = each.trim();
        push_steps(text, &mut steps).map_err(|why| refuse(each, why))?;
        if let Some(nest) = nest {
            push_steps(nest.trim(), &mut steps).map_err(|why| refuse(nest, why))?;
        }
        if steps.len() > MOST_STEPS {
            return Err(refuse(each, format!("a path has at most {MOST_STEPS} steps")));
        }
        Ok(Pattern { steps, rooted: text.starts_with('/') })
    }
}

fn push_steps(text: &str, steps: &mut Vec<Step>) -> Result<(), String> {
    let mut rest = text;
    let mut first = true;
    while first || !rest.is_empty() {
        let anywhere = rest.starts_with("//");
        match rest.trim_start_matches('/') {
            _ if rest.starts_with("///") => return Err("three `/` stand together".to_owned()),
            after if first || after.len() < rest.len() => rest = after,
            _ => return Err(format!("a `/` is missing before `{rest}`")),
        }
        first = false;
        let end = rest.find(['/', '[']).unwrap_or(rest.len());
        let name = Name::parse(&rest[..end])?;
        rest = &rest[end..];
        let mut keep = Vec::new();
        while rest.starts_with('[') {
            rest = predicate(rest, &mut keep)?;
        }
        steps.push(Step { anywhere, name, keep });
    }
    Ok(())
}

/// Reads `[@kind='sleep']`.
fn predicate<'t>(text: &'t str, keep: &mut Vec<(Name, String)>) -> Result<&'t str, String> {
    let wrong = || "a condition is written `[@kind='sleep']`".to_owned();
    let (name, rest) = text.strip_prefix("[@").ok_or_else(wrong)?.split_once('=').ok_or_else(wrong)?;
    let rest = rest.trim_start();
    let quote = rest.chars().next().filter(|c| matches!(c, '"' | '\'')).ok_or_else(wrong)?;
    let (value, rest) = rest[1..].split_once(quote).ok_or_else(wrong)?;
    keep.push((Name::parse(name.trim())?, value.to_owned()));
    rest.trim_start().strip_prefix(']').ok_or_else(wrong)
}

impl Field {
    /// Reads the path of a field.
    pub(super) fn parse(want: &Want) -> Result<Field, FormatError> {
        let refuse = |why: &str| Err(FormatError::Request { what: want.path.clone(), why: why.to_owned() });
        let (steps, part) = match parts(&want.path) {
            Ok(parts) => parts,
            Err(why) => return refuse(&why),
        };
        if want.up > 0 && steps.is_empty() && part == Part::Text {
            return refuse(
                "the text of an element above is not known before that element ends; ask for an attribute, or for the text of a child that stands before the row",
            );
        }
        Ok(Field { up: want.up, steps, part })
    }
}

fn parts(path: &str) -> Result<(Vec<Name>, Part), String> {
    let text = path.trim();
    let help = "write `@attribute`, `child/text`, `child/@attribute`, `.` or `name()`";
    let name = |text: &str| match Name::parse(text) {
        Ok(Name::Any) => Err(format!("a field is one value, so it has no `*`; {help}")),
        Ok(name) => Ok(name),
        Err(why) => Err(format!("{why}; {help}")),
    };
    if text == "." {
        return Ok((Vec::new(), Part::Text));
    }
    let mut segments: Vec<&str> = text.split('/').collect();
    let last = segments.last().copied().unwrap_or_default();
    let part = match last {
        "text" if segments.len() == 1 => None,
        "text" | "text()" => Some(Part::Text),
        "name()" => Some(Part::ElementName),
        attribute if attribute.starts_with('@') => Some(Part::Attribute(name(&attribute[1..])?)),
        _ => None,
    };
    if part.is_some() {
        segments.pop();
    }
    let steps = segments.into_iter().map(name).collect::<Result<Vec<_>, _>>()?;
    Ok((steps, part.unwrap_or(Part::Text)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn each(text: &str) -> String {
        match Pattern::parse(text, None) {
            Ok(pattern) => format!("{:?}", pattern.steps.iter().map(|s| (s.anywhere, &s.name)).collect::<Vec<_>>()),
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn a_path_is_names_with_conditions() {
        assert_eq!(each("night/stage"), r#"[(false, Local("night")), (false, Local("stage"))]"#);
        assert_eq!(each("//p:stage"), r#"[(true, Full("p:stage"))]"#);
        assert_eq!(each("/night//*"), r#"[(false, Local("night")), (true, Any)]"#);
        let kept = Pattern::parse("night[@kind='sl/e]p'][@n=\"1\"]/stage", None).unwrap();
        assert_eq!(kept.steps[0].keep.len(), 2);
        assert_eq!(kept.steps[0].keep[0], (Name::Local("kind".into()), "sl/e]p".into()));
    }

    #[test]
    fn a_path_that_cannot_be_followed_says_why() {
        let said = |text| each(text).split_once(": ").unwrap().1.to_owned();
        assert_eq!(said(""), "say which elements are rows, such as `night/stage` or `//stage`");
        assert_eq!(said("night/"), "a name is missing");
        assert_eq!(said("a///b"), "three `/` stand together");
        assert_eq!(said("a[1]"), "a condition is written `[@kind='sleep']`");
        assert_eq!(said("a[@b='c']d"), "a `/` is missing before `d`");
        assert_eq!(said("night stage"), "`night stage` is not the name of an element or attribute");
    }

    #[test]
    fn a_name_is_told_with_or_without_its_prefix() {
        let is = |asked, written| Name::parse(asked).unwrap().is(written);
        assert!(is("stage", "stage") && is("stage", "p:stage") && is("p:stage", "p:stage") && is("*", "x"));
        assert!(!is("stage", "backstage") && !is("p:stage", "stage") && !is("stage", "age"));
    }

    #[test]
    fn a_field_is_an_attribute_a_text_or_a_name() {
        let check = |path: &str| match Field::parse(&Want { up: 0, path: path.into() }) {
            Ok(field) => format!("{} down, {:?}", field.steps.len(), field.part),
            Err(error) => error.to_string(),
        };
        assert_eq!(check("@at"), r#"0 down, Attribute(Local("at"))"#);
        assert_eq!(check("a/b/@at"), r#"2 down, Attribute(Local("at"))"#);
        assert_eq!(check("."), "0 down, Text");
        assert_eq!(check("a"), "1 down, Text");
        assert_eq!(check("a/text"), "1 down, Text");
        assert_eq!(check("a/text/text"), "2 down, Text");
        assert_eq!(check("text"), "1 down, Text");
        assert_eq!(check("a/name()"), "1 down, ElementName");
        assert_eq!(
            check("a/*"),
            "`a/*` cannot be asked of this format: a field is one value, so it has no `*`; write `@attribute`, `child/text`, `child/@attribute`, `.` or `name()`"
        );
    }

    proptest! {
        #[test]
        fn no_text_makes_it_panic(text in "[a-z/\\[\\]@='\"*:.ä ]{0,20}") {
            let _ = Pattern::parse(&text, Some(&text));
            let _ = Field::parse(&Want { up: 1, path: text });
        }
    }
}
