//! The flags of `sweep`, `join` and `same`.

use std::path::PathBuf;

use super::Units;
use crate::sweep::Part;

/// What `sweep` is told.
#[derive(Debug, clap::Args)]
pub struct SweepArgs {
    /// The study file
    pub study: PathBuf,
    /// Write the results file NAME.h5 into this directory, which is made if it is missing. NAME is the study file's name.
    /// Until the file is complete, blocks of finished samples lie in DIR/NAME.blocks
    #[arg(long, value_name = "DIR", required_unless_present = "dry_run")]
    pub out: Option<PathBuf>,
    /// Samples that are computed at the same time [default: the number of cores]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=4096))]
    pub threads: Option<u32>,
    /// Compute only this part of all blocks, 3/64 for the third of 64, and leave the blocks for `quenchway join`
    #[arg(long, value_name = "I/N", value_parser = Part::parse)]
    pub part: Option<Part>,
    /// Go on where an interrupted sweep stopped: blocks that are finished are kept
    #[arg(long, conflicts_with = "overwrite")]
    pub resume: bool,
    /// Begin anew: remove finished blocks of an interrupted sweep, and replace a NAME.h5, whatever it holds
    #[arg(long)]
    pub overwrite: bool,
    /// Write the samples as NAME.csv too
    #[arg(long, conflicts_with = "part")]
    pub csv: bool,
    /// Solve some samples, and say how many there are, how long they take and which files of how many bytes they make. Write nothing
    #[arg(long, conflicts_with_all = ["part", "resume", "overwrite"])]
    pub dry_run: bool,
    /// Print one JSON object, in SI units, instead of the report
    #[arg(long, conflicts_with = "quiet")]
    pub json: bool,
    /// Units of the report and the picture [default: units of the base case, or si]
    #[arg(long, value_enum)]
    pub units: Option<Units>,
    /// Print nothing but errors
    #[arg(long, short)]
    pub quiet: bool,
    /// A Slurm script instead of the sweep.
    #[command(flatten)]
    pub slurm: SlurmArgs,
}

/// What the Slurm script is made for.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "A Slurm script")]
pub struct SlurmArgs {
    /// Compute nothing; print a script that submits the sweep as a job array of so many tasks, and its join
    #[arg(long, value_name = "TASKS", value_parser = clap::value_parser!(u32).range(1..=1_000_000),
          conflicts_with_all = ["part", "resume", "overwrite", "dry_run", "csv", "json", "threads", "quiet"])]
    pub slurm: Option<u32>,
    /// The account to which Slurm charges the time
    #[arg(long, value_name = "NAME", requires = "slurm")]
    pub account: Option<String>,
    /// Where the tasks run
    #[arg(long, value_name = "NAME", requires = "slurm")]
    pub partition: Option<String>,
    /// Longest time of one task, as Slurm writes it: 30 (minutes), 2:00:00, 1-12:00:00
    #[arg(long, value_name = "TIME", default_value = "1:00:00", value_parser = time)]
    pub time: String,
    /// A module that a task loads first; may be given several times
    #[arg(long = "module", value_name = "NAME", requires = "slurm")]
    pub modules: Vec<String>,
    /// Cores of one task
    #[arg(long, value_name = "N", default_value = "1", value_parser = clap::value_parser!(u32).range(1..=4096))]
    pub cores: u32,
    /// The program, as the tasks find it [default: this one]
    #[arg(long, value_name = "PATH", requires = "slurm")]
    pub program: Option<String>,
}

/// A time as Slurm reads it: minutes, minutes:seconds, hours:minutes:seconds, each with days before a hyphen.
fn time(text: &str) -> Result<String, String> {
    let (days, rest) = text.split_once('-').map_or((None, text), |(days, rest)| (Some(days), rest));
    let number = |text: &str| !text.is_empty() && text.len() < 7 && text.chars().all(|c| c.is_ascii_digit());
    let fields: Vec<&str> = rest.split(':').collect();
    let good = days.is_none_or(number) && fields.len() <= 3 && fields.iter().all(|field| number(field));
    if good { Ok(text.to_string()) } else { Err("Slurm reads 30 (minutes), 2:00:00 or 1-12:00:00".to_string()) }
}

/// What `join` is told.
#[derive(Debug, clap::Args)]
pub struct JoinArgs {
    /// The study file
    pub study: PathBuf,
    /// The directory that the parts were written to; the results file NAME.h5 is written into it
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Further directories with parts, computed elsewhere; may be given several times
    #[arg(long, value_name = "DIR")]
    pub from: Vec<PathBuf>,
    /// Remove the blocks in DIR when the results file is complete
    #[arg(long)]
    pub remove_blocks: bool,
    /// Replace a NAME.h5, whatever it holds
    #[arg(long)]
    pub overwrite: bool,
    /// Write the samples as NAME.csv too
    #[arg(long)]
    pub csv: bool,
    /// Print one JSON object, in SI units, instead of the report
    #[arg(long, conflicts_with = "quiet")]
    pub json: bool,
    /// Units of the report and the picture [default: units of the base case, or si]
    #[arg(long, value_enum)]
    pub units: Option<Units>,
    /// Print nothing but errors
    #[arg(long, short)]
    pub quiet: bool,
}

/// What `same` is told.
#[derive(Debug, clap::Args)]
pub struct SameArgs {
    /// A results file
    pub first: PathBuf,
    /// Another one
    pub second: PathBuf,
    /// Print nothing but errors
    #[arg(long, short)]
    pub quiet: bool,
}

pub(super) const SWEEP_AFTER: &str = "\
Examples:
  quenchway sweep studies/speed-and-length.toml --dry-run
  quenchway sweep studies/speed-and-length.toml --out results
  quenchway sweep studies/speed-and-length.toml --out results --resume      # after a crash
  quenchway sweep studies/speed-and-length.toml --out results --part 3/64   # then `quenchway join`
  quenchway sweep studies/speed-and-length.toml --out results --slurm 64 --time 2:00:00 > job.sh

A study file:
  case = \"../house-wire.toml\"
  outputs = [\"capstan.core\", \"shrink.to_finished\"]
  [vary]
  \"line.speed\" = { from = \"100 m/min\", to = \"300 m/min\", points = 20 }
  \"section.trough.length\" = [\"12 m\", \"18 m\", \"24 m\"]

A sample without a solution has a status and a reason in the results file. It stops no other sample.

Exit status:
  0  done
  1  it could not be finished
  2  the input is wrong
  130 or 143  interrupted by Ctrl-C or SIGTERM
Results are estimates for planning, to be confirmed on the line.
Never use them for interlocks or closed-loop control.";

pub(super) const JOIN_AFTER: &str = "\
Examples:
  quenchway join studies/speed-and-length.toml --out results
  quenchway join studies/speed-and-length.toml --out results --from other-machine/results

The program refuses parts of another study, of another base case or of another build, and names what is missing.

Exit status:
  0  done
  1  blocks are missing or differ
  2  the input is wrong";

pub(super) const SAME_AFTER: &str = "\
Example:
  quenchway same results/speed-and-length.h5 elsewhere/speed-and-length.h5

Two files have the same content when every variable and every attribute is equal, bit for bit.
The program leaves aside `history`, wall times and the number of parts.

Exit status:
  0  the same
  1  not the same
  2  a file cannot be read";
