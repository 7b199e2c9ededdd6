//! What the command line and the study say about one file.

use counterpane_model::{Night, Zone};

/// What the command line and the study say about one file.
///
/// Times are texts as typed: `2026-04-04T22:30:00+11:00`, `2026-04-04 22:30[:15]`, or a time of day
/// `22:30` that is looked for in the night.
#[derive(Clone, Debug, Default)]
pub struct Bindings {
    /// Name of the file as the user gave it; findings print it.
    pub file: String,
    /// The participant's code.
    pub participant: String,
    /// The participant's declared nights.
    pub nights: Vec<Night>,
    /// `--night`: the label of a declared night, or the date of an evening.
    pub night: Option<String>,
    /// `--zone`, typed by the user: it outranks the zone of the night, and a warning says so where the two
    /// differ.
    pub zone: Option<Zone>,
    /// The study's zone: that of nights which nobody has declared yet. It is used only where no declared night,
    /// no `--zone` and no zone of the source says otherwise.
    pub study_zone: Option<Zone>,
    /// `--start`: the start of the first epoch, for sources that give none.
    pub start: Option<String>,
    /// `--end`: the end of the recording, for sources that give none.
    pub end: Option<String>,
    /// `--lights-off`.
    pub lights_off: Option<String>,
    /// `--lights-on`.
    pub lights_on: Option<String>,
}

/// A file that a definition looks for beside the file that is read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Beside {
    /// Its name, such as `night_events.json`.
    pub name: String,
    /// Whether files with fewer of the parts of that name describe the file too, in its folder and above it.
    pub inherits: bool,
}

/// A file that stands beside the file that is read, such as the description of its columns.
///
/// Several may answer to one name: what a nearer one says at its top takes the place of what a farther one says there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Companion {
    /// The name that the definition looks for; only the last part of a path counts.
    pub name: String,
    /// Where it was found, for messages.
    pub place: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}
