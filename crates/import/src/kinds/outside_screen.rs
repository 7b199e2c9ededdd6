//! Rows of a sheet lie outside the stretch that its screen covers.

use counterpane_model::{Accepted, Kind, Severity};

/// The facts of it; who reads the head of a sheet finds it.
pub static KIND: Kind = Kind {
    code: "outside-screen",
    severity: Severity::Error,
    title: "rows of a sheet lie outside the stretch that its screen covers",
    why: "The head says in `window` from when to when the screen shows anything. A row outside it cannot have been read off \
          that screen: its time was mistyped, or the window was, or the row belongs to another picture.",
    example: "error[outside-screen]: 1 row lies outside the stretch that the screen covers by the head, 22:00-08:00: `wake` at `12:05`",
    help: "look at the picture again and mend the time of the row, or the window in the head, and import again",
    accepted: Accepted::Then("the rows stay as they were typed, and count"),
};
