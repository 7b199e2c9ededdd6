//! An import of the log, done again.

use super::limits;
use super::nights::night_of;
use super::recordings::recordings;
use super::sheet;
use super::source::source_of;
use crate::opening::checker;
use counterpane_import::{Bindings, Companion, Definition, import_with};
use counterpane_model::{Night, Zone};
use counterpane_store::{Decision, Deed, ImportAct, Original, Study};
use std::io::{BufReader, Read as _};

/// Applies an import of the log again: the same original, definition and bindings give the same rows.
pub(crate) fn apply_again(study: &mut Study, decision: &Decision, act: &ImportAct) -> anyhow::Result<()> {
    let mut text = String::new();
    let name = format!("the definition {}", act.definition);
    study.originals().open(&act.definition_sha256, &name)?.read_to_string(&mut text)?;
    let definition = Definition::parse(&act.definition, &text)
        .map_err(|e| anyhow::anyhow!("{}", e.render(&format!("definition {}", act.definition))))?;
    let file = study.originals().open(&act.original, &act.file)?;
    let bytes = file.metadata()?.len();
    let nights = act.nights.iter().map(|n| night_of(n, &act.participant)).collect();
    let bindings = bindings_of(act, nights)?;
    let mut originals = vec![Original { sha256: act.original.clone(), bytes }];
    let mut companions = Vec::new();
    for kept in &act.beside {
        let mut bytes = Vec::new();
        study.originals().open(&kept.sha256, &kept.place)?.read_to_end(&mut bytes)?;
        originals.push(Original { sha256: kept.sha256.clone(), bytes: bytes.len() as u64 });
        companions.push(Companion { name: kept.name.clone(), place: kept.place.clone(), bytes });
    }
    let limits = limits::kept(&act.limits)?;
    let mut outcome = import_with(&definition, &mut BufReader::new(file), &companions, &bindings, limits)
        .map_err(|e| limits::explained(e.into()))?;
    sheet::check_window_again(study, act, &mut outcome)?;
    let source = source_of(study, act)?;
    let recordings = recordings(&outcome, act, &definition, &source);
    study.import(Deed::Logged(decision), act, &originals, &text, &recordings, &checker)?;
    Ok(())
}

/// Returns what an import binds. A first import and one that is done again get it from the same act, so
/// they cannot differ.
pub(super) fn bindings_of(act: &ImportAct, nights: Vec<Night>) -> anyhow::Result<Bindings> {
    Ok(Bindings {
        file: act.file.clone(),
        participant: act.participant.clone(),
        nights,
        night: act.night.clone(),
        zone: act.zone.as_deref().map(Zone::named).transpose()?,
        study_zone: Some(Zone::named(&act.study_zone)?),
        start: act.start.clone(),
        end: act.end.clone(),
        lights_off: act.lights_off.clone(),
        lights_on: act.lights_on.clone(),
    })
}
