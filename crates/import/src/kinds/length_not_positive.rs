//! A row ends where it begins, or before.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "length-not-positive",
    severity: Severity::Error,
    title: "a row ends where it begins, or before",
    why: "A span of no length or of negative length is a contradiction; it cannot be laid on epochs.",
    example: "error[length-not-positive]: from 2026-04-04T23:10:00+11:00 to 2026-04-04T23:05:00+11:00 is -5 min",
    help: "compare the row with the original; if its times are local with a wrong offset, see `offset` in docs/definitions.md",
    accepted: Accepted::Then("the row is left out: its time stays missing"),
};
