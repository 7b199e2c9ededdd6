//! XML of any size, read as a stream.
//!
//! `each` is a path to the elements that are rows. It begins below the root element, or with it when its first
//! name is the root's; `/` at its front always begins at the root, and `//` at any depth. Steps are `stage`
//! (behind any prefix), `p:stage` (with this prefix), `*`, and each may have conditions such as
//! `night[@kind='sleep']`. `nest` goes on from there. A row is given when its element ends, so an element
//! inside another row comes first.
//!
//! Fields of a row: `@attribute`, `child/text` or `child` (the text of a child, without what its own children
//! hold), `child/@attribute`, `a/b/@attribute`, `.` (the row's own text) and `name()` (its name without a
//! prefix). A child that stands several times is a list. Texts are trimmed; an element named `text` inside
//! another one is `a/text/text`. `up` reaches attributes of the elements above, and those of their children
//! that ended before the row; of several with one name it is the latest.
//!
//! Attributes of elements that no path asks for are not looked at, so a fault in them is not found.

mod attributes;
mod frame;
mod outline;
mod path;
pub(crate) mod pull;
mod walk;

use crate::{Event, Flow, FormatError, Head, Request};
pub(crate) use outline::outline;
use path::{Field, Pattern};
use pull::{Input, Pull};
use quick_xml::events::Event as Xml;
use std::io::Read;
use walk::Walk;

/// Reads XML; see the module's own page.
pub(crate) fn read(
    input: &mut dyn Read,
    request: &Request,
    sink: &mut dyn FnMut(Event<'_>) -> Flow,
) -> Result<(), FormatError> {
    let pattern = Pattern::parse(&request.each, request.nest.as_deref())?;
    let fields = request.wants.iter().map(Field::parse).collect::<Result<Vec<_>, _>>()?;
    let mut input = Input::new(input)?;
    let mut pull = Pull::open(&mut input, &request.text, request.limits)?;
    let head = Head { encoding: Some(pull.encoding()), ..Head::default() };
    if sink(Event::Head(&head)) == Flow::Stop {
        return Ok(());
    }
    let mut walk = Walk::new(pattern, fields, request.limits);
    loop {
        let (event, mut begun) = pull.next_begun()?;
        let flow = match event {
            Xml::Start(tag) => walk.start(&tag, &mut begun).map(|()| Flow::Continue),
            Xml::Empty(tag) => walk.empty(&tag, &mut begun, sink),
            Xml::End(_) => walk.end(sink),
            Xml::Text(text) => walk.text(&text, &mut begun).map(|()| Flow::Continue),
            Xml::CData(text) => walk.characters(&text, &mut begun).map(|()| Flow::Continue),
            Xml::GeneralRef(name) => walk.reference(&name, &mut begun).map(|()| Flow::Continue),
            Xml::Eof => return walk.finish(begun.line()),
            Xml::Comment(_) | Xml::Decl(_) | Xml::DocType(_) | Xml::PI(_) => Ok(Flow::Continue),
        };
        if flow? == Flow::Stop {
            return Ok(());
        }
    }
}

#[cfg(test)]
mod tests;
