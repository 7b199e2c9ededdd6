//! What the devices of a night are compared with: one scorer, or the majority of several.

use crate::output::clean;
use crate::wording::{and, or};
use anyhow::bail;
use counterpane_compare::{Chosen, ChosenBy, Majority, NothingToCompare, majority, voters};
use counterpane_model::{Decided, MAJORITY, Night, Recording};
use counterpane_store::{Config, Stored};

/// Whose scoring is the reference, and what said so.
#[derive(Clone, Debug, Default)]
pub(crate) struct Wanted {
    /// A scorer's code, or [`MAJORITY`]; `None` where nothing chooses.
    pub(crate) scorer: Option<String>,
    by: Option<ChosenBy>,
    /// Whose word settles a tie of the majority.
    tie: Option<String>,
}

/// The reference of a night, not yet laid on any epochs.
#[derive(Clone)]
pub(crate) enum Reference {
    /// One scorer.
    One(Box<Stored>),
    /// The majority of several; who votes is decided with what is left out.
    Majority(Vec<Stored>),
}

impl Wanted {
    /// Returns what an option chooses, else what the study's protocol says.
    ///
    /// # Errors
    /// When the option names no scorer of the study.
    pub(crate) fn of(option: Option<&str>, config: &Config) -> anyhow::Result<Wanted> {
        let tie = config.protocol.tie.as_ref().map(|t| t.get_ref().clone());
        let Some(code) = option else {
            let scorer = config.protocol.scorer.as_ref().map(|s| s.get_ref().clone());
            return Ok(Wanted { by: scorer.as_ref().map(|_| ChosenBy::Study), scorer, tie });
        };
        if code != MAJORITY && config.scorer(code).is_none() {
            let known: Vec<&str> = config.scorers.iter().map(|s| s.code.get_ref().as_str()).collect();
            bail!(
                "there is no scorer `{}` in study.toml; it has {}, and `{MAJORITY}` stands for the majority of those of a night",
                clean(code),
                and(&known)
            );
        }
        Ok(Wanted { scorer: Some(code.to_owned()), by: Some(ChosenBy::Command), tie })
    }

    /// Returns the reference of a night among its scorers, or why it has none; with how it was chosen, where there
    /// was a choice.
    pub(crate) fn among(
        &self,
        name: &str,
        scorers: &[Stored],
    ) -> anyhow::Result<Result<(Reference, Option<Chosen>), String>> {
        let codes: Vec<String> = scorers.iter().map(|s| s.recording.source.name().to_owned()).collect();
        let chosen = self.by.filter(|_| codes.len() > 1).map(|by| Chosen { of: codes.clone(), by });
        let one = |s: &Stored| Reference::One(Box::new(s.clone()));
        let found = match (self.scorer.as_deref(), scorers) {
            (_, []) => None,
            (Some(MAJORITY), all) => Some(Reference::Majority(all.to_vec())),
            (Some(code), all) => all.iter().find(|s| s.recording.source.name() == code).map(one),
            (None, [only]) => Some(one(only)),
            (None, _) => bail!(
                "{name} has {} references, and none of them is taken unasked: name one with --scorer ({}), or take what most of them say with --scorer {MAJORITY}; `scorer` under [protocol] in study.toml lays it down for good",
                codes.len(),
                or(&codes)
            ),
        };
        let which = self.scorer.as_ref().filter(|s| *s != MAJORITY);
        let by = which.map(|s| format!(" by `{}`", clean(s))).unwrap_or_default();
        Ok(found.map(|f| (f, chosen)).ok_or_else(|| format!("{name} has no reference{by}")))
    }

    /// Returns the majority of some scorers of a night.
    pub(crate) fn majority(
        &self,
        night: &Night,
        scorers: &[Stored],
        decided: &Decided,
    ) -> Result<Majority, NothingToCompare> {
        majority(night, &recordings(scorers), decided, self.tie.as_deref())
    }
}

impl Reference {
    /// Returns every recording that it is made from.
    pub(crate) fn stored(&self) -> &[Stored] {
        match self {
            Reference::One(one) => std::slice::from_ref(one),
            Reference::Majority(all) => all,
        }
    }

    /// Returns the recordings whose findings concern it.
    pub(crate) fn counting(&self, decided: &Decided) -> Vec<&Recording> {
        let all = recordings(self.stored());
        match self {
            Reference::One(_) => all.into_iter().filter(|r| decided.excludes(&r.source).is_none()).collect(),
            Reference::Majority(_) => voters(&all, decided),
        }
    }
}

pub(crate) fn recordings(stored: &[Stored]) -> Vec<&Recording> {
    stored.iter().map(|s| &s.recording).collect()
}
