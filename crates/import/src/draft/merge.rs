//! Several samples of one kind of file, seen as one.

use super::DraftError;
use super::tables::{Cell, Sample, Table};

/// Adds the rows of a sample to those of another one of the same kind.
pub(super) fn merge(into: &mut Sample, more: Sample) -> Result<(), DraftError> {
    if into.format != more.format || into.text.delimiter != more.text.delimiter {
        return Err(DraftError::TwoKinds { one: into.name.clone(), other: more.name });
    }
    into.text.comma |= more.text.comma;
    for table in more.tables {
        match into.tables.iter_mut().find(|t| t.kind == table.kind && t.path() == table.path() && t.keep == table.keep)
        {
            Some(same) => append(same, table),
            None => into.tables.push(table),
        }
    }
    Ok(())
}

fn append(into: &mut Table, more: Table) {
    let (before, added) = (into.rows(), more.rows());
    let next = into.groups.iter().max().map_or(0, |g| g + 1);
    into.groups.extend(more.groups.iter().map(|g| g + next));
    into.fields.iter_mut().for_each(|f| f.cells.resize(before + added, Cell::Absent));
    for mut field in more.fields {
        match into.fields.iter_mut().find(|f| (f.up, &f.path, f.key) == (field.up, &field.path, field.key)) {
            Some(same) => same.cells.splice(before.., field.cells).for_each(drop),
            None => {
                let mut cells = vec![Cell::Absent; before];
                cells.append(&mut field.cells);
                into.fields.push(super::tables::Field { cells, ..field });
            }
        }
    }
}
