//! What a device would get that draws its stages by lot.

use crate::{Figure, Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "chance_accuracy",
    name: "Accuracy of drawing lots",
    meaning: "The share of epochs that a device would get right by drawing each stage by lot with given shares; always the same stage is the \
              lot with one share of 1.",
    formula: "sum of p_k q_k, p the reference's shares of the stages, q the shares of the lots",
    range: "0 to 1",
    undefined: "there is no class, or the two sides have not as many classes",
    caution: "Always light gets about half of a night right. Kappa of such a device is 0, its balanced accuracy 1 / K.",
    source: "common practice, no source",
};

/// Returns the accuracy to be expected of stages drawn by lot.
///
/// ```
/// # use counterpane_stats::chance_accuracy;
/// // Always the second stage, which is half of the night.
/// assert_eq!(chance_accuracy(&[0.1, 0.5, 0.4], &[0.0, 1.0, 0.0]), Ok(0.5));
/// ```
///
/// # Errors
/// The reason why it is undefined.
pub fn chance_accuracy(reference: &[f64], lots: &[f64]) -> Figure {
    if reference.is_empty() {
        return Err(Undefined::NoPairs);
    }
    if reference.len() != lots.len() {
        return Err(Undefined::OutsideRange);
    }
    Ok(reference.iter().zip(lots).map(|(p, q)| p * q).sum())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lots_need_as_many_classes_as_the_reference() {
        assert_eq!(chance_accuracy(&[1.0], &[0.5, 0.5]), Err(Undefined::OutsideRange));
        assert_eq!(chance_accuracy(&[], &[]), Err(Undefined::NoPairs));
        assert_eq!(chance_accuracy(&[0.25, 0.75], &[0.5, 0.5]), Ok(0.5));
    }
}
