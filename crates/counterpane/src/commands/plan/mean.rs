//! People and nights that pin down a mean.

use super::answer::{Answer, Plan, number};
use super::simulate::Simulate;
use super::spread::{Given, none};
use crate::cli::Cli;
use counterpane_compare::{DeviceNight, NightComparison};
use counterpane_stats::{Scale, plan_mean};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// What is averaged over people
    #[arg(long, value_enum, default_value = "kappa")]
    measure: Measure,
    /// Half-width of the 95 % interval that is wanted; for accuracy a share, such as 0.05
    #[arg(long, value_name = "H")]
    half_width: f64,
    /// The mean that is expected, for --simulate; else that of the study, else 0.6
    #[arg(long, value_name = "MEAN")]
    expected: Option<f64>,
    #[command(flatten)]
    given: Given,
    #[command(flatten)]
    simulate: Simulate,
}

/// A number of a device on a night.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(super) enum Measure {
    /// Share of epochs that agree
    Accuracy,
    /// Cohen's kappa
    Kappa,
}

impl Measure {
    pub(super) fn name(self) -> &'static str {
        match self {
            Measure::Accuracy => "accuracy",
            Measure::Kappa => "kappa",
        }
    }

    /// Returns it of a night, where it has one.
    pub(super) fn of(self, _: &NightComparison, device: &DeviceNight) -> Option<f64> {
        let a = device.agreement.as_ref()?;
        match self {
            Measure::Accuracy => a.accuracy.ok(),
            Measure::Kappa => a.kappa.ok(),
        }
    }

    fn scale(self) -> Scale {
        match self {
            Measure::Accuracy => Scale::Share,
            Measure::Kappa => Scale::Coefficient,
        }
    }
}

pub(super) fn answer(cli: &Cli, args: &Args) -> anyhow::Result<Answer> {
    let (spread, mean) = args.given.spread(cli, None, &|n, d| args.measure.of(n, d))?;
    if let (Some(device), None) = (&args.given.from, mean) {
        return Err(none(device));
    }
    let expected = args.expected.or(mean).unwrap_or(0.6);
    let half = args.half_width;
    let plan = |nights: &u32| {
        let people = plan_mean(spread.between, spread.within, *nights, half)
            .map_err(|why| anyhow::anyhow!("a half-width of {half} cannot be planned: {}", why.words()))?;
        let simulated =
            args.simulate.drawn((people, *nights), &spread, (expected, args.measure.scale()), Some(half))?;
        Ok(Plan { nights: *nights, people, simulated })
    };
    let plans = args.given.nights.iter().map(plan).collect::<anyhow::Result<_>>()?;
    let few = spread.few();
    Ok(Answer {
        version: 1,
        question: "mean",
        asked: format!("A mean {} to within {} either way, by its 95 % interval.", args.measure.name(), number(half)),
        spread: Some(spread),
        plans,
        cautions: std::iter::once(
            "More nights of the same people help little once people differ much. The width is met on average, not in every study."
                .to_owned(),
        )
        .chain(few)
        .collect(),
    })
}
