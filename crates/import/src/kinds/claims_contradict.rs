//! What a source claims of a night contradicts itself.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "claims-contradict",
    severity: Severity::Warning,
    title: "what a source claims of a night contradicts itself, or the night",
    why: "Each claim is shown as the source makes it, and no matrix uses it; but not all of them can be true, or a word, \
          a unit or a time was misread.",
    example: "warning[claims-contradict]: the stages add up to 500 min, but time in bed is 480 min",
    help: "compare the claims with the original: a unit, a field that means something else; what the source itself \
           contradicts stays as it is, and the report says so",
    accepted: Accepted::NotNeeded,
};
