//! Studies: a base case and what varies. One file per question.

pub mod converge;
pub mod key_path;
pub mod variable;

#[cfg(test)]
mod tests;
