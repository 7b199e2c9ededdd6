//! What a study lays down beforehand about its comparisons: `[protocol]` of `study.toml`.

use crate::stage::UnknownWord;
use crate::{Scheme, Stage};
use std::fmt;
use std::str::FromStr;

/// The measure that a study is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PlanMeasure {
    /// Share of epochs that agree, 0..=1.
    Accuracy,
    /// Cohen's kappa, -1..=1.
    Kappa,
    /// Mean of the sensitivities of the classes that the reference has, 0..=1.
    MeanSensitivity,
    /// Sensitivity to one class, 0..=1.
    Sensitivity(Stage),
    /// Minutes in a class, device minus reference; [`Stage::Asleep`] is all sleep.
    Difference(Stage),
}

impl PlanMeasure {
    /// Returns the class that it speaks of, if it speaks of one.
    #[must_use]
    pub fn class(self) -> Option<Stage> {
        match self {
            PlanMeasure::Sensitivity(class) | PlanMeasure::Difference(class) => Some(class),
            PlanMeasure::Accuracy | PlanMeasure::Kappa | PlanMeasure::MeanSensitivity => None,
        }
    }

    /// Says whether its unit is minutes.
    #[must_use]
    pub fn in_minutes(self) -> bool {
        matches!(self, PlanMeasure::Difference(_))
    }
}

impl fmt::Display for PlanMeasure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PlanMeasure::Accuracy => f.write_str("accuracy"),
            PlanMeasure::Kappa => f.write_str("kappa"),
            PlanMeasure::MeanSensitivity => f.write_str("mean sensitivity"),
            PlanMeasure::Sensitivity(class) => write!(f, "sensitivity {class}"),
            PlanMeasure::Difference(Stage::Asleep) => f.write_str("difference sleep"),
            PlanMeasure::Difference(class) => write!(f, "difference {class}"),
        }
    }
}

impl FromStr for PlanMeasure {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<PlanMeasure, UnknownWord> {
        let unknown = || UnknownWord {
            what: "measure of a protocol",
            word: text.to_owned(),
            known: "accuracy, kappa, mean sensitivity, sensitivity STAGE, difference sleep, difference STAGE"
                .to_owned(),
        };
        match text {
            "accuracy" => return Ok(PlanMeasure::Accuracy),
            "kappa" => return Ok(PlanMeasure::Kappa),
            "mean sensitivity" => return Ok(PlanMeasure::MeanSensitivity),
            "difference sleep" => return Ok(PlanMeasure::Difference(Stage::Asleep)),
            _ => {}
        }
        let (kind, stage) = text.split_once(' ').ok_or_else(unknown)?;
        let stage: Stage = stage.parse().map_err(|_| unknown())?;
        match kind {
            "sensitivity" => Ok(PlanMeasure::Sensitivity(stage)),
            "difference" => Ok(PlanMeasure::Difference(stage)),
            _ => Err(unknown()),
        }
    }
}

/// What becomes of an epoch that the reference scored and the device did not.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Missing {
    /// It is left out.
    #[default]
    LeftOut,
    /// It counts as wrong.
    Wrong,
}

/// Which of several exports of a night counts where nobody decided.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ExportRule {
    /// The one that was imported first.
    #[default]
    First,
    /// The one that was imported last.
    Newest,
}

/// Which epochs count.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PlanWindow {
    /// Lights off to lights on, where both are known.
    #[default]
    Lights,
    /// First to last scored epoch of the reference.
    Scored,
}

/// A closed list of words.
macro_rules! words {
    ($type:ident, $what:literal, $($variant:ident = $word:literal),+) => {
        impl $type {
            /// Returns the word that `study.toml` uses.
            #[must_use]
            pub fn code(self) -> &'static str {
                match self { $($type::$variant => $word),+ }
            }
        }

        impl FromStr for $type {
            type Err = UnknownWord;

            fn from_str(text: &str) -> Result<$type, UnknownWord> {
                match text {
                    $($word => Ok($type::$variant),)+
                    _ => Err(UnknownWord { what: $what, word: text.to_owned(), known: [$($word),+].join(", ") }),
                }
            }
        }
    };
}

words!(Missing, "way to treat missing epochs", LeftOut = "left-out", Wrong = "wrong");
words!(ExportRule, "choice of an export", First = "first", Newest = "newest");
words!(PlanWindow, "window", Lights = "lights", Scored = "scored");

/// Shares of the window, in per cent, above which a device's night is marked or left out; `None`: never.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Rules {
    /// Marked above this share of epochs without a pair of stages.
    pub flag_unscored: Option<f64>,
    /// Left out of every figure over nights above this share.
    pub exclude_unscored: Option<f64>,
}

/// What a study lays down beforehand about its comparisons.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plan {
    /// The measure that the study is about.
    pub primary: Option<PlanMeasure>,
    /// The classes; `None`: for each device the finest that both sides can express.
    pub scheme: Option<Scheme>,
    /// Which epochs count.
    pub window: PlanWindow,
    /// What becomes of epochs that the device does not give, in the primary measure.
    pub missing: Missing,
    /// Which of several exports counts.
    pub export: ExportRule,
    /// When a night is marked or left out.
    pub rules: Rules,
    /// Largest mean difference that is small enough, in minutes.
    pub tolerance: Option<f64>,
    /// The devices that the study is about; empty: all.
    pub devices: Vec<String>,
    /// Whose scoring is the reference; `None`: the only one of a night.
    pub scorer: Option<String>,
    /// Whose word settles a tie of the majority.
    pub tie: Option<String>,
}

impl Plan {
    /// Returns the one text that stands for the plan, whatever way `study.toml` writes it: a line for each key in
    /// alphabetical order, with what holds where nothing is written.
    #[must_use]
    pub fn text(&self) -> String {
        let word = |o: &Option<String>| o.clone().unwrap_or_else(|| "none".into());
        let percent = |o: Option<f64>| o.map_or_else(|| "never".into(), |v| format!("{v} %"));
        let devices = if self.devices.is_empty() { "all".to_owned() } else { self.devices.join(", ") };
        let lines = [
            ("devices", devices),
            ("exclude_unscored", percent(self.rules.exclude_unscored)),
            ("export", self.export.code().to_owned()),
            ("flag_unscored", percent(self.rules.flag_unscored)),
            ("missing", self.missing.code().to_owned()),
            ("primary", self.primary.map_or_else(|| "none".into(), |m| m.to_string())),
            ("scheme", self.scheme.map_or("finest of each device", Scheme::code).to_owned()),
            ("scorer", self.scorer.clone().unwrap_or_else(|| "the only one of a night".into())),
            ("tie", word(&self.tie)),
            ("tolerance", self.tolerance.map_or_else(|| "none".into(), |v| format!("{v} min"))),
            ("window", self.window.code().to_owned()),
        ];
        lines.iter().map(|(key, value)| format!("{key} = {value}\n")).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_measure_reads_back_as_it_is_written() {
        for text in ["accuracy", "kappa", "mean sensitivity", "sensitivity N3", "difference sleep", "difference R"] {
            assert_eq!(text.parse::<PlanMeasure>().map(|m| m.to_string()), Ok(text.to_owned()));
        }
        for text in ["", "sensitivity", "sensitivity deep", "minutes N3", "Kappa"] {
            assert!(text.parse::<PlanMeasure>().is_err_and(|e| e.to_string().contains("difference STAGE")), "{text}");
        }
    }

    #[test]
    fn the_text_of_a_plan_says_what_holds_where_nothing_is_written() {
        let text = Plan { primary: Some(PlanMeasure::Kappa), ..Plan::default() }.text();
        assert_eq!(
            text,
            "devices = all\nexclude_unscored = never\nexport = first\nflag_unscored = never\nmissing = left-out\nprimary = kappa\n\
             scheme = finest of each device\nscorer = the only one of a night\ntie = none\ntolerance = none\nwindow = lights\n"
        );
        let keys: Vec<&str> = text.lines().filter_map(|l| l.split(' ').next()).collect();
        assert!(keys.is_sorted());
    }
}
