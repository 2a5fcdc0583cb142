//! One file per command.

pub mod check;
pub mod converge;
pub mod films;
pub mod listing;
pub mod materials;
pub mod run;
pub mod schema;
pub mod verify;
