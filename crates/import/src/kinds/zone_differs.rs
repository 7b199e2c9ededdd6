//! The source's own zone or offset contradicts the zone of the night.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "zone-differs",
    severity: Severity::Warning,
    title: "the source's own zone or offset contradicts the zone of the night",
    why: "Either the device kept another zone, or its offset is not true; the second would shift the whole night.",
    example: "warning[zone-differs]: the source says +00, Australia/Lord_Howe was at +11 (37 rows)",
    help: "look at one time that you know; if the offset lies, set `offset` to `ignore` in the definition",
    accepted: Accepted::NotNeeded,
};
