//! The flags that every command with a design question takes.

use std::path::PathBuf;

use super::Units;

/// The case, and what becomes of the answer.
#[derive(Debug, clap::Args)]
pub struct StudyArgs {
    /// The case file
    pub case: PathBuf,
    /// Write the answer as NAME-COMMAND.h5 and NAME-COMMAND.png into this directory; it is made if it is missing, NAME is
    /// the case file's name. Without it nothing is written
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Print one JSON object, in SI units, instead of the report
    #[arg(long, conflicts_with = "quiet")]
    pub json: bool,
    /// Units of the report and the picture [default: units of the case, or si]
    #[arg(long, value_enum)]
    pub units: Option<Units>,
    /// Replace files in DIR that this program did not write
    #[arg(long, requires = "out")]
    pub overwrite: bool,
    /// Print nothing but errors
    #[arg(long, short)]
    pub quiet: bool,
}
