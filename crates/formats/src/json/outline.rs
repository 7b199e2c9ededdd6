//! The paths of a document, as far as its beginning shows them.

use super::text::Name;
use crate::path::push_name;
use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::value::RawValue;
use std::collections::BTreeSet;
use std::fmt;

/// Most paths that are kept: a file whose names are data (dates, say) has very many.
const MOST: usize = 2000;

/// Deepest path that is kept, in containers.
const DEEPEST: usize = 12;

/// Most values that are kept; a beginning that is only read in part has far fewer.
const MOST_VALUES: usize = 20_000;

/// Longest value that is kept, in bytes: what a definition can ask for is a name or a version.
const LONGEST: usize = 1000;

/// What the beginning of a text shows of JSON.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub(crate) struct Outline {
    /// Paths with `[*]` for the items of lists, such as `$.nights[*].from`; in JSON Lines those of every line.
    pub(crate) paths: BTreeSet<String>,
    /// What those paths say, as text.
    pub(crate) values: BTreeSet<(String, String)>,
    /// Documents that were seen whole.
    pub(crate) documents: usize,
    /// Whether every document that was seen whole stands on one line.
    pub(crate) one_a_line: bool,
}

/// Returns the outline of a text, or `None` when it is not JSON. A text that breaks off is fine.
pub(crate) fn outline(text: &str) -> Option<Outline> {
    if !text.trim_start().starts_with(['{', '[']) {
        return None;
    }
    let mut out = Outline { one_a_line: true, ..Outline::default() };
    let mut documents = serde_json::Deserializer::from_str(text).into_iter::<&RawValue>();
    loop {
        let begun = documents.byte_offset();
        match documents.next() {
            None => return Some(out),
            Some(Ok(document)) => {
                out.documents += 1;
                out.one_a_line &= !document.get().contains('\n');
                out.collect(document.get());
            }
            Some(Err(e)) => {
                out.collect(text.get(begun..).unwrap_or_default());
                return (e.is_eof() || out.documents > 0).then_some(out);
            }
        }
    }
}

impl Outline {
    /// Adds the paths of a document, as far as it can be read.
    fn collect(&mut self, document: &str) {
        let mut json = serde_json::Deserializer::from_str(document);
        let _ = Paths { found: &mut self.paths, values: &mut self.values, path: &mut "$".to_owned(), depth: 0 }
            .deserialize(&mut json);
    }
}

/// Adds the path of a value and those below it.
struct Paths<'a> {
    found: &'a mut BTreeSet<String>,
    values: &'a mut BTreeSet<(String, String)>,
    path: &'a mut String,
    depth: usize,
}

impl Paths<'_> {
    fn add(&mut self) {
        if self.depth <= DEEPEST && self.found.len() < MOST && !self.found.contains(self.path.as_str()) {
            self.found.insert(self.path.clone());
        }
    }

    fn below(&mut self) -> Paths<'_> {
        Paths { found: self.found, values: self.values, path: self.path, depth: self.depth + 1 }
    }

    fn says(mut self, text: &str) {
        self.add();
        if self.values.len() < MOST_VALUES && text.len() <= LONGEST && self.found.contains(self.path.as_str()) {
            self.values.insert((self.path.clone(), text.to_owned()));
        }
    }
}

impl<'t> DeserializeSeed<'t> for Paths<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'t>>(self, from: D) -> Result<(), D::Error> {
        from.deserialize_any(self)
    }
}

impl<'t> Visitor<'t> for Paths<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value of JSON")
    }

    fn visit_map<A: MapAccess<'t>>(mut self, mut map: A) -> Result<(), A::Error> {
        self.add();
        let len = self.path.len();
        while let Some(Name(name)) = map.next_key()? {
            push_name(self.path, &name);
            map.next_value_seed(self.below())?;
            self.path.truncate(len);
        }
        Ok(())
    }

    fn visit_seq<A: SeqAccess<'t>>(mut self, mut list: A) -> Result<(), A::Error> {
        self.add();
        let len = self.path.len();
        self.path.push_str("[*]");
        while list.next_element_seed(self.below())?.is_some() {}
        self.path.truncate(len);
        Ok(())
    }

    fn visit_unit<E: Error>(self) -> Result<(), E> {
        self.visit_str("null")
    }
    fn visit_bool<E: Error>(self, truth: bool) -> Result<(), E> {
        self.visit_str(if truth { "true" } else { "false" })
    }
    fn visit_i64<E: Error>(self, number: i64) -> Result<(), E> {
        self.visit_str(&number.to_string())
    }
    fn visit_u64<E: Error>(self, number: u64) -> Result<(), E> {
        self.visit_str(&number.to_string())
    }
    fn visit_f64<E: Error>(self, number: f64) -> Result<(), E> {
        self.visit_str(&format!("{number:?}"))
    }
    fn visit_str<E: Error>(self, text: &str) -> Result<(), E> {
        self.says(text);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str) -> String {
        outline(text).map_or("not JSON".to_owned(), |o| {
            let paths: Vec<_> = o.paths.into_iter().collect();
            format!("{} whole: {}", o.documents, paths.join(" "))
        })
    }

    #[test]
    fn paths_are_those_of_values_with_lists_as_one() {
        assert_eq!(
            check(r#"{"device": "x", "nights": [{"from": 1, "odd name": []}, {"to": 2}], "z": {}}"#),
            "1 whole: $ $.device $.nights $.nights[*] $.nights[*].from $.nights[*].to $.nights[*]['odd name'] $.z"
        );
    }

    #[test]
    fn what_a_path_says_is_seen_however_far_down_a_line_it_stands() {
        let text = format!(r#"{{"pad": "{}", "made_by": "x", "v": [1, 2.0, null, true]}}"#, "-".repeat(5000));
        let found = outline(&text).unwrap().values;
        let says = |path: &str, text: &str| found.contains(&(path.to_owned(), text.to_owned()));
        assert!(says("$.made_by", "x") && says("$.v[*]", "2.0") && says("$.v[*]", "null") && says("$.v[*]", "1"));
        assert!(!says("$.made_by", "y") && !found.iter().any(|(path, _)| path == "$.pad"));
    }

    #[test]
    fn a_text_may_break_off_anywhere() {
        assert_eq!(check(r#"{"device": "x", "nights": [{"fr"#), "0 whole: $ $.device $.nights $.nights[*]");
        assert_eq!(check("{\"a\": tru"), "0 whole: $");
    }

    #[test]
    fn lines_of_json_are_counted() {
        assert_eq!(check("{\"a\":1}\n{\"b\":2}\n{\"c"), "2 whole: $ $.a $.b");
    }

    #[test]
    fn other_texts_are_not_json() {
        assert_eq!(check("[Header]\nclock,stage\n22:47,light\n22:58,deep\n23:10,light\n"), "not JSON");
        assert_eq!(check("1,2,3"), "not JSON");
    }
}
