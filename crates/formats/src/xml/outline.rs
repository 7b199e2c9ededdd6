//! What stands in the beginning of an XML document.

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::collections::BTreeSet;

/// Paths that are kept of a beginning.
const MOST_PATHS: usize = 2000;

/// The root element's name and the paths below it, such as `night/stage` and `night/stage/@at`.
#[derive(Debug, Default, PartialEq, Eq)]
pub(crate) struct Outline {
    pub(crate) root: Option<String>,
    pub(crate) paths: BTreeSet<String>,
}

/// Looks at the beginning of a document, which may break off.
pub(crate) fn outline(text: &str) -> Outline {
    let mut reader = Reader::from_str(text);
    let mut found = Outline::default();
    let mut open: Vec<String> = Vec::new();
    while found.paths.len() < MOST_PATHS && open.len() < 60 {
        match reader.read_event() {
            Ok(Event::Start(tag)) => {
                found.add(&open, &tag);
                open.push(tag.name().into_inner().to_owned());
            }
            Ok(Event::Empty(tag)) => found.add(&open, &tag),
            Ok(Event::End(_)) => {
                open.pop();
            }
            Ok(Event::Eof) | Err(_) => break,
            Ok(_) => {}
        }
    }
    found
}

impl Outline {
    fn add(&mut self, open: &[String], tag: &BytesStart<'_>) {
        let name = tag.name().into_inner();
        let mut path = String::new();
        match open.split_first() {
            None if self.root.is_none() => self.root = Some(name.to_owned()),
            None => return,
            Some((_, below)) => {
                for part in below.iter().map(String::as_str).chain([name]) {
                    path.push_str(if path.is_empty() { "" } else { "/" });
                    path.push_str(part);
                }
                self.paths.insert(path.clone());
            }
        }
        for attribute in tag.attributes().with_checks(false).filter_map(Result::ok).take(100) {
            let separator = if path.is_empty() { "" } else { "/" };
            self.paths.insert(format!("{path}{separator}@{}", attribute.key.into_inner()));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_stand_below_the_root_as_far_as_the_text_goes() {
        let found = outline("<?xml version='1.0'?><export made='x'><night id='1'><stage at='2'/></night><night i");
        assert_eq!(found.root.as_deref(), Some("export"));
        let paths: Vec<&str> = found.paths.iter().map(String::as_str).collect();
        assert_eq!(paths, ["@made", "night", "night/@id", "night/stage", "night/stage/@at"]);
    }
}
