//! Sheets of stages that a person reads off a screen or a page; docs/sheets.md is their form.

mod apart;
mod book;
mod form;
mod pair;
mod plain;
mod precision;
mod read;
mod settle;
mod window;

pub(crate) use book::book;
pub(crate) use form::{Blank, Form, TYPED_TIMES};
pub(crate) use plain::plain;
pub(crate) use precision::Precision;
pub(crate) use read::{Sheet, Typed, sheet};
pub(crate) use settle::{Both, Settled, both};
pub(crate) use window::outside;
