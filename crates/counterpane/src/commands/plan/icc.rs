//! People that pin down an intraclass correlation.

use super::answer::{Answer, Plan, number};
use counterpane_stats::plan_icc;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The correlation that is expected, 0 to 1
    #[arg(long, value_name = "R")]
    expected: f64,
    /// Full width of the 95 % interval that is wanted
    #[arg(long, value_name = "W")]
    width: f64,
    /// How many sides measure each person: a device and the reference are 2
    #[arg(long, value_name = "N", default_value_t = 2)]
    sides: u32,
}

pub(super) fn answer(args: &Args) -> anyhow::Result<Answer> {
    let people = plan_icc(args.expected, args.sides, args.width)
        .map_err(|why| anyhow::anyhow!("this correlation cannot be planned: {}", why.words()))?;
    if people > f64::from(u32::MAX) {
        anyhow::bail!("this correlation cannot be planned: more than {} people would be needed", u32::MAX);
    }
    Ok(Answer {
        version: 1,
        question: "icc",
        asked: format!(
            "An intraclass correlation of about {} between {} sides, with an interval of full width {}.",
            number(args.expected),
            args.sides,
            number(args.width)
        ),
        spread: None,
        plans: vec![Plan { nights: 1, people: people as u32, simulated: None }],
        cautions: vec![
            "It stands or falls with the correlation that is expected (Bonett 2002, Statistics in Medicine 21(9), 1331-1335). A \
             correlation rises with how far the people lie apart, so it is never to be compared across studies, and never shown without the bias."
                .into(),
        ],
    })
}
