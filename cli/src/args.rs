//! The command line: every command, every flag, its help.

use std::path::PathBuf;

use clap::{Parser, Subcommand, ValueEnum};
use quenchway::units::System;

/// How long must the cooling trough be, how fast may the line run?
#[derive(Debug, Parser)]
#[command(name = "quenchway", version, about, after_help = AFTER, subcommand_required = true, arg_required_else_help = true)]
pub struct Args {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What the program can do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Compute a case: temperatures and diameter along the line, margins to the limits
    #[command(after_help = AFTER_RUN)]
    Run(RunArgs),
    /// Check a case file and write it out with library materials and defaults filled in
    Check {
        /// The case file
        case: PathBuf,
        /// Units of what is written out
        #[arg(long, value_enum, default_value = "si")]
        units: Units,
    },
    /// Compute a case on finer meshes and shorter steps: observed order, extrapolated values, error index
    Converge {
        /// The case file
        case: PathBuf,
    },
    /// Check the engine on this machine against exact solutions and published values
    Verify {
        /// List every comparison, not only the worst of each check
        #[arg(long)]
        all: bool,
    },
    /// Print the JSON Schema of the case file, for editors
    Schema,
    /// List the library's materials, or print one with its curves and sources
    Materials(MaterialsArgs),
}

/// What `materials` is told.
#[derive(Debug, clap::Args)]
pub struct MaterialsArgs {
    /// The material to print
    pub name: Option<String>,
    /// Print its foamed grade of this density at 20 degC as a table to paste into a case file
    #[arg(long, value_name = "DENSITY", requires = "name")]
    pub foam: Option<String>,
    /// Draw the curves of the whole library into this directory, as materials-*.png; it is made if it is missing
    #[arg(long, value_name = "DIR", conflicts_with = "name")]
    pub plot: Option<PathBuf>,
}

/// What `run` is told.
#[derive(Debug, clap::Args)]
pub struct RunArgs {
    /// The case file
    pub case: PathBuf,
    /// Write the results file NAME.h5 and the pictures NAME-*.png into this directory; it is made if it is missing,
    /// NAME is the case file's name. Without it nothing is written
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Print one JSON object, in SI units, instead of the report
    #[arg(long, conflicts_with = "quiet")]
    pub json: bool,
    /// Units of the report and the pictures
    #[arg(long, value_enum, default_value = "si")]
    pub units: Units,
    /// Leave out how far the uncertainty of the inputs moves the answer
    #[arg(long)]
    pub no_band: bool,
    /// Exit with status 1 when a limit is not met
    #[arg(long)]
    pub enforce: bool,
    /// Replace files in DIR that this program did not write
    #[arg(long, requires = "out")]
    pub overwrite: bool,
    /// Print nothing but errors
    #[arg(long, short)]
    pub quiet: bool,
}

/// A unit system by name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Units {
    /// degC, m, m/min, mm, kg/h, kW
    Si,
    /// degF, ft, ft/min, in, lb/h, BTU/h
    Us,
}

impl From<Units> for System {
    fn from(units: Units) -> System {
        match units {
            Units::Si => System::Si,
            Units::Us => System::Us,
        }
    }
}

const AFTER: &str = "\
Examples:
  quenchway run house-wire.toml
  quenchway run house-wire.toml --out results --units us
  quenchway check house-wire.toml
  quenchway materials

Exit status: 0 done; 1 a limit is not met (run --enforce) or there is no answer; 2 the input is wrong.
Results are estimates for planning, to be confirmed on the line; never for interlocks or closed-loop control.";

const AFTER_RUN: &str = "\
Examples:
  quenchway run house-wire.toml                     the report, nothing written
  quenchway run house-wire.toml --out results       results/house-wire.h5 and pictures
  quenchway run house-wire.toml --json | jq '.stations[-1].core_degC'
  quenchway run house-wire.toml --enforce --quiet   only the exit status: 1 when a limit is not met";

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_consistent() {
        super::Args::command().debug_assert();
    }
}
