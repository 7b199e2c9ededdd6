//! Data on stdout, talk on stderr, and the end of the program.

use anstream::AutoStream;
use anstyle::{AnsiColor, Style};
use counterpane_model::Severity;
use std::fmt::Display;
use std::io::{self, IsTerminal as _, StdoutLock, Write};
use std::process::ExitCode;

/// How a command ended that could run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ended {
    /// Nothing is wrong.
    Fine,
    /// There are open errors, or a difference was found.
    Faulty,
}

impl From<Ended> for ExitCode {
    fn from(ended: Ended) -> ExitCode {
        match ended {
            Ended::Fine => ExitCode::SUCCESS,
            Ended::Faulty => ExitCode::from(1),
        }
    }
}

/// Standard output and standard error.
pub(crate) struct Out {
    stdout: AutoStream<StdoutLock<'static>>,
    width: usize,
}

impl Out {
    pub(crate) fn new() -> Out {
        let said = std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok());
        let seen =
            || io::stdout().is_terminal().then(terminal_size::terminal_size).flatten().map(|s| usize::from(s.0.0));
        let width = said.or_else(seen).unwrap_or(80).clamp(40, 240);
        Out { stdout: AutoStream::auto(io::stdout().lock()), width }
    }

    /// Width in columns: `COLUMNS`, else that of the terminal, else 80.
    pub(crate) fn width(&self) -> usize {
        self.width
    }

    /// Says whether colour is wanted: only on a terminal, and not when `NO_COLOR` is set.
    pub(crate) fn colour(&self) -> bool {
        self.stdout.current_choice() != anstream::ColorChoice::Never
    }

    /// Writes a line of data to stdout.
    pub(crate) fn line(&mut self, text: impl Display) -> anyhow::Result<()> {
        writeln!(self.stdout, "{text}")?;
        Ok(())
    }

    /// Writes a record to stdout that is one line for whatever searches it; on a terminal it is wrapped, for people.
    pub(crate) fn record(&mut self, text: impl Display) -> anyhow::Result<()> {
        if io::stdout().is_terminal() { self.paragraph(text) } else { self.line(text) }
    }

    /// Writes text to stdout; colours are left out where they are not wanted.
    pub(crate) fn raw(&mut self, text: &str) -> anyhow::Result<()> {
        self.stdout.write_all(text.as_bytes())?;
        Ok(())
    }

    /// Writes data for programs to stdout, byte for byte.
    pub(crate) fn data(&mut self, bytes: &[u8]) -> anyhow::Result<()> {
        self.stdout.flush()?;
        // The lock that `self` holds is the one of this thread, so this does not wait.
        let mut stdout = io::stdout().lock();
        stdout.write_all(bytes)?;
        stdout.flush()?;
        Ok(())
    }

    /// Writes a value to stdout as JSON.
    pub(crate) fn json(&mut self, value: &impl serde::Serialize) -> anyhow::Result<()> {
        serde_json::to_writer_pretty(&mut self.stdout, value)?;
        writeln!(self.stdout)?;
        self.stdout.flush()?;
        Ok(())
    }

    /// Writes a paragraph of data to stdout, wrapped to the width.
    pub(crate) fn paragraph(&mut self, text: impl Display) -> anyhow::Result<()> {
        let text = wrapped(&text.to_string(), self.width);
        self.line(text)
    }

    /// Writes a line of talk to stderr, after everything that went to stdout before it.
    pub(crate) fn say(&mut self, text: impl Display) -> anyhow::Result<()> {
        self.stdout.flush()?;
        writeln!(anstream::stderr().lock(), "{}", wrapped(&text.to_string(), self.width))?;
        Ok(())
    }
}

/// Wraps each line that is longer than the width at its blanks. Later lines of a finding, its help and
/// of indented text hang by two blanks. Lines that begin with `$ ` or ` | ` are shown as they stand: they are quoted.
pub(crate) fn wrapped(text: &str, width: usize) -> String {
    let quoted = |l: &str| l.starts_with("$ ") || l.starts_with("  | ") || l.starts_with(" --> ");
    let mut out = Vec::new();
    for line in text.split('\n') {
        if textwrap::core::display_width(line) <= width || quoted(line) {
            out.push(line.to_owned());
            continue;
        }
        let own = line.len() - line.trim_start().len();
        let plain = anstream::adapter::strip_str(line).to_string();
        let hangs = own > 0 || ["help: ", "error", "warning", "info", "note: "].iter().any(|w| plain.starts_with(w));
        let (first, rest) = (" ".repeat(own), " ".repeat(if hangs { own + 2 } else { 0 }));
        let options = textwrap::Options::new(width)
            .initial_indent(&first)
            .subsequent_indent(&rest)
            .break_words(false)
            .word_separator(textwrap::WordSeparator::AsciiSpace)
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        out.extend(textwrap::wrap(line.trim_start(), options).into_iter().map(std::borrow::Cow::into_owned));
    }
    out.join("\n")
}

/// Prints the error that ended the program.
pub(crate) fn error(error: &anyhow::Error) {
    let red = severity_style(Severity::Error);
    let text = format!("{red}error{red:#}: {}", chain(error));
    // Wrapped for people only: what is kept in a file or searched stays on its line.
    let seen = io::stderr().is_terminal().then(terminal_size::terminal_size).flatten();
    let text = seen.map_or(text.clone(), |s| wrapped(&text, usize::from(s.0.0).clamp(40, 240)));
    let _ = writeln!(anstream::stderr().lock(), "{text}");
}

/// Returns an error and its causes as one text.
pub(crate) fn chain(error: &anyhow::Error) -> String {
    let chain: Vec<String> = error.chain().map(|e| clean(&e.to_string())).collect();
    // A cause that only repeats what was said already adds nothing.
    let mut said = chain.first().cloned().unwrap_or_default();
    for cause in chain.iter().skip(1).filter(|c| !c.is_empty()) {
        if !said.contains(cause.as_str()) {
            said.push_str(": ");
            said.push_str(cause);
        }
    }
    said
}

/// Says whether the reader of stdout went away, which is no fault.
pub(crate) fn is_broken_pipe(error: &anyhow::Error) -> bool {
    error.chain().any(|cause| {
        cause.downcast_ref::<io::Error>().is_some_and(|e| e.kind() == io::ErrorKind::BrokenPipe)
            || cause
                .downcast_ref::<serde_json::Error>()
                .is_some_and(|e| e.io_error_kind() == Some(io::ErrorKind::BrokenPipe))
    })
}

/// The colour of a severity; the word stands beside it always.
pub(crate) fn severity_style(severity: Severity) -> Style {
    let colour = match severity {
        Severity::Error => AnsiColor::Red,
        Severity::Warning => AnsiColor::Yellow,
        Severity::Info => AnsiColor::Cyan,
    };
    Style::new().bold().fg_color(Some(colour.into()))
}

/// Makes text from files and people harmless on a terminal: control characters become visible.
pub(crate) fn clean(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\n' => '\n',
            '\t' => ' ',
            c if c.is_control() || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}') => '\u{fffd}',
            c => c,
        })
        .collect()
}

/// A table without lines: a head, a rule, and rows; numbers to the right.
pub(crate) fn table(head: &[&str], right: &[usize], rows: &[Vec<String>], width: usize) -> String {
    use comfy_table::{CellAlignment, ContentArrangement, LineStyle, Table, TableStyle};
    let mut table = Table::new();
    table.load_style(TableStyle::new().header_separator(LineStyle::none().fill('-')));
    table.set_content_arrangement(ContentArrangement::Dynamic);
    table.set_width(u16::try_from(width).unwrap_or(u16::MAX));
    table.set_header(head.iter().copied());
    for row in rows {
        table.add_row(row.iter().map(|cell| clean(cell)));
    }
    for (i, column) in table.column_iter_mut().enumerate() {
        column.set_padding((u16::from(i > 0), 1));
        if right.contains(&i) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    table.lines().map(|l| format!("{}\n", l.trim_end())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn control_characters_of_a_file_do_not_reach_the_terminal() {
        assert_eq!(clean("a\u{1b}[31mb\u{202e}c\r"), "a\u{fffd}[31mb\u{fffd}c\u{fffd}");
    }

    #[test]
    fn a_long_sentence_is_wrapped_and_a_quoted_line_is_not() {
        expect_test::expect![[r#"
            help: look at both lines
              in the original
            $ counterpane import a very long name.json"#]]
        .assert_eq(&wrapped(
            "help: look at both lines in the original\n$ counterpane import a very long name.json",
            25,
        ));
    }

    #[test]
    fn a_table_fits_its_width_and_lines_up() {
        let rows = [vec!["ring-a".into(), "12.5".into()], vec!["mat".into(), "7".into()]];
        expect_test::expect![[r#"
            source   min
            -------------
            ring-a  12.5
            mat        7
        "#]]
        .assert_eq(&table(&["source", "min"], &[1], &rows, 40));
    }
}
