//! One file per command.

pub mod check;
pub mod materials;
pub mod run;
pub mod schema;
