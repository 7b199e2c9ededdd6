//! A time of day falls outside the night it was read for.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "clock-outside-night",
    severity: Severity::Error,
    title: "a time of day falls outside the night it was read for",
    why: "A time of day has no date of its own; outside the night's window there is no honest way to say which day is meant.",
    example: "error[clock-outside-night]: `13:05:00` does not fall into the night 2026-04-04, which runs from 2026-04-04T12:00:00+11:00 to 2026-04-05T12:00:00+10:30",
    help: "check `--night`, or widen the night's window in `study.toml`",
    accepted: Accepted::Then("the row is left out: its time stays missing"),
};
