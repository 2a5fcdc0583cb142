//! Labelled numbers: an answer as tables and as JSON, without files and formats; and where a figure comes from.

mod by_name;
mod column;
mod document;
mod in_unit;
mod table;
pub mod witness;

pub use by_name::ByName;
pub use column::{Column, column, plain};
pub use document::{Head, document};
pub use in_unit::InUnit;
pub use table::{Axis, Data, Fact, Label, Values, Variable, split};
