//! Which build of the program this is; `build.rs` of the package says it.

/// Version, commit where git was there, and the first digits of [`SOURCES`]: `0.1.0 (commit 1a2b3c4d5e6f, sources 9f8e7d6c5b4a)`.
pub const VERSION: &str = env!("QUENCHWAY_VERSION");

/// The program and its [`VERSION`], as every file names it.
pub const PROGRAM: &str = concat!("quenchway ", env!("QUENCHWAY_VERSION"));

/// SHA-256 of the program's and the engine's sources: builds that have the same are the same program.
pub const SOURCES: &str = env!("QUENCHWAY_SOURCES");
