//! Studies: a base case and what varies. One file per question.

pub mod answer;
pub mod band;
pub mod converge;
pub mod cooling;
pub mod drive;
pub mod fit;
pub mod gauges;
pub mod length;
pub mod map;
pub mod moves;
pub mod rank;
pub mod search;
mod searched;
pub mod speed;
pub mod spread;
pub mod stages;
pub mod sweep;
pub mod water;

#[cfg(test)]
mod tests;
