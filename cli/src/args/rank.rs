//! The flags of `rank`.

use super::StudyArgs;

/// What `rank` is told.
#[derive(Debug, clap::Args)]
pub struct RankArgs {
    /// The case and what becomes of the answer.
    #[command(flatten)]
    pub study: StudyArgs,
}

pub(super) const AFTER: &str = "\
Examples:
  quenchway rank house-wire.toml
  quenchway rank house-wire.toml --out results --units us

The program moves each number of the case by 10 % up and down, a temperature by 10 K. Everything else stays as it \
is. Then it moves each uncertain input by one standard value either way: [vary] of the case, or the usual bands and \
[band].

Exit status: 0 done; 1 there is no answer; 2 the input is wrong.";
