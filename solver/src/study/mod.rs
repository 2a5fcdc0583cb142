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
pub mod output;
pub mod rank;
pub mod sample;
mod scan;
pub mod spread;
mod trough;
pub mod usual;
pub mod variable;

#[cfg(test)]
mod band_tests;
#[cfg(test)]
mod length_tests;
#[cfg(test)]
mod tests;
