//! What is wrong with a definition, drawn under its own lines.

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use std::fmt;
use std::ops::Range;

/// One thing that is wrong with a definition.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Problem {
    /// What is wrong, in one sentence without a full stop.
    pub(crate) message: String,
    /// Bytes of the text that it speaks of.
    pub(crate) span: Range<usize>,
    /// What to do next.
    pub(crate) help: Option<String>,
}

impl Problem {
    pub(crate) fn of_toml(error: &toml::de::Error) -> Problem {
        let message = error.message().lines().collect::<Vec<_>>().join("; ");
        Problem {
            message: format!("this is not TOML: {message}"),
            span: error.span().unwrap_or(0..0),
            help: Some("see docs/definitions.md for how each key is written".into()),
        }
    }
}

/// Everything that is wrong with a definition; never empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DefinitionErrors {
    pub(crate) text: String,
    pub(crate) problems: Vec<Problem>,
}

impl DefinitionErrors {
    /// Draws each problem under the line that it speaks of, without colour; `file` is the name that the
    /// user knows the definition by.
    #[must_use]
    pub fn render(&self, file: &str) -> String {
        self.problems.iter().map(|p| self.draw(p, file)).collect::<Vec<_>>().join("\n\n")
    }

    /// Returns how many problems there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.problems.len()
    }

    fn draw(&self, problem: &Problem, file: &str) -> String {
        let mark = AnnotationKind::Primary.span(self.span_within(problem));
        let snippet = Snippet::source(self.text.as_str()).path(file).annotation(mark);
        let group = Level::ERROR.primary_title(problem.message.as_str()).element(snippet);
        let help = problem.help.as_deref().map(|help| Level::HELP.message(help));
        Renderer::plain().render(&[group.elements(help)])
    }

    /// Cuts a span to its first line, so that a whole table is marked by its header.
    fn span_within(&self, problem: &Problem) -> Range<usize> {
        let start = problem.span.start.min(self.text.len());
        let line_end = self.text[start..].find('\n').map_or(self.text.len(), |n| start + n);
        start..problem.span.end.clamp(start, line_end.max(start))
    }
}

impl fmt::Display for DefinitionErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render("importer.toml"))
    }
}

impl std::error::Error for DefinitionErrors {}
