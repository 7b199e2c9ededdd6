//! One device: on one night, or over all its nights.

use super::figure::Figure;
use super::pooled::Pool;
use super::statistics::{Beside, Intervals, NO_INTERVAL, Number, Statistics};
use super::table::Table;
use crate::draw::Theme;
use crate::draw::text::clean;
use crate::figures::matrix::{self, Direction, matrix};
use crate::words::intervals::{ONE_NIGHT, between_shares, between_two, interval};
use crate::words::{self, Voices};
use askama::Template;
use counterpane_compare::{
    Agreement, AgreementIntervals, Comparison, DeviceNight, DeviceSummary, NightComparison, WithinNight,
    nights_of_device,
};

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
    pub(crate) fn of_night(
        night: &NightComparison,
        device: &DeviceNight,
        within: Option<&WithinNight>,
        id: String,
    ) -> Option<Device> {
        let agreement = device.agreement.as_ref()?;
        let voices = Voices::of(night, &device.source);
        let name = words::name_on(night, device);
        let about = words::matrix_about(&name, &words::night_name(night), agreement.n);
        let mut statistics = Statistics::new(format!("{id}-s"), &format!("Statistics of {name} on this night"), voices);
        let own = within.and_then(|w| w.stages.as_ref());
        statistics.agreement(agreement, made(own));
        if let Some(sleep_wake) = &device.sleep_wake {
            statistics.sleep_wake(sleep_wake, made(within.and_then(|w| w.sleep_wake.as_ref())));
        }
        let scored = format!("{} epochs of the reference", device.reference_scored);
        let coverage = format!("epochs to which {} gives a stage, of those scored in the window", voices.other());
        statistics.add("Coverage", &coverage, Number::share(device.coverage), &scored, Beside::Words(COUNTED));
        let missing_wrong = Number::share(device.accuracy_missing_wrong);
        let beside = within.map_or(Beside::Words(NOT_DRAWN), |w| Beside::Made(&w.accuracy_missing_wrong, WITHIN));
        statistics.add("Epochs that agree, of all scored", WRONG, missing_wrong, &scored, beside);
        let clock = words::decided::clock(device).map(|said| format!("{name}: {said}."));
        let ruled = words::planned::ruled(device).map(|said| format!("{name}: {said}."));
        let lead = std::iter::once(one_night(agreement, own, voices)).chain(clock).chain(ruled).collect();
        let headline = headline(agreement, own, voices);
        Some(Device::new(id, &name, &headline, agreement, voices, &about, false, lead, statistics))
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
        let later = Beside::Words(NO_INTERVAL);
        let mean = Number::share(device.mean_accuracy);
        statistics.add("Participant mean: epochs that agree", &under, mean, &n, later);
        let skipped = match device.kappa_skipped {
            0 => each.to_owned(),
            k => format!("{each}; {} skipped because kappa is undefined there", words::count(k, "night")),
        };
        let under = with(&skipped, pool.ranges(|a| a.kappa, words::two));
        statistics.add("Participant mean: Cohen's kappa", &under, Number::two(device.mean_kappa), &n, later);
        statistics.agreement(agreement, Intervals::Words(NO_INTERVAL));
        if let Some(sleep_wake) = &device.pooled_sleep_wake {
            statistics.sleep_wake(sleep_wake, Intervals::Words(NO_INTERVAL));
        }
        let given = "epochs to which the device gives a stage, of those scored in the windows";
        statistics.add("Coverage", given, Number::share(pool.coverage()), &pool.n(), Beside::Words(COUNTED));
        let missing_wrong = Number::share(pool.missing_wrong());
        statistics.add("Epochs that agree, of all scored", WRONG, missing_wrong, &pool.n(), later);
        let pooled = format!(
            "The matrix pools the epochs of {over}, so long nights weigh more. The participant means in the table do \
             not: each person weighs the same. The two can differ."
        );
        let clock = |(night, d): (&NightComparison, &DeviceNight)| {
            Some(format!("On {} {}.", words::night_name(night), words::decided::clock(d)?))
        };
        let clocks = nights_of_device(comparison, &device.name).into_iter().filter_map(clock);
        let lead = std::iter::once(pooled).chain(clocks).collect();
        let headline = headline(agreement, None, voices);
        Some(Device::new(id, &device.name, &headline, agreement, voices, &about, open, lead, statistics))
    }

    #[expect(clippy::too_many_arguments, reason = "called from the two functions above only")]
    fn new(
        id: String,
        name: &str,
        headline: &str,
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
            headline: headline.to_owned(),
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

/// How the intervals of one night are made.
const WITHIN: &str = "within this night, approximate";

/// Where no night was drawn anew.
const NOT_DRAWN: &str = "none: the night was not drawn anew";

/// Of a number that is no estimate.
const COUNTED: &str = "none: counted, not estimated";

/// What stands below agreement in all that was scored.
const WRONG: &str = "a missing epoch counts as wrong: devices drop the hard ones";

fn made(own: Option<&AgreementIntervals>) -> Intervals<'_> {
    own.map_or(Intervals::Words(NOT_DRAWN), |own| Intervals::Made(own, WITHIN))
}

fn headline(a: &Agreement, own: Option<&AgreementIntervals>, voices: Voices) -> String {
    let classes = words::scheme_words(a.scheme);
    let (agree, kappa) = (voices.share(a.accuracy), voices.say(a.kappa, words::two));
    match own {
        None => format!("in {classes}: {agree} of {} epochs agree; kappa {kappa}; interval {NO_INTERVAL}", a.n),
        Some(own) => format!(
            "in {classes}: {agree} of {} epochs agree ({}); kappa {kappa} ({})",
            a.n,
            interval(&own.accuracy, between_shares),
            interval(&own.kappa, between_two)
        ),
    }
}

fn one_night(a: &Agreement, own: Option<&AgreementIntervals>, voices: Voices) -> String {
    let (other, reference) = (voices.other(), voices.reference());
    let within = match own.map(|own| own.accuracy) {
        Some(Ok(limits)) => format!("within-night interval {}, approximate", between_shares(limits)),
        Some(Err(why)) => why.words(),
        None => NOT_DRAWN.to_owned(),
    };
    match a.accuracy {
        Ok(value) => format!(
            "On this one night of one person {other} agreed with {reference} on {} of {} epochs ({within}). {ONE_NIGHT}",
            words::share(value),
            a.n
        ),
        Err(why) => format!("There is no number for this night: {}.", voices.undefined(why)),
    }
}
