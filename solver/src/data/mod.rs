//! Labelled numbers, and where a figure comes from.

pub mod witness;
