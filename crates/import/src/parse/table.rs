//! Reading one TOML table key by key, collecting problems instead of stopping at the first.

use super::{Problem, kind_of, near};
use crate::grammar::{FormatWord, Word};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The problems found so far.
#[derive(Default)]
pub(super) struct Parser {
    pub(super) problems: Vec<Problem>,
    /// The format of the files, once `[match]` has been read: it says what a path looks like.
    pub(super) format: Option<FormatWord>,
    /// The fields of the block stand in JSON, whatever the format: inside a cell, or in what a filter gives.
    pub(super) inside_json: bool,
    /// The block reads members of an archive.
    pub(super) in_archive: bool,
}

/// A table of the definition and what a user calls it.
pub(super) struct Table<'a> {
    /// Such as `[rows.start]`.
    pub(super) name: String,
    pub(super) span: Range<usize>,
    pub(super) inner: &'a DeTable<'a>,
}

/// A value and its bytes.
pub(super) struct At<T> {
    pub(super) value: T,
    pub(super) span: Range<usize>,
}

impl<'a> Table<'a> {
    /// Returns a value by its key.
    pub(super) fn get(&self, key: &str) -> Option<&'a Spanned<DeValue<'a>>> {
        self.inner.iter().find(|(k, _)| k.get_ref() == key).map(|(_, v)| v)
    }

    /// Says whether a key is there.
    pub(super) fn has(&self, key: &str) -> bool {
        self.get(key).is_some()
    }

    /// Returns the bytes of a key, or of the table when there is none.
    pub(super) fn span_of(&self, key: &str) -> Range<usize> {
        self.inner.iter().find(|(k, _)| k.get_ref() == key).map_or(self.span.clone(), |(k, _)| k.span())
    }

    /// Returns every key with its bytes and its value, in the order of the text.
    pub(super) fn entries(&self) -> Vec<(At<&'a str>, &'a Spanned<DeValue<'a>>)> {
        let mut all: Vec<_> =
            self.inner.iter().map(|(k, v)| (At { value: k.get_ref().as_ref(), span: k.span() }, v)).collect();
        all.sort_by_key(|(k, _)| k.span.start);
        all
    }
}

impl Parser {
    /// Notes a problem.
    pub(super) fn refuse(&mut self, span: Range<usize>, message: impl Into<String>, help: impl Into<String>) {
        self.problems.push(Problem { message: message.into(), span, help: Some(help.into()) });
    }

    /// Returns the problems in the order of the text.
    pub(super) fn sorted(mut self) -> Vec<Problem> {
        self.problems.sort_by_key(|p| p.span.start);
        self.problems
    }

    /// Refuses every key that is not known in this table.
    pub(super) fn know(&mut self, table: &Table<'_>, keys: &[&str]) {
        for (key, _) in table.entries() {
            if !keys.contains(&key.value) {
                let (message, help) = unknown("key", key.value, &format!("keys of {}", table.name), keys);
                self.refuse(key.span, message, help);
            }
        }
    }

    /// Refuses a table that lacks a key.
    pub(super) fn missing(&mut self, table: &Table<'_>, key: &str, help: &str) {
        self.refuse(table.span.clone(), format!("{} lacks the key `{key}`", table.name), help);
    }

    /// Returns a text.
    pub(super) fn text(&mut self, table: &Table<'_>, key: &str) -> Option<At<String>> {
        let value = table.get(key)?;
        match value.get_ref() {
            DeValue::String(text) => Some(At { value: text.to_string(), span: value.span() }),
            other => {
                self.refuse(
                    value.span(),
                    format!("`{key}` must be a text, not {}", kind_of(other)),
                    "put it in quotes",
                );
                None
            }
        }
    }

    /// Returns a list of texts; one text is a list of one.
    pub(super) fn texts(&mut self, table: &Table<'_>, key: &str) -> Vec<At<String>> {
        let Some(value) = table.get(key) else { return Vec::new() };
        match value.get_ref() {
            DeValue::String(text) => vec![At { value: text.to_string(), span: value.span() }],
            DeValue::Array(items) if !items.is_empty() => items.iter().filter_map(|i| self.item(key, i)).collect(),
            other => {
                let what = if other.is_array() { "an empty list" } else { kind_of(other) };
                self.refuse(
                    value.span(),
                    format!("`{key}` must be a text or a list of texts, not {what}"),
                    "write it as [\"...\"]",
                );
                Vec::new()
            }
        }
    }

    fn item(&mut self, key: &str, item: &Spanned<DeValue<'_>>) -> Option<At<String>> {
        if let DeValue::String(text) = item.get_ref() {
            return Some(At { value: text.to_string(), span: item.span() });
        }
        let found = kind_of(item.get_ref());
        self.refuse(item.span(), format!("`{key}` must be a list of texts, not of {found}"), "put each in quotes");
        None
    }

    /// Returns true or false.
    pub(super) fn truth(&mut self, table: &Table<'_>, key: &str) -> Option<bool> {
        let value = table.get(key)?;
        let truth = value.get_ref().as_bool();
        if truth.is_none() {
            self.refuse(value.span(), format!("`{key}` must be true or false"), "write it without quotes");
        }
        truth
    }

    /// Returns a whole number.
    pub(super) fn whole(&mut self, table: &Table<'_>, key: &str) -> Option<At<i64>> {
        let value = table.get(key)?;
        let number = match value.get_ref() {
            DeValue::Integer(n) => i64::from_str_radix(n.as_str(), n.radix()).ok(),
            _ => None,
        };
        if number.is_none() {
            self.refuse(
                value.span(),
                format!("`{key}` must be a whole number"),
                "write it without quotes and without a point",
            );
        }
        Some(At { value: number?, span: value.span() })
    }

    /// Returns a text of a closed list.
    pub(super) fn word<W: Word>(&mut self, table: &Table<'_>, key: &str) -> Option<At<W>> {
        let text = self.text(table, key)?;
        let value = self.word_of(&text.value, text.span.clone())?;
        Some(At { value, span: text.span })
    }

    /// Returns the meaning of a text of a closed list.
    pub(super) fn word_of<W: Word>(&mut self, text: &str, span: Range<usize>) -> Option<W> {
        if let Some((_, word)) = W::WORDS.iter().find(|(word, _)| *word == text) {
            return Some(*word);
        }
        let known: Vec<&str> = W::WORDS.iter().map(|(word, _)| *word).collect();
        let help = help_of(text, "words that can stand here", &known);
        self.refuse(span, format!("`{text}` is not {}", W::WHAT), help);
        None
    }

    /// Returns a table below this one.
    pub(super) fn table<'a>(&mut self, table: &Table<'a>, key: &str, name: String) -> Option<Table<'a>> {
        let value = table.get(key)?;
        self.as_table(value, key, name)
    }

    /// Returns a value as a table.
    pub(super) fn as_table<'a>(
        &mut self,
        value: &'a Spanned<DeValue<'a>>,
        key: &str,
        name: String,
    ) -> Option<Table<'a>> {
        match value.get_ref() {
            DeValue::Table(inner) => Some(Table { name, span: value.span(), inner }),
            other => {
                let help = format!("write it as `{key} = {{ ... }}`; see docs/definitions.md");
                self.refuse(value.span(), format!("`{key}` must be a table, not {}", kind_of(other)), help);
                None
            }
        }
    }
}

/// Returns message and help about something that is not known.
fn unknown(what: &str, word: &str, list: &str, known: &[&str]) -> (String, String) {
    (format!("unknown {what} `{word}`"), help_of(word, list, known))
}

fn help_of(word: &str, list: &str, known: &[&str]) -> String {
    let all = known.iter().map(|k| format!("`{k}`")).collect::<Vec<_>>().join(", ");
    match near(word, known.iter().copied()) {
        Some(meant) => format!("did you mean `{meant}`? the {list} are {all}"),
        None => format!("the {list} are {all}"),
    }
}
