//! A row lasts less than a second.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "span-very-short",
    severity: Severity::Warning,
    title: "a row lasts less than a second",
    why: "Nobody scores sleep so finely, and such a row is never most of an epoch: it is stored and does not show in any \
          comparison. Often a unit is misread, and then the rows around it are too short as well.",
    example: "warning[span-very-short]: a row lasts less than a second (12 times)",
    help: "compare the unit of the row's length or end with the original",
    accepted: Accepted::NotNeeded,
};
