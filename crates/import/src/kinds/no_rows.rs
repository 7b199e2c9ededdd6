//! Nothing in a file is a row of the definition.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "no-rows",
    severity: Severity::Warning,
    title: "nothing in the file is a row of the definition",
    why: "An empty export and a path that does not fit look the same: no night comes out of either.",
    example: "warning[no-rows]: nothing in the file is a row of this definition",
    help: "look into the file; if it has nights, compare `each` and `nest` of the definition with it",
    accepted: Accepted::NotNeeded,
};
