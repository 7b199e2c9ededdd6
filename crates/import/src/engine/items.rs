//! Rows inside a row: parallel lists, and lists under the keys of a map.

use super::blocks::Worker;
use super::compile::{Field, Source, Time};
use super::faults::Fault;
use super::nights::Home;
use super::shapes::one;
use super::sink::Sink;
use super::view::{Item, View};
use crate::kinds;
use counterpane_formats::{Node, Row, Value};
use std::rc::Rc;

/// Takes a row of parallel lists: the n-th elements belong together.
pub(super) fn arrays(worker: &mut Worker<'_>, row: &dyn Row, named: Option<&Rc<Home>>, sink: &mut Sink<'_>) {
    let lengths: Vec<usize> = wants(worker).into_iter().filter_map(|want| list_length(row, want)).collect();
    let longest = lengths.iter().copied().max();
    let known = worker.frame.known;
    let fault = |message: String| Fault::new(&kinds::value_unreadable::KIND, message, row.locator());
    match longest {
        None => {
            sink.tally.rows += 1;
            sink.faulty(fault("the row has no list".into()), named, || row.line());
        }
        Some(longest) if lengths.iter().any(|n| *n != longest) => {
            let all = lengths.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
            // What belongs together is not known, so each of them is lost, and counted.
            sink.tally.rows += longest as u64;
            sink.tally.faulty += longest as u64;
            let message = format!("the lists of the row differ in length: {all}; none of their elements is taken");
            sink.fault(fault(message), named, || row.line());
        }
        Some(longest) => {
            (0..longest).for_each(|n| one::row(worker, &View { row, item: Item::Index(n), known }, named, sink))
        }
    }
}

fn list_length(row: &dyn Row, want: usize) -> Option<usize> {
    match row.value(want)? {
        Value::List(items) => Some(items.len()),
        _ => None,
    }
}

/// Returns the wanted fields that may be lists.
fn wants(worker: &Worker<'_>) -> Vec<usize> {
    let block = worker.block;
    let times = [&block.start, &block.end].into_iter().flatten();
    let sources = times.map(|t: &Time| &t.source).chain(block.length.iter().map(|l| &l.source)).chain(&block.stage);
    sources
        .filter_map(|source| match source {
            Source::Fields(fields) => Some(fields),
            _ => None,
        })
        .flatten()
        .filter_map(|field| match field {
            Field::Want(want) => Some(*want),
            Field::Item(_) => None,
        })
        .collect()
}

/// Takes a row that holds a map of lists; the key says the stage.
pub(super) fn keyed(worker: &mut Worker<'_>, row: &dyn Row, named: Option<&Rc<Home>>, sink: &mut Sink<'_>) {
    let want = worker.block.lists.unwrap_or_default();
    let known = worker.frame.known;
    let Some(Value::Map(members)) = row.value(want) else {
        sink.tally.rows += 1;
        let fault = Fault::new(&kinds::value_unreadable::KIND, "the row has no map of lists", row.locate(want));
        return sink.faulty(fault, named, || row.line());
    };
    for (key, node) in members {
        let Node::List(items) = node else {
            sink.tally.rows += 1;
            let fault = Fault::new(&kinds::value_unreadable::KIND, format!("`{key}` is not a list"), row.locate(want));
            sink.faulty(fault, named, || row.line());
            continue;
        };
        for (index, node) in items.iter().enumerate() {
            let item = Item::Under { key, node, index, want };
            one::row(worker, &View { row, item, known }, named, sink);
        }
    }
}
