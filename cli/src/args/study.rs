//! The flags that every command with a design question takes.

use std::path::PathBuf;

use super::Units;

/// The case, and what becomes of the answer.
#[derive(Debug, clap::Args)]
#[command(group = clap::ArgGroup::new("written").args(["out", "report"]).multiple(true))]
pub struct StudyArgs {
    /// The case file
    pub case: PathBuf,
    /// Write the answer as NAME-COMMAND.h5 and NAME-COMMAND.png into this directory, which is made if it is missing. NAME
    /// is the case file's name. Without --out nothing is written
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Write the report as one web page that needs no other file. It has answer, picture, tables, cautions and the case, and
    /// prints on paper. FILE ends in .html; its directory must exist or be the one of --out
    #[arg(long, value_name = "FILE")]
    pub report: Option<PathBuf>,
    /// Print one JSON object, in SI units, instead of the report
    #[arg(long, conflicts_with = "quiet")]
    pub json: bool,
    /// Units of the report, the page and the picture [default: units of the case, or si]
    #[arg(long, value_enum)]
    pub units: Option<Units>,
    /// Replace files that this program did not write
    #[arg(long, requires = "written")]
    pub overwrite: bool,
    /// Print nothing but errors
    #[arg(long, short)]
    pub quiet: bool,
}

impl StudyArgs {
    /// Whether the picture is drawn.
    pub fn draws(&self) -> bool {
        self.out.is_some() || self.report.is_some()
    }
}
