//! One pass over a value in memory: it is JSON, it is not nested too deeply, and no name stands twice.

use super::expand::Taken;
use crate::shorten;
use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use std::borrow::Cow;
use std::collections::HashSet;
use std::fmt;

/// Deepest nesting that is ever taken, whatever the limit says: serde_json ends at 128.
pub(super) const DEEPEST: usize = 120;

/// A name or text, borrowed unless it has escapes.
#[derive(Debug, serde::Deserialize)]
#[serde(transparent)]
pub(super) struct Name<'t>(#[serde(borrow)] pub(super) Cow<'t, str>);

/// Checks a value. When it is refused, `twice` leads to the name that stands twice, if that is why.
///
/// # Errors
/// Those of serde_json; what is JSON and refused all the same is of its category `Data`.
pub(super) fn check(text: &str, depth: usize, twice: &mut Option<Vec<Taken>>) -> Result<(), serde_json::Error> {
    let mut json = serde_json::Deserializer::from_str(text);
    Check { left: depth.min(DEEPEST), most: depth.min(DEEPEST), twice }.deserialize(&mut json)?;
    json.end()
}

struct Check<'c> {
    left: usize,
    most: usize,
    /// Steps from the name to the root: they are added on the way back.
    twice: &'c mut Option<Vec<Taken>>,
}

impl Check<'_> {
    fn inside<E: Error>(&mut self) -> Result<Check<'_>, E> {
        match self.left.checked_sub(1) {
            Some(left) => Ok(Check { left, most: self.most, twice: self.twice }),
            None => Err(E::custom(format_args!("it is nested deeper than the limit of {}", self.most))),
        }
    }

    fn lead_back(&mut self, step: impl FnOnce() -> Taken) {
        if let Some(steps) = &mut self.twice {
            steps.insert(0, step());
        }
    }
}

impl<'t> DeserializeSeed<'t> for Check<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'t>>(self, from: D) -> Result<(), D::Error> {
        from.deserialize_any(self)
    }
}

impl<'t> Visitor<'t> for Check<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value of JSON")
    }

    fn visit_map<A: MapAccess<'t>>(mut self, mut map: A) -> Result<(), A::Error> {
        let mut seen = Seen::default();
        self.inside::<A::Error>()?;
        while let Some(Name(name)) = map.next_key()? {
            if !seen.insert(name.clone()) {
                let shown = shorten::cut(&name, 40);
                *self.twice = Some(vec![Taken::name(&name)]);
                return Err(A::Error::custom(format_args!("the name `{shown}` stands twice in one object")));
            }
            let value = map.next_value_seed(self.inside()?);
            value.inspect_err(|_| self.lead_back(|| Taken::name(&name)))?;
        }
        Ok(())
    }

    fn visit_seq<A: SeqAccess<'t>>(mut self, mut list: A) -> Result<(), A::Error> {
        self.inside::<A::Error>()?;
        for index in 0.. {
            let item = list.next_element_seed(self.inside()?);
            if item.inspect_err(|_| self.lead_back(|| Taken::Index(index)))?.is_none() {
                break;
            }
        }
        Ok(())
    }

    fn visit_unit<E>(self) -> Result<(), E> {
        Ok(())
    }
    fn visit_bool<E>(self, _: bool) -> Result<(), E> {
        Ok(())
    }
    fn visit_i64<E>(self, _: i64) -> Result<(), E> {
        Ok(())
    }
    fn visit_u64<E>(self, _: u64) -> Result<(), E> {
        Ok(())
    }
    fn visit_f64<E>(self, _: f64) -> Result<(), E> {
        Ok(())
    }
    fn visit_str<E>(self, _: &str) -> Result<(), E> {
        Ok(())
    }
}

/// Names of one object. Nearly every object has few, and comparing those is cheaper than hashing them.
#[derive(Default)]
struct Seen<'t> {
    few: Vec<Cow<'t, str>>,
    many: HashSet<Cow<'t, str>>,
}

impl<'t> Seen<'t> {
    fn insert(&mut self, name: Cow<'t, str>) -> bool {
        let new = !self.few.contains(&name);
        if new && self.few.len() < 16 {
            self.few.push(name);
            return true;
        }
        new && self.many.insert(name)
    }
}

#[cfg(test)]
mod tests {
    use super::super::expand::path_of;

    fn check(text: &str) -> String {
        let mut twice = None;
        match super::check(text, 3, &mut twice) {
            Ok(()) => "fine".to_owned(),
            Err(e) => twice.map_or(e.to_string(), |steps| path_of(&steps)),
        }
    }

    #[test]
    fn a_name_that_stands_twice_is_found_however_it_is_written() {
        assert_eq!(check(r#"{"a":1,"b":{"a":2}}"#), "fine");
        assert_eq!(check(r#"{"b":[0,{"a":1,"b":2,"a":3}]}"#), "$.b[1].a");
        assert_eq!(check(r#"{"a":1,"\u0061":3}"#), "$.a");
        let many: Vec<_> = (0..30).map(|n| format!("\"k{}\":0", n % 29)).collect();
        assert_eq!(check(&format!("{{{}}}", many.join(","))), "$.k0");
        let many: Vec<_> = (0..30).map(|n| format!("\"k{}\":0", n.max(1))).collect();
        assert_eq!(check(&format!("{{{}}}", many.join(","))), "$.k1");
    }

    #[test]
    fn nesting_ends_at_the_limit() {
        assert_eq!(check("[[[1]]]"), "fine");
        assert_eq!(check("[[[[1]]]]"), "it is nested deeper than the limit of 3 at line 1 column 4");
    }

    #[test]
    fn what_is_not_json_is_refused() {
        assert_eq!(check(r#""\ud83d""#), "unexpected end of hex escape at line 1 column 8");
        assert_eq!(check("[01]"), "invalid number at line 1 column 3");
        assert_eq!(check("1 2"), "trailing characters at line 1 column 3");
    }
}
