//! A change of stage has no known end.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "end-missing",
    severity: Severity::Error,
    title: "a change of stage has no known end",
    why: "A change point lasts to the next one; without an end the last stage would last for ever.",
    example: "error[end-missing]: the last change, `light`, has no end",
    help: "give the end of the recording with `--end`, add a row whose word is mapped to `end`, or name the field in `rows.end`",
    accepted: Accepted::Then("the stage is left out: its time stays missing"),
};
