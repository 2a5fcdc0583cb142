//! Studies: a base case and what varies. One file per question.

pub mod band;
pub mod ceilings;
pub mod converge;
pub mod distribution;
pub mod fit;
pub mod gauges;
mod growing;
pub mod key_path;
pub mod length;
pub mod map;
pub mod output;
pub mod sample;
mod scan;
mod trough;
pub mod usual;
pub mod variable;
pub mod water;

#[cfg(test)]
mod band_tests;
#[cfg(test)]
mod length_tests;
#[cfg(test)]
mod tests;
