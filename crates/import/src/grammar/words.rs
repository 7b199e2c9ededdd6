//! The closed lists of words that definitions use.

use counterpane_formats::Format;
use counterpane_model::{Mark, NoteKind, Stage};
use schemars::JsonSchema;

/// A closed list of words.
pub(crate) trait Word: Copy + 'static {
    /// What the list holds, with its article, such as `a format`.
    const WHAT: &'static str;
    /// Every word and its meaning, in the order in which messages name them.
    const WORDS: &'static [(&'static str, Self)];
}

/// A file format.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema)]
#[schemars(rename_all = "lowercase")]
pub(crate) enum FormatWord {
    Csv,
    Edf,
    Json,
    Jsonl,
    Sheet,
    Text,
    Xml,
    Zip,
}

impl Word for FormatWord {
    const WHAT: &'static str = "a format";
    const WORDS: &'static [(&'static str, FormatWord)] = &[
        ("csv", FormatWord::Csv),
        ("edf", FormatWord::Edf),
        ("json", FormatWord::Json),
        ("jsonl", FormatWord::Jsonl),
        ("sheet", FormatWord::Sheet),
        ("text", FormatWord::Text),
        ("xml", FormatWord::Xml),
        ("zip", FormatWord::Zip),
    ];
}

impl FormatWord {
    /// Returns the format that the ending of a file's name says, such as `csv`.
    pub(crate) fn of_name(name: &str) -> Option<FormatWord> {
        Some(match name.rsplit_once('.')?.1.to_ascii_lowercase().as_str() {
            "csv" | "tsv" => FormatWord::Csv,
            "bdf" | "edf" => FormatWord::Edf,
            "json" => FormatWord::Json,
            "jsonl" | "ndjson" => FormatWord::Jsonl,
            "ods" | "xls" | "xlsx" => FormatWord::Sheet,
            "txt" => FormatWord::Text,
            "xml" => FormatWord::Xml,
            "zip" => FormatWord::Zip,
            _ => return None,
        })
    }

    pub(crate) fn format(self) -> Format {
        match self {
            FormatWord::Csv => Format::Csv,
            FormatWord::Edf => Format::Edf,
            FormatWord::Json => Format::Json,
            FormatWord::Jsonl => Format::Jsonl,
            FormatWord::Sheet => Format::Sheet,
            FormatWord::Text => Format::Text,
            FormatWord::Xml => Format::Xml,
            FormatWord::Zip => Format::Zip,
        }
    }
}

/// What a word of the source means: a stage; `unscored` (looked at, not scored); `off` (not worn or
/// charging); `ignored` (no statement, counted); `end` (the last change ends here: shape `change` only).
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema)]
pub(crate) enum StageWord {
    W,
    N1,
    N2,
    N3,
    R,
    #[schemars(rename = "NREM")]
    Nrem,
    Light,
    Asleep,
    #[schemars(rename = "unscored")]
    Unscored,
    #[schemars(rename = "off")]
    Off,
    #[schemars(rename = "ignored")]
    Ignored,
    #[schemars(rename = "end")]
    End,
}

impl Word for StageWord {
    const WHAT: &'static str = "a stage";
    const WORDS: &'static [(&'static str, StageWord)] = &[
        ("W", StageWord::W),
        ("N1", StageWord::N1),
        ("N2", StageWord::N2),
        ("N3", StageWord::N3),
        ("R", StageWord::R),
        ("NREM", StageWord::Nrem),
        ("Light", StageWord::Light),
        ("Asleep", StageWord::Asleep),
        ("unscored", StageWord::Unscored),
        ("off", StageWord::Off),
        ("ignored", StageWord::Ignored),
        ("end", StageWord::End),
    ];
}

impl StageWord {
    /// Returns what a span with this word says, or `None` for the two words that make no span.
    pub(crate) fn mark(self) -> Option<Mark> {
        Some(match self {
            StageWord::W => Mark::Stage(Stage::W),
            StageWord::N1 => Mark::Stage(Stage::N1),
            StageWord::N2 => Mark::Stage(Stage::N2),
            StageWord::N3 => Mark::Stage(Stage::N3),
            StageWord::R => Mark::Stage(Stage::R),
            StageWord::Nrem => Mark::Stage(Stage::Nrem),
            StageWord::Light => Mark::Stage(Stage::Light),
            StageWord::Asleep => Mark::Stage(Stage::Asleep),
            StageWord::Unscored => Mark::Unscored,
            StageWord::Off => Mark::Off,
            StageWord::Ignored | StageWord::End => return None,
        })
    }
}

/// A kind of note, or `ignored` (counted, nothing kept).
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema)]
#[schemars(rename_all = "kebab-case")]
pub(crate) enum NoteWord {
    LightsOff,
    LightsOn,
    OutOfBed,
    Alarm,
    FellOff,
    Alcohol,
    RecordingStarts,
    RecordingEnds,
    Other,
    Ignored,
}

impl Word for NoteWord {
    const WHAT: &'static str = "a kind of note";
    const WORDS: &'static [(&'static str, NoteWord)] = &[
        ("lights-off", NoteWord::LightsOff),
        ("lights-on", NoteWord::LightsOn),
        ("out-of-bed", NoteWord::OutOfBed),
        ("alarm", NoteWord::Alarm),
        ("fell-off", NoteWord::FellOff),
        ("alcohol", NoteWord::Alcohol),
        ("recording-starts", NoteWord::RecordingStarts),
        ("recording-ends", NoteWord::RecordingEnds),
        ("other", NoteWord::Other),
        ("ignored", NoteWord::Ignored),
    ];
}

impl NoteWord {
    /// Returns the kind of note, or `None` when the word makes none.
    pub(crate) fn kind(self) -> Option<NoteKind> {
        Some(match self {
            NoteWord::LightsOff => NoteKind::LightsOff,
            NoteWord::LightsOn => NoteKind::LightsOn,
            NoteWord::OutOfBed => NoteKind::OutOfBed,
            NoteWord::Alarm => NoteKind::Alarm,
            NoteWord::FellOff => NoteKind::FellOff,
            NoteWord::Alcohol => NoteKind::Alcohol,
            NoteWord::RecordingStarts => NoteKind::RecordingStarts,
            NoteWord::RecordingEnds => NoteKind::RecordingEnds,
            NoteWord::Other => NoteKind::Other,
            NoteWord::Ignored => return None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_those_of_the_model() {
        for (word, stage) in StageWord::WORDS {
            assert!(stage.mark().is_none_or(|m| m.code() == *word), "{word}");
        }
        for (word, note) in NoteWord::WORDS {
            assert!(note.kind().is_none_or(|k| k.code() == *word), "{word}");
        }
        assert_eq!(NoteWord::WORDS.len(), NoteKind::ALL.len() + 1);
    }
}
