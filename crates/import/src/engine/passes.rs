//! Passes over a file: blocks that look at the same rows are read together.

use super::blocks::Worker;
use super::compile::{Block, compile};
use super::faults::Fault;
use super::import::Input;
use super::joins::JoinKey;
use super::moment::Frame;
use super::sink::Sink;
use crate::grammar::{FormatWord, Grammar, Rows};
use crate::kinds;
use crate::outcome::ImportError;
use counterpane_formats::{Event, Flow, Limits, Request, TextOptions};
use std::io::Read;

/// How a file is read.
pub(super) struct Plan {
    pub(super) passes: Vec<Pass>,
    /// What is looked up in other parts.
    pub(super) joins: Vec<JoinKey>,
}

/// Blocks that look at the same rows, read in one pass.
pub(super) struct Pass {
    request: Request,
    pub(super) blocks: Vec<Block>,
    /// Number of each block in the definition.
    numbers: Vec<usize>,
}

impl Plan {
    /// Groups the blocks of a definition by the rows that they look at.
    pub(super) fn new(grammar: &Grammar, limits: Limits, file: &mut Input<'_>) -> Result<Plan, ImportError> {
        let mut plan = Plan { passes: Vec::new(), joins: Vec::new() };
        for (number, rows) in grammar.rows.iter().enumerate() {
            let (format, mut asked) = request(grammar, rows, limits);
            let columns = match &rows.filter {
                Some(filter) if filter.take.is_empty() && rows.cell.is_none() => {
                    columns(grammar, format, &asked, file)?
                }
                _ => Vec::new(),
            };
            let same = |p: &Pass| {
                let r = &p.request;
                (&r.each, &r.nest, &r.member, r.inner) == (&asked.each, &asked.nest, &asked.member, asked.inner)
            };
            let at = plan.passes.iter().position(same).unwrap_or_else(|| {
                let request = std::mem::take(&mut asked);
                plan.passes.push(Pass { request, blocks: Vec::new(), numbers: Vec::new() });
                plan.passes.len() - 1
            });
            let pass = &mut plan.passes[at];
            pass.blocks.push(compile(rows, format, &mut pass.request, &mut plan.joins, &columns)?);
            pass.numbers.push(number);
        }
        Ok(plan)
    }
}

/// Returns what a block asks of the reader, and the format that its paths are of.
fn request(grammar: &Grammar, rows: &Rows, limits: Limits) -> (FormatWord, Request) {
    let mut request = Request { text: text_options(grammar), limits, ..Request::default() };
    let mut format = grammar.matching.format;
    let part = rows.part.clone().unwrap_or_default();
    if format == FormatWord::Zip {
        // The parser has refused a member whose format nobody says.
        format = rows.format.or_else(|| FormatWord::of_name(&part)).unwrap_or(FormatWord::Text);
        request.member = Some(part);
        request.inner = Some(format.format());
        request.each = rows.each.clone().unwrap_or_default();
    } else {
        request.each = match format {
            FormatWord::Edf | FormatWord::Sheet => part,
            _ => rows.each.clone().unwrap_or_default(),
        };
    }
    if format == FormatWord::Jsonl && request.each.is_empty() {
        request.each = "$".into();
    }
    // A `nest` beside `cell` is inside the cell.
    request.nest = rows.nest.clone().filter(|_| rows.cell.is_none());
    (format, request)
}

/// Returns the columns of a table, which a filter sees by their names.
fn columns(
    grammar: &Grammar,
    format: FormatWord,
    asked: &Request,
    file: &mut Input<'_>,
) -> Result<Vec<String>, ImportError> {
    if !matches!(format, FormatWord::Csv | FormatWord::Sheet) {
        return Ok(Vec::new());
    }
    let mut columns = Vec::new();
    counterpane_formats::read(grammar.matching.format.format(), file.again()?, asked, &mut |event| {
        if let Event::Head(head) = event {
            columns.clone_from(&head.columns);
        }
        Flow::Stop
    })?;
    Ok(columns)
}

/// Returns how the text of the file is read.
pub(super) fn text_options(grammar: &Grammar) -> TextOptions {
    let text = grammar.text.clone().unwrap_or_default();
    TextOptions { encoding: text.encoding, delimiter: text.delimiter, header_with: text.header, comment: text.comment }
}

impl Pass {
    /// Reads the rows and gives each to the blocks.
    pub(super) fn run(
        &self,
        grammar: &Grammar,
        input: &mut dyn Read,
        frame: &Frame<'_>,
        sink: &mut Sink<'_>,
        identity: &mut Vec<String>,
    ) -> Result<(), ImportError> {
        let numbered = self.numbers.iter().zip(&self.blocks);
        let mut workers: Vec<Worker<'_>> = numbered.map(|(n, b)| Worker::new(*n, b, frame, grammar)).collect();
        counterpane_formats::read(grammar.matching.format.format(), input, &self.request, &mut |event| {
            match event {
                Event::Head(head) => {
                    frame.file_start.set(head.start);
                    let new = head.identity.iter().filter(|name| !identity.contains(name)).cloned();
                    let new: Vec<String> = new.collect();
                    identity.extend(new);
                }
                Event::Row(row) => workers.iter_mut().for_each(|w| w.take(row, sink)),
                Event::Unreadable { locator, line, problem } => {
                    sink.tally.rows += 1;
                    workers.iter_mut().for_each(Worker::unreadable);
                    sink.faulty(Fault::new(&kinds::row_unreadable::KIND, problem, locator), None, || line);
                }
            }
            if workers.iter().any(|w| w.trouble.is_some()) { Flow::Stop } else { Flow::Continue }
        })?;
        if let Some(error) = workers.iter_mut().find_map(|w| w.trouble.take()) {
            return Err(ImportError::Filter(error));
        }
        workers.iter_mut().for_each(|w| w.finish(sink));
        Ok(())
    }
}
