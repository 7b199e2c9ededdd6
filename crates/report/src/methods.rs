//! A methods text to be pasted into an article: what was done, from what was done, with its sources numbered.
//!
//! It says nothing that the comparison does not hold: what only the authors know is listed as theirs to add.

mod data;
mod numbers;
mod sources;

use crate::Page;
use sources::Sources;

/// A methods text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Methods {
    /// Paragraphs, with numbers of references in square brackets.
    pub paragraphs: Vec<String>,
    /// References in the order of their numbers, from 1.
    pub references: Vec<String>,
}

impl Methods {
    /// Returns text and references as plain text, a line for each paragraph and reference.
    #[must_use]
    pub fn text(&self) -> String {
        let numbered = self.references.iter().enumerate().map(|(i, r)| format!("{}. {r}", i + 1));
        self.paragraphs.iter().cloned().chain(numbered).collect::<Vec<_>>().join("\n")
    }
}

/// Returns the methods text of what a page shows.
#[must_use]
pub fn methods(page: &Page) -> Methods {
    let mut sources = Sources::default();
    let paragraphs = [
        data::recordings(page),
        data::comparison(page, &mut sources),
        data::decisions(page),
        numbers::figures(page, &mut sources),
        numbers::intervals(page, &mut sources),
        numbers::laid_down(page, &mut sources),
        software(page),
        TO_ADD.to_owned(),
    ];
    let paragraphs = paragraphs.iter().filter(|p| !p.is_empty()).map(|p| crate::draw::text::clean(p)).collect();
    Methods { paragraphs, references: sources.listed() }
}

const TO_ADD: &str = "To be added by the authors: who took part, how they were found and what they agreed to; how the polysomnogram was recorded \
                      and by which rules it was scored; how the devices were worn, charged and paid for; who paid for the study.";

fn software(page: &Page) -> String {
    let mut rules: Vec<&str> = page.provenance.iter().map(|p| p.zone_rules.as_str()).collect();
    rules.sort_unstable();
    rules.dedup();
    let zones = if rules.is_empty() {
        String::new()
    } else {
        format!(" Local times follow the time zone database {}.", rules.join("; "))
    };
    format!(
        "All numbers were computed with {} from the files as received; originals, definitions of the imports and decisions are kept \
         with their SHA-256, and the same inputs give the same numbers.{zones} It is not a medical device and makes no diagnosis.",
        page.tool
    )
}
