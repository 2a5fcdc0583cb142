//! Quenchway: how long must the cooling trough be, how fast may the line run?
//!
//! A case file becomes a [`case::Case`]; [`march::march`] returns a [`solution::Solution`]; everything else either
//! prepares the first or shows the second.

pub mod air;
pub mod case;
pub mod conduction;
pub mod error;
pub mod film;
pub mod input;
pub mod library;
pub mod march;
pub mod material;
pub mod mesh;
pub mod resolved;
pub mod shrink;
pub mod solution;
pub mod step;
pub mod table;
pub mod tridiagonal;
pub mod units;
pub mod water;
