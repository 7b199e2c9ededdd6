//! Totals for each stage and nothing else: shape `claims`.

use super::lengths::lengths;
use super::look::{Look, lines};
use super::nights;
use super::plan::{Block, Origin, Rank, Total};
use super::tables::Kind;
use super::timing::time;
use super::wording::{rows, trimmed};
use super::words::stage_of;

/// A column of totals, in one unit.
struct Column {
    field: usize,
    unit: &'static str,
    minutes: Vec<Option<f64>>,
}

/// Columns of which every sum is tried.
const MOST_COLUMNS: usize = 12;

/// Returns the block of a table whose columns add up to one of them.
pub(super) fn block(look: &Look<'_>) -> Option<Block> {
    if look.table.kind != Kind::Rows {
        return None;
    }
    for unit in ["min", "s", "ms", "h", "h:mm", "h:mm:ss"] {
        let columns = columns(look, unit);
        // In one row alone some numbers always add up: there the names must speak for it.
        let named = |p: &usize| stage_of(last_name(&look.table.fields[columns[*p].field].path)).is_some();
        let sure =
            |(_, parts): &(usize, Vec<usize>)| look.table.rows() > 1 || parts.iter().filter(|p| named(p)).count() > 1;
        if let Some((total, parts)) = adds_up(&columns).filter(sure) {
            return Some(of_columns(look, &columns, total, parts));
        }
    }
    None
}

fn columns(look: &Look<'_>, unit: &'static str) -> Vec<Column> {
    let column = |(n, field): (usize, &super::tables::Field)| {
        let found = lengths(&field.cells, look.sample.text.comma).into_iter().find(|l| l.read == unit)?;
        let minutes: Vec<Option<f64>> = found.seconds.iter().map(|s| s.map(|s| s / 60.0)).collect();
        let sane = minutes.iter().flatten().all(|m| *m <= 1440.0);
        (field.up == 0 && !field.key && sane).then_some(Column { field: n, unit, minutes })
    };
    let mut out: Vec<Column> = look.table.fields.iter().enumerate().filter_map(column).collect();
    // Columns that are named like stages come first; what lies beyond the cap is told as not looked at.
    out.sort_by_key(|c| stage_of(last_name(&look.table.fields[c.field].path)).is_none());
    out.truncate(MOST_COLUMNS);
    out
}

/// Returns a column that is the sum of two or more others in every row, and those others. It must be a night's:
/// between one hour and twenty.
fn adds_up(columns: &[Column]) -> Option<(usize, Vec<usize>)> {
    let n_rows = columns.first()?.minutes.len();
    let mut best: Option<(usize, Vec<usize>)> = None;
    for mask in 1u32..(1 << columns.len()) {
        let parts: Vec<usize> = (0..columns.len()).filter(|n| mask >> n & 1 == 1).collect();
        if parts.len() < 2 || parts.len() > 7 || best.as_ref().is_some_and(|(_, b)| b.len() >= parts.len()) {
            continue;
        }
        let sums: Vec<Option<f64>> = (0..n_rows).map(|i| parts.iter().map(|p| columns[*p].minutes[i]).sum()).collect();
        let fits = |(n, c): (usize, &Column)| {
            let near = |i: usize| matches!((c.minutes[i], sums[i]), (Some(t), Some(s)) if (t - s).abs() <= 1.5 && (60.0..=1200.0).contains(&t));
            (!parts.contains(&n) && (0..n_rows).filter(|i| near(*i)).count() * 10 >= n_rows * 9).then_some(n)
        };
        // A part that is nothing in every row would add up in any company.
        let real = parts.iter().all(|p| columns[*p].minutes.iter().flatten().any(|m| *m > 0.0));
        if let Some(total) = columns.iter().enumerate().find_map(fits).filter(|_| real && n_rows > 0) {
            best = Some((total, parts));
        }
    }
    best
}

fn of_columns(look: &Look<'_>, columns: &[Column], total: usize, parts: Vec<usize>) -> Block {
    let name = |n: usize| look.table.fields[columns[n].field].name();
    let names = parts.iter().map(|p| name(*p)).collect::<Vec<_>>().join(", ");
    let mut block = Block { table: look.number, shape: "claims", ..Block::default() };
    block.why = format!(
        "totals and no times of stages: {names} add up to {} in {}",
        name(total),
        rows(columns[total].minutes.len())
    );
    let mut used: Vec<usize> = parts.clone();
    used.push(total);
    // Other columns in the same unit may be totals too, such as one of those awake that are not counted in.
    used.extend((0..columns.len()).filter(|n| *n != total && !parts.contains(n)));
    for n in used {
        block.totals.push(of_column(look, &columns[n], n == total, parts.contains(&n)));
        block.has.extend(look.path_of(columns[n].field).filter(|_| n == total || parts.contains(&n)));
    }
    night(look, &mut block, columns);
    block.rank = Rank { rows: look.table.rows(), ..block.rank };
    block
}

/// Says which night a row of totals is about: by a time of the row, a date, or the command line.
fn night(look: &Look<'_>, block: &mut Block, columns: &[Column]) {
    // `6:40` may be a length or a time of day; a total is no time.
    let total = |n: &usize| columns.iter().any(|c| c.field == *n);
    let placed = |t: &&super::columns::TimeColumn| t.up == 0 && !t.placed().is_empty() && !t.fields.iter().any(total);
    let earliest = |t: &&super::columns::TimeColumn| {
        let sum: f64 = t.placed().first().map_or(0.0, |r| r.seconds.iter().flatten().sum());
        sum.to_bits()
    };
    if let Some(start) = look.columns.times.iter().filter(placed).min_by_key(earliest) {
        let lines = lines(look, start)
            .into_iter()
            .filter(|l| l.reading.says != super::times::Says::Elapsed)
            .collect::<Vec<_>>();
        block.start = Some(time(look, start, &lines, "a time of the night, which says which night it is", &[], block));
        block.has.extend(look.paths(&[start]));
    } else if let Some(found) = nights::night(look) {
        block.night = Some(found);
    } else {
        block.needs.push("--night");
    }
}

fn of_column(look: &Look<'_>, column: &Column, is_total: bool, is_part: bool) -> Total {
    let field = &look.table.fields[column.field];
    let values: Vec<f64> = column.minutes.iter().flatten().copied().collect();
    let (low, high) = values.iter().fold((f64::INFINITY, 0.0f64), |(l, h), v| (l.min(*v), h.max(*v)));
    let role = match (is_total, is_part) {
        (true, _) => "the sum of the others",
        (_, true) => "a part of the sum",
        _ => "not a part of the sum",
    };
    let note = format!("{}, {} to {} min; {role}", rows(values.len()), trimmed(low), trimmed(high));
    let perhaps = match stage_of(last_name(&field.path)) {
        Some("Asleep") => Some("total-sleep".to_owned()),
        Some(stage) if !is_total => Some(format!("minutes {stage}")),
        _ => None,
    };
    let origin = Origin::At { at: vec![field.path.clone()], up: field.up };
    Total { origin, unit: column.unit, rounding: rounding(&values), note, perhaps }
}

/// Returns the step of which every value is a multiple.
fn rounding(values: &[f64]) -> String {
    let step = [(1.0, "1 min"), (0.5, "30 s"), (1.0 / 60.0, "1 s")];
    let whole = |v: &f64, s: f64| ((v / s) - (v / s).round()).abs() < 1e-6;
    step.iter().find(|(s, _)| values.iter().all(|v| whole(v, *s))).map_or("none", |(_, word)| word).to_owned()
}

/// Returns the last name of a path: `minutes.deep` is about `deep`.
fn last_name(path: &str) -> &str {
    let name = path.rsplit(['.', '[']).next().unwrap_or(path).trim_matches([']', '\'', '"']);
    // `deep_min` and `Deep (min)` are about the same.
    let stripped =
        ["_minutes", "_min", "_s", "_sec", "_seconds", " (min)", " min", " minutes", "Minutes", "_total", "_ms"];
    stripped.iter().find_map(|s| name.strip_suffix(s)).unwrap_or(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn column(values: &[f64]) -> Column {
        Column { field: 0, unit: "min", minutes: values.iter().copied().map(Some).collect() }
    }

    #[test]
    fn the_sum_is_found_among_its_parts() {
        let columns = [column(&[30.0, 41.0]), column(&[240.0, 228.0]), column(&[90.0, 77.0]), column(&[360.0, 346.0])];
        assert_eq!(adds_up(&columns), Some((3, vec![0, 1, 2])));
    }

    #[test]
    fn numbers_that_do_not_add_up_are_no_totals() {
        assert_eq!(adds_up(&[column(&[30.0]), column(&[240.0]), column(&[300.0])]), None);
    }
}
