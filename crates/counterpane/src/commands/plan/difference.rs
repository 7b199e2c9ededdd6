//! People and nights that tell one device from another.

use super::answer::{Answer, Plan, number};
use super::mean::Measure;
use super::simulate::Simulate;
use super::spread::{Given, none};
use crate::cli::Cli;
use anyhow::bail;
use counterpane_stats::{SIGN_FLIP_NEEDS, Scale, plan_difference};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// What is compared on the same nights
    #[arg(long, value_enum, default_value = "kappa")]
    measure: Measure,
    /// The difference of the two means that should be found; for accuracy a share, such as 0.05
    #[arg(long, value_name = "D")]
    detect: f64,
    /// How often it should be found
    #[arg(long, value_name = "SHARE", default_value_t = 0.8)]
    power: f64,
    /// With --from: the other device; the spreads are those of the differences between the two
    #[arg(long, value_name = "DEVICE", requires = "from")]
    against: Option<String>,
    #[command(flatten)]
    given: Given,
    #[command(flatten)]
    simulate: Simulate,
}

pub(super) fn answer(cli: &Cli, args: &Args) -> anyhow::Result<Answer> {
    if args.given.from.is_some() && args.against.is_none() {
        bail!("a difference has two devices: name the other with --against");
    }
    let (spread, mean) = args.given.spread(cli, args.against.as_deref(), &|n, d| args.measure.of(n, d))?;
    if let (Some(device), None) = (&args.given.from, mean) {
        return Err(none(device));
    }
    let plan = |nights: &u32| {
        let people = plan_difference(args.detect, spread.between, spread.within, *nights, args.power)
            .map_err(|why| anyhow::anyhow!("a difference of {} cannot be planned: {}", args.detect, why.words()))?;
        let simulated = args.simulate.drawn((people, *nights), &spread, (args.detect, Scale::Plain), None)?;
        Ok(Plan { nights: *nights, people, simulated })
    };
    let plans = args.given.nights.iter().map(plan).collect::<anyhow::Result<_>>()?;
    let found = mean.map(|m| format!(" In this study it is {}.", number(m)));
    let few = spread.few();
    Ok(Answer {
        version: 1,
        question: "difference",
        asked: format!(
            "A difference of {} in mean {} between two devices, on the same nights, found in {:.0} % of such studies at a level of 0.05.{}",
            number(args.detect),
            args.measure.name(),
            100.0 * args.power,
            found.unwrap_or_default()
        ),
        spread: Some(spread),
        plans,
        cautions: [
            format!(
                "The spreads are those of the differences between the two devices, not of either. With fewer than {SIGN_FLIP_NEEDS} people no \
                 difference can reach 0.05: five have 32 patterns of signs, and 2 of 32 is 0.06."
            ),
            "Several pairs of devices need more: with m pairs the level of the first is 0.05 / m (Holm 1979, Scandinavian Journal of \
             Statistics 6(2), 65-70)."
                .into(),
        ]
        .into_iter()
        .chain(few)
        .collect(),
    })
}
