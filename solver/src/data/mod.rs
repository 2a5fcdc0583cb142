//! Labelled numbers: an answer as tables and as JSON, without files and formats; and where a figure comes from.

mod document;
mod table;
pub mod witness;

pub use document::{Head, document};
pub use table::{Axis, Data, Fact, Label, Values, Variable, split};
