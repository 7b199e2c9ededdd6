//! Writes a report of two invented nights to standard output.

#![allow(clippy::print_stdout, clippy::expect_used, missing_docs, reason = "an example that a person runs")]

mod data;

fn main() {
    let text = counterpane_report::page(&data::page()).expect("the sample's zone exists");
    print!("{text}");
}
