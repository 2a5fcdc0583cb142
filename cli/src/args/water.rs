//! The flags of `water`.

use super::StudyArgs;

/// What `water` is told.
#[derive(Debug, clap::Args)]
pub struct WaterArgs {
    /// The case and what becomes of the answer.
    #[command(flatten)]
    pub study: StudyArgs,
    /// The line speeds, lowest and highest with their units: "100 m/min..400 m/min" [default: from half to twice that of the
    /// case]
    #[arg(long, value_name = "LOW..HIGH", allow_hyphen_values = true)]
    pub speeds: Option<String>,
    /// How many speeds, evenly spaced
    #[arg(long, value_name = "COUNT", default_value_t = 7, value_parser = clap::value_parser!(u16).range(2..=200))]
    pub points: u16,
}

pub(super) const AFTER: &str = "\
Examples:
  quenchway water house-wire.toml --speeds \"100 m/min..400 m/min\"
  quenchway water pe-core-series-water.toml --speeds \"15 m/min..40 m/min\" --points 6 --out cards

At every speed the program computes the line with its water as the case has it, along the product, and against it. A \
section without a flow is held at its temperature. For the comparison it gets the flow that would hold its rise to 5 \
K.

Exit status:
  0  done
  1  there is no answer
  2  the input is wrong";
