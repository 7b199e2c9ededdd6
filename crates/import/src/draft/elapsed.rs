//! Times that are counted from an anchor: their unit, and where the anchor stands.

use super::columns::TimeColumn;
use super::lengths::unit_in_name;
use super::look::{Line, Look, lines};
use super::plan::{Block, Origin, Pick, Time};
use super::times::Says;
use super::wording::words_of;
use super::write::quoted;
use super::zones;
use counterpane_formats::Format;

/// Says whether counts rise and are no mere numbers of rows: within a group no two are equal, and they do not
/// simply count on by one.
pub(super) fn rises(groups: &[usize], seconds: &[Option<f64>]) -> bool {
    let mut rows: Vec<(usize, f64)> = groups.iter().zip(seconds).filter_map(|(g, s)| Some((*g, (*s)?))).collect();
    rows.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let pairs: Vec<f64> = rows.windows(2).filter(|p| p[0].0 == p[1].0).map(|p| p[1].1 - p[0].1).collect();
    // Epochs that are numbered count by one, in whichever unit they are tried.
    let one = |d: &f64| [1.0, 0.001, 60.0, 3600.0].iter().any(|u| (d - u).abs() < 1e-9);
    !pairs.is_empty() && pairs.iter().all(|d| *d > 0.0) && !pairs.iter().all(one)
}

/// Completes a counted time: its unit, and the anchor that it counts from.
pub(super) fn anchor(
    look: &Look<'_>,
    column: &TimeColumn,
    counted: &[Line],
    totals: &[Option<f64>],
    time: &mut Time,
    block: &mut Block,
) {
    let anchors = anchors(look, column);
    let confirmed = confirmed(look, &anchors, counted, totals);
    time.read = Some(unit(look, column, counted, confirmed.as_ref()));
    if look.sample.start.is_some() {
        let zone = zones::zone(look.table, look.columns, look.options.zone_of_night);
        let why = "the start in the header, as a wall time".to_owned();
        time.from = Some(Box::new(Time {
            origin: Origin::FileStart,
            why,
            read: None,
            offset: None,
            zone: Some(zone),
            fold: None,
            from: None,
        }));
        return;
    }
    let chosen = match (&confirmed, anchors.as_slice()) {
        (Some((_, a, why)), _) => Some((*a, why.clone())),
        (None, [one]) => Some((*one, "the only time that stands for all rows of a list".to_owned())),
        _ => None,
    };
    time.from = Some(Box::new(match (chosen, anchors.as_slice()) {
        (Some((column, why)), _) => super::timing::time(look, column, &lines(look, column), &why, &[], block),
        (None, []) => {
            block.needs.push("--start");
            let why = "nothing in the file says when it began: give it with `--start`".to_owned();
            Time { origin: Origin::Bound("start"), why, read: None, offset: None, zone: None, fold: None, from: None }
        }
        (None, several) => {
            let first =
                super::timing::time(look, several[0], &lines(look, several[0]), "from where it counts", &[], block);
            let options = several.iter().map(|c| (c.origin(look.table), String::new())).collect();
            Time { origin: Origin::Open(options), ..first }
        }
    }));
    if let Some((column, _)) = confirmed.as_ref().map(|(_, a, why)| (*a, why)) {
        block.has.extend(look.paths(&[column]));
    }
}

/// Returns the columns that give one placed time for all rows of a group.
pub(super) fn anchors<'c>(look: &Look<'c>, column: &TimeColumn) -> Vec<&'c TimeColumn> {
    let constant = |t: &&TimeColumn| {
        let Some(reading) = t.placed().first().copied() else { return false };
        let mut first: std::collections::BTreeMap<usize, f64> = std::collections::BTreeMap::new();
        let same =
            |(g, s): (&usize, &Option<f64>)| s.is_some_and(|s| (*first.entry(*g).or_insert(s) - s).abs() < 0.0005);
        look.table.groups.iter().zip(&reading.seconds).all(same)
    };
    look.columns.times.iter().filter(|t| t.fields != column.fields).filter(constant).collect()
}

/// Finds two times of which the second is the first plus the last count: they confirm the unit and the anchor.
fn confirmed<'c>(
    look: &Look<'_>,
    anchors: &[&'c TimeColumn],
    counted: &[Line],
    totals: &[Option<f64>],
) -> Option<(usize, &'c TimeColumn, String)> {
    let first = counted.first()?;
    for a in anchors {
        for b in anchors.iter().filter(|b| b.fields != a.fields) {
            let (Some(from), Some(to)) = (a.placed().first().copied(), b.placed().first().copied()) else { continue };
            for (n, line) in counted.iter().enumerate() {
                let scale = scale(first, line);
                let whole =
                    |i: usize| Some((from.seconds[i]?, to.seconds[i]?, totals.get(i).copied().flatten()? * scale));
                let rows: Vec<_> = (0..from.seconds.len()).filter_map(whole).collect();
                let fits = rows.iter().filter(|(f, t, total)| *total > 0.0 && (t - f - total).abs() <= 60.0).count();
                if !rows.is_empty() && fits * 10 >= rows.len() * 9 {
                    let why = format!("from where it counts: the last count leads from here to {}", b.name(look.table));
                    return Some((n, a, why));
                }
            }
        }
    }
    None
}

/// Returns by how much a unit is larger than that of the first line.
fn scale(first: &Line, line: &Line) -> f64 {
    let of = |l: &Line| l.seconds.iter().flatten().copied().find(|s| *s != 0.0).unwrap_or(1.0);
    of(line) / of(first)
}

fn unit(
    look: &Look<'_>,
    column: &TimeColumn,
    counted: &[Line],
    confirmed: Option<&(usize, &TimeColumn, String)>,
) -> Pick {
    let name = column.fields.first().map(|n| look.table.fields[*n].path.clone()).unwrap_or_default();
    let last = |l: &Line| words_of(l.seconds.iter().flatten().copied().fold(0.0, f64::max));
    let word = |l: &Line| quoted(&l.reading.read[0]);
    let named = unit_in_name(&name).and_then(|u| counted.iter().find(|l| l.reading.read[0] == format!("offset {u}")));
    let night = |l: &&Line| (7200.0..=72_000.0).contains(&l.seconds.iter().flatten().copied().fold(0.0, f64::max));
    let never = |l: &&Line| !(60.0..=259_200.0).contains(&l.seconds.iter().flatten().copied().fold(0.0, f64::max));
    let plausible: Vec<&Line> = counted.iter().filter(night).collect();
    let rest = counted.iter().filter(|l| !night(l)).all(|l| never(&l));
    if look.sample.format == Format::Edf {
        return Pick::one(
            quoted("offset s"),
            format!("EDF+ gives onsets in seconds; the last is {}", last(&counted[0])),
        );
    }
    match (confirmed, named, plausible.as_slice()) {
        (Some((n, _, _)), _, _) => Pick::one(
            word(&counted[*n]),
            format!("two times of the row above confirm the unit; the last count is {}", last(&counted[*n])),
        ),
        (None, Some(line), _) => {
            Pick::one(word(line), format!("the name `{name}` says the unit; the last count is {}", last(line)))
        }
        (None, None, [one]) if rest => Pick::one(
            word(one),
            format!(
                "in this unit the last count is {}; every other unit makes less than a minute or more than three days",
                last(one)
            ),
        ),
        _ => {
            let options = counted.iter().map(|l| (word(l), format!("the last count is {}", last(l)))).collect();
            Pick::open(options, "nothing in the sample confirms the unit")
        }
    }
}

/// Returns the end of the recording that stands above the rows, if one lies behind the last start of each group.
pub(super) fn end_above(look: &Look<'_>, starts: &[Option<f64>], says: Says) -> Option<(TimeColumn, Vec<Line>)> {
    let none = TimeColumn { fields: Vec::new(), up: 0, readings: Vec::new() };
    let last = look.totals(starts);
    let behind = |l: &Line| {
        let gap = |(end, last): (&Option<f64>, &Option<f64>)| Some((*end)? - (*last)?);
        l.seconds.iter().zip(&last).all(|p| gap(p).is_some_and(|g| (0.0..=10_800.0).contains(&g)))
    };
    let mut found: Vec<(TimeColumn, Vec<Line>)> = Vec::new();
    for column in anchors(look, &none) {
        let lines: Vec<Line> =
            lines(look, column).into_iter().filter(|l| same_kind(&l.reading.says, &says) && behind(l)).collect();
        if !lines.is_empty() {
            found.push((column.clone(), lines));
        }
    }
    // Of several the nearest one; a time of upload comes later.
    found.sort_by(|a, b| {
        let at = |f: &(TimeColumn, Vec<Line>)| f.1[0].seconds.iter().flatten().copied().next().unwrap_or(0.0);
        at(a).total_cmp(&at(b))
    });
    found.into_iter().next()
}

fn same_kind(a: &Says, b: &Says) -> bool {
    a == b || matches!((a, b), (Says::Offset { .. } | Says::Epoch, Says::Offset { .. } | Says::Epoch))
}
