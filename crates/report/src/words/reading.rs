//! What the precision of a reading leaves open: what the terminal and the page say alike.

use super::{called, count, fine_share, two};
use counterpane_compare::{MeansRead, Read, Reading, Spread};
use counterpane_model::Source;

/// What stands above the numbers.
pub const MEANING: &str = "Times that a person read off a picture are known only as finely as the picture could be read. Each change was \
    moved at random within that precision, many times, and everything counted again. This says what the reading leaves open and nothing \
    else: it is apart from every other interval, and knows nothing of slips, of other nights or of other people.";

/// Returns how a source was read: `ring-a (unit ring-a-1): read to 2 min; the reference to 1 min`.
#[must_use]
pub fn precision(reading: &Reading) -> String {
    let who = match &reading.source {
        Source::Device { device, unit } => format!("{device} (unit {unit})"),
        Source::Reference { scorer, .. } => format!("scorer {scorer}"),
    };
    let own = (reading.precision_ms > 0).then(|| format!("read to {}", minutes(reading.precision_ms)));
    let reference = (reading.reference_precision_ms > 0)
        .then(|| format!("the reference to {}", minutes(reading.reference_precision_ms)));
    format!("{who}: {}", [own, reference].into_iter().flatten().collect::<Vec<_>>().join("; "))
}

/// Returns the numbers of a night that matter most, with their spreads, in one sentence.
#[must_use]
pub fn sentence(reading: &Reading) -> String {
    let wanted = [Read::Accuracy, Read::Kappa, Read::TotalSleepDifference];
    let said = wanted.iter().filter_map(|of| reading.spreads.iter().find(|s| s.of == *of)).map(|s| {
        let (low, high) = s.within;
        let name = match s.of {
            Read::Accuracy => "agreement",
            Read::Kappa => "kappa",
            _ => "total sleep off by",
        };
        format!("{name} {} ({} as read)", between(s.of, low, high), value(s.of, s.value))
    });
    format!("{}. Moved within that: {}.", precision(reading), said.collect::<Vec<_>>().join(", "))
}

/// Returns the means of a device over its nights, with their spreads, in one sentence.
#[must_use]
pub fn means(means: &MeansRead) -> String {
    let of = |name: &str, s: &Option<Spread>| {
        let s = s.as_ref()?;
        Some(format!("{name} {} ({} as read)", between(s.of, s.within.0, s.within.1), value(s.of, s.value)))
    };
    let said: Vec<String> =
        [of("agreement", &means.accuracy), of("kappa", &means.kappa)].into_iter().flatten().collect();
    let read = if means.nights == means.of {
        count(means.of, "night")
    } else {
        format!("{} of {} nights", means.nights, means.of)
    };
    format!("{}, {read} read off a picture, mean over people: {}.", means.name, said.join(", "))
}

/// Returns the name of a number.
#[must_use]
pub fn name(read: Read) -> String {
    match read {
        Read::Accuracy => "Epochs that agree".into(),
        Read::Kappa => "Cohen's kappa".into(),
        Read::MeanSensitivity => "Mean of the stage sensitivities".into(),
        Read::WorstSensitivity => "Worst stage sensitivity".into(),
        Read::Sensitivity(stage) => format!("Sensitivity to {}", called(stage)),
        Read::Ppv(stage) => format!("Trust in the label {}", called(stage)),
        Read::SleepSensitivity => "Sensitivity to sleep".into(),
        Read::WakeDetection => "Wake detection (specificity)".into(),
        Read::Coverage => "Coverage".into(),
        Read::AccuracyMissingWrong => "Epochs that agree, of all scored".into(),
        Read::TotalSleepDifference => "Total sleep, device minus reference".into(),
        Read::WakeDifference => "Wake, device minus reference".into(),
        Read::LatencyDifference => "Sleep latency, device minus reference".into(),
        Read::WakeAfterOnsetDifference => "Wake after sleep onset, device minus reference".into(),
        Read::StageDifference(stage) => format!("Minutes of {}, device minus reference", called(stage)),
    }
}

/// Returns a value in its unit: `78.2 %`, `0.63` or `-4.5 min`.
#[must_use]
pub fn value(read: Read, value: f64) -> String {
    match read {
        Read::Kappa => two(value),
        Read::TotalSleepDifference
        | Read::WakeDifference
        | Read::LatencyDifference
        | Read::WakeAfterOnsetDifference
        | Read::StageDifference(_) => format!("{:+.1} min", value + 0.0),
        _ => fine_share(value),
    }
}

/// Returns two values with one unit: `76.1 to 79.8 %`.
#[must_use]
pub fn between(read: Read, low: f64, high: f64) -> String {
    let (low, high) = (value(read, low), value(read, high));
    let bare = [" %", " min"].iter().find_map(|unit| low.strip_suffix(unit)).unwrap_or(&low);
    format!("{bare} to {high}")
}

/// Returns milliseconds as minutes, such as `1.5 min`.
#[must_use]
pub fn minutes(ms: i64) -> String {
    #[expect(clippy::cast_precision_loss, reason = "a precision is at most an hour")]
    let minutes = ms as f64 / 60_000.0;
    format!("{} min", (minutes * 100.0).round() / 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use counterpane_model::Stage;

    #[test]
    fn a_spread_has_one_unit() {
        assert_eq!(between(Read::Accuracy, 0.761, 0.798), "76.1 to 79.8 %");
        assert_eq!(between(Read::Kappa, 0.6, 0.66), "0.60 to 0.66");
        assert_eq!(between(Read::StageDifference(Stage::N3), -4.5, 3.0), "-4.5 to +3.0 min");
    }

    #[test]
    fn minutes_have_no_zeros_at_their_end() {
        assert_eq!([minutes(120_000), minutes(90_000), minutes(48_000)], ["2 min", "1.5 min", "0.8 min"]);
    }
}
