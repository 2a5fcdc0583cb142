//! Every number of a case by its name.

pub mod changes;
pub mod contacts;
pub mod error;
pub mod key_path;
pub(crate) mod keys;
mod place;
mod rows;
pub mod variable;
