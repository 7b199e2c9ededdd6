//! The built binary as a person uses it.
#![expect(clippy::unwrap_used, clippy::panic, clippy::print_stdout, reason = "a test may panic and print")]

/// `agree`: two label files.
mod agree;
/// Files that are not what they should be.
mod bad_input;
/// Files beside a file, which its definition reads with it.
mod beside;
/// What identifies a person, blanked on the way in.
mod blank;
/// What the checks find, and how one finding is accepted.
mod checks;
/// What is noted, left out, corrected, preferred and taken back.
mod decisions;
/// `definition test`: goldens and the suite that every definition must pass.
mod definition;
/// The demo study, and every command on it.
mod demo;
/// Differences of whole-night measures over nights.
mod deviations;
/// Diaries: notes and nothing else.
mod diary;
/// `definition draft`: from a file that nobody described to a night of the store.
mod draft;
/// Wakes as events, and what devices are measured against.
mod events;
/// Where differences in minutes come from.
mod explained;
/// Filters of definitions, which run in a process of their own.
mod filter;
/// Devices by groups of their nights.
mod groups;
/// Imports: sources, nights, zones, the same file twice, another definition.
mod import;
/// Intervals: within a night, over people, between devices.
mod intervals;
/// Limits of the readers.
mod limits;
/// `lineage`: from a cell of the matrix to the lines of the originals.
mod lineage;
/// `load`: many files at once.
mod load;
/// A methods text for an article.
mod methods;
/// Pictures that sheets were read from, kept with them.
mod pictures;
/// `plan`: how many people and nights a study needs.
mod plan;
/// What is laid down beforehand, and what results are worth by it.
mod protocol;
/// Which definition reads a file, and whose it is, when nobody says so.
mod recognise;
/// JSON answers against their schemas.
mod schemas;
/// Several scorers of one night: one of them, their majority, and each beside the other.
mod scorers;
/// `sheet new`: blank sheets, and filled ones on their way in.
mod sheets;
/// `new`, `study.toml` and where a study is looked for.
mod study;
/// `sheet trace`: what the page knows, and where it may be written.
mod trace;
/// Travel, old rules, clocks that change, naps, years that cannot be.
mod travel;
/// What must never be lost, bent or computed on stale facts.
mod trust;
/// Headlines with one choice undone at a time.
mod what_if;
/// Sheets as workbooks, in the hands of other programs.
mod workbooks;

#[path = "../common/mod.rs"]
mod common;
