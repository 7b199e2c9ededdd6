//! What a sheet asks for.

/// What the rows of a sheet are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Form {
    /// Changes of stage, read off a screen.
    Changes,
    /// Ranges of epochs, from a lab's printed list.
    Epochs,
}

/// How times of a sheet may be typed, for the help of commands.
pub(crate) const TYPED_TIMES: &str = "Times on a sheet may be typed as 23:47, 23.47, 2347 or 11:47 pm, or in a workbook as the program's own time of \
                                      day; minutes have two digits. Rows go over midnight by their order.";

/// A field of the head, or a total: its name, and what it means.
pub(crate) type Field = (&'static str, &'static str);

impl Form {
    /// Returns the word and the version that open a sheet.
    pub(crate) fn code(self) -> &'static str {
        match self {
            Form::Changes => "changes 1",
            Form::Epochs => "epochs 1",
        }
    }

    /// Returns the kind of a row in plain text.
    pub(crate) fn row(self) -> &'static str {
        match self {
            Form::Changes => "change",
            Form::Epochs => "epochs",
        }
    }

    /// Returns the name of the workbook's sheet of rows.
    pub(crate) fn sheet(self) -> &'static str {
        match self {
            Form::Changes => "Changes",
            Form::Epochs => "Epochs",
        }
    }

    /// Returns the names of the first two columns of the workbook's sheet of rows.
    pub(crate) fn columns(self) -> [&'static str; 2] {
        match self {
            Form::Changes => ["clock", "stage"],
            Form::Epochs => ["epochs", "stage"],
        }
    }

    /// Returns the row that shows how rows are written, and that no import reads.
    pub(crate) fn example(self) -> [&'static str; 2] {
        match self {
            Form::Changes => ["23:47", "light"],
            Form::Epochs => ["1-43", "W"],
        }
    }

    /// Returns one sentence on how the rows are written.
    pub(crate) fn how(self) -> &'static str {
        match self {
            Form::Changes => {
                "One row for each change: when it began, and what began. The last row says when it ended, and end."
            }
            Form::Epochs => "One row for each stretch of epochs of one stage: 1-43, or 44 for a single one.",
        }
    }

    /// Returns the words that a row may say.
    pub(crate) fn stages(self) -> &'static [&'static str] {
        match self {
            Form::Changes => {
                &["wake", "light", "deep", "rem", "n1", "n2", "n3", "nrem", "asleep", "unscored", "off", "end"]
            }
            Form::Epochs => &["W", "N1", "N2", "N3", "R", "S1", "S2", "S3", "S4", "M", "?"],
        }
    }

    /// Returns the fields of the head.
    pub(crate) fn head(self) -> &'static [Field] {
        match self {
            Form::Changes => CHANGES,
            Form::Epochs => EPOCHS,
        }
    }

    /// Returns the fields of the head that say whose sheet it is: two readings of one source share them.
    pub(crate) fn whose(self) -> &'static [&'static str] {
        match self {
            Form::Changes => &["unit", "participant", "night", "zone"],
            Form::Epochs => &["scorer", "participant", "night", "zone"],
        }
    }

    /// Returns the fields of the head that are read off the source, as the rows are.
    pub(crate) fn of_source(self) -> &'static [&'static str] {
        match self {
            Form::Changes => &["window"],
            Form::Epochs => &["epoch 1", "lights off", "lights on", "rules"],
        }
    }

    /// Returns the totals that a screen may show; a printed list shows none.
    pub(crate) fn shown(self) -> &'static [Field] {
        match self {
            Form::Changes => SHOWN,
            Form::Epochs => &[],
        }
    }
}

const CHANGES: &[Field] = &[
    ("unit", "the piece that was worn, by its name in study.toml"),
    ("participant", "the participant's code"),
    ("night", "label of the night, the date of its evening"),
    ("zone", "zone of the times, such as Australia/Lord_Howe"),
    ("reader", "who reads the picture"),
    ("pass", "1, or 2 for a second reading without a look at the first"),
    ("precision", "how finely the picture could be read, in minutes: 1, 2.5; 0 where times are printed"),
    ("picture", "name of the picture's file, or several with a comma and a blank between"),
    ("window", "from when to when the screen shows anything, such as 22:00-08:00"),
];

const EPOCHS: &[Field] = &[
    ("scorer", "the scorer, by the code in study.toml"),
    ("participant", "the participant's code"),
    ("night", "label of the night, the date of its evening"),
    ("zone", "zone of the times, such as Australia/Lord_Howe"),
    ("reader", "who types the list"),
    ("pass", "1, or 2 for a second typing without a look at the first"),
    ("epoch 1", "date and time at which epoch 1 begins, such as 2026-04-04 22:30:00; an epoch lasts 30 seconds"),
    ("lights off", "date and time, or a time of day"),
    ("lights on", "date and time, or a time of day"),
    ("rules", "rule set of the scoring, as the list names it"),
];

const SHOWN: &[Field] = &[
    ("total sleep", "7:05 for seven hours and five minutes"),
    ("time in bed", "7:05 for seven hours and five minutes"),
    ("wake", "0:41 for forty-one minutes"),
    ("light", "0:41 for forty-one minutes"),
    ("deep", "0:41 for forty-one minutes"),
    ("rem", "0:41 for forty-one minutes"),
    ("efficiency", "per cent, such as 93"),
    ("awakenings", "a count"),
    ("start", "a time of day"),
    ("end", "a time of day"),
];

/// A sheet that nobody has filled in, but for what the study knows.
#[derive(Clone, Debug)]
pub(crate) struct Blank {
    /// What its rows are.
    pub(crate) form: Form,
    /// Fields of the head that are known, by name.
    pub(crate) known: std::collections::BTreeMap<&'static str, String>,
}

impl Blank {
    /// Returns the value of a field; empty where nobody knows it.
    pub(crate) fn value(&self, field: &str) -> &str {
        self.known.get(field).map_or("", String::as_str)
    }
}
