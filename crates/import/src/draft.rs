//! Drafting a definition from a sample: propose, show the evidence, and never guess.
//!
//! A draft is complete but for the meaning of words. What the sample cannot decide stands in it as rivals, with a
//! value that the parser refuses, so that nothing is imported by a guess. The same rows in another order give the
//! same draft, except where times of day have nothing but their order.
//!
//! Deliberately absent: reading by a draft that nobody looked at. [`crate::import`] obeys definitions only.

mod changes;
mod codes;
mod columns;
#[cfg(test)]
mod corpus;
mod elapsed;
mod fit;
mod intervals;
mod lengths;
mod look;
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
mod write;
mod zones;

use crate::definition::Definition;
use counterpane_formats::sniff::sniff;
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
    let blocks = chosen(candidates(&sample, options), &sample)?;
    let has = facts(first, &blocks);
    let toml = write::definition(&sample, &blocks, &has, options);
    let open = open_lines(&toml);
    let mut needs: Vec<&'static str> = blocks.iter().flat_map(|b| b.needs.iter().copied()).collect();
    needs.sort_unstable();
    needs.dedup();
    let words: std::collections::BTreeSet<&String> = blocks.iter().flat_map(|b| b.words.keys()).collect();
    let totals: usize = blocks.iter().map(|b| b.totals.len()).sum();
    let tried = if open.is_empty() { try_out::try_out(first, &toml, &blocks[0], &needs, options) } else { None };
    let kept = places::trimmed(sample.format, first.bytes);
    Ok(Draft { found: found(&sample, &blocks), words: words.len() + totals, toml, open, needs, sample: kept, tried })
}

/// Returns every block that the sample could be read by.
fn candidates(sample: &Sample, options: &Options) -> Vec<Block> {
    let mut out = Vec::new();
    for (number, table) in sample.tables.iter().enumerate() {
        let columns = columns::columns(table, sample.text.comma);
        let look = Look { sample, number, table, columns: &columns, options };
        out.extend(spans::blocks(&look));
        out.extend(codes::blocks(&look));
        out.extend(totals::block(&look));
    }
    out
}

/// Returns the best block, or the rivals that nothing tells apart.
fn chosen(mut all: Vec<Block>, sample: &Sample) -> Result<Vec<Block>, DraftError> {
    if all.is_empty() {
        return Err(DraftError::NoStages { why: nothing(sample) });
    }
    // Totals are of use only where there are no times of stages.
    if all.iter().any(|b| b.totals.is_empty() && (b.rank.known > 0 || b.rank.close))
        || all.iter().all(|b| b.totals.is_empty())
    {
        all.retain(|b| b.totals.is_empty());
    } else {
        all.retain(|b| !b.totals.is_empty());
    }
    all.sort_by_key(|b| std::cmp::Reverse(b.rank));
    let best = all[0].rank;
    let rivals = |b: &Block| if best.known >= 2 { b.rank.known >= 2 } else { b.rank.close == best.close };
    all.retain(rivals);
    // A column among hundreds of epochs, or a summary of a few rows, is no rival of the rows themselves.
    let most = all[0].rank.rows;
    all.retain(|b| b.rank.rows * 10 >= most);
    let first = all.remove(0);
    let mut out = vec![first];
    for other in all {
        let same = |b: &Block| says_the_same(b, &other, sample);
        if !out.iter().any(same) && out.len() < 4 {
            out.push(other);
        }
    }
    Ok(out)
}

/// Says whether a block adds nothing to a better one: the same words of the same rows, in another shape or
/// with another name.
fn says_the_same(better: &Block, other: &Block, sample: &Sample) -> bool {
    let (a, b) = (&sample.tables[better.table], &sample.tables[other.table]);
    let label = |block: &Block| {
        block
            .stage
            .as_ref()
            .map(|(origin, _)| origin.clone())
            .or_else(|| block.codes.as_ref().and_then(|c| c.at.clone().ok()))
    };
    if better.table == other.table && label(better) == label(other) {
        return true;
    }
    if better.table == other.table && better.rank.known > other.rank.known && other.rank.known == 0 {
        return true;
    }
    // One says in numbers what the other says in words.
    let field = |block: &Block| match label(block) {
        Some(plan::Origin::At { at, .. }) => {
            sample.tables[block.table].fields.iter().find(|f| f.up == 0 && Some(&f.path) == at.first())
        }
        _ => None,
    };
    match (field(better), field(other)) {
        (Some(x), Some(y)) if better.table == other.table => {
            let of = |path: &str| words::labels(a).into_iter().find(|l| a.fields[l.field].path == path);
            matches!((of(&x.path), of(&y.path)), (Some(x), Some(y)) if words::same_in_other_words(a, &x, &y) && words::same_in_other_words(b, &y, &x))
        }
        _ => false,
    }
}

fn nothing(sample: &Sample) -> String {
    let tables: Vec<String> = sample
        .tables
        .iter()
        .filter(|t| t.rows() > 0 && !t.fields.is_empty())
        .take(4)
        .map(|t| {
            let names: Vec<String> =
                t.fields.iter().filter(|f| f.up == 0).take(6).map(|f| format!("`{}`", f.path)).collect();
            let path = if t.path().is_empty() { String::new() } else { format!("{}: ", t.path()) };
            format!("{path}{} with {}", wording::rows(t.rows()), names.join(", "))
        })
        .collect();
    let back = sample.tables.iter().find_map(|t| columns::goes_back(t, sample.text.comma));
    if let Some(name) = back {
        return format!(
            "the times of day in {name} go back more than once, so the rows are of several nights, and no date says which; make one file for each night"
        );
    }
    format!("it holds {}; no column of words or codes stands beside a time, and no totals add up", tables.join("; "))
}

/// Returns the facts by which a file of this kind is known: those that its beginning shows.
fn facts(file: &SampleFile<'_>, blocks: &[Block]) -> Vec<String> {
    let look = sniff(file.name, file.bytes.get(..counterpane_formats::sniff::HEAD).unwrap_or(file.bytes));
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

fn found(sample: &Sample, blocks: &[Block]) -> Vec<String> {
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
    out
}
