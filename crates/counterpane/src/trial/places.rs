//! From a locator back to the value that stands there.

use counterpane_formats::{Event, Flow, Format, Request, Want};
use counterpane_model::Locator;
use std::collections::BTreeMap;

/// What stands at the places of a file.
pub(crate) struct Places {
    text: Option<String>,
    json: Option<serde_json::Value>,
    annotations: BTreeMap<String, Vec<String>>,
}

/// What stands at a place.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum At {
    /// The value, or a text that begins with it.
    Value(String),
    /// Nothing stands there.
    Nothing,
    /// Places of this kind are not looked up.
    NotLookedUp,
}

impl Places {
    /// Reads a file so that its places can be looked up.
    pub(crate) fn of(bytes: &[u8], format: Format) -> Places {
        let text = std::str::from_utf8(bytes).ok().map(|t| t.trim_start_matches('\u{feff}').to_owned());
        let json = text.as_deref().and_then(|t| serde_json::from_str(t).ok());
        let annotations = if format == Format::Edf { annotations(bytes) } else { BTreeMap::new() };
        Places { text, json, annotations }
    }

    /// Returns what stands at a place.
    pub(crate) fn at(&self, locator: &Locator) -> At {
        let or_nothing = |found: Option<String>| found.map_or(At::Nothing, At::Value);
        match locator {
            Locator::Text { line, column } => or_nothing(self.line(*line).and_then(|l| from_column(l, *column))),
            Locator::Json { path } => or_nothing(self.json.as_ref().and_then(|j| follow(j, path)).map(scalar)),
            Locator::JsonLine { row, path } => {
                let document = self.document(*row);
                or_nothing(document.as_ref().and_then(|j| follow(j, path)).map(scalar))
            }
            Locator::Record { .. } => {
                or_nothing(self.annotations.get(&locator.to_string()).map(|texts| texts.join("\u{0}")))
            }
            Locator::Item { index, of } | Locator::Items { first: index, of, .. } => self.item(*index, of),
            Locator::Cell { .. } | Locator::Xml { .. } | Locator::Member { .. } => At::NotLookedUp,
        }
    }

    /// Says whether a value stands at a place; `None` when places of this kind are not looked up.
    pub(crate) fn holds(&self, locator: &Locator, value: &str) -> Option<bool> {
        match self.at(locator) {
            At::NotLookedUp => None,
            At::Nothing => Some(false),
            At::Value(found) => {
                let bare = found.trim_start_matches('"');
                Some(bare.trim_start().starts_with(value) || found.split('\u{0}').any(|t| t.starts_with(value)))
            }
        }
    }

    fn line(&self, line: u64) -> Option<&str> {
        let index = usize::try_from(line).ok()?.checked_sub(1)?;
        self.text.as_deref()?.lines().nth(index)
    }

    fn document(&self, row: u64) -> Option<serde_json::Value> {
        let index = usize::try_from(row).ok()?.checked_sub(1)?;
        let line = self.text.as_deref()?.lines().filter(|l| !l.trim().is_empty()).nth(index)?;
        serde_json::from_str(line).ok()
    }

    /// The `index`-th code of a list, or of a text: letters, or words between separators.
    fn item(&self, index: u64, of: &Locator) -> At {
        let Some(i) = usize::try_from(index).ok().and_then(|i| i.checked_sub(1)) else { return At::Nothing };
        let list = match of {
            Locator::Json { path } => self.json.as_ref().and_then(|j| follow(j, path)).cloned(),
            Locator::JsonLine { row, path } => self.document(*row).as_ref().and_then(|j| follow(j, path)).cloned(),
            _ => None,
        };
        if let Some(serde_json::Value::Array(items)) = list {
            return items.get(i).map_or(At::Nothing, |v| At::Value(scalar(v)));
        }
        let At::Value(text) = self.at(of) else { return self.at(of) };
        let words: Vec<&str> = text.split([' ', ',', ';', '|', '-']).filter(|w| !w.is_empty()).collect();
        let letter = text.chars().nth(i).map(|c| c.to_string());
        let word = words.get(i).map(|w| (*w).to_owned());
        // Either reading may be the definition's; both stand there.
        let both: Vec<String> = letter.into_iter().chain(word).collect();
        if both.is_empty() { At::Nothing } else { At::Value(both.join("\u{0}")) }
    }
}

fn from_column(line: &str, column: u32) -> Option<String> {
    let skip = usize::try_from(column).ok()?.checked_sub(1)?;
    let rest: String = line.chars().skip(skip).collect();
    (!rest.is_empty()).then_some(rest)
}

fn scalar(value: &serde_json::Value) -> String {
    match value {
        serde_json::Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}

/// Follows a short normalized path such as `$.nights[0].from` or `$["odd name"]`.
fn follow<'a>(json: &'a serde_json::Value, path: &str) -> Option<&'a serde_json::Value> {
    let path = counterpane_formats::Path::parse(path).ok()?;
    let mut at = json;
    for step in &path.steps {
        at = match step {
            counterpane_formats::Step::Name(name) => at.get(name)?,
            counterpane_formats::Step::Index(index) => at.get(*index)?,
            _ => return None,
        };
    }
    Some(at)
}

fn annotations(bytes: &[u8]) -> BTreeMap<String, Vec<String>> {
    let request = Request { wants: vec![Want { up: 0, path: "text".into() }], ..Request::default() };
    let mut out: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut input = bytes;
    // What can be read is enough here: the import itself reports what cannot.
    let _ = counterpane_formats::read(Format::Edf, &mut input, &request, &mut |event| {
        if let Event::Row(row) = event
            && let Some(counterpane_formats::Value::Text(text)) = row.value(0)
        {
            out.entry(row.locate(0).to_string()).or_default().push(text.into_owned());
        }
        Flow::Continue
    });
    out
}
