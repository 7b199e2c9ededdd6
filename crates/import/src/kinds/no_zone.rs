//! A wall time has no zone.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "no-zone",
    severity: Severity::Error,
    title: "a wall time has no zone",
    why: "The same wall time is another instant in another zone, and a guess would shift the whole night.",
    example: "error[no-zone]: `2026-04-04 22:31:00` has no zone: no night is declared at that time",
    help: "give it with `--zone`, or declare the night in `study.toml`",
    accepted: Accepted::Never("without a zone there is no instant, so there is nothing to compute"),
};
