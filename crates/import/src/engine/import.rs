//! Reading one file by one definition.

use super::bounds::Bounds;
use super::compile::{Block, Claim, Source, Time};
use super::finish::finish;
use super::half::{Faces, has_half};
use super::joins::JoinTable;
use super::moment::Frame;
use super::nights::Nights;
use super::passes::{Pass, Plan};
use super::sink::Sink;
use super::view::Known;
use crate::bindings::{Bindings, Companion};
use crate::companions;
use crate::definition::Definition;
use crate::grammar::matching::Decimal;
use crate::grammar::origin::Bound;
use crate::grammar::{Grammar, TimeRead};
use crate::kinds;
use crate::outcome::{ImportError, Outcome};
use counterpane_formats::{Limits, Request};
use std::cell::{Cell, RefCell};
use std::io::{Read, Seek};
use tempfile::SpooledTempFile;

/// A copy of the file that is kept while several blocks are read from it stays in memory up to this size.
const COPY_IN_MEMORY: usize = 16 << 20;

/// Reads a file by a definition.
///
/// The file is read once and as a stream, unless the definition has blocks that look at different parts of
/// it, or something must be known before the rows are read: then it is kept meanwhile, in memory when small, else in
/// an unnamed temporary file.
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
    import_with(definition, input, &[], bindings, limits)
}

/// Reads a file by a definition, with the files beside it that the definition asks for; see
/// [`Definition::beside`].
///
/// # Errors
/// As [`import`].
pub fn import_with(
    definition: &Definition,
    input: &mut dyn Read,
    companions: &[Companion],
    bindings: &Bindings,
    limits: Limits,
) -> Result<Outcome, ImportError> {
    let grammar = definition.grammar();
    let nights = Nights::new(bindings)?;
    let bounds = Bounds::new(bindings, &nights)?;
    let mut file = Input { input, copy: None, limits };
    let plan = Plan::new(grammar, limits, &mut file)?;
    for block in plan.passes.iter().flat_map(|p| &p.blocks) {
        refuse_unbound(block, &nights, &bounds)?;
    }
    let known =
        Known { file: bindings.file.clone(), joins: joins(grammar, &plan, &mut file, companions, &bindings.file)? };
    let half = RefCell::new(Faces::default());
    let comma = grammar.text.as_ref().is_some_and(|t| t.decimal == Some(Decimal::Comma));
    let frame = Frame {
        nights: &nights,
        bounds: &bounds,
        file_start: Cell::new(None),
        zone_named: RefCell::default(),
        comma,
        units: &grammar.units,
        known: &known,
        half: &half,
    };
    let run =
        |pass: &Pass, file: &mut Input<'_>, sink: &mut Sink<'_>, identity: &mut Vec<String>, many: bool| match many {
            true => pass.run(grammar, file.again()?, &frame, sink, identity),
            false => pass.run(grammar, file.once()?, &frame, sink, identity),
        };
    if plan.passes.iter().flat_map(|p| &p.blocks).any(|block| has_half(&times(block))) {
        // Claims of the file help to tell morning from evening, so everything is looked at once before.
        let mut scratch = Sink::new(&bindings.file, &nights);
        half.borrow_mut().surveying = true;
        plan.passes.iter().try_for_each(|pass| run(pass, &mut file, &mut scratch, &mut Vec::new(), true))?;
        half.borrow_mut().settle(&scratch.parts, grammar.step.map_or(0, |s| s.0));
    }
    let mut sink = Sink::new(&bindings.file, &nights);
    let mut identity = Vec::new();
    let many = plan.passes.len() > 1;
    plan.passes.iter().try_for_each(|pass| run(pass, &mut file, &mut sink, &mut identity, many))?;
    if sink.tally.rows == 0 {
        sink.loose.group(&kinds::no_rows::KIND, "nothing in the file is a row of this definition".into(), || None);
    }
    finish(sink, grammar, &nights, &bounds, identity)
}

/// The file: read as it comes, or from a copy.
pub(super) struct Input<'i> {
    input: &'i mut dyn Read,
    copy: Option<SpooledTempFile>,
    limits: Limits,
}

impl Input<'_> {
    /// Returns the file from its beginning, and can do so again.
    pub(super) fn again(&mut self) -> Result<&mut dyn Read, ImportError> {
        let mut copy = match self.copy.take() {
            Some(copy) => copy,
            None => {
                let mut copy = tempfile::spooled_tempfile(COPY_IN_MEMORY);
                let cap = self.limits.bytes.saturating_add(1);
                std::io::copy(&mut (&mut *self.input).take(cap), &mut copy).map_err(ImportError::Copy)?;
                copy
            }
        };
        copy.rewind().map_err(ImportError::Copy)?;
        Ok(self.copy.insert(copy))
    }

    /// Returns the file from its beginning for the last time.
    fn once(&mut self) -> Result<&mut dyn Read, ImportError> {
        match self.copy {
            Some(_) => self.again(),
            None => Ok(&mut *self.input),
        }
    }
}

/// Reads what the blocks look up in other parts of the file, or in the file beside it.
fn joins(
    grammar: &Grammar,
    plan: &Plan,
    file: &mut Input<'_>,
    companions: &[Companion],
    name: &str,
) -> Result<Vec<JoinTable>, ImportError> {
    let base = Request { text: super::passes::text_options(grammar), limits: file.limits, ..Request::default() };
    let one = |key: &super::joins::JoinKey, file: &mut Input<'_>| {
        let Some(ending) = key.beside(grammar.matching.format) else {
            let (format, request) = key.request(grammar.matching.format, &base)?;
            return key.read(format, &request, file.again()?);
        };
        let wanted = beside(name, ending);
        match companions::of(&wanted, companions)? {
            None => Ok(JoinTable::absent(&wanted)),
            Some((place, bytes)) => {
                let (format, request) = key.request_beside(&base)?;
                key.read(format, &request, &mut bytes.as_ref())
                    .map_err(|e| ImportError::Companion { place, problem: Box::new(e) })
            }
        }
    };
    plan.joins.iter().map(|key| one(key, file)).collect()
}

/// Returns the name of the file beside another one: the same name with another ending.
pub(crate) fn beside(name: &str, ending: &str) -> String {
    let folder = name.rfind(['/', '\\']).map_or(0, |at| at + 1);
    let stem = name[folder..].rfind('.').map_or(name.len(), |at| folder + at);
    format!("{}{ending}", &name[..stem])
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
        // A time of day that ends a row is the first one after a start that has a date.
        let is_end = block.end.as_ref().is_some_and(|end| std::ptr::eq(end, time));
        let dated = block.start.as_ref().is_some_and(|s| !s.read.iter().any(TimeRead::is_clock));
        let clock = time.read.iter().any(TimeRead::is_clock) && !(is_end && dated);
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
        Claim::Total { .. } | Claim::Edge { .. } => None,
    });
    let own: Vec<&Time> = [&block.start, &block.end].into_iter().flatten().chain(claimed).collect();
    let anchors = own.iter().filter_map(|t| t.from.as_deref());
    own.iter().copied().chain(anchors).collect()
}
