//! Drawing a planned study.

use super::answer::{Drawn, Spread};
use counterpane_stats::{Planned, Resampling, Scale, plan_simulation};

/// Whether and how studies are drawn.
#[derive(Debug, clap::Args)]
pub(super) struct Simulate {
    /// Draw each plan many times too, and say what our own interval gives
    #[arg(long)]
    simulate: bool,
    /// How many studies are drawn
    #[arg(long, value_name = "N", default_value_t = 1000, value_parser = clap::value_parser!(u32).range(100..=100_000))]
    studies: u32,
    /// Seed of what is drawn
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
}

impl Simulate {
    /// Returns what a plan gives when it is drawn; `None` where that was not asked for. `half` is the half-width wanted, where one
    /// is.
    ///
    /// # Errors
    /// Why it cannot be drawn.
    pub(super) fn drawn(
        &self,
        (people, nights): (u32, u32),
        spread: &Spread,
        (mean, scale): (f64, Scale),
        half: Option<f64>,
    ) -> anyhow::Result<Option<Drawn>> {
        if !self.simulate {
            return Ok(None);
        }
        let Spread { between, within, .. } = *spread;
        let planned = Planned { mean, between, within, participants: people, nights, scale };
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        let asked = Resampling { replicates: self.studies, seed: self.seed, threads };
        let of = plan_simulation(&planned, half.unwrap_or_default(), asked)
            .map_err(|why| anyhow::anyhow!("it cannot be drawn: {}", why.words()))?;
        Ok(Some(Drawn::new(&of, self.seed, half.is_some())))
    }
}
