//! What must hold under fire: kills, full disks, flipped bytes, tampering, hostile questions and names.
//! docs/reliability.md says what each part shows and what it does not.
#![expect(clippy::unwrap_used, clippy::panic, clippy::print_stdout, reason = "a test may panic and print")]

/// A flipped byte anywhere in a study.
mod flips;
/// kill -9 in the middle of every act.
mod kills;
/// No room left, no right to write, stores of other versions, several writers.
mod limits;
/// Hostile names of people, devices, files and stages.
mod names;
/// `verify`: what it proves, and what it names.
mod proof;
/// `query`: statements that would do more than read, or never end.
mod questions;
/// Other programs that read the store.
mod readers;
/// A study to be hurt.
mod study;

#[path = "../common/mod.rs"]
mod common;

/// Returns how often something is tried: a number of the environment, else a few.
fn times(name: &str, few: u64) -> u64 {
    std::env::var(name).ok().and_then(|n| n.parse().ok()).unwrap_or(few)
}

/// Numbers that look random and are the same in every run: `COUNTERPANE_SEED` names others.
struct Dice(u64);

impl Dice {
    fn new() -> Dice {
        let seed = times("COUNTERPANE_SEED", 1);
        println!("seed {seed} (COUNTERPANE_SEED)");
        Dice(seed)
    }

    /// Returns a number below `n`, by the generator splitmix64 (Steele, Lea and Flood 2014, Fast splittable
    /// pseudorandom number generators; constants from memory).
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut x = self.0;
        x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (x ^ (x >> 31)) % n.max(1)
    }
}
