//! The flags of `stop`, `ramp` and `reel`.

use std::path::PathBuf;

use quenchway::units::Dimension;

use super::{StudyArgs, value};

/// What all three are told beside the case.
#[derive(Debug, clap::Args)]
pub struct MoveArgs {
    /// The case and what becomes of the answer.
    #[command(flatten)]
    pub study: StudyArgs,
    /// Write a card of one page for the operators: how to start, what to do in a change of reel, when not to stop. FILE ends in
    /// .html
    #[arg(long, value_name = "FILE", group = "written")]
    pub card: Option<PathBuf>,
    /// Threads to use [default: as many as there are cores]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=4096))]
    pub threads: Option<u32>,
}

/// What `stop` is told.
#[derive(Debug, clap::Args)]
pub struct StopArgs {
    /// The case, what becomes of the answer, the threads.
    #[command(flatten)]
    pub moves: MoveArgs,
    /// The line slows down to this speed instead of stopping: "15 m/min"
    #[arg(long, value_name = "SPEED", allow_hyphen_values = true, value_parser = value(Dimension::Speed, 1e-4, 100.0))]
    pub slow_to: Option<f64>,
    /// The longest stop to try
    #[arg(
        long,
        value_name = "TIME",
        default_value = "10 min",
        allow_hyphen_values = true,
        value_parser = value(Dimension::Time, 1.0, 86_400.0)
    )]
    pub longest: f64,
    /// Leave out how far the uncertain inputs move the answer
    #[arg(long)]
    pub no_band: bool,
    /// Exit with status 1 when a stop that was tried is out of limits
    #[arg(long)]
    pub enforce: bool,
}

/// What `ramp` is told.
#[derive(Debug, clap::Args)]
pub struct RampArgs {
    /// The case, what becomes of the answer, the threads.
    #[command(flatten)]
    pub moves: MoveArgs,
    /// The line speed before the ramp: "20 m/min" [default: starts_at of the case]
    #[arg(long, value_name = "SPEED", allow_hyphen_values = true, value_parser = value(Dimension::Speed, 1e-4, 100.0))]
    pub from: Option<f64>,
    /// The line speed after it: "150 m/min" [default: speed of the case]
    #[arg(long, value_name = "SPEED", allow_hyphen_values = true, value_parser = value(Dimension::Speed, 1e-4, 100.0))]
    pub to: Option<f64>,
    /// Leave out how far the uncertain inputs move the answer
    #[arg(long)]
    pub no_band: bool,
    /// Exit with status 1 when no ramp is within limits
    #[arg(long)]
    pub enforce: bool,
}

/// What `reel` is told.
#[derive(Debug, clap::Args)]
pub struct ReelArgs {
    /// The case, what becomes of the answer, the threads.
    #[command(flatten)]
    pub moves: MoveArgs,
    /// For how long the reel stands: "60 s" [default: as the case's change of reel says]
    #[arg(long, value_name = "TIME", allow_hyphen_values = true, value_parser = value(Dimension::Time, 0.0, 86_400.0))]
    pub standstill: Option<f64>,
    /// The line speed: "240 m/min" [default: that of the case]
    #[arg(long, value_name = "SPEED", allow_hyphen_values = true, value_parser = value(Dimension::Speed, 1e-4, 100.0))]
    pub speed: Option<f64>,
    /// The accumulator, by its name [default: that of the case's change of reel, or the first]
    #[arg(long, value_name = "NAME")]
    pub accumulator: Option<String>,
    /// Exit with status 1 when the line has to slow down, or product is out of limits
    #[arg(long)]
    pub enforce: bool,
}

pub(super) const STOP: &str = "\
Examples:
  quenchway stop house-wire.toml                        which stops stay within limits, up to 10 min
  quenchway stop house-wire.toml --slow-to \"15 m/min\"   the line slows down instead of stopping
  quenchway stop house-wire.toml --out results          results/house-wire-stop.h5 and a picture
  quenchway stop house-wire.toml --json | jq .stop.intervals

The line brakes and starts as the stop of the case says. Where the case has none, the program takes
[plant] ramp_max. A short stop may be worse than a long one: the answer is a set of intervals.
Metres decide; seconds stand beside them.

Exit status:
  0  done
  1  the line itself is out of limits, a stop is (with --enforce), or there is no answer
  2  the input is wrong";

pub(super) const RAMP: &str = "\
Examples:
  quenchway ramp house-wire.toml --from \"20 m/min\" --to \"150 m/min\"
  quenchway ramp house-wire.toml --from \"20 m/min\" --to \"150 m/min\" --out results
  quenchway ramp house-wire.toml --from \"20 m/min\" --to \"150 m/min\" --json | jq .ramp.courses

The program tries even ramps and ramps in percent, up to 1 h, no steeper than [plant] ramp_max.
A slow ramp may be worse than a fast one. The fastest ramp within limits is the one from which on every
longer ramp is within limits.

Exit status:
  0  done
  1  the end speed itself is out of limits, no ramp is within them (with --enforce), or there is no answer
  2  the input is wrong";

pub(super) const REEL: &str = "\
Examples:
  quenchway reel house-wire.toml --standstill \"60 s\"
  quenchway reel house-wire.toml --standstill \"60 s\" --speed \"240 m/min\"
  quenchway reel house-wire.toml --standstill \"60 s\" --json | jq .reel.needed_m

The reel brakes, starts and catches up as the case's [[reel_change]] says. Where the case has none,
the program takes usual times. It then computes the line through the change, slowed down where the
accumulator that is built needs it.

Exit status:
  0  done
  1  the line has to slow down or product is out of limits (with --enforce), or there is no answer
  2  the input is wrong";
