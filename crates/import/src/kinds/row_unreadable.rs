//! A row cannot be read.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "row-unreadable",
    severity: Severity::Error,
    title: "a row cannot be read",
    why: "What stands there may be a stretch of the night; it must not vanish without a word.",
    example: "error[row-unreadable]: the line has 2 fields, the header has 3",
    help: "mend the original's copy or the definition, then import again",
    accepted: Accepted::Then("the row is left out: its time stays missing"),
};
