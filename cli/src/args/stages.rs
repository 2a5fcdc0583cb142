//! The flags of `stages`.

use clap::ValueEnum;

use super::StudyArgs;

/// What `stages` is told.
#[derive(Debug, clap::Args)]
pub struct StagesArgs {
    /// The case and what becomes of the answer.
    #[command(flatten)]
    pub study: StudyArgs,
    /// Also solve a full grid over the bounds and one about the answer, of up to three numbers. Where one of its places is better by
    /// more than 0.2 %, the program withdraws the answer
    #[arg(long, value_enum, value_name = "HOW")]
    pub check: Option<CheckOf>,
    /// Leave out what the uncertainty of the inputs leaves of the answer
    #[arg(long)]
    pub no_band: bool,
    /// Threads that compute; the answer is the same with any number of them [default: all cores]
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(1..=1024))]
    pub threads: Option<u32>,
}

/// How an answer is checked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum CheckOf {
    /// A full grid of 21 values of each number
    Grid,
}

pub(super) const AFTER: &str = "\
Examples:
  quenchway stages staged-pe-core.toml
  quenchway stages staged-pe-core.toml --out results
  quenchway stages staged-pe-core.toml --check grid
  quenchway stages staged-pe-core.toml --json | jq '.stages.after.printed'

The case says in [stages] what is to be best: fastest, shortest, least-void or cheapest. The table [stages.vary] names the numbers that \
may be set, up to six, each with its lowest and highest value. The table [stages.limits] has what must hold beside the other limits \
of the case. With --out, --report or --json the answer also shows what the aim costs, for other values of the limit that \
holds it. That takes several times as long.

Exit status:
  0  done
  1  nothing within the bounds meets everything, or the answer is withdrawn
  2  the input is wrong";
