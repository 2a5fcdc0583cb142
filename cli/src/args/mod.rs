//! The command line: every command, every flag, its help.

mod drive;
mod films;
mod fit;
mod gauges;
mod length;
mod map;
mod materials;
mod moves;
pub mod range;
mod rank;
mod run;
mod speed;
mod spread;
mod stages;
mod study;
mod sweep;
mod try_out;
mod water;

use std::path::PathBuf;

pub use drive::DriveArgs;
pub use films::FilmsArgs;
pub use fit::{Bands, FitArgs, Spread};
pub use gauges::GaugesArgs;
pub use length::LengthArgs;
pub use map::MapArgs;
pub use materials::MaterialsArgs;
pub use moves::{MoveArgs, RampArgs, ReelArgs, StopArgs};
pub use rank::RankArgs;
pub use run::RunArgs;
pub use speed::SpeedArgs;
pub use spread::SpreadArgs;
pub use stages::{CheckOf, StagesArgs};
pub use study::StudyArgs;
pub use sweep::{JoinArgs, SameArgs, SlurmArgs, SweepArgs};
pub use try_out::TryArgs;
pub use water::WaterArgs;

use clap::{Parser, Subcommand, ValueEnum};
use quenchway::case::CaseFile;
use quenchway::units::{Dimension, System, parse, write};

use crate::build;

/// How long must the cooling trough be, how fast may the line run?
#[derive(Debug, Parser)]
#[command(name = "quenchway", version = build::VERSION, about, after_help = AFTER, subcommand_required = true, arg_required_else_help = true)]
pub struct Args {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What the program can do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Compute a case: temperatures and diameter along the line, margins to the limits
    #[command(after_help = run::AFTER)]
    Run(RunArgs),
    /// Write one HTML file to try numbers on: the case and the engine in it, for any browser, without a network
    #[command(after_help = try_out::AFTER)]
    Try(TryArgs),
    /// Follow every metre while the line speeds up, slows down or stops: what it sees, and which metres are out of limits
    #[command(after_help = drive::AFTER)]
    Drive(DriveArgs),
    /// Which stops and slow-downs stay within limits? Intervals of their duration, their scrap, the lowest speed
    #[command(after_help = moves::STOP)]
    Stop(StopArgs),
    /// How fast may the line ramp? The fastest ramp within limits, or the one of least scrap, even and in percent
    #[command(after_help = moves::RAMP)]
    Ramp(RampArgs),
    /// How large must the accumulator be for a change of reel? What the one that is built bridges, and the scrap of the change
    #[command(after_help = moves::REEL)]
    Reel(ReelArgs),
    /// Check a case file and write it out with library materials and defaults filled in
    #[command(after_help = "Exit status:\n  0  the case is right\n  2  the case is wrong")]
    Check(CheckArgs),
    /// Compute a case on finer meshes and shorter steps: observed order, extrapolated values, error index
    #[command(after_help = "Exit status:\n  0  done\n  1  there is no answer\n  2  the input is wrong")]
    Converge(ConvergeArgs),
    /// Check the engine on this machine against exact solutions and published values
    #[command(after_help = "Exit status:\n  0  every comparison holds\n  1  a comparison does not hold")]
    Verify {
        /// List every comparison, not only the worst of each check
        #[arg(long)]
        all: bool,
    },
    /// List the film laws with their range, source and status, and what each gives under some conditions
    #[command(after_help = films::AFTER)]
    Films(FilmsArgs),
    /// Calibrate a case to measurements of a line trial: film factors, contacts, temperatures with their intervals
    #[command(after_help = fit::AFTER)]
    Fit(FitArgs),
    /// Compute a case for many values of its inputs, on all cores, in parts; an interrupted sweep can go on
    #[command(after_help = sweep::SWEEP_AFTER)]
    Sweep(SweepArgs),
    /// Join the parts of a sweep into one results file
    #[command(after_help = sweep::JOIN_AFTER)]
    Join(JoinArgs),
    /// Say whether two results files have the same content, bit for bit
    #[command(after_help = sweep::SAME_AFTER)]
    Same(SameArgs),
    /// What must the gauges read? Set-point of the hot gauge for a finished diameter, reading of the cold gauge, effect of the line speed, delay
    #[command(after_help = gauges::AFTER, alias = "gages")]
    Gauges(GaugesArgs),
    /// Draw one output over two numbers of the case as a map, with the lines of all limits
    #[command(after_help = map::AFTER)]
    Map(MapArgs),
    /// What does the water take over a range of line speeds? Heat, flow for a rise, outlet, chiller duty, along and counter
    #[command(after_help = water::AFTER)]
    Water(WaterArgs),
    /// How long must the trough be? The shortest that meets every limit at a line speed
    #[command(after_help = length::AFTER)]
    Length(LengthArgs),
    /// How fast may the line run? The fastest speed of the trough as it is, by every limit and ceiling
    #[command(after_help = speed::AFTER)]
    Speed(SpeedArgs),
    /// How hot, how long, how fast? The best trough within the bounds that the case gives: fastest, shortest, least void, cheapest
    #[command(after_help = stages::AFTER)]
    Stages(StagesArgs),
    /// Solve many samples of uncertain inputs: percentiles, the probability of the limits, the trough for 95 %
    #[command(after_help = spread::AFTER)]
    Spread(SpreadArgs),
    /// Rank the inputs by what they do to the limited temperatures and to the trough
    #[command(after_help = rank::AFTER)]
    Rank(RankArgs),
    /// Print the JSON Schema of the case file, or of the study file, for editors
    #[command(
        after_help = "Examples:\n  quenchway schema > case.schema.json\n  quenchway schema --study > study.schema.json"
    )]
    Schema {
        /// Print that of the study file, which `quenchway sweep` reads
        #[arg(long)]
        study: bool,
    },
    /// List the library's materials, or print one with its curves and sources
    Materials(MaterialsArgs),
}

impl Command {
    /// Whether the answer is to be one JSON object.
    pub fn json(&self) -> bool {
        match self {
            Command::Run(args) => args.json,
            Command::Drive(args) => args.json,
            Command::Stop(args) => args.moves.study.json,
            Command::Ramp(args) => args.moves.study.json,
            Command::Reel(args) => args.moves.study.json,
            Command::Check(args) => args.json,
            Command::Converge(args) => args.json,
            Command::Films(args) => args.json,
            Command::Fit(args) => args.study.json,
            Command::Sweep(args) => args.json,
            Command::Join(args) => args.json,
            Command::Gauges(args) => args.study.json,
            Command::Map(args) => args.study.json,
            Command::Water(args) => args.study.json,
            Command::Length(args) => args.study.json,
            Command::Speed(args) => args.study.json,
            Command::Stages(args) => args.study.json,
            Command::Spread(args) => args.study.json,
            Command::Rank(args) => args.study.json,
            Command::Try(_)
            | Command::Verify { .. }
            | Command::Same(_)
            | Command::Schema { .. }
            | Command::Materials(_) => false,
        }
    }
}

/// What `check` is told.
#[derive(Debug, clap::Args)]
pub struct CheckArgs {
    /// The case file
    pub case: PathBuf,
    /// Print one JSON object: the case written out in SI, or everything that is wrong with it, each with its line
    #[arg(long)]
    pub json: bool,
    /// Units of what is written out [default: units of the case, or si]
    #[arg(long, value_enum)]
    pub units: Option<Units>,
}

/// What `converge` is told.
#[derive(Debug, clap::Args)]
pub struct ConvergeArgs {
    /// The case file
    pub case: PathBuf,
    /// Print one JSON object, in SI units, instead of the report
    #[arg(long)]
    pub json: bool,
    /// Units of the report [default: units of the case, or si]
    #[arg(long, value_enum)]
    pub units: Option<Units>,
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

impl Units {
    /// The units that are asked for, or those that the case says.
    pub fn of(asked: Option<Units>, case: &CaseFile) -> System {
        match asked {
            Some(Units::Si) => System::Si,
            Some(Units::Us) => System::Us,
            None => case.units,
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

Exit status:
  0  done
  1  a limit is not met (run --enforce) or there is no answer
  2  the input is wrong
Results are estimates for planning, to be confirmed on the line.
Never use them for interlocks or closed-loop control.";

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_consistent() {
        super::Args::command().debug_assert();
    }
}
