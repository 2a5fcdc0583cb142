//! Studies: a base case and what varies. One file per question.

pub mod band;
pub mod batch;
pub mod converge;
pub mod fit;
pub mod key_path;
pub mod output;
pub mod usual;
pub mod variable;

#[cfg(test)]
mod band_tests;
#[cfg(test)]
mod tests;
