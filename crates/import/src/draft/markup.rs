//! XML as tables: every kind of element is one, with its attributes, its children and what stands around it.

use super::open::{cell_of, encoding, limits, rows};
use super::tables::{Cell, Field, Kind, Sample, Table, Way, Written};
use super::{DraftError, SampleFile};
use counterpane_formats::sniff::sniff;
use counterpane_formats::{Format, Request, TextOptions, Want};
use std::collections::BTreeSet;

/// Kinds of element that are looked at.
const MOST_KINDS: usize = 60;

/// Reads an XML file as a sample.
pub(super) fn open(file: &SampleFile<'_>) -> Result<Sample, DraftError> {
    let look = sniff(file.name, file.bytes);
    let text = Written { encoding: encoding(file, &look), ..Written::default() };
    let mut tables = Vec::new();
    for (path, fields) in kinds(&look.paths).into_iter().take(MOST_KINDS) {
        if let Some(table) = table(file, &path, fields, &text)? {
            tables.push(table);
        }
    }
    if tables.is_empty() {
        return Err(DraftError::NoRows {
            why: "no element of the XML has attributes or children that hold values".into(),
        });
    }
    Ok(Sample { name: file.name.to_owned(), format: Format::Xml, tables, text, start: None, member: None })
}

/// Returns the paths of elements that may be rows, each with the fields that it and the elements around it have.
fn kinds(paths: &BTreeSet<String>) -> Vec<(String, Vec<Want>)> {
    let elements: Vec<&String> = paths.iter().filter(|p| !p.contains('@')).collect();
    let mut out = Vec::new();
    for path in &elements {
        let mut wants = own(paths, path);
        let mut above = path.as_str();
        let mut up = 0;
        while let Some((parent, last)) =
            above.rsplit_once('/').or(if above.is_empty() { None } else { Some(("", above)) })
        {
            up += 1;
            let beside =
                own(paths, parent).into_iter().filter(|w| w.path != last && !w.path.starts_with(&format!("{last}/")));
            wants.extend(beside.map(|w| Want { up, ..w }));
            above = parent;
        }
        if wants.iter().filter(|w| w.up == 0).count() > 1 {
            out.push(((*path).clone(), wants));
        }
    }
    out.extend(siblings(paths, &elements));
    out
}

/// Returns the attributes of an element, and its children that hold nothing but a text.
fn own(paths: &BTreeSet<String>, path: &str) -> Vec<Want> {
    let inside = if path.is_empty() { String::new() } else { format!("{path}/") };
    let below = |p: &&String| p.starts_with(&inside);
    let mut out = Vec::new();
    for rest in paths.iter().filter(below).map(|p| &p[inside.len()..]) {
        let leaf = |name: &str| !paths.iter().any(|p| p.starts_with(&format!("{inside}{name}/")) && !p.contains('@'));
        let field = match rest.split_once('/') {
            None => rest.starts_with('@') || leaf(rest),
            Some((name, inner)) => inner.starts_with('@') && leaf(name),
        };
        if field && !rest.is_empty() {
            out.push(Want { up: 0, path: rest.to_owned() });
        }
    }
    if !path.is_empty()
        && paths.contains(path)
        && !paths.iter().any(|p| p.starts_with(&inside) && !p[inside.len()..].starts_with('@'))
    {
        out.push(Want { up: 0, path: ".".into() });
    }
    out
}

/// Elements with different names and the same attributes, side by side: the name may be the word.
fn siblings(paths: &BTreeSet<String>, elements: &[&String]) -> Vec<(String, Vec<Want>)> {
    let parent = |p: &str| p.rsplit_once('/').map_or(String::new(), |(parent, _)| parent.to_owned());
    let parents: BTreeSet<String> = elements.iter().map(|p| parent(p)).collect();
    let mut out = Vec::new();
    for above in parents {
        let children: Vec<&&String> = elements.iter().filter(|p| parent(p) == above).collect();
        let attributes = |p: &str| own(paths, p).into_iter().filter(|w| w.path != ".").collect::<Vec<_>>();
        let first = children.first().map(|p| attributes(p)).unwrap_or_default();
        if children.len() > 1 && !first.is_empty() && children.iter().all(|p| attributes(p) == first) {
            let path = if above.is_empty() { "*".to_owned() } else { format!("{above}/*") };
            let mut wants = first;
            wants.push(Want { up: 0, path: "name()".into() });
            if !above.is_empty() {
                let beside = own(paths, &above).into_iter().filter(|w| w.path.starts_with('@'));
                wants.extend(beside.map(|w| Want { up: 1, ..w }));
            }
            out.push((path, wants));
        }
    }
    out
}

fn table(file: &SampleFile<'_>, path: &str, wants: Vec<Want>, text: &Written) -> Result<Option<Table>, DraftError> {
    let options = TextOptions { encoding: text.encoding.clone(), ..TextOptions::default() };
    let field = |w: &Want| Field { up: w.up, path: w.path.clone(), ..Field::default() };
    let mut fields: Vec<Field> = wants.iter().map(field).collect();
    let request = Request { each: path.to_owned(), wants, text: options, limits: limits(), ..Request::default() };
    let read = rows(Format::Xml, file, &request, &mut |row| {
        fields.iter_mut().enumerate().for_each(|(n, f)| f.cells.push(row.value(n).map_or(Cell::Absent, cell_of)));
    });
    match read {
        // A kind of element of which none can be read as a row is no table.
        Err(DraftError::NoRows { .. }) => return Ok(None),
        other => other?,
    };
    let groups = groups(&fields);
    fields.retain(|f| f.cells.iter().any(|c| !matches!(c, Cell::Absent | Cell::Empty)));
    Ok(Some(Table {
        kind: Kind::Rows,
        way: Way::Xml(path.to_owned()),
        fields,
        groups,
        keep: None,
        cell: None,
        stack: None,
    }))
}

/// Rows around which the same values stand belong together.
fn groups(fields: &[Field]) -> Vec<usize> {
    let rows = fields.first().map_or(0, |f| f.cells.len());
    let above: Vec<&Field> = fields.iter().filter(|f| f.up == 1).collect();
    let mut seen: Vec<Vec<Option<&str>>> = Vec::new();
    let key = |n: usize| above.iter().map(|f| f.cells[n].text()).collect::<Vec<_>>();
    (0..rows)
        .map(|n| {
            let key = key(n);
            seen.iter().position(|k| *k == key).unwrap_or_else(|| {
                seen.push(key);
                seen.len() - 1
            })
        })
        .collect()
}
