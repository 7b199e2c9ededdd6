//! An acceptance matches no finding any more.

use crate::Check;
use counterpane_model::{Acceptance, Accepted, Finding, Kind, NightFacts, Severity};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "acceptance-idle",
        severity: Severity::Info,
        title: "an acceptance matches no finding any more",
        why: "The error that was accepted is gone: its file was mended, read by a better definition, or replaced. No number \
              depends on the acceptance. It is told because an acceptance that lies about would cover the same error \
              if it came back.",
        example: "info[acceptance-idle]: decision 12 accepts `spans-overlap` of P01/2026-04-04/ring-a-1, and nothing there \
                  matches it any more",
        help: "take the acceptance back with `counterpane withdraw`, or leave it",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    for acceptance in &night.decided.acceptances {
        if !matches(night, acceptance) {
            let at = acceptance.locator.as_ref().map(|l| format!(" at {l}")).unwrap_or_default();
            let of = acceptance.recording.clone();
            let of = of.unwrap_or_else(|| format!("the night {}/{}", acceptance.participant, acceptance.night));
            let message = format!(
                "decision {} accepts `{}` of {of}{at}, and nothing there matches it any more",
                acceptance.decision, acceptance.code
            );
            found.push(night.finding(&CHECK.kind, message));
        }
    }
}

/// Says whether import or the check of that code finds what was accepted.
fn matches(night: &NightFacts<'_>, acceptance: &Acceptance) -> bool {
    let mut now = Vec::new();
    if let Some(check) = super::CHECKS.iter().find(|c| c.kind.code == acceptance.code && !std::ptr::eq(**c, &CHECK)) {
        (check.check)(night, &mut now);
    }
    night.imported.iter().chain(&now).any(|f| acceptance.covers(f))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found_of, night};
    use counterpane_model::Decided;

    fn check(code: &str, locator: Option<&str>) -> String {
        let acceptance = Acceptance {
            decision: 12,
            code: code.into(),
            participant: "P01".into(),
            night: "2026-04-04".into(),
            recording: Some("P01/2026-04-04/ring-a-1".into()),
            locator: locator.map(Into::into),
            reason: "seen".into(),
            by: "me".into(),
            at: "2026-04-06T00:00:00Z".into(),
        };
        let decided = Decided { acceptances: vec![acceptance], ..Decided::default() };
        let (night, recordings) = (night(), [device("22:00-22:30W 22:20-23:00Light")]);
        let imported = [CHECK.kind.finding("x").of(&recordings[0])];
        let imported = imported.map(|f| Finding { code: "label-unmapped".into(), ..f });
        found_of(&CHECK, &NightFacts { decided: &decided, imported: &imported, ..NightFacts::of(&night, &recordings) })
    }

    #[test]
    fn an_acceptance_of_what_is_there_is_silent() {
        assert_eq!(check("spans-overlap", None), "");
        assert_eq!(check("spans-overlap", Some("line 2:1")), "");
        assert_eq!(check("label-unmapped", None), "");
    }

    #[test]
    fn an_acceptance_of_what_is_gone_is_told() {
        assert_eq!(
            check("lights-order", None),
            "info: decision 12 accepts `lights-order` of P01/2026-04-04/ring-a-1, and nothing there matches it any more\n"
        );
        assert!(check("spans-overlap", Some("line 7:1")).contains("at line 7:1"));
    }
}
