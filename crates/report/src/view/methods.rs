//! The methods text at the end of the page.

use crate::Page;
use crate::methods::{Methods, methods};
use askama::Template;

/// The section that holds it.
#[derive(Debug, Template)]
#[template(path = "methods.html")]
pub(crate) struct MethodsSection {
    paragraphs: Vec<String>,
    references: Vec<String>,
}

impl MethodsSection {
    pub(crate) fn new(page: &Page) -> MethodsSection {
        let Methods { paragraphs, references } = methods(page);
        MethodsSection { paragraphs, references }
    }
}
