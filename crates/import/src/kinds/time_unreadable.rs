//! A time cannot be read.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "time-unreadable",
    severity: Severity::Error,
    title: "a time cannot be read",
    why: "A row without its time cannot be placed in the night.",
    example: "error[time-unreadable]: `4.4.26 22h31` is not a time in the form `%d.%m.%Y %H:%M`",
    help: "add the form to `read` in the definition",
    accepted: Accepted::Then("the row is left out: its time stays missing"),
};
