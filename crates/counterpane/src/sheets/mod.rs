//! Sheets of stages that a person reads off a screen or a page; docs/sheets.md is their form.

mod book;
mod form;
mod plain;
mod read;

pub(crate) use book::book;
pub(crate) use form::{Blank, Form};
pub(crate) use plain::plain;
pub(crate) use read::{Sheet, sheet};
