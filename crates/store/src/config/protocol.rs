//! `[protocol]`: how comparisons are made, as it is laid down before results are seen.

use super::known;
use counterpane_model::{MAJORITY, Plan, PlanMeasure, Rules, Stage};
use serde::Deserialize;
use std::collections::BTreeSet;
use std::ops::Range;
use std::str::FromStr;
use toml::Spanned;

/// How comparisons are made where a command says nothing else.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ProtocolConfig {
    /// Whose scoring is the reference of every night: a scorer's code, or `majority`. Without it, the only scorer of a
    /// night.
    pub scorer: Option<Spanned<String>>,
    /// The scorer whose word settles a tie of the majority; without one a tie is unscored.
    pub tie: Option<Spanned<String>>,
    /// The measure that the study is about.
    primary: Option<Spanned<String>>,
    /// The classes.
    scheme: Option<Spanned<String>>,
    /// Which epochs count.
    window: Option<Spanned<String>>,
    /// What becomes of epochs that the device does not give.
    missing: Option<Spanned<String>>,
    /// Which of several exports counts.
    export: Option<Spanned<String>>,
    /// Per cent of the window without a pair of stages above which a night is marked.
    flag_unscored: Option<Spanned<f64>>,
    /// Per cent of the window without a pair of stages above which a night is left out.
    exclude_unscored: Option<Spanned<f64>>,
    /// Largest mean difference that is small enough, in minutes.
    tolerance: Option<Spanned<f64>>,
    /// The devices that the study is about.
    devices: Option<Vec<Spanned<String>>>,
}

/// Where something is wrong, and what may stand there.
type Wrong = (Range<usize>, String);

impl ProtocolConfig {
    /// Returns what it lays down; `None` where it says nothing.
    ///
    /// # Errors
    /// A value that cannot be.
    pub(super) fn plan(&self) -> Result<Option<Plan>, Wrong> {
        let text = |t: &Option<Spanned<String>>| t.as_ref().map(|t| t.get_ref().clone());
        let devices = self.devices.iter().flatten().map(|d| d.get_ref().clone()).collect();
        let plan = Plan {
            primary: word(self.primary.as_ref())?,
            scheme: word(self.scheme.as_ref())?,
            window: word(self.window.as_ref())?.unwrap_or_default(),
            missing: word(self.missing.as_ref())?.unwrap_or_default(),
            export: word(self.export.as_ref())?.unwrap_or_default(),
            rules: Rules {
                flag_unscored: percent("flag_unscored", self.flag_unscored.as_ref())?,
                exclude_unscored: percent("exclude_unscored", self.exclude_unscored.as_ref())?,
            },
            tolerance: self.tolerance()?,
            devices,
            scorer: text(&self.scorer),
            tie: text(&self.tie),
        };
        self.fits(&plan)?;
        Ok((!self.says_nothing()).then_some(plan))
    }

    /// Checks the values, and that whom it names is declared.
    pub(super) fn check(&self, devices: &BTreeSet<&str>, scorers: &BTreeSet<&str>) -> Result<(), Wrong> {
        if let Some(scorer) = self.scorer.as_ref().filter(|s| s.get_ref() != MAJORITY) {
            known("scorer", scorer, scorers)?;
        }
        self.tie.as_ref().map_or(Ok(()), |tie| known("scorer", tie, scorers))?;
        self.devices.iter().flatten().try_for_each(|device| known("device", device, devices))?;
        self.plan().map(drop)
    }

    fn says_nothing(&self) -> bool {
        let texts = [&self.scorer, &self.tie, &self.primary, &self.scheme, &self.window, &self.missing, &self.export];
        let numbers = [&self.flag_unscored, &self.exclude_unscored, &self.tolerance];
        texts.iter().all(|t| t.is_none()) && numbers.iter().all(|n| n.is_none()) && self.devices.is_none()
    }

    fn tolerance(&self) -> Result<Option<f64>, Wrong> {
        let Some(given) = &self.tolerance else { return Ok(None) };
        let value = *given.get_ref();
        let fits = value.is_finite() && value > 0.0 && value <= 1440.0;
        let wrong = || (given.span(), format!("`tolerance` is {value}; it is minutes, above 0 and up to 1440"));
        if fits { Ok(Some(value)) } else { Err(wrong()) }
    }

    /// Says what does not go together.
    fn fits(&self, plan: &Plan) -> Result<(), Wrong> {
        if let (Some(tolerance), false) = (&self.tolerance, plan.primary.is_some_and(PlanMeasure::in_minutes)) {
            let why =
                "a tolerance is in minutes and goes with a primary measure in minutes, such as \"difference sleep\"";
            return Err((tolerance.span(), why.into()));
        }
        if let (Some(primary), Some(class), Some(scheme)) =
            (&self.primary, plan.primary.and_then(PlanMeasure::class), plan.scheme)
        {
            let sleep = plan.primary == Some(PlanMeasure::Difference(Stage::Asleep));
            if !sleep && !scheme.classes().contains(&class) {
                let classes: Vec<&str> = scheme.classes().iter().map(|c| c.code()).collect();
                let why =
                    format!("`{class}` is no class of the scheme `{scheme}`; its classes are {}", classes.join(", "));
                return Err((primary.span(), why));
            }
        }
        if let (Some(flag), Some(flagged), Some(excluded)) =
            (&self.flag_unscored, plan.rules.flag_unscored, plan.rules.exclude_unscored)
            && flagged > excluded
        {
            return Err((
                flag.span(),
                "a night would be left out before it is marked; give the lower share here".into(),
            ));
        }
        Ok(())
    }
}

fn word<T: FromStr<Err = E>, E: std::fmt::Display>(given: Option<&Spanned<String>>) -> Result<Option<T>, Wrong> {
    given.map(|text| text.get_ref().parse().map_err(|e: E| (text.span(), e.to_string()))).transpose()
}

fn percent(key: &str, given: Option<&Spanned<f64>>) -> Result<Option<f64>, Wrong> {
    let Some(given) = given else { return Ok(None) };
    let value = *given.get_ref();
    if (0.0..=100.0).contains(&value) {
        return Ok(Some(value));
    }
    Err((given.span(), format!("`{key}` is {value}; it is per cent of the window, 0 to 100")))
}

#[cfg(test)]
mod tests {
    use crate::Config;
    use counterpane_model::{ExportRule, Missing, Plan, PlanMeasure, PlanWindow, Rules, Scheme, Stage};
    use std::path::Path;

    fn read(protocol: &str) -> Result<Option<Plan>, String> {
        let text =
            format!("version = 1\nname = \"t\"\nzone = \"UTC\"\n[[device]]\nname = \"ring-a\"\n[protocol]\n{protocol}");
        let config = Config::parse(Path::new("study.toml"), &text).map_err(|e| e.to_string())?;
        Ok(config.plan())
    }

    #[test]
    fn a_protocol_is_read_whole() {
        let text = "primary = \"difference N3\"\nscheme = \"four\"\nwindow = \"scored\"\nmissing = \"wrong\"\nexport = \"newest\"\n\
                    flag_unscored = 5\nexclude_unscored = 20.5\ntolerance = 15\ndevices = [\"ring-a\"]\n";
        let plan = Plan {
            primary: Some(PlanMeasure::Difference(Stage::N3)),
            scheme: Some(Scheme::Four),
            window: PlanWindow::Scored,
            missing: Missing::Wrong,
            export: ExportRule::Newest,
            rules: Rules { flag_unscored: Some(5.0), exclude_unscored: Some(20.5) },
            tolerance: Some(15.0),
            devices: vec!["ring-a".into()],
            scorer: None,
            tie: None,
        };
        assert_eq!(read(text), Ok(Some(plan)));
        assert_eq!(read(""), Ok(None), "a protocol that says nothing is none");
    }

    #[test]
    fn what_does_not_go_together_is_refused_with_the_way_out() {
        let check = |text: &str, said: &str| {
            let error = read(text).unwrap_err();
            assert!(error.contains(said), "{error}");
        };
        check("primary = \"kapa\"\n", "`kapa` is not a measure of a protocol; known are accuracy, kappa");
        check("scheme = \"six\"\n", "`six` is not a scheme");
        check("missing = \"zero\"\n", "known are left-out, wrong");
        check("primary = \"kappa\"\ntolerance = 3\n", "such as \"difference sleep\"");
        check("primary = \"sensitivity N1\"\nscheme = \"four\"\n", "its classes are W, Light, N3, R");
        check("flag_unscored = 120\n", "it is per cent of the window, 0 to 100");
        check("flag_unscored = 30\nexclude_unscored = 20\n", "left out before it is marked");
        check("devices = [\"ring-b\"]\n", "device `ring-b` is not declared; declared are ring-a");
    }
}
