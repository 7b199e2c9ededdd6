//! Where differences in minutes come from, in the words that page and terminal share.

use super::{called, count, listed};
use counterpane_compare::{ExplainedDevice, MeanSplit, Part, tenths};
use counterpane_model::Stage;

/// What a table of parts says of itself.
pub const NOTE: &str = "Minutes, device minus reference. A device counts its own record from its own start to its own end; the reference \
                        is counted in its window. The parts add up to the difference.";

/// A row of the table of parts: its name, and minutes in tenths for each class.
pub type Line = (String, Vec<i64>);

/// Returns the table of a device: what it displays, what the reference has, their difference, and its parts. A part that is 0
/// in every class is left out. What is printed adds up.
#[must_use]
pub fn lines(device: &ExplainedDevice) -> (Vec<Line>, Vec<Line>) {
    let ten = |v: f64| (10.0 * v).round() as i64;
    let all: Vec<(Vec<i64>, i64)> = device.splits.iter().map(|s| tenths(&s.parts)).collect();
    // The difference is that of its parts as they are printed, and the reference what it is.
    let reference: Vec<i64> = device.splits.iter().map(|s| ten(s.reference)).collect();
    let difference: Vec<i64> = all.iter().map(|(_, whole)| *whole).collect();
    let displayed = reference.iter().zip(&difference).map(|(r, d)| r + d).collect();
    let head = vec![
        (format!("displayed by {}", device.name), displayed),
        ("reference, in its window".to_owned(), reference),
        ("difference".to_owned(), difference),
    ];
    let of = |i: usize| all.iter().map(|(parts, _)| parts.get(i).copied().unwrap_or(0)).collect::<Vec<i64>>();
    let parts = Part::ALL.iter().enumerate().map(|(i, part)| (part_words(*part).to_owned(), of(i)));
    (head, parts.filter(|(_, values)| values.iter().any(|v| *v != 0)).collect())
}

/// Returns tenths of a minute as text, with a sign where it is a difference.
#[must_use]
pub fn minutes(tenths: i64, signed: bool) -> String {
    let sign = match tenths {
        ..=-1 => "-",
        1.. if signed => "+",
        _ => "",
    };
    format!("{sign}{}.{}", tenths.unsigned_abs() / 10, tenths.unsigned_abs() % 10)
}

/// Returns the name of a class as the head of a column.
#[must_use]
pub fn head(class: Stage) -> &'static str {
    match class {
        Stage::N3 => "N3",
        Stage::R => "R",
        class => called(class),
    }
}

fn part_words(part: Part) -> &'static str {
    match part {
        Part::OwnTotal => "its own total, against its stages",
        Part::Window => "outside the reference's window",
        Part::Rounding => "laid on epochs of 30 s",
        Part::Clock => "undone by correcting its clock",
        Part::LeftOut => "stretches left out on purpose",
        Part::Unscored => "not scored by the reference",
        Part::Missing => "missing in the device",
        Part::CalledSo => "called so, the reference not",
        Part::NotCalledSo => "not called so, the reference is",
    }
}

/// Returns the difference in sleep as a sentence, the largest parts first; nothing without sleep.
#[must_use]
pub fn sentence(device: &ExplainedDevice) -> Option<String> {
    let sleep: &MeanSplit = device.splits.iter().find(|s| s.class == Stage::Asleep)?;
    let (parts, whole) = tenths(&sleep.parts);
    let (reference, wrong) = ((10.0 * sleep.reference).round() as i64, parts.get(7).zip(parts.get(8)));
    let on =
        if device.nights == 1 { "".to_owned() } else { format!(" on average over {}", count(device.nights, "night")) };
    let told =
        |i: usize, what: &str| parts.get(i).filter(|v| **v != 0).map(|v| format!("{} min {what}", minutes(*v, true)));
    let mut of: Vec<String> = [
        (0, "because its own total is not what its stages add up to"),
        (1, "outside the reference's window"),
        (2, "because its times were laid on epochs"),
        (3, "that correcting its clock undoes"),
        (4, "in stretches left out on purpose"),
        (5, "where the reference scored nothing"),
        (6, "where the device gives nothing"),
    ]
    .into_iter()
    .filter_map(|(i, what)| told(i, what))
    .collect();
    of.extend(wrong.map(|(so, not)| {
        format!("{} min of wake called sleep and {} min of sleep called wake", minutes(*so, true), minutes(*not, true))
    }));
    Some(format!(
        "{} displays {} min of sleep and the reference has {} min{on}: {} min. Of these are {}.",
        device.name,
        minutes(reference + whole, false),
        minutes(reference, false),
        minutes(whole, true),
        listed(&of)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn device() -> ExplainedDevice {
        let split = |class, parts: [f64; 9]| MeanSplit {
            class,
            displayed: 400.0 + parts.iter().sum::<f64>(),
            reference: 400.0,
            parts,
        };
        ExplainedDevice {
            name: "ring-a".into(),
            nights: 1,
            participants: 1,
            splits: vec![
                split(Stage::Asleep, [0.0, 12.0, 0.04, 0.0, 0.0, 0.5, -3.5, 20.0, -8.0]),
                split(Stage::W, [0.0, -2.0, 0.0, 0.0, 0.0, 0.0, 0.0, 8.0, -20.0]),
            ],
        }
    }

    #[test]
    fn the_difference_in_sleep_reads_as_a_sentence() {
        assert_eq!(
            sentence(&device()).as_deref(),
            Some(
                "ring-a displays 421.0 min of sleep and the reference has 400.0 min: +21.0 min. Of these are +12.0 min outside \
                 the reference's window, +0.5 min where the reference scored nothing, -3.5 min where the device gives nothing and \
                 +20.0 min of wake called sleep and -8.0 min of sleep called wake."
            )
        );
    }

    #[test]
    fn a_part_that_is_nowhere_has_no_line_and_lines_add_up() {
        let (head, parts) = lines(&device());
        let names: Vec<&str> = parts.iter().map(|(name, _)| name.as_str()).collect();
        assert!(
            !names.contains(&"undone by correcting its clock") && names.contains(&"outside the reference's window")
        );
        let sums: Vec<i64> = (0..2).map(|i| parts.iter().map(|(_, v)| v[i]).sum()).collect();
        assert_eq!(head[2].1, sums);
        assert_eq!(minutes(-5, true), "-0.5");
    }
}
