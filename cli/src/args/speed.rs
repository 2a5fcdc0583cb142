//! The flags of `speed`.

use quenchway::units::Dimension;

use super::{StudyArgs, value};

/// What `speed` is told.
#[derive(Debug, clap::Args)]
pub struct SpeedArgs {
    /// The case and what becomes of the answer.
    #[command(flatten)]
    pub study: StudyArgs,
    /// Also the fastest speed with each of several numbers of passes through the trough: "1..6", or one number
    #[arg(long, value_name = "FEWEST..MOST", allow_hyphen_values = true)]
    pub passes: Option<String>,
    /// Length of product in the air between two passes, with its unit: "0.8 m" [default: turn of the case]
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, requires = "passes",
        value_parser = value(Dimension::Length, 0.001, 1e3))]
    pub turn: Option<f64>,
    /// The section with several passes, by its name [default: the one that the case names in [plant] adjustable, or its
    /// only section with water]
    #[arg(long, value_name = "SECTION", requires = "passes")]
    pub adjust: Option<String>,
    /// Leave out the range: how far the uncertain inputs move the answer
    #[arg(long)]
    pub no_band: bool,
}

pub(super) const AFTER: &str = "\
Examples:
  quenchway speed house-wire.toml
  quenchway speed house-wire.toml --out results
  quenchway speed multi-pass-wire.toml --passes 1..8
  quenchway speed house-wire.toml --passes 1..4 --turn \"1.2 m\"
  quenchway speed house-wire.toml --json | jq .speed.top_m_s

The fastest speed is the lowest that any ceiling allows. Ceilings are every limit at every station, and compound_max, \
chiller_max and water_out_max of [plant] in the case file. If a temperature at the die follows the speed, the program follows it.

Exit status:
  0  done
  1  no speed meets every ceiling, or none is reached
  2  the input is wrong";
