//! Studies: a base case and what varies. One file per question.

pub mod band;
pub mod batch;
pub mod ceilings;
pub mod converge;
pub mod design;
pub mod distribution;
pub mod fit;
pub mod gauges;
mod growing;
pub mod key_path;
pub mod length;
pub mod levers;
pub mod map;
pub mod output;
pub mod rank;
mod running;
pub mod sample;
mod scan;
pub mod speed;
pub mod spread;
pub mod sweep;
mod trough;
pub mod usual;
pub mod variable;
pub mod water;

#[cfg(test)]
mod band_tests;
#[cfg(test)]
mod length_tests;
#[cfg(test)]
mod speed_tests;
#[cfg(test)]
mod tests;
