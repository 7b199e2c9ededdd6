//! Neighbours that did not quite meet were joined.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "snapped",
    severity: Severity::Info,
    title: "neighbours that did not quite meet were joined",
    why: "Sources round times; gaps and overlaps of up to 50 ms between neighbours are rounding, not sleep.",
    example: "info[snapped]: 12 seams of at most 4 ms were closed",
    help: "nothing needs to be done",
    accepted: Accepted::NotNeeded,
};
