//! Which group a device's night belongs to, as study.toml states it.

use super::Choice;
use counterpane_compare::Comparison;
use counterpane_compare::groups::{By, Grouping, GroupsAsked, groups};
use counterpane_model::{Missing, PlanMeasure};
use counterpane_store::Config;
use counterpane_store::config::WearingConfig;

/// Returns the figures of every device by groups of its nights.
pub(crate) fn grouping(config: &Config, comparison: &Comparison, choice: &Choice, by: By) -> Grouping {
    let plan = config.plan();
    let mut measures = vec![PlanMeasure::Kappa, PlanMeasure::Accuracy];
    if let Some(primary) = plan.as_ref().and_then(|p| p.primary) {
        measures.retain(|m| *m != primary);
        measures.insert(0, primary);
    }
    let missing = plan.map_or(Missing::LeftOut, |p| p.missing);
    let asked = GroupsAsked { by, measures, missing, drawn: choice.resampling() };
    groups(comparison, &asked, &|participant, night, piece| label(config, by, participant, night, piece))
}

fn label(config: &Config, by: By, participant: &str, night: &str, piece: &str) -> Option<String> {
    let here = |w: &&WearingConfig| {
        w.unit.get_ref() == piece && w.participant.get_ref() == participant && w.night.get_ref() == night
    };
    let wearing = config.wearings.iter().find(here);
    match by {
        By::Unit => Some(piece.to_owned()),
        By::Group => config.participants.iter().find(|p| p.code.get_ref() == participant)?.group.clone(),
        By::App => wearing?.app.clone(),
        By::Firmware => wearing?.firmware.clone(),
        By::Side => wearing?.side.clone(),
        By::Site => wearing?.site.clone(),
    }
}
