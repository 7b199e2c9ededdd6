//! Where the difference comes from between what a device displays and what the reference says.
//!
//! A device counts its own record from its own start to its own end; the reference is counted in its window. Between the
//! two minutes lie several things that are no mistake about a stage. [`Split`] tells them apart, in whole milliseconds, so
//! that the parts add up to the whole exactly.

use crate::counted::held;
use crate::device_night::Base;
use crate::{Comparison, DeviceNight, NightComparison, nights_of_device};
use counterpane_model::grid::{Stretch, flatten};
use counterpane_model::{Cell, EPOCH_MS, Instant, Quantity, Recording, Scheme, Stage, grid};
use std::collections::BTreeMap;

/// A reason why a device displays other minutes than the reference has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Its own total, against what its stages over time add up to.
    OwnTotal,
    /// What it displays before and after the reference's window.
    Window,
    /// Laying its times on epochs of 30 s.
    Rounding,
    /// The correction of its clock, where one is set.
    Clock,
    /// Stretches that are left out on purpose.
    LeftOut,
    /// Epochs that the reference did not score.
    Unscored,
    /// Epochs that the reference scored and the device does not give.
    Missing,
    /// Epochs that both give, which the device calls so and the reference does not.
    CalledSo,
    /// Epochs that both give, which the reference calls so and the device does not.
    NotCalledSo,
}

impl Part {
    /// Every part, in the order in which they are told.
    pub const ALL: [Part; 9] = [
        Part::OwnTotal,
        Part::Window,
        Part::Rounding,
        Part::Clock,
        Part::LeftOut,
        Part::Unscored,
        Part::Missing,
        Part::CalledSo,
        Part::NotCalledSo,
    ];

    /// Returns the word that JSON uses.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Part::OwnTotal => "own_total",
            Part::Window => "window",
            Part::Rounding => "rounding",
            Part::Clock => "clock",
            Part::LeftOut => "left_out",
            Part::Unscored => "unscored",
            Part::Missing => "missing",
            Part::CalledSo => "called_so",
            Part::NotCalledSo => "not_called_so",
        }
    }
}

/// The difference in one class, split into its parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Split {
    /// The class; [`Stage::Asleep`] is all sleep.
    pub class: Stage,
    /// What the device displays over its own record, milliseconds: its own total where it gives one.
    pub displayed_ms: i64,
    /// What the reference has in its window, milliseconds, left-out stretches too.
    pub reference_ms: i64,
    /// The parts of the difference, device minus reference, in the order of [`Part::ALL`], milliseconds.
    pub parts_ms: [i64; Part::ALL.len()],
}

/// The difference of one device on one night, class by class.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Explained {
    /// The scheme whose classes are told apart.
    pub scheme: Scheme,
    /// All sleep, then the classes of the scheme; sleep and wake once only.
    pub splits: Vec<Split>,
}

/// The mean of [`Split`] over the nights of a device, minutes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeanSplit {
    /// The class.
    pub class: Stage,
    /// What the device displays.
    pub displayed: f64,
    /// What the reference has.
    pub reference: f64,
    /// The parts of the difference, in the order of [`Part::ALL`].
    pub parts: [f64; Part::ALL.len()],
}

/// The differences of one device over its nights: the mean over people of the mean over their nights.
#[derive(Clone, Debug, PartialEq)]
pub struct ExplainedDevice {
    /// Name of the device.
    pub name: String,
    /// Number of nights.
    pub nights: usize,
    /// Number of participants.
    pub participants: usize,
    /// Those classes that every night of it tells apart.
    pub splits: Vec<MeanSplit>,
}

/// Returns the devices of a comparison that give stages over time, each with where its differences come from.
#[must_use]
pub fn explained(comparison: &Comparison) -> Vec<ExplainedDevice> {
    let of = |name: &str| {
        let nights = nights_of_device(comparison, name);
        let own: Vec<(&str, &Explained)> =
            nights.iter().filter_map(|(n, d)| Some((n.participant.as_str(), d.explained.as_ref()?))).collect();
        mean_of(name, &own)
    };
    comparison.devices.iter().filter_map(|d| of(&d.name)).collect()
}

/// Returns the explanation of one device's night in minutes.
#[must_use]
pub fn explained_night(night: &NightComparison, device: &DeviceNight) -> Option<ExplainedDevice> {
    mean_of(device.source.name(), &[(night.participant.as_str(), device.explained.as_ref()?)])
}

fn mean_of(name: &str, nights: &[(&str, &Explained)]) -> Option<ExplainedDevice> {
    let mut people: BTreeMap<&str, usize> = BTreeMap::new();
    nights.iter().for_each(|(who, _)| *people.entry(who).or_default() += 1);
    let splits_of = |class: Stage| {
        let found = nights.iter().map(|(who, e)| Some((*who, e.splits.iter().find(|s| s.class == class)?)));
        found.collect::<Option<Vec<_>>>()
    };
    let weight = |who: &str| 1.0 / (people.get(who).copied().unwrap_or(1) * people.len()) as f64;
    let mean = |all: &[(&str, &Split)], of: &dyn Fn(&Split) -> i64| {
        all.iter().map(|(who, split)| weight(who) * of(split) as f64 / 60_000.0).sum::<f64>()
    };
    let (_, first) = nights.first()?;
    let classes = first.splits.iter().filter_map(|s| Some((s.class, splits_of(s.class)?)));
    let splits = classes
        .map(|(class, all)| MeanSplit {
            class,
            displayed: mean(&all, &|s| s.displayed_ms),
            reference: mean(&all, &|s| s.reference_ms),
            parts: std::array::from_fn(|i| mean(&all, &|s| s.parts_ms[i])),
        })
        .collect();
    Some(ExplainedDevice { name: name.to_owned(), nights: nights.len(), participants: people.len(), splits })
}

/// Returns values as tenths that add up: their sum is the tenths of the sum of the values. Whoever adds up what is printed gets what
/// is printed.
#[must_use]
pub fn tenths(values: &[f64]) -> (Vec<i64>, i64) {
    let whole = (10.0 * values.iter().sum::<f64>()).round() as i64;
    let mut out: Vec<i64> = values.iter().map(|v| (10.0 * v).floor() as i64).collect();
    let mut order: Vec<usize> = (0..values.len()).collect();
    let rest = |i: usize| 10.0 * values[i] - (10.0 * values[i]).floor();
    order.sort_by(|a, b| rest(*b).total_cmp(&rest(*a)));
    let lacking = usize::try_from(whole - out.iter().sum::<i64>()).unwrap_or(0);
    order.iter().cycle().take(if values.is_empty() { 0 } else { lacking }).for_each(|i| out[*i] += 1);
    (out, whole)
}

/// What one night is explained from.
pub(crate) struct Sides<'a> {
    /// The device on its own clock.
    pub(crate) own: &'a Recording,
    /// What it says of each epoch on the clock that counts.
    pub(crate) cells: &'a [Cell],
    /// What is left out of it, the stretches of the night too.
    pub(crate) excluded: &'a [(Instant, Instant)],
    /// The scheme whose classes are told apart.
    pub(crate) scheme: Scheme,
}

/// Splits the difference of one device's night in all sleep and in each class.
pub(crate) fn of_night(base: &Base<'_>, sides: &Sides<'_>) -> Explained {
    let Sides { own, scheme, .. } = sides;
    let stretches = flatten(&own.spans);
    let on_own_clock = grid::project(&own.spans, base.grid);
    let mut classes = vec![Stage::Asleep];
    classes.extend(scheme.classes().iter().filter(|c| **c != Stage::Asleep));
    let splits = classes.into_iter().map(|class| split(base, sides, class, &stretches, &on_own_clock)).collect();
    Explained { scheme: *scheme, splits }
}

fn split(base: &Base<'_>, sides: &Sides<'_>, class: Stage, stretches: &[Stretch], own: &[Cell]) -> Split {
    let is = |cell: Cell| {
        cell.stage().is_some_and(|s| match class {
            Stage::Asleep => s.is_sleep(),
            class => sides.scheme.fold(s) == Some(class),
        })
    };
    let window = (base.grid.start, base.grid.at(base.grid.n));
    let said = || stretches.iter().filter(|s| is(s.cell));
    let record: i64 = said().map(|s| s.end.ms_since(s.start)).sum();
    let inside: i64 = said().map(|s| s.end.min(window.1).ms_since(s.start.max(window.0)).max(0)).sum();
    let epochs = |cells: &[Cell]| cells.iter().filter(|c| is(**c)).count() as i64 * EPOCH_MS;
    let displayed = claimed(sides.own, class).unwrap_or(record);
    let mut parts = [0_i64; Part::ALL.len()];
    let mut add = |part: Part, ms: i64| parts[part as usize] += ms;
    add(Part::OwnTotal, displayed - record);
    add(Part::Window, record - inside);
    add(Part::Rounding, inside - epochs(own));
    add(Part::Clock, epochs(own) - epochs(sides.cells));
    let left_out = held(base.grid, base.excluded.iter().chain(sides.excluded));
    for ((reference, device), out) in base.raw.iter().zip(sides.cells).zip(left_out) {
        let (r, d) = (is(*reference), is(*device));
        let ms = (i64::from(d) - i64::from(r)) * EPOCH_MS;
        match (out, reference.stage(), device.stage()) {
            (true, ..) => add(Part::LeftOut, ms),
            (_, None, _) => add(Part::Unscored, ms),
            (_, _, None) => add(Part::Missing, ms),
            _ if ms > 0 => add(Part::CalledSo, ms),
            _ => add(Part::NotCalledSo, ms),
        }
    }
    Split { class, displayed_ms: displayed, reference_ms: epochs(base.raw), parts_ms: parts }
}

/// What the device itself gives as its total, milliseconds.
fn claimed(own: &Recording, class: Stage) -> Option<i64> {
    let of = |quantity: Quantity| own.claims.iter().find(|c| c.quantity == quantity).map(|c| c.value);
    let minutes = match class {
        Stage::Asleep => of(Quantity::TotalSleep).or_else(|| of(Quantity::Minutes(Stage::Asleep))),
        class => of(Quantity::Minutes(class)),
    };
    minutes.map(|m| (60_000.0 * m).round() as i64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{at, night, psg, recording, ring};
    use crate::{Protocol, Window, compare, compare_night};
    use counterpane_model::Stage::{Asleep, Light, N3, R, W};
    use counterpane_model::{ClockPoint, ClockSetting, Decided, Exclusion, Looked, Source};
    use proptest::prelude::*;

    const FOUR: [Stage; 4] = [W, Light, N3, R];

    /// The parts that are not 0 of one class, in epochs.
    fn check(reference: &str, device: &str, decided: &Decided, class: Stage) -> (i64, Vec<(&'static str, i64)>) {
        let protocol = Protocol { scheme: None, window: Window::Between(at(2), at(10)) };
        let found = compare_night(&night(), &psg(reference), &[&ring(&FOUR, device)], decided, &protocol).unwrap();
        let explained = found.devices[0].explained.clone().unwrap();
        let split = explained.splits.iter().find(|s| s.class == class).unwrap();
        let parts = Part::ALL.iter().zip(split.parts_ms).filter(|(_, ms)| *ms != 0);
        let parts = parts.map(|(part, ms)| (part.code(), ms / EPOCH_MS)).collect();
        ((split.displayed_ms - split.reference_ms) / EPOCH_MS, parts)
    }

    #[test]
    fn a_difference_is_told_by_where_it_comes_from() {
        // The window is the eight epochs from the third on.
        let of = |device| check("WWW222?3RWWW", device, &Decided::default(), Asleep);
        assert_eq!(of("LLWLLLL3RWLL"), (5, vec![("window", 4), ("unscored", 1)]));
        assert_eq!(of("WWWL.LW3RWWW"), (-1, vec![("missing", -1)]));
        assert_eq!(of("WWLLWLW3RLWW"), (1, vec![("called_so", 2), ("not_called_so", -1)]));
    }

    fn decided(clock_ms: i64, left_out: Option<(i64, i64)>) -> Decided {
        let (reason, by) = ("r".to_owned(), "me".to_owned());
        let clock = ClockSetting {
            decision: 1,
            source: "ring-a-1".into(),
            points: vec![ClockPoint { at: at(0), shift_ms: clock_ms }],
            reason: reason.clone(),
            by: by.clone(),
            decided_at: String::new(),
        };
        let exclusion = |(from, until)| Exclusion {
            decision: 2,
            source: Some("ring-a-1".into()),
            stretch: Some((at(from), at(until))),
            looked: Looked::Before,
            reason: reason.clone(),
            by: by.clone(),
            at: String::new(),
        };
        let clocks = if clock_ms == 0 { Vec::new() } else { vec![clock] };
        Decided { clocks, exclusions: left_out.map(exclusion).into_iter().collect(), ..Decided::default() }
    }

    #[test]
    fn a_corrected_clock_and_what_is_left_out_are_parts_of_their_own() {
        let (whole, parts) = check("WWW222?3RWWW", "WWWWWLLLL3RW", &decided(-60_000, None), Asleep);
        // On the corrected clock the device says WWWLLLL3RW; on its own, five of six epochs of sleep lie inside the window.
        assert_eq!((whole, parts), (1, vec![("window", 1), ("clock", -1), ("unscored", 1)]));
        let (whole, parts) = check("WWW222?3RWWW", "WWWLLL.3RWWW", &decided(0, Some((3, 5))), Asleep);
        assert_eq!((whole, parts), (0, vec![]), "left out on both sides alike");
        let (whole, parts) = check("WWW222?3RWWW", "WWWWWL.3RWWW", &decided(0, Some((3, 5))), Asleep);
        assert_eq!((whole, parts), (-2, vec![("left_out", -2)]));
    }

    #[test]
    fn the_mean_over_nights_keeps_adding_up() {
        let protocol = Protocol { scheme: None, window: Window::Scored };
        let others = [&ring(&FOUR, "LLWLL.L3RWLL")];
        let one = compare_night(&night(), &psg("WWW222?3RWWW"), &others, &Decided::default(), &protocol).unwrap();
        let found = explained(&compare(vec![one], protocol));
        let sleep = &found[0].splits[0];
        assert_eq!((found[0].nights, sleep.class), (1, Asleep));
        assert!((sleep.parts.iter().sum::<f64>() - (sleep.displayed - sleep.reference)).abs() < 1e-9);
    }

    #[test]
    fn what_is_printed_adds_up_to_what_is_printed() {
        assert_eq!(tenths(&[0.04, 0.04, 0.04]), (vec![1, 0, 0], 1));
        assert_eq!(tenths(&[-0.25, 0.25, 1.0]), (vec![-2, 2, 10], 10));
        assert_eq!(tenths(&[]), (vec![], 0));
    }

    prop_compose! {
        /// A device whose spans begin and end anywhere, overlap, and lie outside the window.
        fn any_device()(pieces in proptest::collection::vec((-200_000_i64..700_000, 1_i64..200_000, 0_usize..6), 0..12)) -> Recording {
            let mut own = recording("P01/2026-04-04/ring-a-1", Source::Device { device: "ring-a".into(), unit: "ring-a-1".into() }, &FOUR, "W");
            let template = own.spans.remove(0);
            let marks = [Cell::Stage(W), Cell::Stage(Light), Cell::Stage(N3), Cell::Stage(R), Cell::Unscored, Cell::Off];
            own.spans = pieces.into_iter().map(|(from, length, mark)| {
                let start = Instant(at(0).0 + from);
                let mark = match marks[mark] { Cell::Stage(s) => counterpane_model::Mark::Stage(s), Cell::Off => counterpane_model::Mark::Off, _ => counterpane_model::Mark::Unscored };
                counterpane_model::Span { start, end: Instant(start.0 + length), mark, ..template.clone() }
            }).collect();
            own
        }
    }

    proptest! {
        #[test]
        fn the_parts_are_the_whole(
            device in any_device(),
            reference in "[W123R?]{20}",
            clock in -200_000_i64..200_000,
            left_out in proptest::option::of((0_i64..20, 0_i64..20)),
            claim in proptest::option::of(0.0_f64..600.0),
        ) {
            let mut device = device;
            let locator = counterpane_model::Locator::Text { line: 1, column: 1 };
            device.claims = claim.into_iter().map(|value| counterpane_model::Claim { quantity: Quantity::TotalSleep, value, rounding: 1.0, locator: locator.clone() }).collect();
            let protocol = Protocol { scheme: None, window: Window::Between(at(3), at(17)) };
            if let Ok(found) = compare_night(&night(), &psg(&reference), &[&device], &decided(clock, left_out), &protocol) {
                for split in found.devices.iter().filter_map(|d| d.explained.as_ref()).flat_map(|e| &e.splits) {
                    prop_assert_eq!(split.parts_ms.iter().sum::<i64>(), split.displayed_ms - split.reference_ms);
                }
            }
        }

        #[test]
        fn tenths_add_up(values in proptest::collection::vec(-500.0_f64..500.0, 1..10)) {
            let (parts, whole) = tenths(&values);
            prop_assert_eq!(parts.iter().sum::<i64>(), whole);
            prop_assert!(parts.iter().zip(&values).all(|(t, v)| (*t as f64 - 10.0 * v).abs() <= 1.0 + 1e-9));
        }
    }
}
