//! Quenchway: how long must the cooling trough be, how fast may the line run?
//!
//! A case file becomes a [`case::Case`]; [`march::march`] returns a [`march::solution::Solution`]; everything else either
//! prepares the first or shows the second.
// The same bits on every machine; tests may take the machine's own functions, and so may what the engine is compared with.
#![cfg_attr(not(test), deny(clippy::disallowed_methods))]

// The rooms, lowest first: each imports those above it here, and nothing else.
pub mod case;
pub mod data;
pub mod engine;
#[allow(clippy::disallowed_methods)]
pub mod exact;
pub mod file;
pub mod film;
pub mod line;
pub mod march;
pub mod material;
pub mod maths;
pub mod names;
pub mod slice;
pub mod study;
pub mod units;
