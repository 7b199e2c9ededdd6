//! Runs the tests of the demo's generator, which live beside it in `src/demo`.
//!
//! The binary has no library to test against, so the module is taken in by its path.

#[path = "../src/demo/mod.rs"]
mod demo;
