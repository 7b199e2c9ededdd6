//! Whose night it is.

use super::Asked;
use super::source::{toml_text, unknown};
use anyhow::bail;
use counterpane_model::Source;
use counterpane_store::Study;

pub(super) fn choose_participant(study: &Study, source: &Source, asked: &Asked) -> anyhow::Result<String> {
    let config = study.config();
    let known: Vec<&str> = config.participants.iter().map(|p| p.code.get_ref().as_str()).collect();
    let wearer = match source {
        Source::Device { unit, .. } => {
            config.unit(unit).and_then(|u| u.participant.as_ref()).map(|p| p.get_ref().clone())
        }
        Source::Reference { .. } => None,
    };
    if let (Source::Device { unit, .. }, Some(asked), Some(wearer)) = (source, &asked.participant, &wearer)
        && asked != wearer
    {
        bail!(
            "study.toml says that {wearer} wears `{unit}`, and --participant says {asked}; take `participant` away from the unit if several people wear it"
        );
    }
    match asked.participant.clone().or(wearer) {
        Some(code) if known.contains(&code.as_str()) => Ok(code),
        Some(code) => {
            Err(unknown("participant", &code, &known, format!("[[participant]]\ncode = {}", toml_text(&code))))
        }
        None => match known.as_slice() {
            [one] => Ok((*one).to_owned()),
            [] => bail!("study.toml has no participant; add one there:\n\n[[participant]]\ncode = \"P01\""),
            several => bail!("name the participant with --participant: {}", crate::wording::or(several)),
        },
    }
}
