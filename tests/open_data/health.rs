//! Points and observations of health standards: what must pass and what must fail.
