//! Claims: what the source says of itself.

use crate::engine::blocks::Worker;
use crate::engine::compile::{Claim as Wanted, TotalUnit};
use crate::engine::edges;
use crate::engine::faults::Fault;
use crate::engine::lengths::seconds;
use crate::engine::moment::Moment;
use crate::engine::nights::Home;
use crate::engine::possible::possible;
use crate::engine::sink::{Claimed, Sink};
use crate::engine::view::View;
use crate::engine::ways::number;
use crate::grammar::LengthRead;
use crate::grammar::claims::Unit;
use crate::grammar::origin::Edge;
use crate::kinds;
use counterpane_model::{Claim, Quantity, TimeBasis};
use std::rc::Rc;

/// Takes a row of totals.
pub(in crate::engine) fn row(w: &mut Worker<'_>, view: &View<'_>, named: Option<&Rc<Home>>, sink: &mut Sink<'_>) {
    let told = match told(w, view) {
        Ok(told) if told.is_empty() => {
            sink.tally.rows += 1;
            return sink.ignored("a total that no claim of the definition names");
        }
        Ok(told) => told,
        Err(fault) => {
            sink.tally.rows += 1;
            return sink.faulty(fault, named, || view.row.line());
        }
    };
    sink.tally.rows += told.len() as u64;
    let (home, start) = match home(w, view, named, &told) {
        Ok(home) => home,
        Err(fault) => {
            // No total of the row has a night.
            sink.tally.faulty += told.len() as u64;
            return sink.fault(fault, named, || view.row.line());
        }
    };
    let line: Rc<str> = view.row.line().into();
    for (quantity, wanted) in told {
        let value = value(w, view, *quantity, wanted, &home, start.as_ref());
        match value.and_then(|v| v.map(|v| possible(*quantity, v, &home)).transpose()) {
            Ok(Some((value, rounding, locator, basis))) => {
                let claim = Claim { quantity: *quantity, value, rounding, locator };
                sink.claim(&home, Claimed { claim, row: w.row_number(), line: line.clone() }, basis);
            }
            Ok(None) => sink.ignored(&format!("no value for `{quantity}`")),
            Err(fault) => sink.faulty(in_words(fault, *quantity), Some(&home), || view.row.line()),
        }
    }
}

/// Returns the claims that a row tells: all of the block, or the one that the row names.
fn told<'b>(w: &Worker<'b>, view: &View<'_>) -> Result<Vec<&'b (Quantity, Wanted)>, Fault> {
    let Some((source, names)) = &w.block.names else { return Ok(w.block.claims.iter().collect()) };
    let name = view.need(source, "name of its total")?;
    let named = names.iter().zip(&w.block.claims).filter(|(n, _)| *n == name.text.trim());
    Ok(named.map(|(_, claim)| claim).collect())
}

fn in_words(fault: Fault, quantity: Quantity) -> Fault {
    Fault { message: format!("`{quantity}`: {}", fault.message), ..fault }
}

/// Returns the night of a row of totals: the one that it names, that its start falls into, that its first or
/// last time falls into, or that the command line names.
///
/// Its start is given, too, where the block says when its rows begin.
fn home(
    w: &Worker<'_>,
    view: &View<'_>,
    named: Option<&Rc<Home>>,
    told: &[&(Quantity, Wanted)],
) -> Result<(Rc<Home>, Option<Moment>), Fault> {
    let edged = w.block.any_two || told.iter().any(|(_, c)| matches!(c, Wanted::Edge { .. }));
    let asked = w.block.start.as_ref().filter(|_| edged || named.is_none());
    let start = asked.map(|_| edges::start(w, view, named)).transpose()?;
    if let Some(start) = &start
        && w.block.any_two
    {
        let home = w.home(start, named)?;
        // That too few of the three are there is told once, not for each claim.
        edges::end(w, view, &home, start)?;
        return Ok((home, Some(start.clone())));
    }
    if let Some(home) = named {
        return Ok((home.clone(), start));
    }
    if let Some(start) = start {
        return Ok((w.home(&start, None)?, Some(start)));
    }
    let claimed = told.iter().find_map(|(_, c)| match c {
        Wanted::Time { time, .. } => Some(time),
        Wanted::Total { .. } | Wanted::Edge { .. } => None,
    });
    match claimed {
        Some(time) => Ok((w.home(&w.time(time, view, None)?, None)?, None)),
        None => w.frame.nights.bound().cloned().map(|home| (home, None)).ok_or_else(|| {
            let message = "nothing says which night these totals are about";
            Fault::new(&kinds::value_unreadable::KIND, message, view.place()).help("give the night with `--night`")
        }),
    }
}

/// A value in the unit of its quantity, the step to which it is rounded, its place, and how its time was known.
pub(in crate::engine) type Value = (f64, f64, counterpane_model::Locator, Option<TimeBasis>);

fn value(
    w: &Worker<'_>,
    view: &View<'_>,
    quantity: Quantity,
    wanted: &Wanted,
    home: &Rc<Home>,
    start: Option<&Moment>,
) -> Result<Option<Value>, Fault> {
    let (source, rounding) = match wanted {
        Wanted::Total { source, rounding, .. } => (source, *rounding),
        Wanted::Time { time, rounding } => (&time.source, *rounding),
        Wanted::Edge { edge, rounding } => return self::edge(w, view, *edge, *rounding, home, start),
    };
    let found = match view.find(source, "the value")? {
        None => return Ok(None),
        Some(found) if matches!(found.text.as_ref(), "" | "null") => return Ok(None),
        Some(found) => found,
    };
    match wanted {
        Wanted::Total { unit, .. } => {
            let unreadable = || {
                Fault::new(
                    &kinds::value_unreadable::KIND,
                    format!("`{}` is not a total in the declared unit", found.text),
                    found.locator.clone(),
                )
            };
            let unit = match unit {
                TotalUnit::Is(unit) => *unit,
                TotalUnit::Of(source) => {
                    let (unit, found) = w.frame.unit(source, view)?;
                    if unit.becomes() != quantity.unit() {
                        let message = format!("the unit `{}` is not one of this quantity", found.text);
                        return Err(Fault::new(&kinds::value_unreadable::KIND, message, found.locator));
                    }
                    unit
                }
            };
            let value = total(&found.text, unit, w.frame.comma).ok_or_else(unreadable)?;
            Ok(Some((value, rounding, found.locator, None)))
        }
        Wanted::Time { time, .. } => {
            let moment = w.time(time, view, Some(home))?;
            #[expect(clippy::cast_precision_loss, reason = "milliseconds of the years 1900 to 2199 are below 2^52")]
            Ok(Some((moment.at.0 as f64, rounding, found.locator, Some(moment.basis))))
        }
        Wanted::Edge { .. } => Ok(None),
    }
}

/// Returns the start or the end of the row as a claim.
fn edge(
    w: &Worker<'_>,
    view: &View<'_>,
    edge: Edge,
    rounding: f64,
    home: &Rc<Home>,
    start: Option<&Moment>,
) -> Result<Option<Value>, Fault> {
    let Some(start) = start else { return Ok(None) };
    let at = match edge {
        Edge::Start => Some(start.at),
        Edge::End => edges::end(w, view, home, start)?,
    };
    #[expect(clippy::cast_precision_loss, reason = "milliseconds of the years 1900 to 2199 are below 2^52")]
    Ok(at.map(|at| (at.0 as f64, rounding, view.place(), Some(start.basis))))
}

/// Reads a total in the unit of the model: minutes, per cent or a count.
fn total(text: &str, unit: Unit, comma: bool) -> Option<f64> {
    match unit {
        Unit::Time(LengthRead::Minutes) | Unit::PerCent | Unit::Count => number(text, comma),
        Unit::Time(read) => seconds(text, read, comma).map(|s| s / 60.0),
        Unit::Share => number(text, comma).map(|share| share * 100.0),
    }
}
