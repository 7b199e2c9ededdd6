//! A row begins before the row above it, though the file's order is said to be time order.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "order-backwards",
    severity: Severity::Error,
    title: "a row begins before the row above it, though the file's order is said to be time order",
    why: "Order is what settles midnight and repeated times; where it fails, those decisions fail too.",
    example: "error[order-backwards]: `23:05:00` is before the row above, which begins at 23:10:00",
    help: "compare the row with the original; if rows may stand in any order, take `order` out of the definition",
    accepted: Accepted::Then("the row is left out: its time stays missing"),
};
