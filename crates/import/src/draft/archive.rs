//! Archives as samples: members whose names differ in a number or a date are one sample.

use super::open::{limits, open};
use super::tables::{Cell, Field, Sample, Via};
use super::{DraftError, SampleFile, joins, merge};
use counterpane_formats::{Format, member_bytes, members};
use std::collections::BTreeMap;
use std::io::Cursor;

/// Files that are looked at of one kind.
const MOST_OF_A_KIND: usize = 60;
/// Kinds of file that are looked at.
const MOST_KINDS: usize = 40;
/// Bytes that are unpacked of one file.
const LARGEST: u64 = 64 << 20;

/// A file of an archive or of a folder.
pub(super) struct Part {
    pub(super) name: String,
    pub(super) bytes: Vec<u8>,
}

/// Unpacks the files of an archive that may hold something.
pub(super) fn unpack(file: &SampleFile<'_>) -> Result<Vec<Part>, DraftError> {
    let mut kinds: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for member in members(Cursor::new(file.bytes), limits())? {
        let last = member.name.rsplit('/').next().unwrap_or_default();
        let hidden = last.starts_with('.') || member.name.starts_with("__MACOSX/");
        if !hidden && member.bytes > 0 && member.bytes <= LARGEST {
            kinds.entry(kind(&member.name)).or_default().push(member.name);
        }
    }
    let mut out = Vec::new();
    for names in kinds.into_values().take(MOST_KINDS) {
        for name in names.into_iter().take(MOST_OF_A_KIND) {
            let bytes = member_bytes(Cursor::new(file.bytes), &name, counterpane_formats::Limits::default())?;
            out.push(Part { name, bytes });
        }
    }
    Ok(out)
}

/// Returns the samples of an archive, one for each kind of file, with what they can look up in each other.
pub(super) fn samples(archive: &str, parts: &[Part]) -> Vec<Sample> {
    let mut kinds: BTreeMap<String, Vec<&Part>> = BTreeMap::new();
    for part in parts {
        kinds.entry(kind(&part.name)).or_default().push(part);
    }
    let mut out: Vec<Sample> = kinds.into_values().filter_map(|parts| of_kind(archive, &parts)).collect();
    joins::between(&mut out);
    out
}

/// Returns a name with a `*` for every part that holds a digit and may differ.
fn kind(name: &str) -> String {
    let part = |part: &str| {
        let digit = |c: char| c.is_ascii_digit();
        match (part.find(digit), part.rfind(digit)) {
            (Some(first), Some(last)) => format!("{}*{}", &part[..first], &part[last + 1..]),
            _ => part.to_owned(),
        }
    };
    name.split('/').map(part).collect::<Vec<_>>().join("/")
}

/// Returns the path that names of one kind share: `*` stands only where they differ.
fn shared(kind: &str, names: &[&str]) -> String {
    let at = |name: &str, n: usize| name.split('/').nth(n).unwrap_or_default().to_owned();
    let part = |(n, part): (usize, &str)| {
        let first = at(names.first().copied().unwrap_or_default(), n);
        if names.iter().all(|name| at(name, n) == first) && names.len() > 1 { first } else { part.to_owned() }
    };
    kind.split('/').enumerate().map(part).collect::<Vec<_>>().join("/")
}

/// Says whether a file is one of those that a path with `*` means.
pub(super) fn is_of(pattern: &str, name: &str) -> bool {
    let (kind, mine) = (kind(pattern), kind(name));
    pattern == name
        || (mine == kind && pattern.contains('*'))
        || shared(&mine, &[name, name]) == pattern
        || mine == pattern
}

fn of_kind(archive: &str, parts: &[&Part]) -> Option<Sample> {
    let names: Vec<&str> = parts.iter().map(|p| p.name.as_str()).collect();
    let pattern = match names.as_slice() {
        // A file alone is named as it is, but for a date or a number of its night.
        [one] if !kind(one).contains('*') => (*one).to_owned(),
        _ => shared(&kind(names.first()?), &names),
    };
    let mut all: Option<Sample> = None;
    for part in parts {
        let Ok(mut sample) = open(&SampleFile { name: &part.name, bytes: &part.bytes }) else { continue };
        if sample.format == Format::Zip {
            continue;
        }
        named(&mut sample, &part.name, &pattern);
        match &mut all {
            None => all = Some(sample),
            Some(all) => merge::merge(all, sample).unwrap_or_default(),
        }
    }
    let mut all = all?;
    all.name = archive.to_owned();
    all.member = Some(pattern);
    Some(all)
}

/// Adds what stands in the name of a member to each of its rows: what differs, the name without its ending, and more of
/// it, for an index may hold any of them.
fn named(sample: &mut Sample, name: &str, pattern: &str) {
    let folder = pattern.rfind('/').map_or("", |at| &pattern[..=at]);
    let ending = pattern.rfind('.').map_or("", |at| &pattern[at..]);
    let mut patterns = vec![pattern.to_owned(), format!("{folder}*{ending}"), format!("{folder}*"), String::new()];
    patterns.retain(|p| p.is_empty() || p.matches('*').count() == 1);
    patterns.dedup();
    for pattern in patterns {
        let part = match pattern.split_once('*') {
            Some((before, after)) => name.strip_prefix(before).and_then(|n| n.strip_suffix(after)),
            None => Some(name),
        };
        let Some(text) = part else { continue };
        for table in &mut sample.tables {
            let cells = vec![Cell::Text(text.to_owned()); table.rows()];
            let via = Some(Via::Name(pattern.clone()));
            table.fields.push(Field { up: 1, path: format!("(name {pattern})"), via, cells, ..Field::default() });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn members_that_differ_in_a_date_are_of_one_kind() {
        assert_eq!(kind("v2/days/2026-03-10.csv"), "v*/days/*.csv");
        assert_eq!(shared("v*/days/*.csv", &["v2/days/2026-03-10.csv", "v2/days/2026-03-11.csv"]), "v2/days/*.csv");
        assert_eq!(kind("stages.csv"), "stages.csv");
    }
}
