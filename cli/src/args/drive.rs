//! The flags of `drive`.

use std::path::PathBuf;

use quenchway::units::Dimension;

use super::{Units, value};

/// What `drive` is told.
#[derive(Debug, clap::Args)]
#[command(group = clap::ArgGroup::new("written").args(["out", "report"]).multiple(true))]
pub struct DriveArgs {
    /// The case file, with the changes of the line in [[line.change]] or [[reel_change]]
    pub case: PathBuf,
    /// Write the answer as NAME-drive.h5 and the pictures NAME-drive.png, NAME-metres.png, NAME-field.png into this
    /// directory, which is made if it is missing. NAME is the case file's name. Without --out nothing is written
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Write the report as one web page that needs no other file. FILE ends in .html
    #[arg(long, value_name = "FILE")]
    pub report: Option<PathBuf>,
    /// Step of what is written over clock time: "1 s" [default: a 300th of the programme]
    #[arg(long, value_name = "TIME", allow_hyphen_values = true, value_parser = value(Dimension::Time, 1e-3, 1e6))]
    pub every: Option<f64>,
    /// Write the temperatures over clock time and distance, too: they are for pictures, without a stated error
    #[arg(long, requires = "out")]
    pub field: bool,
    /// Print one JSON object, in SI units, instead of the report
    #[arg(long, conflicts_with = "quiet")]
    pub json: bool,
    /// Units of the report, the page and the pictures [default: units of the case, or si]
    #[arg(long, value_enum)]
    pub units: Option<Units>,
    /// Leave out the range: how far the uncertain inputs move the metre that decides
    #[arg(long)]
    pub no_band: bool,
    /// Exit with status 1 when product is out of limits
    #[arg(long)]
    pub enforce: bool,
    /// Threads to use [default: as many as there are cores]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=4096))]
    pub threads: Option<u32>,
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
  quenchway drive house-wire-stop.toml                    metres out of limits, where and why
  quenchway drive house-wire-stop.toml --out results      results/house-wire-stop-drive.h5, pictures
  quenchway drive house-wire-stop.toml --json | jq .scrap_m
  quenchway drive house-wire-stop.toml --enforce --quiet  only the exit status

The program gives two verdicts and never mixes them. Metres count product that is out of limits when it arrives at a station. \
Seconds count how long a station sees such product, standing product included.

Exit status:
  0  done
  1  product is out of limits (with --enforce) or there is no answer
  2  the input is wrong";
