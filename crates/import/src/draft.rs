//! Drafting a definition from a sample: propose, show the evidence, and never guess.
//!
//! A draft is complete but for the meaning of words. What the sample cannot decide stands in it as rivals, with a
//! value that the parser refuses, so that nothing is imported by a guess. The same rows in another order give the
//! same draft, except where times of day have nothing but their order.
//!
//! Deliberately absent: reading by a draft that nobody looked at. [`crate::import`] obeys definitions only.

mod changes;
mod choose;
mod codes;
mod columns;
#[cfg(test)]
mod corpus;
mod elapsed;
mod epochs;
mod fit;
mod intervals;
mod kept;
mod lengths;
mod look;
mod markup;
mod merge;
mod nights;
mod open;
mod places;
mod plan;
mod spans;
mod stretches;
mod tables;
mod times;
mod timing;
mod totals;
mod tree;
mod try_out;
mod wording;
mod words;
mod workbook;
mod write;
mod zones;

use crate::definition::Definition;
use choose::Chosen;
use counterpane_formats::sniff::{sniff, sniff_file};
use counterpane_formats::{Format, FormatError};
use look::Look;
use plan::{Block, Pick};
use tables::Sample;
pub use try_out::Tried;

/// A file to draft from.
#[derive(Clone, Copy, Debug)]
pub struct SampleFile<'a> {
    /// Its name, without folders.
    pub name: &'a str,
    /// Its bytes.
    pub bytes: &'a [u8],
}

/// What the reviewer says beforehand.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// Id of the definition.
    pub id: String,
    /// Wall times without a zone are in the zone of their night.
    pub zone_of_night: bool,
}

/// A drafted definition.
#[derive(Clone, Debug)]
pub struct Draft {
    /// The text of `importer.toml`.
    pub toml: String,
    /// What was found, each a sentence without a full stop.
    pub found: Vec<String>,
    /// Lines of the text, from 1, at which something must be chosen before anything is imported.
    pub open: Vec<u64>,
    /// Words and totals whose meaning is to be written.
    pub words: usize,
    /// Options of the command line that an import will need.
    pub needs: Vec<&'static str>,
    /// A sample small enough to be kept beside the definition, if the file could be cut.
    pub sample: Option<Vec<u8>>,
    /// What the sample gives, where nothing is open.
    pub tried: Option<Tried>,
}

/// Why nothing could be drafted.
#[derive(Debug, thiserror::Error)]
pub enum DraftError {
    /// It is no recording at all.
    #[error("there is nothing to draft from: the file is {found}")]
    NoRecording {
        /// What it is instead.
        found: String,
    },
    /// The format is known and cannot be drafted from.
    #[error("a definition for {format} cannot be drafted yet; {instead}")]
    Later {
        /// The format, with its article.
        format: &'static str,
        /// What to do instead.
        instead: &'static str,
    },
    /// The table has no names.
    #[error(
        "the table has no header: its first line, `{line}`, holds the value `{value}`; put a line with the names of the columns above it"
    )]
    NoHeader {
        /// A value where a name should stand.
        value: String,
        /// The line.
        line: String,
    },
    /// There is no row.
    #[error("there is nothing to draft from: {why}")]
    NoRows {
        /// Why not.
        why: String,
    },
    /// Nothing looks like stages.
    #[error(
        "nothing in the file looks like stages of sleep: {why}. Write the definition by hand (docs/definitions.md) if they are there all the same"
    )]
    NoStages {
        /// What was looked at, and what is missing.
        why: String,
    },
    /// Two samples are of different kinds.
    #[error("`{one}` and `{other}` are files of different kinds; draft from each on its own")]
    TwoKinds {
        /// Name of one.
        one: String,
        /// Name of the other.
        other: String,
    },
    /// The file cannot be read.
    #[error(transparent)]
    Format(#[from] FormatError),
}

/// Drafts a definition from one or more files of one kind.
///
/// # Errors
/// See [`DraftError`]: the files cannot be read, or nothing in them looks like stages.
pub fn draft(files: &[SampleFile<'_>], options: &Options) -> Result<Draft, DraftError> {
    let Some((first, rest)) = files.split_first() else {
        return Err(DraftError::NoRows { why: "no file was given".into() });
    };
    let mut sample = open::open(first)?;
    for file in rest {
        merge::merge(&mut sample, open::open(file)?)?;
    }
    let mut all = candidates(&sample, 0, options);
    if all.iter().all(|b| b.rank.known < 2) {
        let before = sample.tables.len();
        let kinds: Vec<tables::Table> = sample.tables.iter().flat_map(kept::tables).collect();
        sample.tables.extend(kinds);
        let found = candidates(&sample, before, options);
        all.extend(found.into_iter().filter(|b| kept::is_worth(b, &sample.tables[b.table])));
    }
    let Chosen { blocks, passed_over } = choose::choose(all, &sample)?;
    let has = facts(first, &blocks);
    let toml = write::definition(&sample, &blocks, &passed_over, &has, options);
    let open = open_lines(&toml);
    let mut needs: Vec<&'static str> = blocks.iter().flat_map(|b| b.needs.iter().copied()).collect();
    needs.sort_unstable();
    needs.dedup();
    let words: std::collections::BTreeSet<&String> = blocks.iter().flat_map(|b| b.words.keys()).collect();
    let totals: usize = blocks.iter().map(|b| b.totals.len()).sum();
    let tried = if open.is_empty() { try_out::try_out(first, &toml, &blocks[0], &needs, options) } else { None };
    let kept = places::trimmed(sample.format, first.bytes);
    Ok(Draft {
        found: found(&sample, &blocks, &passed_over),
        words: words.len() + totals,
        toml,
        open,
        needs,
        sample: kept,
        tried,
    })
}

/// Returns every block that the tables of a sample, from one of them on, could be read by.
fn candidates(sample: &Sample, from: usize, options: &Options) -> Vec<Block> {
    let mut out = Vec::new();
    for (number, table) in sample.tables.iter().enumerate().skip(from) {
        let columns = columns::columns(table, sample.text.comma);
        let look = Look { sample, number, table, columns: &columns, options };
        out.extend(spans::blocks(&look));
        out.extend(codes::blocks(&look));
        out.extend(totals::block(&look));
    }
    out
}

/// Returns the facts by which a file of this kind is known: those that its beginning shows.
fn facts(file: &SampleFile<'_>, blocks: &[Block]) -> Vec<String> {
    let head = file.bytes.get(..counterpane_formats::sniff::HEAD).unwrap_or(file.bytes);
    let whole = sniff_file(file.name, std::io::Cursor::new(file.bytes), open::limits());
    let look = whole.unwrap_or_else(|_| sniff(file.name, head));
    let mut has: Vec<String> = blocks.first().map(|b| b.has.clone()).unwrap_or_default();
    has.retain(|h| look.has(h));
    has.sort();
    has.dedup();
    if has.is_empty() && look.formats.first() == Some(&Format::Json) {
        has.extend(look.paths.iter().filter(|p| p.matches(['.', '[']).count() == 1).take(3).cloned());
    }
    has
}

/// Returns the lines at which a draft must be completed before it is a definition.
fn open_lines(toml: &str) -> Vec<u64> {
    match Definition::parse("draft", toml) {
        Ok(_) => Vec::new(),
        Err(errors) => {
            let line = |at: usize| toml[..at.min(toml.len())].matches('\n').count() as u64 + 1;
            let mut lines: Vec<u64> = errors.problems.iter().map(|p| line(p.span.start)).collect();
            lines.sort_unstable();
            lines.dedup();
            lines
        }
    }
}

fn found(sample: &Sample, blocks: &[Block], passed_over: &[String]) -> Vec<String> {
    let mut out = Vec::new();
    for block in blocks {
        let table = &sample.tables[block.table];
        let path = if table.path().is_empty() { String::new() } else { format!(" at {}", table.path()) };
        out.push(format!("{}{path}: shape `{}`: {}", wording::rows(table.rows()), block.shape, block.why));
        for time in [&block.start, &block.end].into_iter().flatten() {
            let open = [&time.read, &time.offset].into_iter().flatten().any(Pick::is_open);
            let doubt = if open { ", in more than one way" } else { "" };
            if let plan::Origin::At { at, .. } = &time.origin {
                out.push(format!("`{}`: {}{doubt}", at.join("` and `"), time.why));
            }
        }
    }
    let other = |p: &String| format!("not used: {p}, which hold words for stages too; see the note in the definition");
    out.extend(passed_over.iter().map(other));
    out
}
