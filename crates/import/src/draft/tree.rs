//! From documents of a tree-shaped format to tables: every list of objects is one.

use super::tables::{Cell, Field, Kind, Table, Way, push_name};
use counterpane_formats::{Node, Step};
use std::collections::BTreeMap;

/// Fields of one level that are looked at; what goes beyond it is no export of stages.
const MOST_FIELDS: usize = 200;

/// A row where it stands: the nodes from the root down to it, and its name in a map of rows.
struct Spot<'n> {
    chain: Vec<&'n Node>,
    key: Option<&'n str>,
}

type Spots<'n> = BTreeMap<String, (Vec<Step>, Vec<Spot<'n>>)>;

/// Returns the tables of documents.
pub(super) fn tables(documents: &[Node]) -> Vec<Table> {
    let mut spots = Spots::new();
    for document in documents {
        let mut walk = Walk { spots: &mut spots, steps: Vec::new(), chain: vec![document], key: None };
        walk.row();
        walk.node(document);
    }
    spots.into_values().flat_map(|(steps, spots)| of_spots(&steps, &spots)).collect()
}

struct Walk<'s, 'n> {
    spots: &'s mut Spots<'n>,
    steps: Vec<Step>,
    chain: Vec<&'n Node>,
    key: Option<&'n str>,
}

impl<'n> Walk<'_, 'n> {
    /// Notes that a row stands here.
    fn row(&mut self) {
        let path = super::tables::written(&self.steps, true);
        let (_, spots) = self.spots.entry(path).or_insert_with(|| (self.steps.clone(), Vec::new()));
        spots.push(Spot { chain: self.chain.clone(), key: self.key });
    }

    fn node(&mut self, node: &'n Node) {
        match node {
            Node::List(items) if items.iter().any(|i| matches!(i, Node::Map(_) | Node::List(_))) => {
                items.iter().for_each(|item| self.below(Step::Items, item, None, true));
            }
            Node::Map(members) if is_dictionary(members) => {
                members.iter().for_each(|(name, node)| self.below(Step::Members, node, Some(name), true));
            }
            Node::Map(members) => {
                members.iter().for_each(|(name, node)| self.below(Step::Name(name.clone()), node, None, false));
            }
            _ => {}
        }
    }

    fn below(&mut self, step: Step, node: &'n Node, key: Option<&'n str>, is_row: bool) {
        let above = self.key;
        self.key = key.or(above);
        self.steps.push(step);
        self.chain.push(node);
        if is_row {
            self.row();
        }
        self.node(node);
        self.chain.pop();
        self.steps.pop();
        self.key = above;
    }
}

/// Says whether the names of an object are data: dates or numbers under which rows stand.
fn is_dictionary(members: &[(String, Node)]) -> bool {
    let data = |name: &str| {
        let digits = name.chars().filter(char::is_ascii_digit).count();
        digits > 0 && name.chars().all(|c| c.is_ascii_digit() || matches!(c, '-' | '.' | '/' | ':' | 'T' | ' '))
    };
    let dated = members.iter().all(|(name, node)| data(name) && matches!(node, Node::Map(_) | Node::List(_)));
    (!members.is_empty() && dated) || are_alike(members)
}

/// Says whether three or more objects have the same members, lists of objects among them: their names are ids.
fn are_alike(members: &[(String, Node)]) -> bool {
    let names = |node: &Node| match node {
        Node::Map(inner) => Some(inner.iter().map(|(name, _)| name.clone()).collect::<std::collections::BTreeSet<_>>()),
        _ => None,
    };
    let list = |node: &Node| matches!(node, Node::List(items) if items.iter().any(|i| matches!(i, Node::Map(_))));
    let lists = |node: &Node| matches!(node, Node::Map(inner) if inner.iter().any(|(_, n)| list(n)));
    let first = members.first().and_then(|(_, node)| names(node));
    first.is_some() && members.len() >= 3 && members.iter().all(|(_, node)| names(node) == first && lists(node))
}

fn of_spots(steps: &[Step], spots: &[Spot<'_>]) -> Vec<Table> {
    let leaves = |d: &usize| matches!(steps[*d], Step::Name(_) | Step::Members);
    let levels: Vec<usize> = (0..steps.len()).rev().filter(leaves).collect();
    let way = Way::Tree { steps: steps.to_vec(), levels: levels.clone() };
    let groups = groups(spots);
    let mut fields = Columns::new(spots.len());
    for (n, spot) in spots.iter().enumerate() {
        let Some(row) = spot.chain.last() else { continue };
        fields.take(n, 0, row, None);
        if let (Some(key), Some(Step::Members)) = (spot.key, steps.last()) {
            fields.put(n, 0, "@key", Cell::Text(key.to_owned()));
        }
        for (up, depth) in levels.iter().enumerate() {
            let on_the_way = match &steps[*depth] {
                Step::Name(name) => Some(name.as_str()),
                _ => None,
            };
            if let Some(node) = spot.chain.get(*depth).filter(|_| !matches!(steps[*depth], Step::Members)) {
                fields.take(n, up + 1, node, on_the_way);
            }
            // Rows that stand under a date are reached by the name of the member above them.
            let named = depth.checked_sub(1).is_some_and(|d| matches!(steps[d], Step::Members));
            if let (true, Some(key)) = (named, spot.key) {
                fields.put(n, up + 1, "@key", Cell::Text(key.to_owned()));
            }
        }
    }
    let rows = Table {
        kind: Kind::Rows,
        way: way.clone(),
        fields: fields.done(),
        groups,
        keep: None,
        cell: None,
        stack: None,
    };
    let arrays = arrays(&rows);
    let keyed = keyed(&way, &rows, spots);
    std::iter::once(rows).chain(arrays).chain(keyed).collect()
}

/// Rows of one list belong together.
fn groups(spots: &[Spot<'_>]) -> Vec<usize> {
    let mut seen: Vec<*const Node> = Vec::new();
    let mut out = Vec::new();
    for spot in spots {
        let parent: *const Node = spot.chain.iter().rev().nth(1).map_or(std::ptr::null(), |n| std::ptr::from_ref(*n));
        if seen.last() != Some(&parent) {
            seen.push(parent);
        }
        out.push(seen.len() - 1);
    }
    out
}

/// Columns that grow as rows are met.
struct Columns {
    rows: usize,
    fields: Vec<Field>,
    index: BTreeMap<(usize, String), usize>,
}

impl Columns {
    fn new(rows: usize) -> Columns {
        Columns { rows, fields: Vec::new(), index: BTreeMap::new() }
    }

    fn put(&mut self, row: usize, up: usize, path: &str, cell: Cell) {
        let at = match self.index.get(&(up, path.to_owned())) {
            Some(at) => *at,
            None if self.fields.len() >= MOST_FIELDS => return,
            None => {
                self.index.insert((up, path.to_owned()), self.fields.len());
                let cells = vec![Cell::Absent; self.rows];
                self.fields.push(Field { up, path: path.to_owned(), cells, ..Field::default() });
                self.fields.len() - 1
            }
        };
        self.fields[at].cells[row] = cell;
    }

    /// Takes the values of a node, also those of objects inside it; lists of objects are tables of their own.
    fn take(&mut self, row: usize, up: usize, node: &Node, on_the_way: Option<&str>) {
        let mut found = Vec::new();
        flatten(node, &mut String::new(), on_the_way, &mut found);
        found.into_iter().for_each(|(path, cell)| self.put(row, up, &path, cell));
    }

    /// Returns the columns by level and name, whatever the order in which rows were met.
    fn done(mut self) -> Vec<Field> {
        self.fields.sort_by(|a, b| (a.up, &a.path).cmp(&(b.up, &b.path)));
        self.fields
    }
}

fn flatten(node: &Node, path: &mut String, skip: Option<&str>, out: &mut Vec<(String, Cell)>) {
    let here = || if path.is_empty() { "@".to_owned() } else { path.clone() };
    match node {
        Node::Map(members) => {
            for (name, node) in members.iter().filter(|(name, _)| skip != Some(name.as_str())) {
                let length = path.len();
                push_name(path, name);
                flatten(node, path, None, out);
                path.truncate(length);
            }
        }
        Node::List(items) => match single_values(items) {
            Some(cells) if path.is_empty() => {
                out.extend(cells.into_iter().enumerate().map(|(n, cell)| (format!("[{n}]"), cell)));
            }
            Some(cells) => out.push((here(), Cell::List(cells))),
            None => {}
        },
        single => out.push((here(), cell(single))),
    }
}

fn single_values(items: &[Node]) -> Option<Vec<Cell>> {
    let single = |n: &Node| !matches!(n, Node::Map(_) | Node::List(_));
    items.iter().all(single).then(|| items.iter().map(cell).collect())
}

fn cell(node: &Node) -> Cell {
    match node {
        Node::Null => Cell::Empty,
        Node::Bool(truth) => Cell::Truth(*truth),
        Node::Number(text) => Cell::Number(text.clone()),
        Node::Text(text) if text.is_empty() => Cell::Empty,
        Node::Text(text) => Cell::Text(text.clone()),
        Node::List(_) | Node::Map(_) => Cell::Absent,
    }
}

/// Returns parallel lists as a table: two or more lists of the same length in every row.
fn arrays(rows: &Table) -> Option<Table> {
    let length = |field: &Field, n: usize| match &field.cells[n] {
        Cell::List(cells) => Some(cells.len()),
        _ => None,
    };
    let lists: Vec<&Field> =
        rows.fields.iter().filter(|f| f.up == 0 && (0..rows.rows()).any(|n| length(f, n).is_some())).collect();
    let alike = |a: &Field, b: &Field| (0..rows.rows()).all(|n| length(a, n) == length(b, n));
    let longest = |f: &Field| (0..rows.rows()).filter_map(|n| length(f, n)).max().unwrap_or(0);
    let first =
        lists.iter().max_by_key(|f| lists.iter().filter(|o| alike(f, o)).count() * 1000 + longest(f).min(999))?;
    let chosen: Vec<&str> = lists.iter().filter(|f| alike(first, f)).map(|f| f.path.as_str()).collect();
    if chosen.len() < 2 || longest(first) < 2 {
        return None;
    }
    let counts: Vec<usize> = (0..rows.rows()).map(|n| length(first, n).unwrap_or(0)).collect();
    let spread = |field: &Field| {
        let cell = |(n, cell): (usize, &Cell)| match cell {
            Cell::List(cells) if chosen.contains(&field.path.as_str()) && field.up == 0 => cells.clone(),
            Cell::List(_) => vec![Cell::Absent; counts[n]],
            single => vec![single.clone(); counts[n]],
        };
        Field { cells: field.cells.iter().enumerate().flat_map(cell).collect(), ..field.clone() }
    };
    let groups = counts.iter().enumerate().flat_map(|(n, count)| std::iter::repeat_n(n, *count)).collect();
    Some(Table {
        kind: Kind::Arrays,
        way: rows.way.clone(),
        fields: rows.fields.iter().map(spread).collect(),
        groups,
        keep: None,
        cell: None,
        stack: None,
    })
}

/// Returns maps of lists as tables: the key says what the items of its list are.
fn keyed(way: &Way, rows: &Table, spots: &[Spot<'_>]) -> Vec<Table> {
    let mut paths: Vec<String> = Vec::new();
    for row in spots.iter().filter_map(|s| s.chain.last()) {
        maps_of_lists(row, &mut String::new(), &mut paths);
    }
    paths.sort();
    paths.dedup();
    paths.iter().filter_map(|path| one_keyed(way, rows, spots, path)).collect()
}

fn maps_of_lists(node: &Node, path: &mut String, out: &mut Vec<String>) {
    let Node::Map(members) = node else { return };
    let rows = |node: &Node| matches!(node, Node::List(items) if items.iter().all(|i| matches!(i, Node::Map(_) | Node::List(_))));
    if members.len() > 1 && members.iter().all(|(_, node)| rows(node)) && !is_dictionary(members) {
        out.push(if path.is_empty() { "@".into() } else { path.clone() });
    }
    for (name, node) in members {
        let length = path.len();
        push_name(path, name);
        maps_of_lists(node, path, out);
        path.truncate(length);
    }
}

fn one_keyed(way: &Way, rows: &Table, spots: &[Spot<'_>], path: &str) -> Option<Table> {
    let mut items: Vec<(usize, &str, &Node)> = Vec::new();
    for (n, spot) in spots.iter().enumerate() {
        let Some(Node::Map(members)) = spot.chain.last().and_then(|row| row.get(path)) else { continue };
        for (key, node) in members {
            let Node::List(list) = node else { continue };
            items.extend(list.iter().map(|item| (n, key.as_str(), item)));
        }
    }
    let mut fields = Columns::new(items.len());
    items.iter().enumerate().for_each(|(at, (_, _, item))| fields.take(at, 0, item, None));
    let mut fields = fields.done();
    if fields.is_empty() {
        return None;
    }
    let cells = items.iter().map(|(_, key, _)| Cell::Text((*key).to_owned())).collect();
    fields.push(Field { path: "@key".into(), key: true, cells, ..Field::default() });
    // What stands beside the map is one level above its items.
    for field in rows.fields.iter().filter(|f| !f.path.starts_with(path)) {
        let cells = items.iter().map(|(n, _, _)| field.cells[*n].clone()).collect();
        fields.push(Field { up: field.up + 1, path: field.path.clone(), cells, ..Field::default() });
    }
    let groups = items.iter().map(|(n, _, _)| *n).collect();
    Some(Table {
        kind: Kind::Keyed(path.to_owned()),
        way: way.clone(),
        fields,
        groups,
        keep: None,
        cell: None,
        stack: None,
    })
}
