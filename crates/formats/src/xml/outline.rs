//! What stands in the beginning of an XML document.

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::collections::BTreeSet;

/// Paths that are kept of a beginning.
const MOST_PATHS: usize = 2000;

/// Values that are kept of a beginning, and the longest of them, in bytes.
const MOST_VALUES: usize = 20_000;
const LONGEST: usize = 1000;

/// The root element's name, the paths below it, such as `night/stage` and `night/stage/@at`, and what they say.
#[derive(Debug, Default, PartialEq, Eq)]
pub(crate) struct Outline {
    pub(crate) root: Option<String>,
    pub(crate) paths: BTreeSet<String>,
    pub(crate) values: BTreeSet<(String, String)>,
}

/// Looks at the beginning of a document, which may break off.
pub(crate) fn outline(text: &str) -> Outline {
    let mut reader = Reader::from_str(text);
    let mut found = Outline::default();
    let mut open: Vec<Open> = Vec::new();
    while found.paths.len() < MOST_PATHS && open.len() < 60 {
        match reader.read_event() {
            Ok(Event::Start(tag)) => {
                found.add(&open, &tag);
                open.push(Open { name: tag.name().into_inner().to_owned(), text: String::new() });
            }
            Ok(Event::Empty(tag)) => found.add(&open, &tag),
            Ok(Event::End(_)) => {
                let path = path(&open);
                if let Some(closed) = open.pop() {
                    found.says(path, closed.text.trim());
                }
            }
            Ok(Event::Text(text)) => push(&mut open, &text),
            Ok(Event::CData(text)) => push(&mut open, &text),
            Ok(Event::GeneralRef(entity)) => {
                let name = format!("&{};", &*entity);
                let text = quick_xml::escape::unescape(&name).map(std::borrow::Cow::into_owned);
                push(&mut open, text.as_deref().unwrap_or(&name));
            }
            Ok(Event::Eof) | Err(_) => break,
            Ok(_) => {}
        }
    }
    found
}

/// An element that is open, and the text that stood in it so far.
struct Open {
    name: String,
    text: String,
}

fn push(open: &mut [Open], text: &str) {
    if let Some(inner) = open.last_mut().filter(|o| o.text.len() <= LONGEST) {
        inner.text.push_str(text);
    }
}

/// Returns the path of the innermost open element below the root; nothing for the root.
fn path(open: &[Open]) -> String {
    let names: Vec<&str> = open.iter().skip(1).map(|o| o.name.as_str()).collect();
    names.join("/")
}

impl Outline {
    fn add(&mut self, open: &[Open], tag: &BytesStart<'_>) {
        let name = tag.name().into_inner();
        let mut path = path(open);
        if open.is_empty() {
            if self.root.is_some() {
                return;
            }
            self.root = Some(name.to_owned());
        } else {
            path.push_str(if path.is_empty() { "" } else { "/" });
            path.push_str(name);
            self.paths.insert(path.clone());
        }
        for attribute in tag.attributes().with_checks(false).filter_map(Result::ok).take(100) {
            let separator = if path.is_empty() { "" } else { "/" };
            let at = format!("{path}{separator}@{}", attribute.key.into_inner());
            self.paths.insert(at.clone());
            self.says(at, &quick_xml::escape::unescape(&attribute.value).unwrap_or_default());
        }
    }

    fn says(&mut self, path: String, text: &str) {
        if !path.is_empty() && !text.is_empty() && text.len() <= LONGEST && self.values.len() < MOST_VALUES {
            self.values.insert((path, text.to_owned()));
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

    #[test]
    fn what_elements_and_attributes_say_is_seen_as_text() {
        let found = outline("<e made='a &amp; b'><kind> x &lt; <![CDATA[y]]> </kind><n><v>2</v></n></e>").values;
        let said: Vec<String> = found.iter().map(|(path, text)| format!("{path}={text}")).collect();
        assert_eq!(said, ["@made=a & b", "kind=x < y", "n/v=2"]);
    }
}
