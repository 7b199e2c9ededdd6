//! Scorers against each other as JSON.

use super::{AgreementJson, Undefineds};
use crate::{Agreement, PairSummary, ScorerGroup, ScorerPair, Scorers, ScorersNight, specific_agreement};
use counterpane_model::Source;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// Scorers of the same nights against each other. Neither of two is the reference.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ScorersJson {
    /// Night by night.
    pub nights: Vec<ScorersNightJson>,
    /// Each pair over all nights that both scored.
    pub pairs: Vec<PairSummaryJson>,
    /// People, and programs, over all nights that three or more of them scored.
    pub groups: Vec<ScorerGroupJson>,
}

/// The scorers of one night.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ScorersNightJson {
    /// The participant's code.
    pub participant: String,
    /// Label of the night.
    pub night: String,
    /// Each pair.
    pub pairs: Vec<ScorerPairJson>,
    /// People, and programs, where there are three or more of them.
    pub groups: Vec<ScorerGroupJson>,
}

/// One scorer of a pair.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ScorerJson {
    /// Code of the scorer.
    pub scorer: String,
    /// `human` or `algorithm`.
    pub scored_by: String,
}

/// Two scorers of one night.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ScorerPairJson {
    /// The two, the first in rows of the matrix.
    pub scorers: [ScorerJson; 2],
    /// Their agreement; null where they share no classes or no epoch.
    pub agreement: Option<AgreementJson>,
    /// Of all that either gave to a class, the share on which both agree; null where neither gave it.
    pub specific_agreement: BTreeMap<String, Option<f64>>,
}

/// Two scorers over all nights that both scored.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PairSummaryJson {
    /// The two.
    pub scorers: [ScorerJson; 2],
    /// Number of nights that were compared.
    pub nights: usize,
    /// Number of participants of those nights.
    pub participants: usize,
    /// All epochs in one matrix.
    pub pooled: AgreementJson,
    /// Of all that either gave to a class, the share on which both agree; null where neither gave it.
    pub specific_agreement: BTreeMap<String, Option<f64>>,
    /// Kappa: mean over participants of the mean over their nights.
    pub mean_kappa: Option<f64>,
    /// Least and most kappa of a night.
    pub kappa_range: Option<[f64; 2]>,
    /// Name of each figure that is undefined, and why.
    pub undefined: BTreeMap<String, String>,
}

/// Three or more scorers of one kind.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ScorerGroupJson {
    /// `human` or `algorithm`.
    pub scored_by: String,
    /// Their codes.
    pub scorers: Vec<String>,
    /// The classes.
    pub scheme: String,
    /// Fleiss' kappa over the epochs that all scored.
    pub fleiss_kappa: Option<f64>,
    /// Number of those epochs.
    pub fleiss_n: u64,
    /// Krippendorff's alpha over the epochs that two or more scored.
    pub krippendorff_alpha: Option<f64>,
    /// Number of those epochs.
    pub alpha_n: u64,
    /// Name of each figure that is undefined, and why.
    pub undefined: BTreeMap<String, String>,
}

impl From<&Scorers> for ScorersJson {
    fn from(scorers: &Scorers) -> ScorersJson {
        ScorersJson {
            nights: scorers.nights.iter().map(night).collect(),
            pairs: scorers.pairs.iter().map(summary).collect(),
            groups: scorers.groups.iter().map(group).collect(),
        }
    }
}

fn night(night: &ScorersNight) -> ScorersNightJson {
    ScorersNightJson {
        participant: night.participant.clone(),
        night: night.night.clone(),
        pairs: night.pairs.iter().map(pair).collect(),
        groups: night.groups.iter().map(group).collect(),
    }
}

fn scorer(source: &Source) -> ScorerJson {
    let scored_by = match source {
        Source::Reference { scored_by, .. } => scored_by.code(),
        Source::Device { .. } => "algorithm",
    };
    ScorerJson { scorer: source.name().to_owned(), scored_by: scored_by.to_owned() }
}

fn specific(agreement: &Agreement) -> BTreeMap<String, Option<f64>> {
    specific_agreement(agreement).into_iter().map(|(class, figure)| (class.code().to_owned(), figure.ok())).collect()
}

fn pair(pair: &ScorerPair) -> ScorerPairJson {
    ScorerPairJson {
        scorers: pair.sources.each_ref().map(scorer),
        agreement: pair.agreement.as_ref().map(AgreementJson::from),
        specific_agreement: pair.agreement.as_ref().map(specific).unwrap_or_default(),
    }
}

fn summary(pair: &PairSummary) -> PairSummaryJson {
    let mut undefined = Undefineds::default();
    PairSummaryJson {
        scorers: pair.sources.each_ref().map(scorer),
        nights: pair.nights,
        participants: pair.participants,
        pooled: AgreementJson::from(&pair.pooled),
        specific_agreement: specific(&pair.pooled),
        mean_kappa: undefined.keep("mean_kappa", pair.mean_kappa),
        kappa_range: pair.kappa_range.map(|(least, most)| [least, most]),
        undefined: undefined.0,
    }
}

fn group(group: &ScorerGroup) -> ScorerGroupJson {
    let mut undefined = Undefineds::default();
    ScorerGroupJson {
        scored_by: group.scored_by.code().to_owned(),
        scorers: group.scorers.clone(),
        scheme: group.scheme.code().to_owned(),
        fleiss_kappa: undefined.keep("fleiss_kappa", group.fleiss),
        fleiss_n: group.fleiss_n,
        krippendorff_alpha: undefined.keep("krippendorff_alpha", group.alpha),
        alpha_n: group.alpha_n,
        undefined: undefined.0,
    }
}
