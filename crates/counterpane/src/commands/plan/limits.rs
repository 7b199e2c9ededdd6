//! People that pin down limits of agreement.

use super::answer::{Answer, Plan, number};
use crate::cli::Cli;
use anyhow::bail;
use counterpane_stats::{plan_limits, plan_limits_for};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Half-width of the 95 % interval of each limit that is wanted, in the unit of --sd
    #[arg(long, value_name = "H", required_unless_present = "people", conflicts_with = "people")]
    half_width: Option<f64>,
    /// In place of a half-width: say what so many people give
    #[arg(long, value_name = "N")]
    people: Option<u32>,
    /// Standard deviation of the differences, device minus reference, such as minutes of sleep; 1 counts in standard deviations
    #[arg(long, value_name = "SD", default_value_t = 1.0)]
    sd: f64,
}

pub(super) fn answer(_: &Cli, args: &Args) -> anyhow::Result<Answer> {
    if !(args.sd > 0.0 && args.sd.is_finite()) {
        bail!("--sd {}: a standard deviation is a number above 0", args.sd);
    }
    let people = match (args.people, args.half_width) {
        (Some(people), _) => people,
        (None, half) => plan_limits_for(half.unwrap_or_default() / args.sd).map_err(|why| {
            anyhow::anyhow!("a half-width of {} cannot be planned: {}", half.unwrap_or_default(), why.words())
        })?,
    };
    let plan =
        plan_limits(people).map_err(|why| anyhow::anyhow!("{people} people: {}; three are the least", why.words()))?;
    let unit = |v: f64| number(v * args.sd);
    let asked = match args.half_width {
        Some(half) => format!("Limits of agreement to within {} either way, by their 95 % intervals.", number(half)),
        None => format!("Limits of agreement with {people} people."),
    };
    let asked = format!("{asked} One night of each; differences with a standard deviation of {}.", number(args.sd));
    Ok(Answer {
        version: 1,
        question: "limits",
        asked,
        spread: None,
        plans: vec![Plan { nights: 1, people, simulated: None }],
        cautions: vec![
            format!(
                "A limit will be known to about {} either way. Exactly, one that is seen {} above the bias has an interval from {} to {}.",
                unit(plan.half_width),
                unit(1.96),
                unit(plan.exact.0),
                unit(plan.exact.1)
            ),
            "Several nights of one person are no further people: they show how far its own nights lie apart, not how far people do \
             (Bland and Altman 2007, Journal of Biopharmaceutical Statistics 17(4), 571-582)."
                .into(),
        ],
    })
}
