//! What `plan` answers, for people and for programs.

use crate::output::{Out, table};
use crate::wording::count;
use counterpane_stats::Simulated;
use schemars::JsonSchema;
use serde::Serialize;

/// How many people and nights a study needs.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Answer {
    /// Version of this form: 1.
    pub(crate) version: u32,
    /// `mean`, `difference`, `limits` or `icc`.
    pub(crate) question: &'static str,
    /// What was asked, in words.
    pub(crate) asked: String,
    /// The spread that the answer rests on; null for a question without one.
    pub(crate) spread: Option<Spread>,
    /// Each way to do it.
    pub(crate) plans: Vec<Plan>,
    /// What a reader must know, a sentence each.
    pub(crate) cautions: Vec<String>,
}

/// How far people, and nights of one person, lie apart.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct Spread {
    /// Standard deviation between people.
    pub(crate) between: f64,
    /// Standard deviation between nights of one person.
    pub(crate) within: f64,
    /// People of the study that it was taken from; 0 where it was given.
    pub(crate) people: usize,
    /// Nights of the study that it was taken from; 0 where it was given.
    pub(crate) nights: usize,
}

/// One way to do it.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Plan {
    /// Nights of each person.
    pub(crate) nights: u32,
    /// People.
    pub(crate) people: u32,
    /// What such studies gave when they were drawn; null where that was not asked for.
    pub(crate) simulated: Option<Drawn>,
}

/// What drawn studies gave.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Drawn {
    /// Number of studies drawn.
    studies: u32,
    /// Seed of the drawing.
    seed: u64,
    /// Mean half-width of their intervals.
    half_width: f64,
    /// Share of the intervals that are as narrow as wanted; null for a question without a width.
    narrow_enough: Option<f64>,
    /// Share of the intervals that hold the truth.
    coverage: f64,
    /// Share of the studies that tell the mean from 0.
    told_from_zero: f64,
}

impl Drawn {
    pub(crate) fn new(of: &Simulated, seed: u64, a_width_is_wanted: bool) -> Drawn {
        Drawn {
            studies: of.studies,
            seed,
            half_width: of.half_width,
            narrow_enough: a_width_is_wanted.then_some(of.narrow_enough),
            coverage: of.coverage,
            told_from_zero: of.told_from_zero,
        }
    }
}

impl Answer {
    /// Prints it for people.
    pub(crate) fn print(&self, out: &mut Out) -> anyhow::Result<()> {
        out.paragraph(&self.asked)?;
        if let Some(spread) = &self.spread {
            out.paragraph(spread.words())?;
        }
        out.line("")?;
        let drawn = self.plans.iter().any(|p| p.simulated.is_some());
        let width = self.plans.iter().any(|p| p.simulated.as_ref().is_some_and(|d| d.narrow_enough.is_some()));
        let mut head = vec!["nights each", "people", "nights in all"];
        if drawn {
            head.push("half-width");
            head.push(if width { "narrow enough" } else { "told from 0" });
            head.push("holds the truth");
        }
        let numeric: Vec<usize> = (0..head.len()).collect();
        let rows: Vec<Vec<String>> = self.plans.iter().map(Plan::cells).collect();
        out.raw(&table(&head, &numeric, &rows, out.width()))?;
        out.line("")?;
        out.paragraph(self.in_words())?;
        if let Some(of) = self.plans.iter().find_map(|p| p.simulated.as_ref()) {
            out.paragraph(format_args!(
                "Each line was drawn {} times (seed {}) and given the interval that `compare` gives.",
                of.studies, of.seed
            ))?;
        }
        self.cautions.iter().try_for_each(|c| out.paragraph(c))
    }

    /// Returns `39 people with 1 night each, 34 with 2, or 31 with 4.`
    fn in_words(&self) -> String {
        let said = self.plans.iter().enumerate().map(|(i, p)| match i {
            0 => format!("{} people with {} each", p.people, count(u64::from(p.nights), "night")),
            _ => format!("{} with {}", p.people, p.nights),
        });
        format!("{}.", crate::wording::or(&said.collect::<Vec<_>>()))
    }
}

impl Plan {
    fn cells(&self) -> Vec<String> {
        let share = |v: f64| format!("{:.0} %", 100.0 * v);
        let mut out = vec![
            self.nights.to_string(),
            self.people.to_string(),
            (u64::from(self.nights) * u64::from(self.people)).to_string(),
        ];
        if let Some(d) = &self.simulated {
            out.push(number(d.half_width));
            out.push(share(d.narrow_enough.unwrap_or(d.told_from_zero)));
            out.push(share(d.coverage));
        }
        out
    }
}

/// From so many people on, how far they lie apart is known to a third or so (95 % interval of a standard deviation, chi-square).
const PEOPLE_ENOUGH: usize = 20;

impl Spread {
    /// Says that it is taken from few people, where it is.
    pub(crate) fn few(&self) -> Option<String> {
        (1..PEOPLE_ENOUGH).contains(&self.people).then(|| {
            format!(
                "How far people lie apart is hardly known from {} of them: plan with larger spreads too (--between, --within).",
                self.people
            )
        })
    }

    fn words(&self) -> String {
        let from = match self.people {
            0 => "as given".to_owned(),
            people => format!("as in {people} people and {} of this study", count(self.nights as u64, "night")),
        };
        format!(
            "People lie apart by a standard deviation of {}, nights of one person by {}, {from}.",
            number(self.between),
            number(self.within)
        )
    }
}

/// Returns a number with three digits that count.
pub(crate) fn number(value: f64) -> String {
    let digits = if value.abs() >= 100.0 {
        0
    } else if value.abs() >= 10.0 {
        1
    } else if value.abs() >= 1.0 {
        2
    } else {
        3
    };
    let text = format!("{value:.digits$}");
    if digits == 0 { text } else { text.trim_end_matches('0').trim_end_matches('.').to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        assert_eq!([0.05, 0.127, 12.0, 23.44, 400.4, 0.0].map(number), ["0.05", "0.127", "12", "23.4", "400", "0"]);
    }
}
