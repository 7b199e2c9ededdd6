//! Under which rules and by which program the rows of a store were made.

use crate::{StoreError, Study};
use counterpane_model::zone::{rules_version, second_rules_version};
use std::collections::BTreeMap;

/// What rows of a store were made by, where that is not what this program would use.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Made {
    /// Name and version of the program that made the store, if it says so.
    pub tool: Option<String>,
    /// Recordings that were read under other zone rules than those of this program, with both versions of
    /// theirs.
    pub other_rules: BTreeMap<String, String>,
    /// Id and SHA-256 of each definition that read a recording which stands.
    pub definitions: Vec<(String, String)>,
}

/// Returns what the rows of a store were made by.
///
/// # Errors
/// The store cannot be read.
pub fn made_by(study: &Study) -> Result<Made, StoreError> {
    let db = study.db();
    let tool = db.query_row("SELECT max(value) FROM meta WHERE key = 'tool'", [], |r| r.get(0))?;
    let other_rules = db
        .prepare("SELECT key, rules_version || ' and ' || second_rules_version FROM recording WHERE rules_version <> ?1 OR second_rules_version <> ?2")?
        .query_map((rules_version(), second_rules_version()), |r| Ok((r.get(0)?, r.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let definitions = db
        .prepare("SELECT DISTINCT d.id, d.sha256 FROM recording r JOIN definition d ON d.sha256 = r.definition WHERE r.stands ORDER BY 1, 2")?
        .query_map([], |r| Ok((r.get(0)?, r.get(1)?)))?
        .collect::<Result<_, _>>()?;
    Ok(Made { tool, other_rules, definitions })
}
