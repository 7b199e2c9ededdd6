//! JSON inside the cells of a table: its lists are tables whose rows have the row of the cell above them.

use super::tables::{Cell, Field, Kind, Table, Way};
use super::{places, tree};
use counterpane_formats::{Node, Step};

/// Returns the tables inside the cells of a table.
pub(super) fn tables(table: &Table) -> Vec<Table> {
    table
        .fields
        .iter()
        .filter_map(|field| Some((field, documents(field)?)))
        .flat_map(|(f, d)| of_field(table, f, d))
        .collect()
}

/// Returns the JSON of a column, of which every cell holds an object or a list.
fn documents(field: &Field) -> Option<Vec<Node>> {
    let node = |cell: &Cell| match cell {
        Cell::Text(text) => {
            let value: serde_json::Value = serde_json::from_str(text).ok()?;
            (value.is_object() || value.is_array()).then(|| places::node_of(&value))
        }
        Cell::Absent | Cell::Empty => Some(Node::Null),
        _ => None,
    };
    let nodes: Option<Vec<Node>> = field.cells.iter().map(node).collect();
    nodes.filter(|all| all.iter().any(|n| !matches!(n, Node::Null)))
}

fn of_field(table: &Table, field: &Field, documents: Vec<Node>) -> Vec<Table> {
    let single = |cell: &Cell| cell.text().map_or(Node::Null, |t| Node::Text(t.to_owned()));
    let row = |(n, document): (usize, Node)| {
        let others = table.fields.iter().filter(|f| f.path != field.path);
        let mut members: Vec<(String, Node)> = others.map(|f| (f.path.clone(), single(&f.cells[n]))).collect();
        members.push((field.path.clone(), document));
        Node::Map(members)
    };
    let root = Node::List(documents.into_iter().enumerate().map(row).collect());
    let found = tree::tables(std::slice::from_ref(&root)).into_iter().filter(|t| t.kind == Kind::Rows);
    found.filter_map(|t| inside(t, &field.path)).collect()
}

/// Returns a table that stands inside the cells of a column.
fn inside(mut table: Table, column: &str) -> Option<Table> {
    let Way::Tree { steps, levels } = &table.way else { return None };
    let within = matches!(steps.get(1), Some(Step::Name(name)) if name == column);
    if !within || !matches!(steps.last(), Some(Step::Items)) || steps.len() < 3 {
        return None;
    }
    let of_row = levels.len();
    let brackets = steps[2..].iter().filter(|s| matches!(s, Step::Items)).count();
    table.fields.iter_mut().filter(|f| f.up == of_row).for_each(|f| f.up = brackets + 1);
    table.cell = Some(column.to_owned());
    Some(table)
}
