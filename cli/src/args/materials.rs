//! The flags of `quenchway materials`.

use std::path::PathBuf;

/// What `materials` is told.
#[derive(Debug, clap::Args)]
pub struct MaterialsArgs {
    /// The material to print
    pub name: Option<String>,
    /// Print its foamed grade of this density at 20 degC as a table to paste into a case file
    #[arg(long, value_name = "DENSITY", allow_hyphen_values = true, requires = "name")]
    pub foam: Option<String>,
    /// Draw the curves of the whole library into this directory, as materials-*.png; it is made if it is missing
    #[arg(long, value_name = "DIR", conflicts_with = "name")]
    pub plot: Option<PathBuf>,
}
