//! A row stands in the file twice.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "duplicate-row",
    severity: Severity::Info,
    title: "a row stands in the file twice",
    why: "The same span twice says nothing new; counting it twice would look like an overlap.",
    example: "info[duplicate-row]: 3 rows repeat an earlier row exactly and were dropped",
    help: "nothing needs to be done",
    accepted: Accepted::NotNeeded,
};
