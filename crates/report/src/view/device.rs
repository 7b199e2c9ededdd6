//! One device: on one night, or over all its nights.

use super::figure::Figure;
use super::pooled::Pool;
use super::statistics::{NO_INTERVAL, Statistics};
use super::table::Table;
use crate::draw::Theme;
use crate::draw::text::clean;
use crate::figures::matrix::{self, Direction, matrix};
use crate::words::{self, Voices};
use askama::Template;
use counterpane_compare::{Agreement, Comparison, DeviceNight, DeviceSummary, NightComparison, nights_of_device};

/// A device with its matrices both ways, the same in sentences, and its statistics.
#[derive(Debug, Template)]
#[template(path = "device.html")]
pub(crate) struct Device {
    id: String,
    name: String,
    headline: String,
    open: bool,
    lead: Vec<String>,
    figures: Vec<Figure>,
    row_sentences: Vec<String>,
    column_sentences: Vec<String>,
    statistics: Option<Table>,
}

impl Device {
    /// Returns a device on a night, or `None` when it has no agreement.
    pub(crate) fn of_night(night: &NightComparison, device: &DeviceNight, id: String, open: bool) -> Option<Device> {
        let agreement = device.agreement.as_ref()?;
        let voices = Voices::of(night, &device.source);
        let name = words::name_on(night, device);
        let about = words::matrix_about(&name, &words::night_name(night), agreement.n);
        let mut statistics = Statistics::new(format!("{id}-s"), &format!("Statistics of {name} on this night"), voices);
        statistics.agreement(agreement);
        if let Some(sleep_wake) = &device.sleep_wake {
            statistics.sleep_wake(sleep_wake);
        }
        let scored = format!("{} epochs of the reference", device.reference_scored);
        let coverage = format!("epochs to which {} gives a stage, of those scored in the window", voices.other());
        statistics.add("Coverage", &coverage, device.coverage, words::share, &scored);
        let wrong = "a missing epoch counts as wrong: devices drop the hard ones";
        statistics.add("Epochs that agree, of all scored", wrong, device.accuracy_missing_wrong, words::share, &scored);
        let clock = words::decided::clock(device).map(|said| format!("{name}: {said}."));
        let lead = std::iter::once(one_night(agreement, voices)).chain(clock).collect();
        Some(Device::new(id, &name, agreement, voices, &about, open, lead, statistics))
    }

    /// Returns a device over all its nights, or `None` when nothing can be pooled.
    pub(crate) fn of_all(comparison: &Comparison, device: &DeviceSummary, id: String, open: bool) -> Option<Device> {
        let agreement = device.pooled.as_ref()?;
        let voices = words::voices_of_device(comparison, &device.name);
        let over = words::over(device);
        let about = words::matrix_about(&device.name, &over, agreement.n);
        let caption = format!("Statistics of {} over {over}", device.name);
        let mut statistics = Statistics::new(format!("{id}-s"), &caption, voices);
        let n =
            format!("{}, {}", words::count(device.participants, "participant"), words::count(device.nights, "night"));
        let each = "mean over participants of the mean over their nights: each person weighs the same";
        let pool = Pool::of(comparison, device);
        let with = |each: &str, ranges: Vec<String>| {
            std::iter::once(each.to_owned()).chain(ranges).collect::<Vec<_>>().join("; ")
        };
        let under = with(each, pool.ranges(|a| a.accuracy, words::share));
        statistics.add("Participant mean: epochs that agree", &under, device.mean_accuracy, words::share, &n);
        let skipped = match device.kappa_skipped {
            0 => each.to_owned(),
            k => format!("{each}; {} skipped because kappa is undefined there", words::count(k, "night")),
        };
        let under = with(&skipped, pool.ranges(|a| a.kappa, words::two));
        statistics.add("Participant mean: Cohen's kappa", &under, device.mean_kappa, words::two, &n);
        statistics.agreement(agreement);
        if let Some(sleep_wake) = &device.pooled_sleep_wake {
            statistics.sleep_wake(sleep_wake);
        }
        let given = "epochs to which the device gives a stage, of those scored in the windows";
        statistics.add("Coverage", given, pool.coverage(), words::share, &pool.n());
        let wrong = "a missing epoch counts as wrong: devices drop the hard ones";
        statistics.add("Epochs that agree, of all scored", wrong, pool.missing_wrong(), words::share, &pool.n());
        let pooled = format!(
            "The matrix pools the epochs of {over}, so long nights weigh more. The participant means in the table do \
             not: each person weighs the same. The two can differ."
        );
        let clock = |(night, d): (&NightComparison, &DeviceNight)| {
            Some(format!("On {} {}.", words::night_name(night), words::decided::clock(d)?))
        };
        let clocks = nights_of_device(comparison, &device.name).into_iter().filter_map(clock);
        let lead = std::iter::once(pooled).chain(clocks).collect();
        Some(Device::new(id, &device.name, agreement, voices, &about, open, lead, statistics))
    }

    #[expect(clippy::too_many_arguments, reason = "called from the two functions above only")]
    fn new(
        id: String,
        name: &str,
        agreement: &Agreement,
        voices: Voices,
        about: &str,
        open: bool,
        lead: Vec<String>,
        statistics: Statistics,
    ) -> Device {
        let figure = |direction: Direction, suffix: &str| {
            Figure::one(&format!("{id}-{suffix}"), |id, size| {
                matrix(&matrix::of(agreement, voices, about, direction, id), size, Theme::Page)
            })
        };
        let agreed = |i: usize| agreement.matrix.get(i).and_then(|r| r.get(i)).copied().unwrap_or(0);
        let classes = agreement.per_class.iter().enumerate();
        Device {
            name: clean(name),
            headline: headline(agreement, voices),
            open,
            lead: lead.iter().map(|l| clean(l)).collect(),
            figures: vec![figure(Direction::Rows, "r"), figure(Direction::Columns, "c")],
            row_sentences: classes
                .clone()
                .map(|(i, c)| voices.row_sentence(c.class, agreed(i), c.reference_n))
                .collect(),
            column_sentences: classes.map(|(i, c)| voices.column_sentence(c.class, agreed(i), c.device_n)).collect(),
            statistics: Some(statistics.table()),
            id,
        }
    }
}

fn headline(a: &Agreement, voices: Voices) -> String {
    let kappa = voices.say(a.kappa, words::two);
    format!(
        "in {}: {} of {} epochs agree; kappa {kappa}; interval {NO_INTERVAL}",
        words::scheme_words(a.scheme),
        voices.share(a.accuracy),
        a.n
    )
}

fn one_night(a: &Agreement, voices: Voices) -> String {
    match a.accuracy {
        Ok(value) => format!(
            "On this one night of one person {} agreed with {} on {} of {} epochs. The number says nothing about other nights or \
             other people.",
            voices.other(),
            voices.reference(),
            words::share(value),
            a.n
        ),
        Err(why) => format!("There is no number for this night: {}.", voices.undefined(why)),
    }
}
