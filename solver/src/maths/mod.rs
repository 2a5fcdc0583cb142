//! Numbers without physics, and round or flat.

pub mod distribution;
pub(crate) mod exp_ln;
#[doc(hidden)]
pub mod order;
#[doc(hidden)]
pub mod parallel;
pub mod root;
pub mod sample;
pub mod shape;
pub(crate) mod spline;
pub(crate) mod vector;
