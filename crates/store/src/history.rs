//! Everything that was ever said and decided of a night, whether or not it still stands.

use crate::recordings::night_id_of;
use crate::{Act, Decision, StoreError, Study};
use counterpane_model::Mark;

/// One recording of a night, also one that no longer stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Past {
    /// Its key.
    pub key: String,
    /// Unit or scorer.
    pub source: String,
    /// Which of several of the same source and night it is, from 1.
    pub version: u32,
    /// Whether it is the one that counts in comparisons.
    pub counts: bool,
    /// Key of the reading that took its place.
    pub replaced_by: Option<String>,
    /// Number of the decision that took its import back.
    pub withdrawn_by: Option<u64>,
    /// Name of the original.
    pub file: String,
    /// SHA-256 of the original.
    pub original: String,
    /// Id of the definition.
    pub definition: String,
    /// SHA-256 of the definition.
    pub definition_sha256: String,
    /// Number of the decision that brought it in.
    pub decision: u64,
    /// When that was, RFC 3339.
    pub at: String,
    /// Minutes in each mark, in the order of [`Mark`].
    pub minutes: Vec<(Mark, f64)>,
}

impl Study {
    /// Says whether anything was ever blanked on its way in.
    #[must_use]
    pub fn blanks_anything(&self) -> bool {
        self.decisions().iter().any(|d| d.act.kept().iter().any(|k| k.received.is_some()))
    }

    /// Says whether a file, by its hash as received, was blanked by an import: the file itself, or a picture with it.
    #[must_use]
    pub fn blanked_before(&self, received: &str) -> bool {
        let was = |d: &Decision| {
            matches!(d.act, Act::Import(_)) && d.act.kept().iter().any(|k| k.received.as_deref() == Some(received))
        };
        self.decisions().iter().any(was)
    }

    /// Returns the import of a decision; `None` where it decided something else, or is not there.
    #[must_use]
    pub fn import_of(&self, decision: u64) -> Option<&crate::ImportAct> {
        let index = usize::try_from(decision).ok()?.checked_sub(1)?;
        match &self.decisions().get(index)?.act {
            Act::Import(act) => Some(act),
            _ => None,
        }
    }

    /// Returns the number of a decision that keeps a file exactly as it was received.
    #[must_use]
    pub fn keeps_as_received(&self, sha256: &str) -> Option<u64> {
        let keeps = |d: &&Decision| d.act.kept().iter().any(|k| k.sha256 == sha256 && k.received.is_none());
        self.decisions().iter().find(keeps).map(|d| d.n)
    }

    /// Returns what was blanked in the file or the picture of a decision on its way in, if something was.
    #[must_use]
    pub fn received_as(&self, decision: u64) -> Option<&crate::Blanked> {
        let index = usize::try_from(decision).ok()?.checked_sub(1)?;
        match &self.decisions().get(index)?.act {
            Act::Import(act) => act.blanked.as_ref(),
            Act::ClockSeen(act) => act.picture.as_ref()?.blanked.as_ref(),
            _ => None,
        }
    }

    /// Returns every recording of a night, by source and version.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn history(&self, participant: &str, label: &str) -> Result<Vec<Past>, StoreError> {
        let Some(night) = night_id_of(self.db(), participant, label)? else { return Ok(Vec::new()) };
        let counting: Vec<String> =
            self.recordings(participant, label)?.into_iter().filter(|s| s.counts).map(|s| s.recording.key).collect();
        let mut select = self.db().prepare(
            "SELECT r.id, r.key, coalesce(r.unit, r.scorer), r.version, b.key, r.withdrawn_by, r.file, r.original, f.id,
               r.definition, r.decision, d.at
             FROM recording r JOIN definition f ON f.sha256 = r.definition JOIN decision d ON d.n = r.decision
             LEFT JOIN recording b ON b.id = r.replaced_by
             WHERE r.night_id = ?1 ORDER BY r.scorer IS NULL, coalesce(r.unit, r.scorer), r.version",
        )?;
        let mut rows = select.query([night])?;
        let mut out = Vec::new();
        while let Some(r) = rows.next()? {
            let key: String = r.get(1)?;
            out.push(Past {
                counts: counting.contains(&key),
                key,
                source: r.get(2)?,
                version: r.get(3)?,
                replaced_by: r.get(4)?,
                withdrawn_by: r.get(5)?,
                file: r.get(6)?,
                original: r.get(7)?,
                definition: r.get(8)?,
                definition_sha256: r.get(9)?,
                decision: r.get(10)?,
                at: r.get(11)?,
                minutes: self.minutes_of(r.get(0)?)?,
            });
        }
        Ok(out)
    }

    /// Returns the decisions of the log that speak of a night, in order, with the number of the one that
    /// took each back.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn decisions_of(&self, participant: &str, label: &str) -> Result<Vec<(Decision, Option<u64>)>, StoreError> {
        let Some(night) = night_id_of(self.db(), participant, label)? else { return Ok(Vec::new()) };
        let brought: Vec<u64> = self
            .db()
            .prepare("SELECT DISTINCT decision FROM recording WHERE night_id = ?1")?
            .query_map([night], |r| r.get(0))?
            .collect::<Result<_, _>>()?;
        let mut back = self.db().prepare("SELECT by_decision FROM withdrawal WHERE decision = ?1")?;
        let mut out: Vec<(Decision, Option<u64>)> = Vec::new();
        for decision in self.decisions() {
            let speaks = match &decision.act {
                Act::Import(_) => brought.contains(&decision.n),
                Act::Withdraw { decision: of, .. } => out.iter().any(|(d, _)| d.n == *of),
                act => speaks_of(act, participant, label),
            };
            if speaks {
                let mut by = back.query([decision.n])?;
                let by = by.next()?.map(|r| r.get(0)).transpose()?;
                out.push((decision.clone(), by));
            }
        }
        Ok(out)
    }

    fn minutes_of(&self, recording: i64) -> Result<Vec<(Mark, f64)>, StoreError> {
        let mut select = self.db().prepare_cached(
            "SELECT mark, sum(end_ms - start_ms) / 60000.0 FROM span WHERE recording_id = ?1 AND end_ms > start_ms GROUP BY mark",
        )?;
        let rows = select.query_map([recording], |r| Ok((r.get::<_, String>(0)?, r.get(1)?)))?;
        let mut out = Vec::new();
        for row in rows {
            let (mark, minutes) = row?;
            out.push((crate::recordings::word::<Mark>(&mark)?, minutes));
        }
        out.sort_by_key(|m| m.0);
        Ok(out)
    }
}

/// Says whether an act names a night; imports and withdrawals name it by what they touch.
fn speaks_of(act: &Act, participant: &str, label: &str) -> bool {
    let is = |p: &str, n: &str| p == participant && n == label;
    match act {
        Act::Accept { participant, night, .. } => is(participant, night),
        Act::Exclude(act) => is(&act.participant, &act.night),
        Act::Note(act) => is(&act.participant, &act.night),
        Act::ClockSeen(act) => is(&act.participant, &act.night),
        Act::ClockSet(act) => is(&act.participant, &act.night),
        Act::Count { recording, .. } => recording.starts_with(&format!("{participant}/{label}/")),
        Act::Import(_) | Act::Withdraw { .. } | Act::Protocol(_) | Act::Looked { .. } => false,
    }
}
