//! A device came with other software than on the night before.

use crate::Check;
use counterpane_model::{Accepted, Finding, Kind, NightFacts, Severity, Wearing};

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "software-changed",
        severity: Severity::Warning,
        title: "a device has another firmware or app than on the night before",
        why: "A new version may stage the same night otherwise, so results before and after it are results of two devices. \
              Put together they describe neither. A unit is held against its own last night whose versions are known, \
              or on its first night against the last night of the same device.",
        example: "warning[software-changed]: ring-a-1 has firmware 2.2; on 2026-04-02 ring-a-1 of P01 had 2.1",
        help: "compare the nights before and after apart, as with `counterpane compare --night`; if study.toml is wrong, \
               mend its wearings and run `counterpane check`",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    for pair in night.wearings {
        let Some(before) = &pair.before else { continue };
        for (what, now, then) in
            [("firmware", &pair.now.firmware, &before.firmware), ("app", &pair.now.app, &before.app)]
        {
            if let (Some(now), Some(then)) = (now, then)
                && now != then
            {
                let message = message(what, &pair.now, before, (now, then));
                let recording = night.devices().find(|r| r.source.piece() == pair.now.unit);
                found.push(match recording {
                    Some(r) => CHECK.kind.finding(message).of(r),
                    None => night.finding(&CHECK.kind, message),
                });
            }
        }
    }
}

fn message(what: &str, now: &Wearing, before: &Wearing, (new, old): (&str, &str)) -> String {
    let Wearing { unit, participant, night, .. } = before;
    format!("{} has {what} {new}; on {night} {unit} of {participant} had {old}", now.unit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found_of, night};
    use counterpane_model::WearingPair;

    fn wearing(unit: &str, firmware: Option<&str>, app: Option<&str>) -> Wearing {
        Wearing {
            unit: unit.into(),
            device: "ring-a".into(),
            participant: "P01".into(),
            night: "2026-04-02".into(),
            firmware: firmware.map(Into::into),
            app: app.map(Into::into),
        }
    }

    fn check(now: Wearing, before: Option<Wearing>) -> String {
        let (night, recordings, wearings) = (night(), [device("22:00-23:00W")], [WearingPair { now, before }]);
        found_of(&CHECK, &NightFacts { wearings: &wearings, ..NightFacts::of(&night, &recordings) })
    }

    #[test]
    fn each_version_that_changed_is_told() {
        assert_eq!(
            check(wearing("ring-a-1", Some("2.2"), Some("7")), Some(wearing("ring-a-1", Some("2.1"), Some("6")))),
            "warning: ring-a-1 has firmware 2.2; on 2026-04-02 ring-a-1 of P01 had 2.1\n\
             warning: ring-a-1 has app 7; on 2026-04-02 ring-a-1 of P01 had 6\n"
        );
    }

    #[test]
    fn what_is_not_known_has_not_changed() {
        assert_eq!(check(wearing("ring-a-1", Some("2.2"), None), Some(wearing("ring-a-1", None, Some("6")))), "");
        assert_eq!(check(wearing("ring-a-1", Some("2.2"), None), None), "");
    }
}
