//! The figure model: a canvas that writes SVG, scales, a time axis, and the inks of a theme.
//!
//! **Invariant.** Every text and every attribute that comes from outside goes through
//! [`text::escape`]; every number goes through [`text::number`], so the same figure has the same
//! bytes on every machine.

pub mod canvas;
pub mod scale;
pub mod text;
pub mod theme;
pub mod time;

pub use canvas::{Anchor, Canvas, Frame, Look, Size, Type};
pub use scale::Linear;
pub use theme::{Ink, Theme};
