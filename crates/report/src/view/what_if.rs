//! The headlines with one choice undone at a time.

use super::table::{Cell, Row, Table};
use crate::draw::text::clean;
use crate::words::{self, what_if as said};
use askama::Template;
use counterpane_compare::what_if::{Headline, WhatIf};

/// The section on what would be otherwise.
#[derive(Debug, Template)]
#[template(path = "what_if.html")]
pub(crate) struct WhatIfSection {
    said: Vec<String>,
    table: Table,
}

impl WhatIfSection {
    /// Returns the section; nothing without a device that is compared.
    pub(crate) fn new(what_if: &WhatIf) -> Option<WhatIfSection> {
        if what_if.as_is.is_empty() && what_if.otherwise.iter().all(|o| o.headlines.is_empty()) {
            return None;
        }
        let heads: Vec<String> = what_if.measures.iter().map(|m| words::capital(&said::head(*m))).collect();
        let columns: Vec<&str> = ["Otherwise", "Device"].into_iter().chain(heads.iter().map(String::as_str)).collect();
        let mut table = Table::new("what-if-t".into(), "One choice undone at a time", said::NOTE, &columns).stacked();
        for h in &what_if.as_is {
            table.row(row("as it is", what_if, h, false));
        }
        for of in &what_if.otherwise {
            let name = said::otherwise(of);
            of.headlines.iter().filter(|h| what_if.changes(h)).for_each(|h| table.row(row(&name, what_if, h, true)));
        }
        let said = said::largest(what_if).into_iter().chain(said::idle(what_if)).map(|s| clean(&s)).collect();
        Some(WhatIfSection { said, table })
    }
}

fn row(name: &str, what_if: &WhatIf, headline: &Headline, changed: bool) -> Row {
    let nights = words::count(headline.nights, "night");
    let cell = |m: usize| {
        let under = if changed { said::change(headline, what_if, m) } else { String::new() };
        Cell::number(&said::figure(headline, what_if, m), &under)
    };
    let cells =
        std::iter::once(Cell::words_under(&headline.device, &nights)).chain((0..what_if.measures.len()).map(cell));
    Row::new(name, "", cells.collect())
}
