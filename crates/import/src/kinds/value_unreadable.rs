//! A value that the definition needs is not there, or cannot be read.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "value-unreadable",
    severity: Severity::Error,
    title: "a value that the definition needs is not there, or cannot be read",
    why: "A row without its stage or its length says nothing that can be laid on epochs.",
    example: "error[value-unreadable]: the row has no field `stage`",
    help: "compare the row with the definition: the path, the unit, the form of the value",
    accepted: Accepted::Then("the row is left out: its time stays missing"),
};
