//! One value of JSON, as the text that it stands in.
//!
//! serde_json reads it, one level at a time and no further than somebody asks: a row is mostly let go after
//! one look, and a number is shown with the digits that the file has, which no parsed number can promise.

use super::expand::Taken;
use crate::Node;
use crate::path::Step;
use memchr::memchr;
use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde_json::value::RawValue;
use std::borrow::Cow;
use std::collections::HashSet;
use std::fmt;

/// The text of one value, which has been checked to be one.
#[derive(Clone, Copy, Debug)]
pub(super) struct Text<'t>(pub(super) &'t str);

/// A value with its name.
pub(super) type Member<'t> = (Cow<'t, str>, Text<'t>);

/// A name or text, borrowed unless it has escapes.
#[derive(Debug, serde::Deserialize)]
#[serde(transparent)]
pub(super) struct Name<'t>(#[serde(borrow)] pub(super) Cow<'t, str>);

/// What kind of value a text is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Null,
    Bool,
    Number,
    Text,
    List,
    Map,
}

impl<'t> Text<'t> {
    /// Returns the kind; in JSON the first character tells it.
    pub(super) fn kind(self) -> Kind {
        match self.0.as_bytes().first() {
            Some(b'{') => Kind::Map,
            Some(b'[') => Kind::List,
            Some(b'"') => Kind::Text,
            Some(b't' | b'f') => Kind::Bool,
            Some(b'-' | b'0'..=b'9') => Kind::Number,
            _ => Kind::Null,
        }
    }

    /// Returns the values of an object with their names, in order; none of anything else.
    pub(super) fn members(self) -> Vec<Member<'t>> {
        serde_json::from_str(self.0).map(|Members(all)| all).unwrap_or_default()
    }

    /// Returns the items of a list; none of anything else.
    pub(super) fn items(self) -> Vec<Text<'t>> {
        serde_json::from_str(self.0).unwrap_or_default()
    }

    /// Returns a text as it is meant, without quotes and escapes.
    pub(super) fn string(self) -> Cow<'t, str> {
        serde_json::from_str(self.0).map(|Name(text)| text).unwrap_or_default()
    }

    /// Follows steps without wildcards.
    pub(super) fn follow(self, steps: &[Step]) -> Option<Text<'t>> {
        steps.iter().try_fold(self, |text, step| match step {
            Step::Name(name) => text.members().into_iter().find(|(n, _)| n == name).map(|(_, value)| value),
            Step::Index(index) => text.items().get(*index).copied(),
            Step::Items | Step::Members => None,
        })
    }

    /// Returns the way to a name that stands twice in one object, here or further in. `members` are those of this
    /// value.
    pub(super) fn doubled(self, members: &[Member<'t>]) -> Option<Vec<Taken>> {
        if let Some(name) = doubled_of(members) {
            return Some(vec![Taken::name(name)]);
        }
        let below = |value: Text<'t>, step: &dyn Fn() -> Taken| {
            let members = match value.kind() {
                Kind::Map => value.members(),
                // Where no object begins there is no name.
                Kind::List => memchr(b'{', value.0.as_bytes()).map(|_| Vec::new())?,
                _ => return None,
            };
            let mut way = value.doubled(&members)?;
            way.insert(0, step());
            Some(way)
        };
        match self.kind() {
            Kind::List => {
                let mut items = self.items().into_iter().enumerate();
                items.find_map(|(index, item)| below(item, &|| Taken::Index(index as u64)))
            }
            _ => members.iter().find_map(|(name, value)| below(*value, &|| Taken::name(name))),
        }
    }

    /// Returns the value as a tree.
    pub(super) fn node(self) -> Node {
        match self.kind() {
            Kind::Null => Node::Null,
            Kind::Bool => Node::Bool(self.0 == "true"),
            Kind::Number => Node::Number(self.0.to_owned()),
            Kind::Text => Node::Text(self.string().into_owned()),
            Kind::List => Node::List(self.items().into_iter().map(Text::node).collect()),
            Kind::Map => {
                Node::Map(self.members().into_iter().map(|(name, value)| (name.into_owned(), value.node())).collect())
            }
        }
    }

    /// Returns the value on one line, as a person is shown it.
    pub(super) fn line(self) -> String {
        // More than this would never be seen, and a tree of it could be large.
        const LONG: usize = 16 << 10;
        if self.0.len() > LONG { crate::shorten::line(self.0) } else { self.node().line() }
    }
}

fn doubled_of<'m>(members: &'m [Member<'_>]) -> Option<&'m str> {
    // Nearly every object has few names, and comparing those is cheaper than hashing them.
    if members.len() <= 16 {
        let again = |n: &usize| members[..*n].iter().any(|(earlier, _)| *earlier == members[*n].0);
        return (1..members.len()).find(again).map(|n| members[n].0.as_ref());
    }
    let mut seen = HashSet::new();
    members.iter().map(|(name, _)| name.as_ref()).find(|name| !seen.insert(*name))
}

impl<'t> Deserialize<'t> for Text<'t> {
    fn deserialize<D: Deserializer<'t>>(from: D) -> Result<Text<'t>, D::Error> {
        <&RawValue>::deserialize(from).map(|raw| Text(raw.get()))
    }
}

struct Members<'t>(Vec<Member<'t>>);

impl<'t> Deserialize<'t> for Members<'t> {
    fn deserialize<D: Deserializer<'t>>(from: D) -> Result<Members<'t>, D::Error> {
        from.deserialize_map(InOrder)
    }
}

struct InOrder;

impl<'t> Visitor<'t> for InOrder {
    type Value = Members<'t>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object")
    }

    fn visit_map<A: MapAccess<'t>>(self, mut map: A) -> Result<Members<'t>, A::Error> {
        let mut all = Vec::with_capacity(8);
        while let Some((Name(name), value)) = map.next_entry()? {
            all.push((name, value));
        }
        Ok(Members(all))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_path_leads_to_the_text_of_a_value() {
        let steps = crate::path::Path::parse("a[0][\"odd name\"][1]").unwrap().steps;
        let text = Text(r#"{"a":[{"odd name":[1,2.50]}],"b":3}"#);
        assert_eq!(text.follow(&steps).unwrap().0, "2.50");
        assert!(text.follow(&steps[..1]).unwrap().follow(&steps).is_none());
    }

    #[test]
    fn a_tree_has_numbers_as_written() {
        let text = r#"{"a": [-0.10, 12345678901234567890123, 1E3, null, true], "\u0062": "\u00e4"}"#;
        assert_eq!(Text(text).node().to_string(), r#"{"a":[-0.10,12345678901234567890123,1E3,null,true],"b":"ä"}"#);
    }

    #[test]
    fn a_name_that_stands_twice_is_found_however_it_is_written() {
        let check =
            |text: &str| Text(text).doubled(&Text(text).members()).map(|way| crate::json::expand::path_of(&way));
        assert_eq!(check(r#"{"a":1,"b":{"a":2}}"#), None);
        assert_eq!(check(r#"{"b":[0,{"a":1,"b":2,"a":3}]}"#).as_deref(), Some("$.b[1].a"));
        assert_eq!(check(r#"{"a":1,"\u0061":3}"#).as_deref(), Some("$.a"));
        assert_eq!(check(r#"[[{"a":1}],[{"b":{"a":1,"a":1}}]]"#).as_deref(), Some("$[1][0].b.a"));
        let many = |name: fn(i32) -> i32| (0..30).map(|n| format!("\"k{}\":0", name(n))).collect::<Vec<_>>().join(",");
        assert_eq!(check(&format!("{{{}}}", many(|n| n))), None);
        assert_eq!(check(&format!("{{{}}}", many(|n| n % 29))).as_deref(), Some("$.k0"));
    }

    proptest! {
        #[test]
        fn a_text_reads_back(text: String) {
            let written = serde_json::to_string(&text).unwrap();
            prop_assert_eq!(Text(&written).node(), Node::Text(text));
        }
    }
}
