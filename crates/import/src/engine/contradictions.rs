//! Claims of one night that cannot all be true.
//!
//! Only what follows from the words themselves is held against each other: parts are not longer than the whole. How
//! latency, wake after onset and efficiency are counted differs between sources, and is no contradiction.

use super::faults::Fault;
use super::nights::Home;
use super::sink::Claimed;
use crate::kinds;
use counterpane_model::{Instant, Quantity, Stage};

/// Minutes that sums may exceed a whole beside their rounding: half an epoch at either edge.
const SLACK_MIN: f64 = 0.5;

/// Tells every contradiction among the claims of a night, each with the line of the claim that it is held against.
pub(super) fn find(claims: &[Claimed], home: &Home, tell: &mut dyn FnMut(Fault, &str)) {
    let differ = |a: &Claimed, b: &Claimed| {
        a.claim.quantity == b.claim.quantity && a.claim.value.to_bits() != b.claim.value.to_bits()
    };
    let mut rows: Vec<&[Claimed]> = vec![claims];
    if claims.iter().enumerate().any(|(n, a)| claims[n + 1..].iter().take(NEARBY).any(|b| differ(a, b))) {
        // Several pieces of sleep in a night: each row is held against itself only.
        rows = claims.chunk_by(|a, b| a.row == b.row).collect();
    }
    for row in rows {
        Row { claims: row, home }.tell(tell);
    }
}

/// How many claims on another one of the same quantity is looked for.
const NEARBY: usize = 1000;

/// Claims that speak of the same stretch of sleep.
struct Row<'a> {
    claims: &'a [Claimed],
    home: &'a Home,
}

/// A sum of claims in words, its minutes, and the steps to which its parts are rounded.
type Sum = (&'static str, f64, f64);

impl Row<'_> {
    fn tell(&self, tell: &mut dyn FnMut(Fault, &str)) {
        let mut say = |quantity, message: String| {
            if let Some(claimed) = self.get(quantity) {
                let fault = Fault::new(&kinds::claims_contradict::KIND, message, claimed.claim.locator.clone());
                tell(fault, &claimed.line);
            }
        };
        for (quantity, (what, minutes, rounding)) in self.parts() {
            let Some((whole, step)) = self.minutes(quantity) else { continue };
            if minutes > whole + rounding + step + SLACK_MIN {
                let (minutes, whole) = (tenths(minutes), tenths(whole));
                say(quantity, format!("{what} {minutes} min, but {} {whole} min", words(quantity)));
            }
        }
        for quantity in [Quantity::TimeInBed, Quantity::TotalSleep] {
            let Some((value, step)) = self.minutes(quantity) else { continue };
            #[expect(clippy::cast_precision_loss, reason = "a window has far fewer than 2^52 milliseconds")]
            let window = self.home.window.1.ms_since(self.home.window.0) as f64 / 60_000.0;
            if value > window + step + SLACK_MIN {
                let (value, window) = (tenths(value), tenths(window));
                say(quantity, format!("{} {value} min, but the night has {window} min", words(quantity)));
            }
        }
        self.times(&mut say);
    }

    fn times(&self, say: &mut dyn FnMut(Quantity, String)) {
        let text = |at| self.home.zone.text_of(at);
        let (from, until) = self.home.window;
        let [start, end] = [Quantity::Start, Quantity::End].map(|q| self.instant(q));
        for (quantity, word, at) in [(Quantity::Start, "begins", start), (Quantity::End, "ends", end)] {
            let Some(at) = at.filter(|at| !(from..=until).contains(at)) else { continue };
            say(
                quantity,
                format!("the source {word} at {}, but the night is from {} to {}", text(at), text(from), text(until)),
            );
        }
        if let (Some(start), Some(end)) = (start, end)
            && end <= start
        {
            say(Quantity::End, format!("the source begins at {} and ends at {}", text(start), text(end)));
        }
    }

    /// Returns every whole with a sum of parts that cannot be more than it.
    fn parts(&self) -> Vec<(Quantity, Sum)> {
        let stage = |stage| self.minutes(Quantity::Minutes(stage)).unwrap_or_default();
        let add = |parts: &[(f64, f64)]| parts.iter().fold((0.0, 0.0), |sum, part| (sum.0 + part.0, sum.1 + part.1));
        let more = |a: (f64, f64), b: (f64, f64)| if b.0 > a.0 { b } else { a };
        let light_parts = add(&[stage(Stage::N1), stage(Stage::N2)]);
        let light = more(stage(Stage::Light), light_parts);
        let nrem_parts = add(&[light, stage(Stage::N3)]);
        let nrem = more(stage(Stage::Nrem), nrem_parts);
        let asleep_parts = add(&[nrem, stage(Stage::R)]);
        let asleep = more(stage(Stage::Asleep), asleep_parts);
        let all = add(&[asleep, stage(Stage::W)]);
        let single = |quantity| self.minutes(quantity).unwrap_or_default();
        let said = |what, (minutes, rounding)| (what, minutes, rounding);
        vec![
            (Quantity::Minutes(Stage::Light), said("N1 and N2 are", light_parts)),
            (Quantity::Minutes(Stage::Nrem), said("the stages of NREM sleep add up to", nrem_parts)),
            (Quantity::Minutes(Stage::Asleep), said("the stages of sleep add up to", asleep_parts)),
            (Quantity::TotalSleep, said("the stages of sleep add up to", asleep)),
            (Quantity::TimeInBed, said("the stages add up to", all)),
            (Quantity::TimeInBed, said("total sleep is", single(Quantity::TotalSleep))),
            (Quantity::TimeInBed, said("the time to fall asleep is", single(Quantity::SleepLatency))),
            (Quantity::TimeInBed, said("wake after onset is", single(Quantity::WakeAfterOnset))),
        ]
    }

    fn get(&self, quantity: Quantity) -> Option<&Claimed> {
        self.claims.iter().find(|c| c.claim.quantity == quantity)
    }

    /// Returns the claimed minutes of a quantity, and the step to which they are rounded.
    fn minutes(&self, quantity: Quantity) -> Option<(f64, f64)> {
        self.get(quantity).map(|c| (c.claim.value, c.claim.rounding))
    }

    #[expect(clippy::cast_possible_truncation, reason = "a claimed time is a whole number of milliseconds")]
    fn instant(&self, quantity: Quantity) -> Option<Instant> {
        self.get(quantity).map(|c| Instant(c.claim.value as i64))
    }
}

fn words(quantity: Quantity) -> String {
    match quantity {
        Quantity::TotalSleep => "total sleep is".into(),
        Quantity::TimeInBed => "time in bed is".into(),
        other => format!("`{other}` is"),
    }
}

/// Returns minutes with at most one decimal.
fn tenths(minutes: f64) -> f64 {
    (minutes * 10.0).round() / 10.0
}
