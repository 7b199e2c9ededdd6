//! One device: on one night, or over all its nights.

use super::figure::Figure;
use super::pooled::Pool;
use super::statistics::{Beside, Intervals, Number, Statistics};
use super::table::Table;
use crate::draw::Theme;
use crate::draw::text::clean;
use crate::figures::matrix::{self, Direction, matrix};
use crate::words::intervals::{ONE_NIGHT, between_shares, between_two, interval, over, warning};
use crate::words::{self, Voices};
use askama::Template;
use counterpane_compare::{
    Agreement, AgreementIntervals, Comparison, DeviceNight, DevicePeople, DeviceSummary, Limits, NightComparison,
    OverPeople, PooledIntervals, WithinNight, nights_of_device,
};
use counterpane_model::Scheme;

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
    /// Over several nights: means over people, before the numbers of the pool.
    means: Option<Table>,
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
        let caption = format!("Statistics of {name} on this night");
        let mut statistics = Statistics::new(format!("{id}-s"), &caption, NOTE_WITHIN, voices);
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
    pub(crate) fn of_all(
        comparison: &Comparison,
        device: &DeviceSummary,
        people: Option<&DevicePeople>,
        id: String,
        open: bool,
    ) -> Option<Device> {
        let agreement = device.pooled.as_ref()?;
        let voices = words::voices_of_device(comparison, &device.name);
        let over = words::over(device);
        let about = words::matrix_about(&device.name, &over, agreement.n);
        let pool = Pool::of(comparison, device);
        let means = people.map(|people| means(people, &pool, agreement.scheme, &device.name, &id, voices));
        let pooled = pooled(&pool, device, agreement, people, &format!("{id}-s"), voices);
        let said = format!(
            "The matrix pools the epochs of {over}, so long nights weigh more. The means over people do not: each person \
             weighs the same. The two can differ."
        );
        let clock = |(night, d): (&NightComparison, &DeviceNight)| {
            Some(format!("On {} {}.", words::night_name(night), words::decided::clock(d)?))
        };
        let clocks = nights_of_device(comparison, &device.name).into_iter().filter_map(clock);
        let lead = std::iter::once(said).chain(clocks).collect();
        let headline =
            people.map_or_else(|| headline(agreement, None, voices), |p| headline_of_people(p, agreement.scheme));
        let device = Device::new(id, &device.name, &headline, agreement, voices, &about, open, lead, pooled);
        Some(Device { means: means.map(Statistics::table), ..device })
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
            means: None,
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

/// What stands above the statistics of a night.
const NOTE_WITHIN: &str = "Intervals are 95 %, from drawing the night anew in blocks. Epochs of one night are not \
    independent, so an interval for independent epochs would be far too narrow and is not shown.";

/// What stands above the means over people.
const NOTE_MEANS: &str = "Intervals are 95 %, from how far the people lie apart; with one person, from how far that person's \
    nights lie apart, taken as independent: they speak of nobody else.";

/// What stands above the numbers of the pool.
const NOTE_POOLED: &str = "Below 20 participants these numbers have no interval of their own; from 20 on participants are \
    drawn anew, each with all nights.";

/// How the intervals of the pool are made.
const DRAWN: &str = "participants drawn anew";

/// The means over people of a device.
fn means(people: &DevicePeople, pool: &Pool<'_>, scheme: Scheme, name: &str, id: &str, voices: Voices) -> Statistics {
    let caption = format!("{name}: mean over people of the mean over their nights");
    let warning = warning(&people.stages.accuracy).map_or_else(String::new, |few| format!(" {few}"));
    let mut statistics = Statistics::new(format!("{id}-p"), &caption, &format!("{NOTE_MEANS}{warning}"), voices);
    let ranges =
        [pool.ranges(|a| a.accuracy, words::share).join("; "), pool.ranges(|a| a.kappa, words::two).join("; ")];
    statistics.means(scheme, &people.stages, ranges.each_ref().map(String::as_str));
    statistics.means_of_sleep_wake(&people.sleep_wake);
    statistics.mean("Epochs that agree, of all scored", WRONG, &people.accuracy_missing_wrong, Number::share);
    statistics
}

/// The numbers of all epochs in one matrix.
fn pooled(
    pool: &Pool<'_>,
    device: &DeviceSummary,
    agreement: &Agreement,
    people: Option<&DevicePeople>,
    id: &str,
    voices: Voices,
) -> Statistics {
    let caption = format!("{}: all epochs of {} in one matrix", device.name, words::over(device));
    let mut statistics = Statistics::new(id.to_owned(), &caption, NOTE_POOLED, voices);
    let made = |of: fn(&PooledIntervals) -> &AgreementIntervals| {
        people.map_or(Intervals::Words(NOT_DRAWN), |p| Intervals::Made(of(&p.pooled), DRAWN))
    };
    statistics.agreement(agreement, made(|p| &p.stages));
    if let Some(sleep_wake) = &device.pooled_sleep_wake {
        statistics.sleep_wake(sleep_wake, made(|p| &p.sleep_wake));
    }
    let given = "epochs to which the device gives a stage, of those scored in the windows";
    statistics.add("Coverage", given, Number::share(pool.coverage()), &pool.n(), Beside::Words(COUNTED));
    let beside = people.map_or(Beside::Words(NOT_DRAWN), |p| Beside::Made(&p.pooled.accuracy_missing_wrong, DRAWN));
    statistics.add("Epochs that agree, of all scored", WRONG, Number::share(pool.missing_wrong()), &pool.n(), beside);
    statistics
}

fn headline_of_people(people: &DevicePeople, scheme: Scheme) -> String {
    let of = |of: &OverPeople, wording: fn(f64) -> String, between: fn(Limits) -> String| {
        let mean = of.mean.map_or_else(|why| format!("undefined: {}", why.words()), wording);
        format!("{mean} ({})", interval(&of.interval, between))
    };
    let stages = &people.stages;
    format!(
        "in {}: {} of epochs agree; kappa {}; mean over {}",
        words::scheme_words(scheme),
        of(&stages.accuracy, words::share, between_shares),
        of(&stages.kappa, words::two, between_two),
        over(&stages.accuracy)
    )
}

fn made(own: Option<&AgreementIntervals>) -> Intervals<'_> {
    own.map_or(Intervals::Words(NOT_DRAWN), |own| Intervals::Made(own, WITHIN))
}

fn headline(a: &Agreement, own: Option<&AgreementIntervals>, voices: Voices) -> String {
    let classes = words::scheme_words(a.scheme);
    let (agree, kappa) = (voices.share(a.accuracy), voices.say(a.kappa, words::two));
    match own {
        None => format!("in {classes}: {agree} of {} epochs agree; kappa {kappa}", a.n),
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
