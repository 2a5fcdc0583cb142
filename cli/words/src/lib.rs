//! What the program says of an answer, as [blocks]: the verdict first, then tables and lines that an engineer acts on. A
//! terminal, the page of `--report` and a page in a browser show the same blocks, each in its way. No file, no terminal, no
//! C library.

mod band;
pub mod blocks;
pub mod clean;
mod cooling;
pub mod design;
pub mod drive;
#[cfg(feature = "studies")]
pub mod fit;
#[cfg(feature = "studies")]
pub mod gauges;
pub mod html;
mod inputs;
pub mod length;
mod limited;
mod lines;
#[cfg(feature = "studies")]
pub mod map;
#[cfg(feature = "studies")]
pub mod moves;
mod notes;
#[cfg(feature = "studies")]
pub mod rank;
pub mod run;
mod shown;
pub mod speed;
#[cfg(feature = "studies")]
pub mod spread;
#[cfg(feature = "studies")]
pub mod stages;
mod tables;
mod verdict;
#[cfg(feature = "studies")]
pub mod water;

/// [`clean::line`].
pub use clean::line as clean;
pub use shown::Shown;
pub use verdict::significant;
