//! Studies: a base case and what varies. One file per question.

pub mod converge;
