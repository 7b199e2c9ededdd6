//! What share of the variance lies between the participants.

use crate::quantiles::f_quantile;
use crate::{Figure, Statistic, Undefined};

pub(crate) static STATISTIC: Statistic = Statistic {
    key: "icc",
    name: "Intraclass correlation, ICC(2,1) and ICC(3,1)",
    meaning: "What share of the variance of single values lies between participants. ICC(2,1), absolute agreement, is the one for a device \
              against a reference; ICC(3,1), consistency, takes no notice of bias.",
    formula: "two-way mean squares, of participants BMS, of sides JMS, of the rest EMS, n participants, k sides: ICC(2,1) = (BMS - EMS) / \
              (BMS + (k - 1) EMS + k (JMS - EMS) / n), ICC(3,1) = (BMS - EMS) / (BMS + (k - 1) EMS); intervals by F",
    range: "at most 1; may be negative",
    undefined: "there are fewer than two participants, or participants do not differ; the interval also when nothing is left over (EMS = 0)",
    caution: "A device that is an hour off for everybody has ICC(3,1) = 1. Rises with the spread of the sample: never compare it across \
              studies, never print it for fewer than ten participants or without bias and limits of agreement.",
    source: "Shrout and Fleiss 1979, Psychological Bulletin 86(2), 420-428; interval of ICC(2,1): McGraw and Wong 1996, Psychological \
             Methods 1(1), 30-46",
};

/// One form of the coefficient.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct IccForm {
    /// Its value.
    pub value: f64,
    /// Its 95 % interval.
    pub interval: Result<(f64, f64), Undefined>,
}

/// Both forms, with the mean squares that they are made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Icc {
    /// ICC(2,1), absolute agreement.
    pub absolute: Result<IccForm, Undefined>,
    /// ICC(3,1), consistency.
    pub consistency: Result<IccForm, Undefined>,
    /// Mean square of participants.
    pub participants: f64,
    /// Mean square of sides.
    pub sides: f64,
    /// Mean square of the rest.
    pub rest: f64,
}

/// Returns the intraclass correlations of rows of one participant each, one value for each side.
///
/// Source: Shrout and Fleiss 1979, Psychological Bulletin 86(2), 420-428.
///
/// ```
/// # use counterpane_stats::icc;
/// // The device adds 1 to everything: BMS = 2, JMS = 1.5, EMS = 0. Absolute 2 / (2 + 2 * 1.5 / 3) = 2/3.
/// let of = icc(&[[1.0, 2.0], [2.0, 3.0], [3.0, 4.0]])?;
/// assert!(of.absolute.is_ok_and(|form| (form.value - 2.0 / 3.0).abs() < 1e-12));
/// assert!(of.consistency.is_ok_and(|form| (form.value - 1.0).abs() < 1e-12));
/// # Ok::<(), counterpane_stats::Undefined>(())
/// ```
///
/// # Errors
/// The reason why they are undefined.
pub fn icc<const K: usize>(rows: &[[f64; K]]) -> Result<Icc, Undefined> {
    if rows.is_empty() {
        return Err(Undefined::NoPairs);
    }
    if rows.len() < 2 || K < 2 {
        return Err(Undefined::NTooSmall);
    }
    let (n, k) = (rows.len() as f64, K as f64);
    let row_means: Vec<f64> = rows.iter().map(|row| row.iter().sum::<f64>() / k).collect();
    let column = |j: usize| rows.iter().map(|row| row[j]).sum::<f64>() / n;
    let column_means: [f64; K] = std::array::from_fn(column);
    let grand = row_means.iter().sum::<f64>() / n;
    let participants = k * row_means.iter().map(|m| (m - grand).powi(2)).sum::<f64>() / (n - 1.0);
    if participants == 0.0 {
        return Err(Undefined::ZeroVariance);
    }
    let sides = n * column_means.iter().map(|m| (m - grand).powi(2)).sum::<f64>() / (k - 1.0);
    let rest_of = |row: &[f64; K], mean: &f64| {
        row.iter().zip(&column_means).map(|(x, side)| (x - mean - side + grand).powi(2)).sum::<f64>()
    };
    let rest = rows.iter().zip(&row_means).map(|(row, mean)| rest_of(row, mean)).sum::<f64>() / ((n - 1.0) * (k - 1.0));
    let squares = Squares { n, k, participants, sides, rest };
    Ok(Icc { absolute: squares.absolute(), consistency: squares.consistency(), participants, sides, rest })
}

struct Squares {
    n: f64,
    k: f64,
    participants: f64,
    sides: f64,
    rest: f64,
}

impl Squares {
    fn absolute(&self) -> Result<IccForm, Undefined> {
        let Squares { n, k, participants, sides, rest } = *self;
        let value = ratio(participants - rest, participants + (k - 1.0) * rest + k * (sides - rest) / n)?;
        Ok(IccForm { value, interval: self.absolute_interval(value) })
    }

    fn absolute_interval(&self, value: f64) -> Result<(f64, f64), Undefined> {
        let Squares { n, k, participants, sides, rest } = *self;
        if rest == 0.0 || value == 1.0 {
            return Err(Undefined::ZeroVariance);
        }
        let a = k * value / (n * (1.0 - value));
        let b = 1.0 + k * value * (n - 1.0) / (n * (1.0 - value));
        let parts = (a * sides).powi(2) / (k - 1.0) + (b * rest).powi(2) / ((n - 1.0) * (k - 1.0));
        let df = ratio((a * sides + b * rest).powi(2), parts)?;
        if df <= 0.0 {
            return Err(Undefined::ZeroDenominator);
        }
        let (low, high) = (f_quantile(0.975, n - 1.0, df), f_quantile(0.975, df, n - 1.0));
        let other = k * sides + (k * n - k - n) * rest;
        Ok((
            ratio(n * (participants - low * rest), low * other + n * participants)?,
            ratio(n * (high * participants - rest), other + n * high * participants)?,
        ))
    }

    fn consistency(&self) -> Result<IccForm, Undefined> {
        let Squares { n, k, participants, rest, .. } = *self;
        let value = ratio(participants - rest, participants + (k - 1.0) * rest)?;
        let form = |f: f64| (f - 1.0) / (f + k - 1.0);
        let interval = ratio(participants, rest).map(|f| {
            let (df1, df2) = (n - 1.0, (n - 1.0) * (k - 1.0));
            (form(f / f_quantile(0.975, df1, df2)), form(f * f_quantile(0.975, df2, df1)))
        });
        Ok(IccForm { value, interval })
    }
}

fn ratio(above: f64, below: f64) -> Figure {
    if below == 0.0 { Err(Undefined::ZeroDenominator) } else { Ok(above / below) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::prints;

    #[test]
    fn six_targets_and_four_judges_give_their_printed_table() {
        // Shrout and Fleiss 1979, tables 2 to 4; the intervals as printed by common software (from memory).
        let rows = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]];
        let of = icc(&rows.map(|row| row.map(f64::from))).unwrap();
        prints(Ok(of.participants), "11.24");
        prints(Ok(of.sides), "32.49");
        prints(Ok(of.rest), "1.02");
        let (absolute, consistency) = (of.absolute.unwrap(), of.consistency.unwrap());
        prints(Ok(absolute.value), "0.29");
        prints(absolute.interval.map(|i| i.0), "0.019");
        prints(absolute.interval.map(|i| i.1), "0.761");
        prints(Ok(consistency.value), "0.71");
        prints(consistency.interval.map(|i| i.0), "0.342");
        prints(consistency.interval.map(|i| i.1), "0.946");
    }

    #[test]
    fn participants_who_do_not_differ_have_none() {
        assert_eq!(icc(&[[1.0, 2.0], [1.0, 2.0]]), Err(Undefined::ZeroVariance));
        assert_eq!(icc(&[[1.0, 2.0]]), Err(Undefined::NTooSmall));
    }
}
