//! One row for each night with columns for each piece, such as `from1`, `to1`, `stage1`, `from2`: seen as rows of pieces.
//!
//! A definition says it with one block of rows for each number.

use super::tables::{Cell, Field, Kind, Table, Way};
use std::collections::BTreeMap;

/// What stands for the number in the name of a column.
pub(super) const NUMBER: &str = "\u{2039}n\u{203a}";
/// Pieces of which blocks are written.
const MOST: usize = 200;

/// Returns the pieces of each row as a table, where columns of several kinds are numbered alike.
pub(super) fn table(table: &Table) -> Option<Table> {
    if table.kind != Kind::Rows || matches!(table.way, Way::Xml(_)) || table.stack.is_some() {
        return None;
    }
    let mut families: BTreeMap<String, BTreeMap<u32, (String, usize)>> = BTreeMap::new();
    for (n, field) in table.fields.iter().enumerate().filter(|(_, f)| f.up == 0 && !f.key && f.via.is_none()) {
        if let Some((name, digits)) = numbered(&field.path) {
            families.entry(name).or_default().insert(digits.parse().ok()?, (digits, n));
        }
    }
    let numbers = |f: &BTreeMap<u32, (String, usize)>| f.keys().copied().collect::<Vec<_>>();
    let most = families.values().map(numbers).max_by_key(Vec::len)?;
    families.retain(|_, f| numbers(f) == most);
    if families.len() < 2 || most.len() < 3 || most.len() > MOST {
        return None;
    }
    let of = |digits: u32| families.values().filter_map(move |f| f.get(&digits)).map(|(_, n)| *n);
    // A night with fewer pieces leaves the last ones empty.
    let filled = |row: usize, number: u32| of(number).any(|n| table.fields[n].cells[row].text().is_some());
    let places: Vec<(usize, u32)> =
        (0..table.rows()).flat_map(|row| most.iter().map(move |n| (row, *n))).filter(|(r, n)| filled(*r, *n)).collect();
    let is_family = |n: usize| families.values().any(|f| f.values().any(|(_, of)| *of == n));
    let mut fields: Vec<Field> = Vec::new();
    for (name, family) in &families {
        let cell =
            |(row, n): &(usize, u32)| family.get(n).map_or(Cell::Absent, |(_, f)| table.fields[*f].cells[*row].clone());
        let native = family.values().all(|(_, f)| table.fields[*f].native);
        fields.push(Field { path: name.clone(), native, cells: places.iter().map(cell).collect(), ..Field::default() });
    }
    for (_, field) in table.fields.iter().enumerate().filter(|(n, _)| !is_family(*n)) {
        fields
            .push(Field { cells: places.iter().map(|(row, _)| field.cells[*row].clone()).collect(), ..field.clone() });
    }
    let digits = families.values().next()?.values().map(|(digits, _)| digits.clone()).collect();
    Some(Table { fields, groups: places.iter().map(|(row, _)| *row).collect(), stack: Some(digits), ..table.clone() })
}

/// Returns a name with a mark in place of its number, and the number.
fn numbered(name: &str) -> Option<(String, String)> {
    let first = name.find(|c: char| c.is_ascii_digit())?;
    let digits: String = name[first..].chars().take_while(char::is_ascii_digit).collect();
    let rest = &name[first + digits.len()..];
    let one = !rest.contains(|c: char| c.is_ascii_digit()) && digits.len() <= 4 && !name.starts_with('#');
    one.then(|| (format!("{}{NUMBER}{rest}", &name[..first]), digits))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_in_a_name_is_taken_out() {
        assert_eq!(numbered("s12_from"), Some((format!("s{NUMBER}_from"), "12".into())));
        assert_eq!(numbered("from"), None);
    }
}
