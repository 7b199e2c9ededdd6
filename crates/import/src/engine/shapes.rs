//! The shapes: how a row becomes spans, claims or notes.

pub(super) mod change;
pub(super) mod claims;
pub(super) mod codes;
pub(super) mod one;
