//! The flags of `rank`.

use super::StudyArgs;

/// What `rank` is told.
#[derive(Debug, clap::Args)]
pub struct RankArgs {
    /// The case and what becomes of the answer.
    #[command(flatten)]
    pub study: StudyArgs,
    /// Rank by this, too, and by the first of it above all. It is a number of the programme of the line such as capstan.scrap, or
    /// the answer of a search such as fastest_ramp. It may be given several times
    #[arg(long, value_name = "OUTPUT")]
    pub also: Vec<String>,
}

pub(super) const AFTER: &str = "\
Examples:
  quenchway rank house-wire.toml
  quenchway rank house-wire.toml --out results --units us
  quenchway rank stop.toml --also capstan.scrap

The program moves each number of the case by 10 % up and down, a temperature by 10 K. Everything else stays as it \
is. Then it moves each uncertain input by one standard value either way: [vary] of the case, or the usual bands and \
[band].

Exit status:
  0  done
  1  there is no answer
  2  the input is wrong";
