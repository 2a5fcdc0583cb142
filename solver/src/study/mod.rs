//! Studies: a base case and what varies. One file per question. Those of many marches are the feature `studies`: a page in a browser
//! does without.

pub mod answer;
pub mod band;
pub mod converge;
pub mod cooling;
pub mod drive;
#[cfg(feature = "studies")]
pub mod fit;
#[cfg(feature = "studies")]
pub mod gauges;
pub mod length;
#[cfg(feature = "studies")]
pub mod map;
#[cfg(feature = "studies")]
pub mod moves;
#[cfg(feature = "studies")]
pub mod rank;
pub mod search;
#[cfg(feature = "studies")]
mod searched;
pub mod speed;
#[cfg(feature = "studies")]
pub mod spread;
#[cfg(feature = "studies")]
pub mod stages;
#[cfg(feature = "studies")]
pub mod sweep;
#[cfg(feature = "studies")]
pub mod water;

#[cfg(test)]
mod tests;
