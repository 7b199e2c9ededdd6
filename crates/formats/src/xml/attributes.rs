//! The attributes of a start tag, one after the other.
//!
//! quick-xml has them too; here every name is found and compared without a hash of it, because most tags have a
//! handful of attributes and a row wants few of them.

use quick_xml::XmlVersion;
use quick_xml::events::attributes::{Attribute, Attributes as Checked};
use quick_xml::name::QName;
use std::borrow::Cow;

/// Names that are compared with each other; a tag with more is looked through once more by hash.
const FEW: usize = 16;

/// Attributes as they are written: name, and value between its quotes.
pub(super) struct Attributes<'t> {
    raw: &'t str,
    at: usize,
    seen: [&'t str; FEW],
    n: usize,
}

impl<'t> Attributes<'t> {
    /// Takes what stands behind the name of an element.
    pub(super) fn new(raw: &'t str) -> Attributes<'t> {
        Attributes { raw, at: 0, seen: [""; FEW], n: 0 }
    }

    fn skip(&mut self, while_in: impl Fn(u8) -> bool) -> &'t str {
        let rest = &self.raw[self.at..];
        let n = rest.bytes().position(|b| !while_in(b)).unwrap_or(rest.len());
        self.at += n;
        &rest[..n]
    }

    fn attribute(&mut self) -> Result<(&'t str, &'t str), String> {
        let name = self.skip(|b| !is_blank(b) && b != b'=');
        self.skip(is_blank);
        let bytes = self.raw.as_bytes();
        if name.is_empty() || bytes.get(self.at) != Some(&b'=') {
            return Err(format!("the attribute `{}` has no value", crate::shorten::cut(name, 40)));
        }
        self.at += 1;
        self.skip(is_blank);
        let quote = bytes.get(self.at).copied().filter(|b| matches!(b, b'"' | b'\''));
        let end = quote.and_then(|quote| bytes[self.at + 1..].iter().position(|b| *b == quote));
        let Some(end) = end else {
            return Err(format!("the value of the attribute `{}` is not in quotes", crate::shorten::cut(name, 40)));
        };
        let value = &self.raw[self.at + 1..self.at + 1 + end];
        self.at += end + 2;
        Ok((name, value))
    }

    /// Says whether a name stood before.
    fn is_new(&mut self, name: &'t str) -> bool {
        let n = self.n;
        self.n += 1;
        match n {
            ..FEW => {
                let new = !self.seen[..n].contains(&name);
                self.seen[n] = name;
                new
            }
            FEW => Checked::new(self.raw, 0).all(|a| a.is_ok()),
            _ => true,
        }
    }
}

impl<'t> Iterator for Attributes<'t> {
    type Item = Result<(&'t str, &'t str), String>;

    /// Returns the next attribute, or what is wrong with the tag; then there is no more.
    #[inline]
    fn next(&mut self) -> Option<Self::Item> {
        self.skip(is_blank);
        if self.at >= self.raw.len() {
            return None;
        }
        let found = self.attribute().and_then(|(name, value)| match self.is_new(name) {
            true => Ok((name, value)),
            false => Err(format!("the attribute `{}` stands twice", crate::shorten::cut(name, 40))),
        });
        if found.is_err() {
            self.at = self.raw.len();
        }
        Some(found)
    }
}

fn is_blank(b: u8) -> bool {
    matches!(b, b' ' | b'\t' | b'\n' | b'\r')
}

/// Returns a value with its references resolved and its white space made blanks.
///
/// # Errors
/// It has an entity that is not known.
pub(super) fn value<'t>(name: &'t str, raw: &'t str) -> Result<Cow<'t, str>, String> {
    if !raw.bytes().any(|b| matches!(b, b'&' | b'\t' | b'\n' | b'\r')) {
        return Ok(Cow::Borrowed(raw));
    }
    let attribute = Attribute { key: QName(name), value: Cow::Borrowed(raw) };
    attribute.normalized_value(XmlVersion::Implicit1_0).map_err(|e| format!("the attribute `{name}`: {e}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn check(raw: &str) -> String {
        let show = |a: Result<(&str, &str), String>| match a {
            Ok((name, value)) => format!("{name} {value}"),
            Err(problem) => problem,
        };
        Attributes::new(raw).map(show).collect::<Vec<_>>().join("; ")
    }

    #[test]
    fn attributes_are_names_and_values_in_quotes() {
        assert_eq!(check(" a='1' p:b = \"'2'\"\n c=''"), "a 1; p:b '2'; c ");
        assert_eq!(check(""), "");
        assert_eq!(check(" a=1"), "the value of the attribute `a` is not in quotes");
        assert_eq!(check(" a='1' b"), "a 1; the attribute `b` has no value");
        assert_eq!(check(" a='1"), "the value of the attribute `a` is not in quotes");
        assert_eq!(check(" a='1' a='2' b='3'"), "a 1; the attribute `a` stands twice");
        let many: String = (0..20).map(|n| format!(" a{}='{n}'", n % 18)).collect();
        assert!(check(&many).ends_with("a15 15; the attribute `a16` stands twice"), "{}", check(&many));
    }

    proptest! {
        /// Whatever quick-xml takes is taken, and gives the same.
        #[test]
        fn the_same_as_quick_xml(raw in "( [a-c]{1,2} ?= ?(\"[^\"<&]{0,5}\"|'[^'<&]{0,5}'))*[ a=']{0,2}") {
            let theirs: Result<Vec<_>, _> = Checked::new(&raw, 0).collect();
            if let Ok(theirs) = theirs {
                let ours: Vec<_> = Attributes::new(&raw).map(Result::unwrap).collect();
                let theirs: Vec<_> = theirs.iter().map(|a| (a.key.into_inner(), a.value.as_ref())).collect();
                prop_assert_eq!(ours, theirs);
            }
        }

        #[test]
        fn no_text_makes_it_panic(raw in "[a ='\"ä\n&;]{0,30}") {
            for (name, raw) in Attributes::new(&raw).flatten() {
                let _ = value(name, raw);
            }
        }
    }
}
