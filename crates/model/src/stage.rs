//! Stages, what a source can say, and the schemes that fold stages into comparable classes.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A sleep stage as a source states it: fully scored, or as coarse as the source is.
///
/// `W`, `N1`, `N2`, `N3` and `R` are the stages of the scoring manual. Stages of the older rules
/// become these: S1 and S2 are N1 and N2, S3 and S4 are N3 (common practice, no source).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Stage {
    /// Wake.
    W,
    /// Stage N1.
    N1,
    /// Stage N2.
    N2,
    /// Stage N3, often called deep sleep.
    N3,
    /// REM sleep.
    R,
    /// N1 or N2, undivided.
    Light,
    /// Any of N1, N2 and N3, undivided.
    #[serde(rename = "NREM")]
    Nrem,
    /// Any sleep, undivided.
    Asleep,
}

impl Stage {
    /// Every stage, in the order of the words list.
    pub const ALL: [Stage; 8] =
        [Stage::W, Stage::N1, Stage::N2, Stage::N3, Stage::R, Stage::Light, Stage::Nrem, Stage::Asleep];

    /// Returns the word that files and the store use.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Stage::W => "W",
            Stage::N1 => "N1",
            Stage::N2 => "N2",
            Stage::N3 => "N3",
            Stage::R => "R",
            Stage::Light => "Light",
            Stage::Nrem => "NREM",
            Stage::Asleep => "Asleep",
        }
    }

    /// Returns a word that reads well in a sentence, such as `light sleep`.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Stage::W => "wake",
            Stage::N1 => "N1",
            Stage::N2 => "N2",
            Stage::N3 => "deep sleep (N3)",
            Stage::R => "REM sleep",
            Stage::Light => "light sleep",
            Stage::Nrem => "non-REM sleep",
            Stage::Asleep => "sleep",
        }
    }

    /// Says whether the stage is sleep of any kind.
    #[must_use]
    pub fn is_sleep(self) -> bool {
        self != Stage::W
    }
}

impl fmt::Display for Stage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

impl FromStr for Stage {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<Stage, UnknownWord> {
        Stage::ALL.into_iter().find(|s| s.code() == text).ok_or_else(|| UnknownWord {
            what: "stage",
            word: text.to_owned(),
            known: join(&Stage::ALL.map(Stage::code)),
        })
    }
}

/// A word that is not in a closed list.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{word}` is not a {what}; known are {known}")]
pub struct UnknownWord {
    /// What the list holds.
    pub what: &'static str,
    /// The word that was given.
    pub word: String,
    /// The words that exist, separated by commas.
    pub known: String,
}

fn join(words: &[&str]) -> String {
    words.join(", ")
}

/// What a span says: a stage, or one of the two things that are not stages.
///
/// The third thing that is not a stage, `missing`, is what a source does *not* say; it has no span
/// and appears only on the grid, as [`crate::Cell::Missing`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Mark {
    /// The source gives a stage.
    Stage(Stage),
    /// The source looked and did not score: movement time, artefact.
    Unscored,
    /// The source says that it was not worn or was charging.
    Off,
}

impl Mark {
    /// Returns the word that files and the store use: a stage's code, `unscored` or `off`.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Mark::Stage(stage) => stage.code(),
            Mark::Unscored => "unscored",
            Mark::Off => "off",
        }
    }

    /// Returns the stage, if it is one.
    #[must_use]
    pub fn stage(self) -> Option<Stage> {
        match self {
            Mark::Stage(stage) => Some(stage),
            Mark::Unscored | Mark::Off => None,
        }
    }
}

impl fmt::Display for Mark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

impl FromStr for Mark {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<Mark, UnknownWord> {
        match text {
            "unscored" => Ok(Mark::Unscored),
            "off" => Ok(Mark::Off),
            other => other
                .parse()
                .map(Mark::Stage)
                .map_err(|e: UnknownWord| UnknownWord { known: format!("{}, unscored, off", e.known), ..e }),
        }
    }
}

impl Serialize for Mark {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.code())
    }
}

impl<'de> Deserialize<'de> for Mark {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Mark, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}

/// The classes that a comparison uses.
///
/// Light = N1 + N2 and deep = N3 is the folding of the vendor-neutral OCF resource type
/// `oic.r.sleep` (light = NREM 1+2, deep = NREM 3+4).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Scheme {
    /// W and Asleep.
    SleepWake,
    /// W, NREM and R.
    Three,
    /// W, Light, N3 and R.
    Four,
    /// W, N1, N2, N3 and R.
    Five,
}

impl Scheme {
    /// Every scheme, from the coarsest to the finest.
    pub const ALL: [Scheme; 4] = [Scheme::SleepWake, Scheme::Three, Scheme::Four, Scheme::Five];

    /// Returns the word that commands and files use.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Scheme::SleepWake => "sleep-wake",
            Scheme::Three => "three",
            Scheme::Four => "four",
            Scheme::Five => "five",
        }
    }

    /// Returns the classes in their fixed order: the order of matrix rows and columns.
    #[must_use]
    pub fn classes(self) -> &'static [Stage] {
        match self {
            Scheme::SleepWake => &[Stage::W, Stage::Asleep],
            Scheme::Three => &[Stage::W, Stage::Nrem, Stage::R],
            Scheme::Four => &[Stage::W, Stage::Light, Stage::N3, Stage::R],
            Scheme::Five => &[Stage::W, Stage::N1, Stage::N2, Stage::N3, Stage::R],
        }
    }

    /// Returns the class that a stage belongs to, or `None` when the stage is too coarse to say:
    /// `Asleep` folds only into `sleep-wake`, `NREM` also into `three`, `Light` also into `four`.
    #[must_use]
    pub fn fold(self, stage: Stage) -> Option<Stage> {
        use Stage::{Asleep, Light, N1, N2, N3, Nrem, R, W};
        match (self, stage) {
            (_, W) => Some(W),
            (Scheme::SleepWake, N1 | N2 | N3 | R | Light | Nrem | Asleep) => Some(Asleep),
            (Scheme::Three, N1 | N2 | N3 | Light | Nrem) => Some(Nrem),
            (Scheme::Four, N1 | N2 | Light) => Some(Light),
            (Scheme::Three | Scheme::Four, R) => Some(R),
            (Scheme::Four, N3) => Some(N3),
            (Scheme::Five, N1 | N2 | N3 | R) => Some(stage),
            (Scheme::Three, Asleep) | (Scheme::Four, Nrem | Asleep) | (Scheme::Five, Light | Nrem | Asleep) => None,
        }
    }

    /// Returns the place of a stage's class in [`Scheme::classes`], or `None` when it does not fold.
    #[must_use]
    pub fn index(self, stage: Stage) -> Option<usize> {
        let class = self.fold(stage)?;
        self.classes().iter().position(|c| *c == class)
    }
}

impl fmt::Display for Scheme {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

impl FromStr for Scheme {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<Scheme, UnknownWord> {
        Scheme::ALL.into_iter().find(|s| s.code() == text).ok_or_else(|| UnknownWord {
            what: "scheme",
            word: text.to_owned(),
            known: join(&Scheme::ALL.map(Scheme::code)),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stage_folds_down_and_never_up() {
        let folded = |stage: Stage| Scheme::ALL.map(|s| s.fold(stage).map_or("-", Stage::code));
        assert_eq!(folded(Stage::W), ["W", "W", "W", "W"]);
        assert_eq!(folded(Stage::N1), ["Asleep", "NREM", "Light", "N1"]);
        assert_eq!(folded(Stage::N3), ["Asleep", "NREM", "N3", "N3"]);
        assert_eq!(folded(Stage::R), ["Asleep", "R", "R", "R"]);
        assert_eq!(folded(Stage::Light), ["Asleep", "NREM", "Light", "-"]);
        assert_eq!(folded(Stage::Nrem), ["Asleep", "NREM", "-", "-"]);
        assert_eq!(folded(Stage::Asleep), ["Asleep", "-", "-", "-"]);
    }

    #[test]
    fn every_fold_lands_in_the_schemes_own_classes() {
        for scheme in Scheme::ALL {
            for stage in Stage::ALL {
                assert_eq!(scheme.fold(stage).is_some(), scheme.index(stage).is_some());
            }
        }
    }

    #[test]
    fn words_read_back() {
        for stage in Stage::ALL {
            assert_eq!(stage.code().parse(), Ok(Mark::Stage(stage)));
            assert_eq!(serde_json::to_string(&stage).ok(), Some(format!("\"{stage}\"")));
        }
        assert_eq!("off".parse(), Ok(Mark::Off));
        assert_eq!(
            "deep".parse::<Mark>().map_err(|e| e.to_string()),
            Err("`deep` is not a stage; known are W, N1, N2, N3, R, Light, NREM, Asleep, unscored, off".to_owned())
        );
    }
}
