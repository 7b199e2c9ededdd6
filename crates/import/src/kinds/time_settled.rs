//! A wall time that happened twice was settled.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "time-settled",
    severity: Severity::Info,
    title: "a wall time that happened twice was settled",
    why: "The choice follows the definition, but it is a choice, and a reader may want to know where it was made.",
    example: "info[time-settled]: a wall time happened twice in Australia/Lord_Howe, and the definition settles which one it is (7 times)",
    help: "look at the rows around it; if the choice is wrong, set `fold` to `first` or `second`",
    accepted: Accepted::NotNeeded,
};
