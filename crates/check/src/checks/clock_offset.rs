//! The clock of a device seems to run behind or ahead of that of the reference.

use crate::Check;
use crate::series::Pair;
use crate::words::{length, one_decimal, percent};
use counterpane_model::{Accepted, EPOCH_MS, Finding, Kind, NightFacts, Recording, Severity};
use counterpane_stats::{ClockOffset, clock_offset, clock_offset_interval, lag_counts};
use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng;

/// Shifts up to this many epochs are tried: 5 min. More would find sleep cycles instead of clocks.
const MAX_LAG: usize = 10;
/// Positions that are drawn together: 20 min, longer than most bouts of a stage (own choice).
const BLOCK: usize = 40;
/// Resamples for the interval.
const DRAWS: usize = 1000;
/// From so many epochs on, 2 min, the finding is a warning; below, information.
const WARNING: u64 = 4;
/// So much better must the edge of the search be to be told.
const EDGE_GAIN: f64 = 0.10;

pub(super) static CHECK: Check = Check {
    kind: Kind {
        code: "clock-offset",
        severity: Severity::Warning,
        title: "the clock of a device seems to run behind or ahead of that of the reference",
        why: "Epochs are compared at the same moment. A clock that is off by minutes makes every change of stage disagree, \
              which is a fault of the clock and not of the staging. The shift is the one of up to 5 min at which both \
              agree best, over the same epochs for every shift; the interval comes from drawing blocks of 20 min anew \
              1,000 times, and a shift is told only where the interval leaves out 0. From 2 min on it is a warning. It is \
              an estimate from the very stages that are judged, so agreement after it is optimistic: nothing is \
              corrected unless you say so, and what you saw on the clock itself counts for more.",
        example: "warning[clock-offset]: the clock of patch-a-1 seems 3 min behind that of scorer S1 (95 % interval 2.5 to \
                  3.5 min, in steps of half a minute): they agree on 88.1 % of 871 epochs with that shift, and on 64 % as they stand",
        help: "look at the clock and write down what it shows with `counterpane clock add`; correct it with `counterpane \
               clock set`, which shows both results",
        accepted: Accepted::NotNeeded,
    },
    check,
};

fn check(night: &NightFacts<'_>, found: &mut Vec<Finding>) {
    let Some(reference) = night.reference() else { return };
    for device in night.devices() {
        let Some(pair) = Pair::of(reference, device, 0) else { continue };
        let Ok(counts) = lag_counts(&pair.reference, pair.unshifted(), MAX_LAG, BLOCK) else { continue };
        let Ok(offset) = clock_offset(&counts) else { continue };
        if offset.best == 0 {
            continue;
        }
        if offset.at_boundary {
            if offset.agreement - offset.unshifted >= EDGE_GAIN {
                found.push(CHECK.kind.finding(at_the_edge(device, reference, &offset)).of(device));
            }
            continue;
        }
        let mut dice = Pcg32::new(20_210_617, 7);
        // The remainder is uneven by less than one in ten million for so few blocks.
        let next = |n: usize| dice.next_u32() as usize % n.max(1);
        let Ok(interval) = clock_offset_interval(&counts, DRAWS, next) else { continue };
        if interval.0 > 0 || interval.1 < 0 {
            let epochs = pair.reference.len() - 2 * MAX_LAG;
            let message = message(night, device, reference, (&offset, interval, epochs));
            let severity = if offset.best.unsigned_abs() >= WARNING { Severity::Warning } else { Severity::Info };
            found.push(Finding { severity, ..CHECK.kind.finding(message).of(device) });
        }
    }
}

fn message(
    night: &NightFacts<'_>,
    device: &Recording,
    reference: &Recording,
    (offset, interval, epochs): (&ClockOffset, (i64, i64), usize),
) -> String {
    // Late times come from a clock that runs ahead.
    let way = if offset.best > 0 { "ahead of" } else { "behind" };
    let (a, b) = (interval.0 * offset.best.signum(), interval.1 * offset.best.signum());
    let minutes = |epochs: i64| one_decimal(epochs as f64 * EPOCH_MS as f64 / 60_000.0);
    let mut text = format!(
        "the clock of {} seems {} {way} that of {} (95 % interval {} to {} min, in steps of half a minute): they agree on {} of {epochs} epochs with \
         that shift, and on {} as they stand",
        device.source,
        length(offset.best.abs() * EPOCH_MS),
        reference.source,
        minutes(a.min(b)),
        minutes(a.max(b)),
        share(offset.agreement),
        share(offset.unshifted),
    );
    if let Some(setting) = night.decided.clock_of(&device.source) {
        text += &format!("; this is what is left after the correction of decision {}", setting.decision);
    }
    let seen = night.decided.readings.iter().rfind(|r| r.source == device.source.piece());
    if let Some(seen) = seen {
        let shift = seen.shift_ms();
        let what = match shift {
            0 => "on time".to_owned(),
            1.. => format!("{} behind", length(shift)),
            _ => format!("{} ahead", length(-shift)),
        };
        text += &format!("; it was seen {what} (decision {}), which counts for more", seen.decision);
    }
    text
}

fn at_the_edge(device: &Recording, reference: &Recording, offset: &ClockOffset) -> String {
    format!(
        "no offset is found for the clock of {}: it agrees with {} best at the edge of the search, {} {}, on {} of the epochs \
         against {} as they stand, so it may be off by more",
        device.source,
        reference.source,
        length(offset.best.abs() * EPOCH_MS),
        if offset.best > 0 { "ahead" } else { "behind" },
        share(offset.agreement),
        share(offset.unshifted),
    )
}

/// Returns a share as a percentage.
fn share(share: f64) -> String {
    percent((share * 100_000.0).round() as u64, 100_000)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{device, found, found_of, night, reference};
    use counterpane_model::{ClockReading, Decided, Span};

    /// Six hours in which stages change after 7 to 31 min, so that no shift but 0 fits.
    fn scored() -> Recording {
        let lengths = [7, 19, 12, 31, 9, 23, 14, 27, 8, 17, 21, 11, 29, 13, 25, 10, 15, 30, 18, 21];
        let stages = ["W", "N2", "N3", "N2", "R"];
        let (mut at, mut text) = (22 * 60, String::new());
        for (i, length) in lengths.into_iter().enumerate() {
            let clock = |m: i32| format!("{:02}:{:02}", m / 60 % 24, m % 60);
            text += &format!("{}-{}{} ", clock(at), clock(at + length), stages[i % 5]);
            at += length;
        }
        reference(&text)
    }

    /// The same by a device whose times are so many seconds late.
    fn late(seconds: i64) -> Recording {
        let mut ring = device("");
        let moved = |s: &Span| Span {
            start: s.start.plus_ms(seconds * 1000).unwrap(),
            end: s.end.plus_ms(seconds * 1000).unwrap(),
            mark: if s.label == "n2" { "Light".parse().unwrap() } else { s.mark },
            ..s.clone()
        };
        ring.spans = scored().spans.iter().map(moved).collect();
        ring
    }

    #[test]
    fn a_clock_that_is_right_is_not_told() {
        assert_eq!(found(&CHECK, &night(), &[scored(), late(0)]), "");
    }

    #[test]
    fn three_minutes_behind_are_a_warning_and_one_ahead_is_information() {
        let said = found(&CHECK, &night(), &[scored(), late(-180)]);
        let head = "warning: the clock of ring-a-1 seems 3 min behind that of scorer S1 (95 % interval 3 to 3 min, in steps of half a minute): they \
                    agree on 100 % of 700 epochs with that shift, and on ";
        assert!(said.starts_with(head), "{said}");
        let said = found(&CHECK, &night(), &[scored(), late(60)]);
        assert!(said.starts_with("info: the clock of ring-a-1 seems 1 min ahead of that of scorer S1"), "{said}");
    }

    #[test]
    fn beyond_the_search_no_offset_is_found() {
        let said = found(&CHECK, &night(), &[scored(), late(600)]);
        assert!(said.starts_with("warning: no offset is found for the clock of ring-a-1"), "{said}");
    }

    #[test]
    fn what_was_seen_on_the_clock_counts_for_more() {
        let (night, recordings) = (night(), [scored(), late(-180)]);
        let reading = ClockReading {
            decision: 7,
            source: "ring-a-1".into(),
            shown: recordings[0].spans[0].start,
            truth: recordings[0].spans[0].start.plus_ms(150_000).unwrap(),
            precision_ms: 0,
            picture: None,
            text: String::new(),
        };
        let decided = Decided { readings: vec![reading], ..Decided::default() };
        let said = found_of(&CHECK, &NightFacts { decided: &decided, ..NightFacts::of(&night, &recordings) });
        assert!(said.contains("; it was seen 2.5 min behind (decision 7), which counts for more"), "{said}");
    }

    #[test]
    fn a_device_that_always_says_the_same_has_no_clock_to_judge() {
        assert_eq!(found(&CHECK, &night(), &[scored(), device("22:00-04:00Light")]), "");
    }
}
