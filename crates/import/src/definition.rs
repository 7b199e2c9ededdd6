//! A definition: parsed, checked, and remembering its text.

use crate::bindings::Beside;
use crate::grammar::{FormatWord, Grammar};
use crate::parse::{self, DefinitionErrors};
use counterpane_formats::Format;
use counterpane_model::{Mark, Quantity, Stage, Vocabulary};
use sha2::{Digest, Sha256};

/// An importer definition that has been read and found sound.
#[derive(Clone, Debug)]
pub struct Definition {
    id: String,
    text: String,
    sha256: String,
    grammar: Grammar,
}

impl Definition {
    /// Reads a definition strictly: an unknown key is an error.
    ///
    /// # Errors
    /// Every problem of the text, each with its place.
    pub fn parse(id: &str, text: &str) -> Result<Definition, DefinitionErrors> {
        let grammar = parse::parse(text)?;
        let sha256 = Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect();
        Ok(Definition { id: id.to_owned(), text: text.to_owned(), sha256, grammar })
    }

    /// Returns the id: the name of its folder.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.id
    }

    /// Returns the SHA-256 of the text, in lower-case hexadecimal.
    #[must_use]
    pub fn sha256(&self) -> &str {
        &self.sha256
    }

    /// Returns the text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Returns in one line what is read.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.grammar.title
    }

    /// Returns where the facts about the file come from, one text each.
    #[must_use]
    pub fn sources(&self) -> &[String] {
        &self.grammar.sources
    }

    /// Returns the format of its files.
    #[must_use]
    pub fn format(&self) -> Format {
        self.grammar.matching.format.format()
    }

    /// Returns the stages that the source can express: those of `[stages]` and those whose minutes it claims,
    /// in the order of [`Stage::ALL`].
    #[must_use]
    pub fn vocabulary(&self) -> Vocabulary {
        let mapped = |stage: Stage| self.grammar.stages.values().any(|w| w.mark() == Some(Mark::Stage(stage)));
        let claimed = |stage: Stage| {
            let code = Quantity::Minutes(stage).code();
            self.grammar.rows.iter().any(|r| r.claims.contains_key(&code))
        };
        Vocabulary(Stage::ALL.into_iter().filter(|s| mapped(*s) || claimed(*s)).collect())
    }

    /// Returns the files beside a file that the definition looks into, such as `night.json` for `night.tsv`, by name;
    /// give those that exist to [`import_with`](crate::import_with).
    #[must_use]
    pub fn beside(&self, file: &str) -> Vec<Beside> {
        let mut out: Vec<Beside> = Vec::new();
        for (join, inherits) in self.grammar.joins() {
            let ending = join.strip_prefix('*').filter(|e| e.starts_with('.') && !e.contains('/'));
            let Some(ending) = ending.filter(|_| self.grammar.matching.format != FormatWord::Zip) else { continue };
            let name = crate::engine::beside(file, ending);
            match out.iter_mut().find(|b| b.name == name) {
                Some(known) => known.inherits |= inherits,
                None => out.push(Beside { name, inherits }),
            }
        }
        out.sort_by(|a, b| a.name.cmp(&b.name));
        out
    }

    pub(crate) fn grammar(&self) -> &Grammar {
        &self.grammar
    }
}
