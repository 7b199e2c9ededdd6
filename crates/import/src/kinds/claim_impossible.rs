//! A source claims of a night what no night can hold.

use counterpane_model::{Accepted, Kind, Severity};

pub(crate) static KIND: Kind = Kind {
    code: "claim-impossible",
    severity: Severity::Error,
    title: "a source claims of a night what no night can hold",
    why: "Claims enter the tables of minutes; a negative length, more than a day of sleep or 150 per cent there would be \
          wrong, and often says that the definition reads another unit than the source writes.",
    example: "error[claim-impossible]: `total-sleep`: 25200 min are more than a day, the most that a night can hold",
    help: "compare the value with the unit that the definition gives to the claim",
    accepted: Accepted::Then("the claim is left out: its place in the tables of minutes stays empty"),
};
