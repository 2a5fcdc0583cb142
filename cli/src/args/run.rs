//! The flags of `quenchway run`.

use std::path::PathBuf;

use super::Units;

/// What `run` is told.
#[derive(Debug, clap::Args)]
#[command(group = clap::ArgGroup::new("written").args(["out", "report"]).multiple(true))]
pub struct RunArgs {
    /// The case file
    pub case: PathBuf,
    /// Write the results file NAME.h5 and the pictures NAME-*.png into this directory, which is made if it is missing.
    /// NAME is the case file's name. Without --out nothing is written
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Write the report as one web page that needs no other file. It has numbers, pictures, inputs and cautions, and prints
    /// on A4 and US Letter paper. FILE ends in .html; its directory must exist or be the one of --out
    #[arg(long, value_name = "FILE")]
    pub report: Option<PathBuf>,
    /// Print one JSON object, in SI units, instead of the report
    #[arg(long, conflicts_with = "quiet")]
    pub json: bool,
    /// Units of the report, the page and the pictures [default: units of the case, or si]
    #[arg(long, value_enum)]
    pub units: Option<Units>,
    /// Leave out the range: how far the uncertain inputs move the answer
    #[arg(long)]
    pub no_band: bool,
    /// Exit with status 1 when a limit is not met
    #[arg(long)]
    pub enforce: bool,
    /// Replace files that this program did not write
    #[arg(long, requires = "written")]
    pub overwrite: bool,
    /// Print nothing but errors
    #[arg(long, short)]
    pub quiet: bool,
}

/// What stands below the flags.
pub(super) const AFTER: &str = "\
Examples:
  quenchway run house-wire.toml                     the report, nothing written
  quenchway run house-wire.toml --out results       results/house-wire.h5 and pictures
  quenchway run house-wire.toml --report wire.html  the report as one page, to show or to print
  quenchway run house-wire.toml --json | jq '.stations[-1].core_degC'
  quenchway run house-wire.toml --enforce --quiet   only the exit status

Exit status:
  0  done
  1  a limit is not met (with --enforce), or there is no answer
  2  the input is wrong";
