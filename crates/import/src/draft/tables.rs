//! A sample as tables: rows, columns, and the way to each of them.
//!
//! **Invariant.** A table says nothing about meaning. Whatever format a sample has, the profile sees the same
//! thing: columns of cells, and for each column how a definition would reach it.

use super::plan::Origin;
use super::write::quoted;
use counterpane_formats::{Format, Path, Step};
use counterpane_model::Wall;

/// A single value of a sample.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Cell {
    /// The row has no such field.
    Absent,
    /// Null, or an empty text.
    Empty,
    /// True or false.
    Truth(bool),
    /// A number, as written.
    Number(String),
    /// A text.
    Text(String),
    /// A list of single values.
    List(Vec<Cell>),
}

impl Cell {
    /// Returns the text that a definition would compare, or `None` where nothing stands.
    pub(super) fn text(&self) -> Option<&str> {
        match self {
            Cell::Truth(true) => Some("true"),
            Cell::Truth(false) => Some("false"),
            Cell::Number(text) | Cell::Text(text) => Some(text),
            Cell::Absent | Cell::Empty | Cell::List(_) => None,
        }
    }

    /// Returns the text of a word: as [`Cell::text`], and null is a word too.
    pub(super) fn word(&self) -> Option<&str> {
        match self {
            Cell::Empty => Some("null"),
            other => other.text(),
        }
    }
}

/// A column of a table.
#[derive(Clone, Debug, Default)]
pub(super) struct Field {
    /// How many levels above the row it stands.
    pub(super) up: usize,
    /// Its path, as a definition writes it.
    pub(super) path: String,
    /// It is the key of the list that the row stands in (shape `keyed`).
    pub(super) key: bool,
    /// A spreadsheet itself holds its values as times or lengths.
    pub(super) native: bool,
    /// It does not stand in the row, nor above it.
    pub(super) via: Option<Via>,
    /// One cell for each row.
    pub(super) cells: Vec<Cell>,
}

/// Where a value comes from that stands neither in the row nor above it.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Via {
    /// The part of the member's name where the pattern has its `*`; the whole name without one.
    Name(String),
    /// A row of another part, found by a key.
    Join {
        part: String,
        each: Option<String>,
        /// The keys here and there, as a definition writes them.
        on: [String; 2],
        at: String,
    },
}

impl Via {
    /// Returns the keys that say so, as a definition writes them.
    pub(super) fn keys(&self) -> Vec<String> {
        match self {
            Via::Name(whole) if whole.is_empty() => vec![r#"file = "name""#.to_owned()],
            Via::Name(pattern) => vec![r#"file = "name""#.to_owned(), format!("pattern = {}", quoted(pattern))],
            Via::Join { part, each, on: [here, there], at } => {
                let each = each.iter().map(|e| format!("each = {}", quoted(e)));
                let on = format!("on = [{here}, {there}]");
                let join = format!("join = {}", quoted(part));
                [join].into_iter().chain(each).chain([on, format!("at = {}", quoted(at))]).collect()
            }
        }
    }
}

impl Field {
    /// Returns where a definition finds it.
    pub(super) fn origin(&self) -> Origin {
        match &self.via {
            Some(via) => Origin::Via(via.clone()),
            None => Origin::At { at: vec![self.path.clone()], up: self.up },
        }
    }

    /// Returns what a person calls it.
    pub(super) fn name(&self) -> String {
        match &self.via {
            Some(Via::Name(_)) => return "the name of the member".into(),
            Some(Via::Join { part, at, .. }) => return format!("`{at}` of `{part}`"),
            None => {}
        }
        match (self.key, self.up) {
            (true, _) => "the key of each list".into(),
            (false, 0) => format!("`{}`", self.path),
            (false, 1) => format!("`{}` of the row above", self.path),
            (false, up) => format!("`{}` {up} rows above", self.path),
        }
    }
}

/// How the rows of a table come about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A row is a row.
    Rows,
    /// A row is one element of parallel lists.
    Arrays,
    /// A row is an item of a list under a key of this map.
    Keyed(String),
}

/// The way from the file to the rows.
#[derive(Clone, Debug)]
pub(super) enum Way {
    /// Every row of the file.
    Flat,
    /// Every row of a sheet, of which there are several.
    Sheet(String),
    /// Elements of XML, by their path below the root.
    Xml(String),
    /// Steps from the root, and for each level above the row the number of steps that lead to it.
    Tree { steps: Vec<Step>, levels: Vec<usize> },
}

/// A table.
#[derive(Clone, Debug)]
pub(super) struct Table {
    pub(super) kind: Kind,
    pub(super) way: Way,
    pub(super) fields: Vec<Field>,
    /// For each row the list that it stands in: rows of one list belong together.
    pub(super) groups: Vec<usize>,
    /// Only rows in which this field has one of these texts.
    pub(super) keep: Option<(String, Vec<String>)>,
    /// The column whose cells hold the JSON in which its rows stand.
    pub(super) cell: Option<String>,
    /// The numbers of the columns from which its rows were made, where one row of the file holds many.
    pub(super) stack: Option<Vec<String>>,
}

impl Table {
    /// Returns the number of rows.
    pub(super) fn rows(&self) -> usize {
        self.groups.len()
    }

    /// Returns the path of the rows, such as `$.nights[*].pieces[*]`; empty where there is none.
    pub(super) fn path(&self) -> String {
        match &self.way {
            Way::Flat => String::new(),
            Way::Sheet(path) | Way::Xml(path) => path.clone(),
            Way::Tree { steps, .. } => written(steps, true),
        }
    }

    /// Returns `each` and `nest` for fields that stand at most `up` levels above the row.
    pub(super) fn each_and_nest(&self, up: usize) -> (Option<String>, Option<String>) {
        let (steps, levels) = match &self.way {
            Way::Tree { steps, .. } if self.cell.is_some() => {
                return (None, Some(written(steps.get(2..).unwrap_or_default(), false)));
            }
            Way::Tree { steps, levels } => (steps, levels),
            Way::Xml(path) => return (Some(path.clone()), None),
            Way::Flat | Way::Sheet(_) => return (None, None),
        };
        // The items of a keyed list stand one level below the row that holds the map.
        let up = if matches!(self.kind, Kind::Keyed(_)) { up.saturating_sub(1) } else { up };
        match up.checked_sub(1).and_then(|n| levels.get(n)) {
            None => (Some(written(steps, true)), None),
            Some(depth) => (Some(written(&steps[..*depth], true)), Some(written(&steps[*depth..], false))),
        }
    }

    /// Returns the path of a field from the root, as the beginning of a file is searched for it.
    pub(super) fn path_from_root(&self, field: &Field) -> Option<String> {
        if field.via.is_some() || self.cell.is_some() {
            return None;
        }
        let (steps, levels) = match &self.way {
            Way::Tree { steps, levels } => (steps, levels),
            Way::Flat | Way::Sheet(_) => return Some(field.path.clone()),
            Way::Xml(path) => {
                let above: Vec<&str> = path.split('/').collect();
                let kept = above.get(..above.len().checked_sub(field.up)?)?;
                let inner = [kept, &[field.path.as_str()]].concat();
                return Some(inner.join("/"));
            }
        };
        let up = if matches!(self.kind, Kind::Keyed(_)) { field.up.checked_sub(1)? } else { field.up };
        let depth = if up == 0 { steps.len() } else { *levels.get(up - 1)? };
        let base = written(&steps[..depth], true);
        let inner = Path::parse(&field.path).ok()?;
        let inner = written(&inner.steps, false);
        Some(match inner.starts_with('[') || inner.is_empty() {
            true => format!("{base}{inner}"),
            false => format!("{base}.{inner}"),
        })
    }
}

/// A sample, as far as it could be read.
#[derive(Debug)]
pub(super) struct Sample {
    /// Name of the file.
    pub(super) name: String,
    /// Its format.
    pub(super) format: Format,
    /// Its tables, in the order in which they were met.
    pub(super) tables: Vec<Table>,
    /// How its text is written.
    pub(super) text: Written,
    /// The start that an EDF+ header gives.
    pub(super) start: Option<Wall>,
    /// The members of an archive that it is made of, as a path with a `*` where they differ.
    pub(super) member: Option<String>,
}

/// How the text of a sample is written, where it differs from what a definition takes for granted.
#[derive(Clone, Debug, Default)]
pub(super) struct Written {
    pub(super) encoding: Option<String>,
    pub(super) delimiter: Option<char>,
    pub(super) comma: bool,
    pub(super) header: Option<String>,
    pub(super) header_line: Option<u64>,
    pub(super) comment: Option<String>,
}

/// Returns steps as a definition writes them.
pub(super) fn written(steps: &[Step], from_root: bool) -> String {
    let mut out = if from_root { "$".to_owned() } else { String::new() };
    for step in steps {
        match step {
            Step::Name(name) => push_name(&mut out, name),
            Step::Index(index) => out.push_str(&format!("[{index}]")),
            Step::Items => out.push_str("[*]"),
            Step::Members => out.push_str(if out.is_empty() { "[*]" } else { ".*" }),
        }
    }
    out
}

/// Appends a name, quoted where it must be.
pub(super) fn push_name(out: &mut String, name: &str) {
    let plain = name.starts_with(|c: char| c == '_' || c.is_alphabetic())
        && name.chars().all(|c| c == '_' || c.is_alphanumeric());
    if plain {
        if !out.is_empty() {
            out.push('.');
        }
        out.push_str(name);
    } else {
        out.push_str(&format!("['{}']", name.replace('\\', "\\\\").replace('\'', "\\'")));
    }
}
