//! Studies: a base case and what varies. One file per question.

pub mod band;
pub mod converge;
pub mod distribution;
pub mod fit;
pub mod gauges;
pub mod key_path;
pub mod output;
pub mod sample;
pub mod usual;
pub mod variable;
pub mod water;

#[cfg(test)]
mod band_tests;
#[cfg(test)]
mod tests;
