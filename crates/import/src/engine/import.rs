//! Reading one file by one definition.

use super::blocks::Worker;
use super::bounds::Bounds;
use super::compile::{Block, Claim, Source, Time, compile};
use super::faults::Fault;
use super::finish::finish;
use super::moment::Frame;
use super::nights::Nights;
use super::sink::Sink;
use crate::bindings::Bindings;
use crate::definition::Definition;
use crate::grammar::matching::Decimal;
use crate::grammar::origin::Bound;
use crate::grammar::{FormatWord, Grammar, Rows, TimeRead, Word};
use crate::kinds;
use crate::outcome::{ImportError, Outcome};
use counterpane_formats::{Event, Flow, Limits, Request, TextOptions};
use std::cell::{Cell, RefCell};
use std::io::{Read, Seek};

/// A copy of the file that is kept while several blocks are read from it stays in memory up to this size.
const COPY_IN_MEMORY: usize = 16 << 20;

/// Reads a file by a definition.
///
/// The file is read once and as a stream, unless the definition has blocks that look at different parts of
/// it: then it is kept meanwhile, in memory when small, else in an unnamed temporary file.
///
/// # Errors
/// [`ImportError`]: nothing could be read, the definition asks for what this version cannot do, or a value
/// of the command line is missing or cannot be used. What is wrong with single rows is a finding instead.
pub fn import(
    definition: &Definition,
    input: &mut dyn Read,
    bindings: &Bindings,
    limits: Limits,
) -> Result<Outcome, ImportError> {
    let grammar = definition.grammar();
    refuse_later(grammar)?;
    let nights = Nights::new(bindings)?;
    let bounds = Bounds::new(bindings, &nights)?;
    let passes = passes(grammar, limits)?;
    for block in passes.iter().flat_map(|p| &p.blocks) {
        refuse_unbound(block, &nights, &bounds)?;
    }
    let comma = grammar.text.as_ref().is_some_and(|t| t.decimal == Some(Decimal::Comma));
    let frame =
        Frame { nights: &nights, bounds: &bounds, file_start: Cell::new(None), zone_named: RefCell::default(), comma };
    let mut sink = Sink::new(&bindings.file, &nights);
    let mut identity = Vec::new();
    match passes.as_slice() {
        [only] => only.run(grammar, input, &frame, &mut sink, &mut identity)?,
        several => {
            let mut copy = tempfile::spooled_tempfile(COPY_IN_MEMORY);
            let cap = limits.bytes.saturating_add(1);
            std::io::copy(&mut input.take(cap), &mut copy).map_err(ImportError::Copy)?;
            for pass in several {
                copy.rewind().map_err(ImportError::Copy)?;
                pass.run(grammar, &mut copy, &frame, &mut sink, &mut identity)?;
            }
        }
    }
    if sink.tally.rows == 0 {
        sink.loose.group(&kinds::no_rows::KIND, "nothing in the file is a row of this definition".into(), || None);
    }
    finish(sink, grammar, &nights, &bounds, identity)
}

/// Blocks that look at the same rows, read in one pass.
struct Pass {
    request: Request,
    blocks: Vec<Block>,
}

/// Groups the blocks of a definition by the rows that they look at.
fn passes(grammar: &Grammar, limits: Limits) -> Result<Vec<Pass>, ImportError> {
    let text = text_options(grammar);
    let mut out: Vec<Pass> = Vec::new();
    for rows in &grammar.rows {
        let (each, nest) = (each(grammar, rows), rows.nest.clone());
        let at = out.iter().position(|p| p.request.each == each && p.request.nest == nest).unwrap_or_else(|| {
            let request = Request { each, nest, text: text.clone(), limits, ..Request::default() };
            out.push(Pass { request, blocks: Vec::new() });
            out.len() - 1
        });
        let block = compile(rows, &mut out[at].request.wants)?;
        out[at].blocks.push(block);
    }
    Ok(out)
}

fn each(grammar: &Grammar, rows: &Rows) -> String {
    match grammar.matching.format {
        FormatWord::Edf => rows.part.clone().unwrap_or_default(),
        FormatWord::Jsonl => rows.each.clone().unwrap_or_else(|| "$".into()),
        _ => rows.each.clone().unwrap_or_default(),
    }
}

fn text_options(grammar: &Grammar) -> TextOptions {
    let text = grammar.text.clone().unwrap_or_default();
    TextOptions { encoding: text.encoding, delimiter: text.delimiter, header_with: text.header, comment: text.comment }
}

impl Pass {
    fn run(
        &self,
        grammar: &Grammar,
        input: &mut dyn Read,
        frame: &Frame<'_>,
        sink: &mut Sink<'_>,
        identity: &mut Vec<String>,
    ) -> Result<(), ImportError> {
        let mut workers: Vec<Worker<'_>> = self.blocks.iter().map(|b| Worker::new(b, frame, grammar)).collect();
        counterpane_formats::read(grammar.matching.format.format(), input, &self.request, &mut |event| {
            match event {
                Event::Head(head) => {
                    frame.file_start.set(head.start);
                    identity.clone_from(&head.identity);
                }
                Event::Row(row) => workers.iter_mut().for_each(|w| w.row(row, sink)),
                Event::Unreadable { locator, line, problem } => {
                    sink.tally.rows += 1;
                    workers.iter_mut().for_each(Worker::unreadable);
                    sink.faulty(Fault::new(&kinds::row_unreadable::KIND, problem, locator), None, || line);
                }
            }
            Flow::Continue
        })?;
        workers.iter_mut().for_each(|w| w.finish(sink));
        Ok(())
    }
}

/// Refuses what belongs to the language and cannot be obeyed yet.
fn refuse_later(grammar: &Grammar) -> Result<(), ImportError> {
    let later = |what: String| Err(ImportError::Later { what });
    let format = grammar.matching.format;
    if matches!(format, FormatWord::Sheet | FormatWord::Xml | FormatWord::Zip) {
        let word = FormatWord::WORDS.iter().find(|(_, f)| *f == format).map_or("", |(word, _)| word);
        return later(format!("format `{word}`"));
    }
    for rows in &grammar.rows {
        if rows.filter.is_some() {
            return later("a `filter`".into());
        }
        if rows.cell.is_some() {
            return later("JSON inside a cell, `cell`,".into());
        }
        if rows.part.is_some() && format != FormatWord::Edf {
            return later("a part of a file, `in`,".into());
        }
    }
    Ok(())
}

/// Refuses to begin without a value of the command line that the block needs.
fn refuse_unbound(block: &Block, nights: &Nights, bounds: &Bounds) -> Result<(), ImportError> {
    for time in times(block) {
        let needs = |option, example, why: &str| Err(ImportError::Needs { option, example, why: why.to_owned() });
        match time.source {
            Source::Bound(Bound::Start) if bounds.start.is_none() => {
                return needs("--start", "\"2026-04-04 22:30\"", "the source does not say when it begins");
            }
            Source::Bound(Bound::End) if bounds.end.is_none() => {
                return needs("--end", "\"2026-04-05 06:55\"", "the source does not say when it ends");
            }
            _ => {}
        }
        let clock = time.read.iter().any(TimeRead::is_clock);
        let named = block.night.as_ref().is_some_and(|n| !matches!(n.source, Source::Bound(_)));
        if clock && !named && nights.bound().is_none() {
            return needs("--night", "2026-04-04", "the source gives times of day without a date");
        }
    }
    Ok(())
}

/// Returns every time of a block, anchors too.
fn times(block: &Block) -> Vec<&Time> {
    let claimed = block.claims.iter().filter_map(|(_, c)| match c {
        Claim::Time { time, .. } => Some(time),
        Claim::Total { .. } => None,
    });
    let own: Vec<&Time> = [&block.start, &block.end].into_iter().flatten().chain(claimed).collect();
    let anchors = own.iter().filter_map(|t| t.from.as_deref());
    own.iter().copied().chain(anchors).collect()
}
