//! Drafting a definition from a sample: propose, show the evidence, and never guess.
//!
//! A draft is complete but for the meaning of words. What the sample cannot decide stands in it as rivals, with a
//! value that the parser refuses, so that nothing is imported by a guess. The same rows in another order give the
//! same draft, except where times of day have nothing but their order.
//!
//! Deliberately absent: reading by a draft that nobody looked at. [`crate::import`] obeys definitions only.

mod answers;
mod archive;
mod cells;
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
mod joins;
mod kept;
mod layers;
mod lengths;
mod look;
mod markup;
mod merge;
mod nights;
mod open;
mod places;
mod plan;
mod spans;
mod stacked;
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
pub use answers::{Answer, Choice};
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
    /// Answers to what the sample leaves open, each a key and what is chosen.
    pub answers: Vec<Answer>,
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
    /// What is to be chosen there.
    pub choices: Vec<Choice>,
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
    /// An answer is to nothing that is open.
    #[error("`{answer}` answers nothing that the sample leaves open; {known}")]
    NoChoice {
        /// The answer.
        answer: String,
        /// What is open.
        known: String,
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
    /// Files of a folder need more than themselves.
    #[error(
        "the rows of `{files}` need {what}, which a definition reaches inside an archive only: pack the folder as a ZIP and draft from that"
    )]
    NeedsArchive {
        /// The files with the rows.
        files: String,
        /// What they need.
        what: String,
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
    let (sample, chosen) = match sniff(first.name, first.bytes).formats.first() {
        Some(Format::Zip) => best_of(archive::samples(first.name, &archive::unpack(first)?), options)?,
        _ => {
            let mut sample = open::open(first)?;
            for file in rest {
                merge::merge(&mut sample, open::open(file)?)?;
            }
            joins::within(&mut sample);
            let all = search(&mut sample, options);
            let chosen = choose::choose(all, &sample)?;
            (sample, chosen)
        }
    };
    let Chosen { blocks, passed_over } = chosen;
    let (blocks, answers) = one_block(blocks, &options.answers)?;
    let kinds: Vec<(String, String)> =
        blocks.iter().enumerate().map(|(n, b)| ((n + 1).to_string(), of_block(&sample, b))).collect();
    let has = if sample.member.is_some() { parts_of(&sample, &blocks) } else { facts(first, &blocks) };
    let toml = answers::answered(&write::definition(&sample, &blocks, &passed_over, &has, options), &answers)?;
    let open = open_lines(&toml);
    let mut needs: Vec<&'static str> = blocks.iter().flat_map(|b| b.needs.iter().copied()).collect();
    needs.sort_unstable();
    needs.dedup();
    let words: std::collections::BTreeSet<&String> =
        blocks.iter().flat_map(Block::all).flat_map(|b| b.words.keys()).collect();
    let totals: usize = blocks.iter().map(|b| b.totals.len()).sum();
    let tried = if open.is_empty() { try_out::try_out(first, &toml, &blocks[0], &needs, options) } else { None };
    let kept = places::trimmed(if sample.member.is_some() { Format::Zip } else { sample.format }, first.bytes);
    Ok(Draft {
        found: found(&sample, &blocks, &passed_over),
        words: words.len() + totals,
        choices: if kinds.len() > 1 { vec![answers::of_blocks(&toml, kinds)] } else { answers::choices(&toml) },
        toml,
        open,
        needs,
        sample: kept,
        tried,
    })
}

/// Finds the files of a folder that hold the stages, as numbers of `files`; the names are paths below the folder.
///
/// # Errors
/// As [`draft`]; or the rows need another file or the names of their files, which only an archive can say.
pub fn files_with_stages(files: &[SampleFile<'_>], options: &Options) -> Result<Vec<usize>, DraftError> {
    let part = |f: &SampleFile<'_>| archive::Part { name: f.name.to_owned(), bytes: f.bytes.to_vec() };
    let parts: Vec<archive::Part> = files.iter().map(part).collect();
    let (sample, chosen) = best_of(archive::samples("the folder", &parts), options)?;
    let pattern = sample.member.clone().unwrap_or_default();
    let text: String = chosen.blocks.iter().flat_map(Block::all).map(|b| write::block(&sample, b)).collect();
    let joined = parts_of(&sample, &chosen.blocks).into_iter().nth(1);
    let what = match (joined, text.contains("file = \"name\"")) {
        (Some(part), _) => format!("what stands in `{part}`"),
        (None, true) => "the names of their files".to_owned(),
        (None, false) => return Ok((0..files.len()).filter(|n| archive::is_of(&pattern, files[*n].name)).collect()),
    };
    Err(DraftError::NeedsArchive { files: pattern, what })
}

/// Returns the sample of an archive that holds the stages, and what is proposed for it.
fn best_of(samples: Vec<Sample>, options: &Options) -> Result<(Sample, Chosen), DraftError> {
    let mut found: Vec<(Sample, Chosen)> = Vec::new();
    let mut why = Vec::new();
    for mut sample in samples {
        let all = search(&mut sample, options);
        match choose::choose(all, &sample) {
            Ok(chosen) => found.push((sample, chosen)),
            Err(DraftError::NoStages { why: this }) => {
                why.push(format!("`{}`: {this}", sample.member.clone().unwrap_or_default()));
            }
            Err(_) => {}
        }
    }
    let rank = |(_, chosen): &(Sample, Chosen)| {
        chosen.blocks.first().map(|b| (b.rank.known.min(2), b.totals.is_empty(), b.rank))
    };
    found.sort_by_key(|f| std::cmp::Reverse(rank(f)));
    let others = found.iter().skip(1).filter(|(_, c)| c.blocks.iter().any(|b| b.rank.known >= 2));
    let others: Vec<String> =
        others.map(|(s, _)| format!("the members `{}`", s.member.clone().unwrap_or_default())).take(3).collect();
    let Some((sample, mut chosen)) = found.into_iter().next() else {
        let why =
            if why.is_empty() { "no member of the archive can be read as a table".into() } else { why.join("; ") };
        return Err(DraftError::NoStages { why });
    };
    chosen.passed_over.extend(others);
    Ok((sample, chosen))
}

/// Returns the members that an archive of this kind has: those with the rows, and those in which something is looked up.
fn parts_of(sample: &Sample, blocks: &[Block]) -> Vec<String> {
    let mut out: Vec<String> = sample.member.iter().cloned().collect();
    let text = blocks.iter().flat_map(Block::all).map(|b| write::block(sample, b)).collect::<String>();
    let joined = sample.tables.iter().flat_map(|t| &t.fields).filter_map(|f| match &f.via {
        Some(tables::Via::Join { part, .. }) if text.contains(&format!("join = {}", write::quoted(part))) => {
            Some(part.clone())
        }
        _ => None,
    });
    out.extend(joined);
    let mut seen = std::collections::BTreeSet::new();
    out.retain(|part| seen.insert(part.clone()));
    out
}

/// Returns every block that the tables of a sample could be read by; where the rows of a table do not follow each
/// other, also those of some of its rows.
fn search(sample: &mut Sample, options: &Options) -> Vec<Block> {
    let before = sample.tables.len();
    let pieces: Vec<tables::Table> = sample.tables.iter().filter_map(stacked::table).collect();
    sample.tables.extend(pieces);
    let pieces: Vec<Block> =
        candidates(sample, before, options).into_iter().filter(|b| b.rank.close && b.rank.known >= 2).collect();
    if !pieces.is_empty() {
        return pieces;
    }
    sample.tables.truncate(before);
    let mut all = candidates(sample, 0, options);
    let sure = all.iter().any(|b| b.rank.known >= 2);
    let layered = layers::blocks(sample, options);
    if !layered.is_empty() {
        return layered;
    }
    if all.iter().any(|b| b.rank.known >= 2 && b.rank.close) {
        return all;
    }
    let before = sample.tables.len();
    let kinds: Vec<tables::Table> = sample.tables.iter().flat_map(kept::tables).collect();
    sample.tables.extend(kinds);
    let found = candidates(sample, before, options);
    if sure {
        return kept::of_sources(found, sample).map_or(all, |one| vec![one]);
    }
    all.extend(found.into_iter().filter(|b| kept::is_worth(b, &sample.tables[b.table])));
    all
}

/// Returns every block that the tables of a sample, from one of them on, could be read by.
fn candidates(sample: &Sample, from: usize, options: &Options) -> Vec<Block> {
    (from..sample.tables.len()).flat_map(|number| candidates_of(sample, number, options)).collect()
}

fn candidates_of(sample: &Sample, number: usize, options: &Options) -> Vec<Block> {
    let table = &sample.tables[number];
    let columns = columns::columns(table, sample.text.comma);
    let look = Look { sample, number, table, columns: &columns, options };
    let mut out = spans::blocks(&look);
    out.extend(codes::blocks(&look));
    out.extend(totals::block(&look));
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

/// Leaves the block that an answer names, and the answers to the rest.
fn one_block(mut blocks: Vec<Block>, answers: &[Answer]) -> Result<(Vec<Block>, Vec<Answer>), DraftError> {
    let mut rest = Vec::new();
    for (key, answer) in answers {
        match (key.as_str(), answer.parse::<usize>().ok().and_then(|n| n.checked_sub(1))) {
            ("block", Some(n)) if blocks.len() > 1 && n < blocks.len() => blocks = vec![blocks.swap_remove(n)],
            ("block", _) => {
                let known = format!("{} blocks are rivals", blocks.len());
                return Err(DraftError::NoChoice { answer: format!("{key}={answer}"), known });
            }
            _ => rest.push((key.clone(), answer.clone())),
        }
    }
    Ok((blocks, rest))
}

/// Says what the rows of a block are, in one line.
fn of_block(sample: &Sample, block: &Block) -> String {
    let table = &sample.tables[block.table];
    let at = if table.path().is_empty() { String::new() } else { format!(" at {}", table.path()) };
    let word = match &block.stage {
        Some((plan::Origin::At { at, .. }, _)) => format!(", the words in `{}`", at.join(" ")),
        _ => String::new(),
    };
    let kept = table.keep.as_ref().map(|(f, t)| format!(", `{f}` being `{}`", t.join("`, `"))).unwrap_or_default();
    format!("{}{at}, shape `{}`{word}{kept}", wording::rows(table.rows()), block.shape)
}

fn found(sample: &Sample, blocks: &[Block], passed_over: &[String]) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for block in blocks.iter().flat_map(Block::all) {
        let table = &sample.tables[block.table];
        let member = sample.member.as_ref().map(|m| format!(" in {m}")).unwrap_or_default();
        let path = if table.path().is_empty() { member } else { format!("{member} at {}", table.path()) };
        out.push(format!("{}{path}: shape `{}`: {}", wording::rows(table.rows()), block.shape, block.why));
        for time in [&block.start, &block.end].into_iter().flatten() {
            let open = [&time.read, &time.offset].into_iter().flatten().any(Pick::is_open);
            let doubt = if open { ", in more than one way" } else { "" };
            match &time.origin {
                plan::Origin::At { at, .. } => out.push(format!("`{}`: {}{doubt}", at.join("` and `"), time.why)),
                plan::Origin::Via(tables::Via::Join { part, at, .. }) => {
                    out.push(format!("`{at}` of `{part}`: {}{doubt}", time.why));
                }
                _ => {}
            }
        }
    }
    let other = |p: &String| format!("not used: {p}, which hold words for stages too; see the note in the definition");
    out.extend(passed_over.iter().map(other));
    let numbers = sample.tables.iter().filter_map(|t| t.stack.as_ref()?.first()).next();
    numbers.map_or(out.clone(), |first| out.iter().map(|l| l.replace(stacked::NUMBER, first)).collect())
}
