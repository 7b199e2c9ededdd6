//! How often the intervals of this program hold the truth, in simulated studies whose truth is known.
//!
//! `cargo run --release -p counterpane-stats --example coverage -- 2024 2000 > crates/stats/data/coverage.tsv` makes the table
//! that `measured_coverage` gives: the seed, and the number of studies of each kind. docs/coverage.md says how the studies are
//! drawn. Minutes on two cores.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "a run is for its table, and ends where it cannot go on")]

mod dice;
mod nights;
mod normal;
mod people;
mod rows;
mod sleep;

fn main() {
    let mut given = std::env::args().skip(1).map(|a| a.parse::<u64>().unwrap());
    let (seed, studies) = (given.next().unwrap_or(2024), given.next().unwrap_or(2000) as u32);
    println!("seed {seed}, {studies} studies of each kind");
    let all = [nights::rows(seed, studies), people::rows(seed, studies), normal::rows(seed, studies)];
    for row in all.into_iter().flatten() {
        println!("{}", row.line());
    }
}
