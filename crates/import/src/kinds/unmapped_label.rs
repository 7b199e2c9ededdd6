//! A word of the source is not mapped to a stage.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "unmapped-label",
    severity: Severity::Error,
    title: "a word of the source is not mapped to a stage",
    why: "A word that is not understood must not become a stage by guess, and must not vanish either.",
    example: "error[unmapped-label]: `ligth` is mapped to nothing (3 rows); did you mean `light`?",
    help: "add the word to `[stages]` or `[notes]` of the definition; `ignored` is one of the meanings",
    accepted: Accepted::Then("rows with the word are left out: their time stays missing"),
};
