//! From the text of a definition to checked data, or to every problem that it has.

mod claims;
mod filter;
mod near;
mod origin;
mod paths;
pub(crate) mod problems;
mod rows;
mod rules;
mod table;
mod time;
mod top;

pub(crate) use near::near;
pub use problems::DefinitionErrors;

use crate::grammar::Grammar;
use problems::Problem;
use table::{Parser, Table};
use toml::de::{DeTable, DeValue};

/// Reads a definition strictly.
pub(crate) fn parse(text: &str) -> Result<Grammar, DefinitionErrors> {
    let refuse = |problems| DefinitionErrors { text: text.to_owned(), problems };
    let (document, errors) = DeTable::parse_recoverable(text);
    if !errors.is_empty() {
        return Err(refuse(errors.iter().map(Problem::of_toml).collect()));
    }
    let mut parser = Parser::default();
    let table = Table { name: "the top of a definition".into(), span: 0..0, inner: document.get_ref() };
    let grammar = top::read(&mut parser, &table);
    match grammar {
        Some(grammar) if parser.problems.is_empty() => Ok(grammar),
        _ => Err(refuse(parser.sorted())),
    }
}

/// Returns what kind of TOML value stands there, with its article.
fn kind_of(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date or time without quotes",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
