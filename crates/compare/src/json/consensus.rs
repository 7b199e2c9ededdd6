//! How a reference was chosen, or came about, as JSON.

use super::ClockJson;
use crate::{Chosen, Consensus, LightsNamed, VoteCounts, Voter};
use schemars::JsonSchema;
use serde::Serialize;

/// How the reference of a night was chosen from several.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChosenJson {
    /// Codes of all scorers of the night, in the order of the store.
    pub of: Vec<String>,
    /// `command`: by an option; `study`: by the protocol in study.toml.
    pub by: String,
}

/// How a reference that is the majority of several scorers came about.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ConsensusJson {
    /// Who voted, in the order of the store; the epochs are those of the first.
    pub voters: Vec<VoterJson>,
    /// Codes of programs that did not vote because people did.
    pub programs_aside: Vec<String>,
    /// Codes of scorers that did not vote because they give no stages over time.
    pub silent: Vec<String>,
    /// The classes in which votes are counted, before anything is folded.
    pub scheme: String,
    /// Whose word settles a tie where it is one of the tied stages; null: a tie is unscored.
    pub tie: Option<String>,
    /// What the voters name as lights off.
    pub lights_off: LightsNamedJson,
    /// What the voters name as lights on.
    pub lights_on: LightsNamedJson,
    /// How the epochs of the window were decided, without what is left out of the night.
    pub epochs: VoteCountsJson,
}

/// One scorer of a majority.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct VoterJson {
    /// Code of the scorer.
    pub scorer: String,
    /// Key of the recording.
    pub key: String,
    /// Name of the original.
    pub file: String,
    /// How much later its own epochs begin than those of the first voter, milliseconds; at most half an epoch.
    pub phase_ms: i64,
    /// The correction of its clock, where one was set.
    pub clock: Option<ClockJson>,
}

/// What several scorers name as one of the two lights.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LightsNamedJson {
    /// Who names which time.
    pub named: Vec<LightNamedJson>,
    /// The time of the first of them, if all lie less than an epoch apart; else null.
    pub agreed: Option<String>,
}

/// What one scorer names as one of the two lights.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LightNamedJson {
    /// Code of the scorer.
    pub scorer: String,
    /// The time.
    pub at: String,
}

/// How many epochs were decided in which way.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct VoteCountsJson {
    /// All who scored the epoch, two at least, give the same stage.
    pub unanimous: u64,
    /// One stage was given more often than any other.
    pub majority: u64,
    /// A tie that the word of one scorer settled.
    pub settled: u64,
    /// A tie that nothing settled: unscored.
    pub tied: u64,
    /// Fewer than two scored the epoch: unscored.
    pub too_few: u64,
}

impl From<&Chosen> for ChosenJson {
    fn from(chosen: &Chosen) -> ChosenJson {
        ChosenJson { of: chosen.of.clone(), by: chosen.by.code().to_owned() }
    }
}

impl From<&Consensus> for ConsensusJson {
    fn from(consensus: &Consensus) -> ConsensusJson {
        ConsensusJson {
            voters: consensus.voters.iter().map(VoterJson::from).collect(),
            programs_aside: consensus.programs_aside.clone(),
            silent: consensus.silent.clone(),
            scheme: consensus.scheme.code().to_owned(),
            tie: consensus.tie.clone(),
            lights_off: LightsNamedJson::from(&consensus.lights_off),
            lights_on: LightsNamedJson::from(&consensus.lights_on),
            epochs: VoteCountsJson::from(consensus.counts),
        }
    }
}

impl From<&Voter> for VoterJson {
    fn from(voter: &Voter) -> VoterJson {
        VoterJson {
            scorer: voter.code.clone(),
            key: voter.key.clone(),
            file: voter.file.clone(),
            phase_ms: voter.phase_ms,
            clock: voter.clock.as_ref().map(ClockJson::from),
        }
    }
}

impl From<&LightsNamed> for LightsNamedJson {
    fn from(lights: &LightsNamed) -> LightsNamedJson {
        let named = |(scorer, at): &(String, _)| LightNamedJson { scorer: scorer.clone(), at: utc(*at) };
        LightsNamedJson { named: lights.named.iter().map(named).collect(), agreed: lights.agreed.map(utc) }
    }
}

fn utc(at: counterpane_model::Instant) -> String {
    at.utc_text()
}

impl From<VoteCounts> for VoteCountsJson {
    fn from(counts: VoteCounts) -> VoteCountsJson {
        let VoteCounts { unanimous, majority, settled, tied, too_few } = counts;
        VoteCountsJson { unanimous, majority, settled, tied, too_few }
    }
}
