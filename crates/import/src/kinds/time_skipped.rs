//! A wall time never happened.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "time-skipped",
    severity: Severity::Error,
    title: "a wall time never happened",
    why: "When clocks go forward a stretch of wall time does not exist; such a time means a wrong zone or a device clock that was not set.",
    example: "error[time-skipped]: `2026-10-04T02:15:00` never happened in Australia/Lord_Howe: the clock went from +10:30 to +11",
    help: "check the zone of the night; if the device kept the old time, give its zone with `--zone`",
    accepted: Accepted::Then("the row is left out: its time stays missing"),
};
