//! The command line: every command, every flag, its help.

use std::path::PathBuf;

use clap::{Parser, Subcommand, ValueEnum};
use quenchway::units::{Dimension, System, parse, write};

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
    /// List the film laws with their range, source and status, and what each gives under some conditions
    #[command(after_help = AFTER_FILMS)]
    Films(FilmsArgs),
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

/// What `films` is told.
#[derive(Debug, clap::Args)]
pub struct FilmsArgs {
    /// The law to print with its doubts and worked examples
    pub name: Option<String>,
    /// Line speed
    #[arg(long, default_value = "150 m/min", value_parser = value(Dimension::Speed, 1e-4, 100.0))]
    pub speed: f64,
    /// Outer diameter
    #[arg(long, default_value = "3 mm", value_parser = value(Dimension::Diameter, 1e-5, 1.0))]
    pub diameter: f64,
    /// Surface temperature
    #[arg(long, default_value = "60 degC", allow_hyphen_values = true, value_parser = value(Dimension::Temperature, -100.0, 500.0))]
    pub surface: f64,
    /// Temperature of the water
    #[arg(long, default_value = "16 degC", value_parser = value(Dimension::Temperature, 0.0, 100.0))]
    pub water: f64,
    /// Temperature of the air
    #[arg(long, default_value = "25 degC", allow_hyphen_values = true, value_parser = value(Dimension::Temperature, -100.0, 500.0))]
    pub air: f64,
    /// Distance from the section's entry
    #[arg(long, default_value = "1 m", value_parser = value(Dimension::Length, 0.0, 1e4))]
    pub distance: f64,
    /// Speed of a stream across the product or against its travel [default: 10 m/s in air, 0.5 m/s in water]
    #[arg(long, value_parser = value(Dimension::Speed, 0.0, 300.0))]
    pub velocity: Option<f64>,
    /// Water that a spray brings to the surface
    #[arg(long, default_value = "0.5 L/(m2 s)", value_parser = value(Dimension::WaterFlux, 1e-3, 100.0))]
    pub water_flux: f64,
    /// Print one JSON object, in SI units, instead of the list
    #[arg(long)]
    pub json: bool,
    /// Draw the laws over line speed, under the same conditions, as a PNG
    #[arg(long, value_name = "FILE")]
    pub picture: Option<PathBuf>,
}

/// A value with its unit within bounds, into SI.
fn value(dimension: Dimension, low: f64, high: f64) -> impl Fn(&str) -> Result<f64, String> + Clone {
    move |text| {
        let value = parse(text, dimension).map_err(|error| error.to_string())?;
        let shown = |end| write(end, dimension, System::Si);
        if (low..=high).contains(&value) {
            Ok(value)
        } else {
            Err(format!("it takes {} to {}", shown(low), shown(high)))
        }
    }
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
  quenchway films

Exit status: 0 done; 1 a limit is not met (run --enforce) or there is no answer; 2 the input is wrong.
Results are estimates for planning, to be confirmed on the line; never for interlocks or closed-loop control.";

const AFTER_RUN: &str = "\
Examples:
  quenchway run house-wire.toml                     the report, nothing written
  quenchway run house-wire.toml --out results       results/house-wire.h5 and pictures
  quenchway run house-wire.toml --json | jq '.stations[-1].core_degC'
  quenchway run house-wire.toml --enforce --quiet   only the exit status: 1 when a limit is not met";

const AFTER_FILMS: &str = "\
Examples:
  quenchway films
  quenchway films spray --water-flux \"4 L/(m2 s)\"
  quenchway films --speed \"600 m/min\" --diameter \"1.2 mm\" --surface \"90 degC\" --distance \"5 m\"
  quenchway films --json | jq '.laws[] | {name, film_W_m2K}'
  quenchway films --picture films.png";

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_consistent() {
        super::Args::command().debug_assert();
    }
}
