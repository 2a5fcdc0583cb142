//! Files, HDF5, pictures and terminal of the `quenchway` program.

pub mod args;
pub mod build;
pub mod calibrated;
pub mod commands;
pub mod html;
pub mod pictures;
pub mod slurm;
pub mod store;
pub mod sweep;
pub mod trial;

pub use quenchway_terminal as report;
pub use quenchway_terminal::diagnostic;
