//! Quenchway: how long must the cooling trough be, how fast may the line run?
//!
//! A case file becomes a [`case::Case`]; [`march::march`] returns a [`solution::Solution`]; everything else either
//! prepares the first or shows the second.
// The same bits on every machine; tests may take the machine's own functions, and so may what the engine is compared with.
#![cfg_attr(not(test), deny(clippy::disallowed_methods))]

pub mod air;
pub mod assemble;
pub mod case;
pub mod cautions;
pub mod conductor;
pub mod discretise;
pub mod engine;
pub mod error;
#[allow(clippy::disallowed_methods)]
pub mod exact;
pub mod film;
pub mod fluid;
pub mod foam;
pub mod hidden;
pub mod hindsight;
pub mod input;
pub mod library;
pub mod line;
pub mod march;
pub mod material;
pub mod mesh;
pub mod observe;
pub mod preheat;
pub mod resolved;
pub mod root;
pub mod shrink;
pub mod solution;
mod spline;
pub mod study;
pub mod surface;
pub mod table;
pub mod units;
mod vector;
pub mod voids;
pub mod water;
pub mod witness;
