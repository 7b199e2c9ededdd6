//! A wall time happened twice and nothing says which one is meant.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "time-repeated",
    severity: Severity::Error,
    title: "a wall time happened twice and nothing says which one is meant",
    why: "When clocks go back a stretch of wall time happens twice; the wrong choice shifts epochs by the length of that stretch.",
    example: "error[time-repeated]: `2026-04-05T01:45:00` happened twice in Australia/Lord_Howe, at +11 and at +10:30",
    help: "set `fold` in the definition to `order`, `first` or `second`, whichever is true of this source",
    accepted: Accepted::Then("the row is left out: its time stays missing"),
};
