//! One pass over a line: it is JSON, and not nested too deeply.

use super::text::Name;
use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use std::fmt;

/// Deepest nesting that is ever taken, whatever the limit says: serde_json ends at 128.
pub(super) const DEEPEST: usize = 120;

/// Checks that a text is one document. It looks into every text as well, which a pass that only skips does not.
///
/// # Errors
/// Those of serde_json; what is JSON and refused all the same is of its category `Data`.
pub(super) fn check(text: &str, depth: usize) -> Result<(), serde_json::Error> {
    let mut json = serde_json::Deserializer::from_str(text);
    Check { left: depth.min(DEEPEST), most: depth.min(DEEPEST) }.deserialize(&mut json)?;
    json.end()
}

#[derive(Clone, Copy)]
struct Check {
    left: usize,
    most: usize,
}

impl Check {
    fn inside<E: Error>(self) -> Result<Check, E> {
        match self.left.checked_sub(1) {
            Some(left) => Ok(Check { left, most: self.most }),
            None => Err(E::custom(format_args!("it is nested deeper than the limit of {}", self.most))),
        }
    }
}

impl<'t> DeserializeSeed<'t> for Check {
    type Value = ();

    fn deserialize<D: Deserializer<'t>>(self, from: D) -> Result<(), D::Error> {
        from.deserialize_any(self)
    }
}

impl<'t> Visitor<'t> for Check {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value of JSON")
    }

    fn visit_map<A: MapAccess<'t>>(self, mut map: A) -> Result<(), A::Error> {
        let inside = self.inside()?;
        while map.next_key::<Name<'t>>()?.is_some() {
            map.next_value_seed(inside)?;
        }
        Ok(())
    }

    fn visit_seq<A: SeqAccess<'t>>(self, mut list: A) -> Result<(), A::Error> {
        let inside = self.inside()?;
        while list.next_element_seed(inside)?.is_some() {}
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

#[cfg(test)]
mod tests {
    fn check(text: &str) -> String {
        super::check(text, 3).map_or_else(|e| e.to_string(), |()| "fine".to_owned())
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
