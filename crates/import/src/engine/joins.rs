//! Values that stand in another part of the file, or in the file beside it.

use super::compile::Source;
use super::view::{part_of_name, text_of};
use crate::grammar::FormatWord;
use crate::outcome::ImportError;
use counterpane_formats::{Event, Flow, Format, Request, Row, Want};
use counterpane_model::Locator;
use std::borrow::Cow;
use std::collections::HashMap;
use std::io::Read;

/// Which table of values a join looks into.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct JoinKey {
    /// A member, a sheet, a path of rows, or the file beside this one.
    pub(super) part: String,
    pub(super) each: Option<String>,
    /// The key there.
    pub(super) there: There,
    /// The field there that is the value.
    pub(super) at: String,
}

/// The key of a row in the other part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum There {
    Field(String),
    /// The name of the member, or the part of it where the pattern has its `*`.
    Name(Option<String>),
}

/// A joined value of a row.
pub(super) struct Joined {
    /// What is looked for.
    pub(super) here: Source,
    /// Number of the table.
    pub(super) table: usize,
    /// Where nothing is found, the field of the row stands for the value.
    pub(super) own: bool,
}

/// Keys and their values.
pub(super) struct JoinTable {
    /// What a message calls it.
    pub(super) what: String,
    values: HashMap<String, Option<String>>,
    /// The file beside this one was not given.
    absent: bool,
}

/// What a table says of a key.
pub(super) enum Looked<'t> {
    Value(&'t str),
    /// No row has the key, or none has a value for it.
    Nothing,
    /// Rows with this key contradict each other.
    Twice,
    /// There is no table.
    Absent,
}

impl JoinTable {
    pub(super) fn look(&self, key: &str) -> Looked<'_> {
        match self.values.get(key) {
            Some(Some(value)) => Looked::Value(value),
            Some(None) => Looked::Twice,
            None if self.absent => Looked::Absent,
            None => Looked::Nothing,
        }
    }

    /// Returns a table without values, of a file that was not given.
    pub(super) fn absent(name: &str) -> JoinTable {
        JoinTable { what: name.to_owned(), values: HashMap::new(), absent: true }
    }
}

impl JoinKey {
    /// Returns the ending of the file beside this one, where the join is to that.
    pub(super) fn beside(&self, format: FormatWord) -> Option<&str> {
        let ending = self.part.strip_prefix('*').filter(|e| e.starts_with('.') && !e.contains('/'))?;
        (format != FormatWord::Zip).then_some(ending)
    }

    /// Returns how the part is asked for, when it stands in a file of this format.
    pub(super) fn request(&self, format: FormatWord, base: &Request) -> Result<(Format, Request), ImportError> {
        let unknown = || ImportError::Later { what: format!("the format of `{}`, for `join`,", self.part) };
        let mut request = Request { each: self.each.clone().unwrap_or_default(), ..base.clone() };
        request.wants = self.wants();
        let mut inner = format;
        match format {
            FormatWord::Zip => {
                inner = FormatWord::of_name(&self.part).ok_or_else(unknown)?;
                request.member = Some(self.part.clone());
                request.inner = Some(inner.format());
            }
            FormatWord::Csv | FormatWord::Edf | FormatWord::Text => return Err(unknown()),
            FormatWord::Json | FormatWord::Jsonl | FormatWord::Sheet | FormatWord::Xml => {
                request.each.clone_from(&self.part);
            }
        }
        if request.each.is_empty() && matches!(inner, FormatWord::Json | FormatWord::Jsonl) {
            request.each = "$".into();
        }
        Ok((format.format(), request))
    }

    /// Returns the fields that are looked up: the key, where it is one, and the value.
    fn wants(&self) -> Vec<Want> {
        let there = match &self.there {
            There::Field(path) => path,
            There::Name(_) => &self.at,
        };
        [there, &self.at].map(|path| Want { up: 0, path: path.clone() }).into()
    }

    /// Returns the key of a row.
    fn key<'r>(&self, row: &'r dyn Row) -> Option<Cow<'r, str>> {
        match &self.there {
            There::Field(_) => text_of(row.value(0)?).ok(),
            There::Name(pattern) => match row.locator() {
                Locator::Member { member, .. } => {
                    part_of_name(&member, pattern.as_deref()).map(|part| Cow::Owned(part.to_owned()))
                }
                _ => None,
            },
        }
    }

    /// Returns how the file beside this one is asked for.
    pub(super) fn request_beside(&self, base: &Request) -> Result<(Format, Request), ImportError> {
        let inner = FormatWord::of_name(&self.part)
            .ok_or_else(|| ImportError::Later { what: format!("the format of `{}`, for `join`,", self.part) })?;
        let mut request = Request { each: self.each.clone().unwrap_or_default(), ..base.clone() };
        request.wants = self.wants();
        if request.each.is_empty() && matches!(inner, FormatWord::Json | FormatWord::Jsonl) {
            request.each = "$".into();
        }
        Ok((inner.format(), request))
    }

    /// Reads the table.
    pub(super) fn read(
        &self,
        format: Format,
        request: &Request,
        input: &mut dyn Read,
    ) -> Result<JoinTable, ImportError> {
        let mut table = JoinTable { what: self.part.clone(), values: HashMap::new(), absent: false };
        counterpane_formats::read(format, input, request, &mut |event| {
            if let Event::Row(row) = event
                && let (Some(key), Some(Ok(value))) = (self.key(row), row.value(1).map(text_of))
            {
                let same = |old: &Option<String>| old.as_deref() == Some(value.as_ref());
                let entry = table.values.entry(key.into_owned()).or_insert_with(|| Some(value.to_string()));
                if !same(entry) {
                    *entry = None;
                }
            }
            Flow::Continue
        })?;
        Ok(table)
    }
}
