//! The flags of `quenchway try`.

use std::path::PathBuf;

use super::Units;

/// What `try` is told.
#[derive(Debug, clap::Args)]
pub struct TryArgs {
    /// The case file
    pub case: PathBuf,
    /// Where the page goes: a file that ends in .html, or a directory, which takes NAME-try.html; it must exist.
    /// NAME is the case file's name [default: beside the case file]
    #[arg(long, value_name = "PATH")]
    pub out: Option<PathBuf>,
    /// Units in which the page begins [default: units of the case, or si]; a button on the page changes them
    #[arg(long, value_enum)]
    pub units: Option<Units>,
    /// Replace a file that this program did not write
    #[arg(long)]
    pub overwrite: bool,
    /// Print nothing but errors
    #[arg(long, short)]
    pub quiet: bool,
}

/// What stands below the flags.
pub(super) const AFTER: &str = "\
The page holds the case and the engine. Any browser of 2023 or later opens it, without a network.
It gives the numbers of `quenchway run`. It carries the recipe and the materials: who has the file has them.

Examples:
  quenchway try house-wire.toml                 house-wire-try.html beside the case file
  quenchway try house-wire.toml --out pages     pages/house-wire-try.html
  quenchway try house-wire.toml --units us      the page begins in US units";
