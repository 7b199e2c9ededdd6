//! What was laid down about comparisons, when, and whether results had been looked at by then.
//!
//! `study.toml` says what holds now; the log says since when. A change is noted by the first command that writes to the
//! study, and the first command that shows results is noted too. Both are lines of the log and nothing else.

use crate::decisions::hash;
use crate::{Act, Decision, Deed, ProtocolAct, StoreError, Study};
use counterpane_model::{Looked, Plan};

/// A line of the log that lays a protocol down.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LaidDown {
    /// Number of the decision.
    pub decision: u64,
    /// When: RFC 3339, UTC.
    pub at: String,
    /// Who.
    pub by: String,
    /// What was laid down.
    pub act: ProtocolAct,
}

impl Study {
    /// Returns what `study.toml` lays down about comparisons now.
    #[must_use]
    pub fn plan(&self) -> Option<Plan> {
        self.config().plan()
    }

    /// Returns every protocol that the log has seen, in order.
    #[must_use]
    pub fn laid_down(&self) -> Vec<LaidDown> {
        let of = |d: &Decision| match &d.act {
            Act::Protocol(act) => {
                Some(LaidDown { decision: d.n, at: d.at.clone(), by: d.by.clone(), act: act.clone() })
            }
            _ => None,
        };
        self.decisions().iter().filter_map(of).collect()
    }

    /// Returns the decision that notes when results were first looked at.
    #[must_use]
    pub fn looked(&self) -> Option<&Decision> {
        self.decisions().iter().find(|d| matches!(d.act, Act::Looked { .. }))
    }

    /// Says whether the log knows the protocol as it stands in `study.toml`.
    #[must_use]
    pub fn knows_protocol(&self) -> bool {
        self.laid_down().last().map_or("", |l| l.act.text.as_str()) == self.plan_text()
    }

    /// Notes the protocol of `study.toml`, where it is new or was changed.
    ///
    /// # Errors
    /// The log or the store cannot be written.
    pub fn note_protocol(&mut self, deed: Deed<'_>) -> Result<(), StoreError> {
        if self.knows_protocol() {
            return Ok(());
        }
        let looked = if self.looked().is_some() { Looked::After } else { Looked::Before };
        let text = self.plan_text();
        let act = ProtocolAct { sha256: hash(text.as_bytes()), text, looked };
        self.carry_out(deed, Act::Protocol(act), |_, _| Ok(()))
    }

    /// Notes that results are looked at, if this was never noted before.
    ///
    /// # Errors
    /// The log or the store cannot be written.
    pub fn note_looked(&mut self, deed: Deed<'_>, command: &str) -> Result<(), StoreError> {
        if self.looked().is_some() {
            return Ok(());
        }
        self.carry_out(deed, Act::Looked { command: command.to_owned() }, |_, _| Ok(()))
    }

    /// Nothing where nothing is laid down.
    fn plan_text(&self) -> String {
        self.plan().map(|p| p.text()).unwrap_or_default()
    }
}
