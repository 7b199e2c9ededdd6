//! How long one code lasts: by a field that says so, or by what lies between two times of a row.

use super::columns::TimeColumn;
use super::lengths::{Length as Unit, lengths, unit_in_name};
use super::look::{Line, Look};
use super::plan::{Length, Origin, Pick};
use super::tables::{Cell, Field};
use super::wording::{rows, trimmed, words_of};
use super::write::quoted;

/// How long a code lasts, and the columns that confirm it.
pub(super) struct Epoch {
    pub(super) length: Length,
    pub(super) seconds: Option<f64>,
    pub(super) start: Option<(usize, Option<usize>)>,
}

pub(super) fn epoch(
    look: &Look<'_>,
    starts: &[(&TimeColumn, Line)],
    counts: &[f64],
    codes: Option<&str>,
) -> Option<Epoch> {
    let spans = spans(starts);
    let fields = look.table.fields.iter().enumerate().filter(|(n, f)| !f.key && look.path_of(*n).as_deref() != codes);
    let mut possible: Vec<(&Field, Unit)> = Vec::new();
    for (_, field) in fields {
        let numeric = field.cells.iter().all(|c| !matches!(c, Cell::List(_)));
        for unit in lengths(&field.cells, look.sample.text.comma).into_iter().filter(|_| numeric) {
            let whole = |i: usize| Some(unit.seconds[i]? * counts[i]);
            for (a, b, span) in &spans {
                let fits = (0..counts.len()).filter(|i| matches!((whole(*i), span[*i]), (Some(w), Some(s)) if counts[*i] > 0.0 && (w - s).abs() <= unit.seconds[*i].unwrap_or(0.0) + 1.0)).count();
                if fits > 0 && fits * 10 >= counts.iter().filter(|c| **c > 0.0).count() * 9 {
                    let why = format!(
                        "how long one code lasts: times the number of codes it leads from {} to {} in {fits} of {}",
                        starts[*a].0.name(look.table),
                        starts[*b].0.name(look.table),
                        rows(counts.len())
                    );
                    return Some(of_unit(field, &[unit], why, "", Some((*a, Some(*b)))));
                }
            }
            let total = |i: usize| whole(i).unwrap_or(0.0);
            let few =
                unit.seconds.iter().flatten().map(|s| s.to_bits()).collect::<std::collections::BTreeSet<_>>().len()
                    <= 3;
            let night = (0..counts.len()).all(|i| counts[i] == 0.0 || (60.0..=129_600.0).contains(&total(i)));
            if few && night && unit.seconds.iter().flatten().all(|s| (1.0..=1800.0).contains(s)) {
                possible.push((field, unit));
            }
        }
    }
    if let Some(found) = divided(look, starts, &spans, counts) {
        return Some(found);
    }
    let named: Vec<(&Field, Unit)> =
        possible.iter().filter(|(f, u)| unit_in_name(&f.path) == Some(u.read)).cloned().collect();
    let (chosen, note) = if named.is_empty() { (possible, "") } else { (named, "the name says the unit") };
    let field = chosen.first()?.0;
    let units: Vec<Unit> = chosen.iter().filter(|(f, _)| f.path == field.path).map(|(_, u)| u.clone()).collect();
    let sure = !note.is_empty() || units.len() == 1;
    let hint = ["step", "epoch", "every", "interval", "period", "resol", "per"]
        .iter()
        .any(|w| field.path.to_lowercase().contains(w));
    (hint || (sure && !note.is_empty())).then(|| of_unit(field, &units, "how long one code lasts".into(), note, None))
}

fn of_unit(field: &Field, units: &[Unit], why: String, note: &str, start: Option<(usize, Option<usize>)>) -> Epoch {
    let first = units.iter().find_map(|u| u.seconds.iter().flatten().next().copied());
    let read = match units {
        [one] => Pick::one(quoted(one.read), note),
        several => Pick::open(
            several
                .iter()
                .map(|u| {
                    (
                        quoted(u.read),
                        u.seconds
                            .iter()
                            .flatten()
                            .next()
                            .map_or(String::new(), |s| format!("a code lasts {}", words_of(*s))),
                    )
                })
                .collect(),
            "nothing in the sample confirms the unit",
        ),
    };
    let origin = field.origin();
    Epoch { length: Length { origin, why, read }, seconds: if units.len() == 1 { first } else { None }, start }
}

/// Returns what lies between every two times of a row.
fn spans(starts: &[(&TimeColumn, Line)]) -> Vec<(usize, usize, Vec<Option<f64>>)> {
    let mut out = Vec::new();
    for (a, (_, from)) in starts.iter().enumerate() {
        for (b, (_, to)) in starts.iter().enumerate().filter(|(b, _)| *b != a) {
            let span: Vec<Option<f64>> =
                from.seconds.iter().zip(&to.seconds).map(|(f, t)| Some((*t)? - (*f)?).filter(|d| *d > 0.0)).collect();
            if span.iter().flatten().next().is_some() {
                out.push((a, b, span));
            }
        }
    }
    out
}

/// Finds two times whose distance, divided by the number of codes, is the same round length in every row.
fn divided(
    look: &Look<'_>,
    starts: &[(&TimeColumn, Line)],
    spans: &[(usize, usize, Vec<Option<f64>>)],
    counts: &[f64],
) -> Option<Epoch> {
    for (a, b, span) in spans {
        let each: Vec<f64> =
            (0..counts.len()).filter(|i| counts[*i] > 0.0).filter_map(|i| Some(span[i]? / counts[i])).collect();
        let first = each.first().copied()?;
        let round = [1.0, 5.0, 10.0, 15.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0]
            .iter()
            .any(|r| (r - first).abs() < 1e-6);
        if round && each.iter().all(|e| (e - first).abs() < 1e-6) {
            let why = format!(
                "how long one code lasts: from {} to {}, divided by the number of codes, it is {} in {} of {}",
                starts[*a].0.name(look.table),
                starts[*b].0.name(look.table),
                words_of(first),
                each.len(),
                rows(counts.len())
            );
            let length = Length { origin: Origin::Const(trimmed(first)), why, read: Pick::one(quoted("s"), "") };
            return Some(Epoch { length, seconds: Some(first), start: Some((*a, Some(*b))) });
        }
    }
    None
}

/// Returns the length of a code that nothing in the file tells.
pub(super) fn open_epoch() -> Length {
    let options = vec![
        (Origin::Const("30".into()), "30 s, the epoch of sleep scoring".to_owned()),
        (Origin::Const("20".into()), "20 s".to_owned()),
        (Origin::Const("60".into()), "one minute".to_owned()),
    ];
    Length {
        origin: Origin::Open(options),
        why: "nothing in the file says how long one code lasts".into(),
        read: Pick::one(quoted("s"), ""),
    }
}
