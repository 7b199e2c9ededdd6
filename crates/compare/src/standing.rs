//! How a comparison stands to what was laid down beforehand: what was predeclared, and what is exploratory.

use crate::primary::{primary, scale, scheme_of};
use crate::summary::{interval_of_people, mean_of_people};
use crate::{Comparison, DeviceSummary, nights_of_device};
use counterpane_model::{Looked, Missing, Plan, PlanMeasure, Scheme};
use counterpane_stats::{Equivalence, Figure, Resampling, Undefined, equivalence};

/// A protocol as it was seen at one time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seen {
    /// Number of the decision that noted it.
    pub decision: u64,
    /// When: RFC 3339, UTC.
    pub at: String,
    /// By whom the command was given that noted it.
    pub by: String,
    /// SHA-256 of its text.
    pub sha256: String,
    /// Whether results had been looked at by then.
    pub looked: Looked,
}

/// What was laid down, and since when.
#[derive(Clone, Debug, PartialEq)]
pub struct Laid {
    /// What holds now.
    pub plan: Plan,
    /// Each time that it was laid down or changed, in order; empty where nothing could be noted.
    pub seen: Vec<Seen>,
}

/// How a comparison was asked for otherwise than the protocol says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Departure {
    /// Other classes.
    Scheme,
    /// Another window.
    Window,
    /// Another reference.
    Scorer,
    /// Some of the nights only.
    Nights,
    /// What was left out on purpose is counted.
    WithExcluded,
}

impl Departure {
    /// Returns the word that JSON uses.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Departure::Scheme => "scheme",
            Departure::Window => "window",
            Departure::Scorer => "scorer",
            Departure::Nights => "nights",
            Departure::WithExcluded => "with-excluded",
        }
    }
}

/// Why a result is exploratory.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exploratory {
    /// Nothing was laid down.
    NoProtocol,
    /// The protocol names no measure.
    NoPrimary,
    /// What was laid down is not on record.
    NotNoted,
    /// It was laid down or changed after results were looked at, by this decision.
    LaidDownAfter(u64),
    /// It was asked for otherwise.
    Departs(Departure),
    /// The protocol is about other devices.
    OtherDevice,
}

impl Exploratory {
    /// Returns the word that JSON uses.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Exploratory::NoProtocol => "no-protocol",
            Exploratory::NoPrimary => "no-primary",
            Exploratory::NotNoted => "not-noted",
            Exploratory::LaidDownAfter(_) => "laid-down-after-looking",
            Exploratory::Departs(departure) => departure.code(),
            Exploratory::OtherDevice => "other-device",
        }
    }
}

/// The measure that a study is about, of one device over its nights.
#[derive(Clone, Debug, PartialEq)]
pub struct PrimaryLine {
    /// Name of the device.
    pub device: String,
    /// The measure.
    pub measure: PlanMeasure,
    /// The scheme in which it is formed; `None` where the device cannot express one that has the class.
    pub scheme: Option<Scheme>,
    /// Mean over participants of the mean over their nights.
    pub value: Figure,
    /// 95 % interval of that mean over participants.
    pub interval: Result<(f64, f64), Undefined>,
    /// Whether the mean lies within the tolerance, where one was laid down.
    pub equivalence: Option<Result<Equivalence, Undefined>>,
    /// Number of participants with a value.
    pub participants: usize,
    /// Number of nights with a value.
    pub nights: usize,
    /// Nights without a value, which are skipped.
    pub skipped: usize,
    /// Nights that a rule marks.
    pub marked: usize,
    /// Nights that a rule leaves out.
    pub ruled_out: usize,
    /// Why it is exploratory; empty where it was predeclared.
    pub exploratory: Vec<Exploratory>,
}

/// How a comparison stands to what was laid down beforehand.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// What was laid down; `None` where nothing was.
    pub laid: Option<Laid>,
    /// How the comparison was asked for otherwise.
    pub departures: Vec<Departure>,
    /// Device by device and measure by measure: the primary one, or kappa and accuracy where none was laid down.
    pub lines: Vec<PrimaryLine>,
}

impl Standing {
    /// Says whether a line was laid down before anybody looked.
    #[must_use]
    pub fn any_predeclared(&self) -> bool {
        self.lines.iter().any(|line| line.exploratory.is_empty())
    }
}

/// Returns the measures by which a study is summed up: the primary one, or kappa and accuracy where none was laid down.
#[must_use]
pub fn headline_measures(plan: Option<&Plan>) -> Vec<PlanMeasure> {
    plan.and_then(|p| p.primary).map_or_else(|| vec![PlanMeasure::Kappa, PlanMeasure::Accuracy], |m| vec![m])
}

/// Returns how a comparison stands to what was laid down.
#[must_use]
pub fn standing(
    comparison: &Comparison,
    laid: Option<Laid>,
    departures: Vec<Departure>,
    asked: Resampling,
) -> Standing {
    let plan = laid.as_ref().map(|l| &l.plan);
    let general = why_exploratory(laid.as_ref(), &departures);
    let lines = comparison
        .devices
        .iter()
        .flat_map(|device| headline_measures(plan).into_iter().map(move |measure| (device, measure)))
        .map(|(device, measure)| {
            let mut line = line(comparison, device, measure, plan, asked);
            line.exploratory.clone_from(&general);
            if plan.is_some_and(|p| !p.devices.is_empty() && !p.devices.contains(&device.name)) {
                line.exploratory.push(Exploratory::OtherDevice);
            }
            line
        })
        .collect();
    Standing { laid, departures, lines }
}

fn why_exploratory(laid: Option<&Laid>, departures: &[Departure]) -> Vec<Exploratory> {
    let Some(Laid { plan, seen }) = laid else { return vec![Exploratory::NoProtocol] };
    let mut out: Vec<Exploratory> = departures.iter().map(|d| Exploratory::Departs(*d)).collect();
    out.extend(plan.primary.is_none().then_some(Exploratory::NoPrimary));
    out.extend(match seen.last() {
        None => Some(Exploratory::NotNoted),
        Some(last) => (last.looked == Looked::After).then_some(Exploratory::LaidDownAfter(last.decision)),
    });
    out
}

fn line(
    comparison: &Comparison,
    device: &DeviceSummary,
    measure: PlanMeasure,
    plan: Option<&Plan>,
    asked: Resampling,
) -> PrimaryLine {
    let missing = plan.map_or(Missing::LeftOut, |p| p.missing);
    let scheme = scheme_of(measure, device.scheme);
    let nights = nights_of_device(comparison, &device.name);
    let value = |scheme, n, d| primary(n, d, measure, missing, scheme);
    let values: Vec<(&str, Figure)> = nights
        .iter()
        .map(|(n, d)| (n.participant.as_str(), scheme.map_or(Err(Undefined::NoPairs), |s| value(s, n, d))))
        .collect();
    let people = mean_of_people(&values);
    let defined = values.iter().filter(|(_, figure)| figure.is_ok()).count();
    let own = |ruled: &dyn Fn(&crate::DeviceNight) -> bool| {
        let all = comparison.nights.iter().flat_map(|n| &n.devices);
        all.filter(|d| d.source.name() == device.name && ruled(d)).count()
    };
    PrimaryLine {
        device: device.name.clone(),
        measure,
        scheme,
        value: crate::mean_over_participants(&values),
        interval: interval_of_people(&people, scale(measure), asked),
        equivalence: plan.and_then(|p| p.tolerance).map(|tolerance| equivalence(&people, tolerance)),
        participants: people.len(),
        nights: defined,
        skipped: values.len() - defined,
        marked: own(&|d| d.ruled.is_some_and(|r| !r.excluded)),
        ruled_out: own(&crate::DeviceNight::is_ruled_out),
        exploratory: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{night, psg, ring};
    use crate::{Protocol, Window, compare, compare_night};
    use counterpane_model::Decided;
    use counterpane_model::Stage::{Light, N3, R, W};

    const ASKED: Resampling = Resampling { replicates: 200, seed: 1, threads: 1 };

    fn compared() -> Comparison {
        let protocol = Protocol { scheme: None, window: Window::Scored };
        let others = [&ring(&[W, Light, N3, R], "WLLL3RRW")];
        let one = compare_night(&night(), &psg("WW2233RW"), &others, &Decided::default(), &protocol).unwrap();
        compare(vec![one], protocol)
    }

    fn laid(looked: Looked, plan: Plan) -> Laid {
        let (at, by, sha256) = (String::new(), "me".into(), String::new());
        Laid { plan, seen: vec![Seen { decision: 4, at, by, sha256, looked }] }
    }

    fn primary_kappa() -> Plan {
        Plan { primary: Some(PlanMeasure::Kappa), ..Plan::default() }
    }

    fn why(laid: Option<Laid>, departures: &[Departure]) -> Vec<&'static str> {
        let found = standing(&compared(), laid, departures.to_vec(), ASKED);
        found.lines[0].exploratory.iter().map(|e| e.code()).collect()
    }

    #[test]
    fn only_what_was_laid_down_before_looking_is_predeclared() {
        assert!(why(Some(laid(Looked::Before, primary_kappa())), &[]).is_empty());
        assert_eq!(why(None, &[]), ["no-protocol"]);
        assert_eq!(why(Some(laid(Looked::After, primary_kappa())), &[]), ["laid-down-after-looking"]);
        assert_eq!(why(Some(laid(Looked::Before, Plan::default())), &[]), ["no-primary"]);
        let departures = [Departure::Scheme, Departure::Nights];
        assert_eq!(why(Some(laid(Looked::Before, primary_kappa())), &departures), ["scheme", "nights"]);
        let other = Plan { devices: vec!["mat-a".into()], ..primary_kappa() };
        assert_eq!(why(Some(laid(Looked::Before, other)), &[]), ["other-device"]);
    }

    #[test]
    fn without_a_primary_measure_kappa_and_accuracy_stand() {
        let found = standing(&compared(), None, Vec::new(), ASKED);
        let lines: Vec<_> = found.lines.iter().map(|l| (l.measure, l.value)).collect();
        // All but the second and the sixth epoch agree.
        assert_eq!(lines[1], (PlanMeasure::Accuracy, Ok(6.0 / 8.0)));
        assert_eq!(lines[0].0, PlanMeasure::Kappa);
        assert_eq!(found.lines[0].interval, Err(Undefined::NTooSmall), "one person has no interval");
    }
}
