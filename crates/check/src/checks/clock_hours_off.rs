//! The times of a device seem to be off by whole hours: a zone read wrongly.

use crate::Check;
use crate::series::Pair;
use crate::words::one_decimal;
use counterpane_model::{Accepted, Finding, Kind, NightFacts, Severity};

/// Half hours tried to either side: 14 h, the widest offset of a zone.
const HALVES: usize = 28;
/// Epochs of half an hour.
const HALF: usize = 60;
/// A shift must make kappa at least this, and raise it by at least `GAIN`: far above what cycles of sleep give by chance
/// (own choice).
const LEAST: f64 = 0.40;
const GAIN: f64 = 0.30;
/// Fewer epochs than 3 h in common say nothing of a shift (own choice).
const ENOUGH: usize = 360;

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "clock-hours-off",
        severity: Severity::Warning,
        title: "a device agrees with the reference far better when its times are moved by half hours or hours",
        why: "Clocks drift by seconds or are set wrongly by minutes. Whole hours come from a zone that was read wrongly: a \
              phone in another zone, an offset left out, a change of the clock not followed. Every number of the night \
              is wrong then, and a correction of the clock would only hide it. Told where kappa rises by 0.3 or more, to \
              0.4 or more.",
        example: "warning[clock-hours-off]: ring-a-1 agrees with scorer S1 far better when its times are moved 1 h later: \
                  kappa 0.71 over 912 epochs, 0.08 as they stand",
        help: "see with `counterpane show` where the night lies, and with `counterpane lineage` what the file says; give the \
               zone with `counterpane import --zone`, or mend the night's zone in study.toml",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let Some(reference) = night.reference() else { return };
    for device in night.devices() {
        let Some(pair) = Pair::of(reference, device, HALVES * HALF) else { continue };
        let kappa = |halves: usize| pair.kappa(halves * HALF).filter(|(_, n)| *n >= ENOUGH);
        let as_they_stand = kappa(HALVES).map_or(0.0, |k| k.0);
        let others = (0..=2 * HALVES).filter(|h| *h != HALVES).filter_map(|h| kappa(h).map(|k| (h, k)));
        let Some((halves, (best, n))) = others.max_by(|a, b| a.1.0.total_cmp(&b.1.0)) else { continue };
        if best >= LEAST && best - as_they_stand >= GAIN {
            // The device's own epochs further on belong to the reference's of now: its times are late.
            let hours = (halves as f64 - HALVES as f64) / 2.0;
            let way = if hours > 0.0 { "earlier" } else { "later" };
            let message = format!(
                "{} agrees with {} far better when its times are moved {} h {way}: kappa {best:.2} over {n} epochs, \
                 {as_they_stand:.2} as they stand",
                device.source,
                reference.source,
                one_decimal(hours.abs()),
            );
            found.push(CHECK.kind.finding(message).of(device));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found, night, reference};

    const SCORED: &str = "22:00-22:20W 22:20-23:30N2 23:30-23:55N3 23:55-00:50N2 00:50-01:10R 01:10-02:40N2 02:40-03:20R \
                          03:20-03:27W 03:27-04:40N2 04:40-05:45R 05:45-06:00W";

    #[test]
    fn an_hour_is_told_with_its_direction() {
        let ahead = "23:00-23:20W 23:20-00:30Light 00:30-00:55N3 00:55-01:50Light 01:50-02:10R 02:10-03:40Light \
                     03:40-04:20R 04:20-04:27W 04:27-05:40Light 05:40-06:45R 06:45-07:00W";
        let said = found(&CHECK, &night(), &[reference(SCORED), device(ahead)]);
        let head = "warning: ring-a-1 agrees with scorer S1 far better when its times are moved 1 h earlier: kappa 1.00 \
                    over 960 epochs";
        assert!(said.starts_with(head), "{said}");
    }

    #[test]
    fn a_device_on_time_and_one_that_agrees_nowhere_are_not_told() {
        let on_time = SCORED.replace("N2", "Light");
        assert_eq!(found(&CHECK, &night(), &[reference(SCORED), device(&on_time)]), "");
        assert_eq!(found(&CHECK, &night(), &[reference(SCORED), device("22:00-06:00Light")]), "");
    }
}
