//! Codes do not fill the time that the source states for them.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "code-count",
    severity: Severity::Error,
    title: "codes do not fill the time that the source states for them",
    why: "One code stands for one epoch; with a code too many or too few, every later epoch may sit at the wrong time.",
    example: "error[code-count]: 958 codes of 30 s make 7 h 59 min 0 s, but the source states 8 h 0 min 0 s",
    help: "compare the row with the original; if the codes are right, leave `length` or `end` out of the definition",
    accepted: Accepted::Then(
        "the codes are laid out from the start, one each epoch, and the stated length is not used",
    ),
};
