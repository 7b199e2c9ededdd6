//! Minutes of each source of a night beside those of its reference.
//!
//! A device that stages is counted over the epochs that both sides scored, so that neither side gains
//! from what the other leaves out. A claim is a total of the source itself: it cannot be cut to those
//! epochs, stands against the reference's whole window, and is marked.

use crate::words;
use counterpane_compare::{DeviceNight, Measures, NightComparison, minutes_in};
use counterpane_model::{Claim, Quantity as Claimed, Stage};

/// A quantity in minutes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// Sleep of any kind.
    Sleep,
    /// Minutes in one class; `Light` holds N1 and N2, `NREM` holds N1, N2 and N3.
    In(Stage),
}

impl Quantity {
    const ALL: [Quantity; 8] = [
        Quantity::Sleep,
        Quantity::In(Stage::W),
        Quantity::In(Stage::N1),
        Quantity::In(Stage::N2),
        Quantity::In(Stage::Light),
        Quantity::In(Stage::N3),
        Quantity::In(Stage::Nrem),
        Quantity::In(Stage::R),
    ];

    /// Returns the name for the head of a column.
    #[must_use]
    pub fn head(self) -> &'static str {
        match self {
            Quantity::Sleep => "Sleep",
            Quantity::In(Stage::Light) => "Light (N1 + N2)",
            Quantity::In(class) => words::class_head(class),
        }
    }
}

/// What one source says in minutes, and what the reference says of the same time.
#[derive(Clone, Debug)]
pub struct SourceMinutes<'a> {
    /// Name of the source.
    pub label: String,
    /// The minutes are the source's own claim.
    pub claim: bool,
    own: Own<'a>,
    reference: &'a Measures,
}

#[derive(Clone, Debug)]
enum Own<'a> {
    Counted { measures: &'a Measures, vocabulary: &'a [Stage] },
    Claimed(&'a [Claim]),
}

impl SourceMinutes<'_> {
    /// Returns the source's minutes, or why there are none, in few words.
    pub fn own(&self, quantity: Quantity) -> Result<f64, String> {
        match &self.own {
            Own::Counted { measures, vocabulary } => counted(measures, Some(vocabulary), quantity),
            Own::Claimed(claims) => claimed(claims, quantity).ok_or_else(|| "not claimed".to_owned()),
        }
    }

    /// Returns the reference's minutes of the same time, or why there are none.
    pub fn reference(&self, quantity: Quantity) -> Result<f64, String> {
        counted(self.reference, None, quantity).map_err(|_| "not scored so finely".to_owned())
    }

    /// Returns source minus reference, or why there is no difference.
    pub fn difference(&self, quantity: Quantity) -> Result<f64, String> {
        Ok(self.own(quantity)? - self.reference(quantity)?)
    }
}

/// Returns the minutes of every source of a night: first what was counted, then what was claimed.
#[must_use]
pub fn sources(night: &NightComparison) -> Vec<SourceMinutes<'_>> {
    let mut out = Vec::new();
    for device in &night.devices {
        let label = words::name_on(night, device);
        out.extend(counted_of(&label, device));
        if device.claims.iter().any(|c| c.quantity.unit() == "min") {
            let own = Own::Claimed(&device.claims);
            out.push(SourceMinutes { label, claim: true, own, reference: &night.measures });
        }
    }
    out
}

/// Returns what was counted from the epochs that a device and its reference both scored; `None` when
/// there is no such epoch.
#[must_use]
pub fn counted_of<'a>(label: &str, device: &'a DeviceNight) -> Option<SourceMinutes<'a>> {
    let (measures, reference) = (device.measures_masked.as_ref()?, device.reference_masked.as_ref()?);
    let own = Own::Counted { measures, vocabulary: &device.vocabulary };
    Some(SourceMinutes { label: label.to_owned(), claim: false, own, reference })
}

/// Returns the quantities that at least one source and its reference both have.
#[must_use]
pub fn quantities(sources: &[SourceMinutes<'_>]) -> Vec<Quantity> {
    let has = |s: &SourceMinutes<'_>, q: Quantity| s.difference(q).is_ok();
    let light = Quantity::In(Stage::Light);
    let wanted = |q: &Quantity| match q {
        // Where light and deep stand apart, their sum says nothing new.
        Quantity::In(Stage::Nrem) => sources.iter().any(|s| has(s, *q) && !has(s, light)),
        _ => sources.iter().any(|s| has(s, *q)),
    };
    Quantity::ALL.into_iter().filter(wanted).collect()
}

/// Returns the minutes of a quantity, or why measures do not hold it.
///
/// The vocabulary says what the source could have said: without it every class is taken to be sayable.
pub fn counted(measures: &Measures, vocabulary: Option<&[Stage]>, quantity: Quantity) -> Result<f64, String> {
    let class = match quantity {
        Quantity::Sleep => return Ok(measures.total_sleep),
        Quantity::In(Stage::W) => return Ok(measures.wake),
        Quantity::In(class) => class,
    };
    minutes_in(measures, vocabulary, class).ok_or_else(|| NOT_TOLD_APART.to_owned())
}

/// Why there is no number of a class that the source has no word for.
pub(crate) const NOT_TOLD_APART: &str = "does not tell it apart";

fn claimed(claims: &[Claim], quantity: Quantity) -> Option<f64> {
    let of = |wanted: Claimed| claims.iter().find(|c| c.quantity == wanted).map(|c| c.value);
    match quantity {
        Quantity::Sleep => of(Claimed::TotalSleep).or_else(|| of(Claimed::Minutes(Stage::Asleep))),
        Quantity::In(class) => of(Claimed::Minutes(class)).or_else(|| match class {
            Stage::Light => Some(of(Claimed::Minutes(Stage::N1))? + of(Claimed::Minutes(Stage::N2))?),
            Stage::Nrem => Some(claimed(claims, Quantity::In(Stage::Light))? + of(Claimed::Minutes(Stage::N3))?),
            _ => None,
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::measures;
    use counterpane_model::Locator;

    fn claim(quantity: Claimed, value: f64) -> Claim {
        Claim { quantity, value, rounding: 1.0, locator: Locator::Text { line: 1, column: 1 } }
    }

    #[test]
    fn finer_stages_add_up_to_a_coarser_class() {
        let night = measures(&[(Stage::N1, 10.0), (Stage::N2, 200.0), (Stage::N3, 60.0)]);
        assert_eq!(counted(&night, None, Quantity::In(Stage::Light)), Ok(210.0));
        assert_eq!(counted(&night, None, Quantity::In(Stage::Nrem)), Ok(270.0));
    }

    #[test]
    fn a_coarse_source_is_not_given_minutes_that_it_did_not_say() {
        let coarse = measures(&[(Stage::Asleep, 400.0)]);
        let none = Err("does not tell it apart".to_owned());
        let two = Some(&[Stage::W, Stage::Asleep][..]);
        assert_eq!(counted(&coarse, two, Quantity::In(Stage::R)), none);
        assert_eq!(counted(&coarse, None, Quantity::In(Stage::N3)), none);
        assert_eq!(counted(&coarse, two, Quantity::Sleep), Ok(400.0));
    }

    #[test]
    fn a_stage_that_could_be_said_and_was_not_is_zero() {
        let night = measures(&[(Stage::Light, 400.0)]);
        let four = Some(&[Stage::W, Stage::Light, Stage::N3, Stage::R][..]);
        assert_eq!(counted(&night, four, Quantity::In(Stage::R)), Ok(0.0));
    }

    #[test]
    fn claims_are_taken_as_they_stand_or_not_at_all() {
        let claims = [claim(Claimed::TotalSleep, 402.0), claim(Claimed::Minutes(Stage::N3), 70.0)];
        assert_eq!(claimed(&claims, Quantity::Sleep), Some(402.0));
        assert_eq!(claimed(&claims, Quantity::In(Stage::N3)), Some(70.0));
        assert_eq!(claimed(&claims, Quantity::In(Stage::R)), None);
    }
}
