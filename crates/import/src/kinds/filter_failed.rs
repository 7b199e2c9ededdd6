//! A filter gave nothing for a row, because it failed.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "filter-failed",
    severity: Severity::Error,
    title: "the filter of the definition failed at a row",
    why: "What the row says of the night is not known; a filter that fails must not make it vanish.",
    example: "error[filter-failed]: the filter took more than 2 s and was stopped",
    help: "compare the row with `filter` in the definition",
    accepted: Accepted::Then("the row is left out: its time stays missing"),
};
