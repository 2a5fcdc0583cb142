//! The flags of `gauges`.

use quenchway::units::Dimension;

use super::{StudyArgs, value};

/// What `gauges` is told.
#[derive(Debug, clap::Args)]
pub struct GaugesArgs {
    /// The case and what becomes of the answer.
    #[command(flatten)]
    pub study: StudyArgs,
    /// The outer diameter (flat: thickness) wanted when everything is at 23 degC, with its unit: "3.35 mm" [default: that of
    /// the case]
    #[arg(long, value_name = "SIZE", allow_hyphen_values = true, value_parser = value(Dimension::Diameter, 1e-5, 1.0))]
    pub finished: Option<f64>,
}

pub(super) const AFTER: &str = "\
Examples:
  quenchway gauges house-wire.toml                        readings for the size that the case gives
  quenchway gauges house-wire.toml --finished \"3.35 mm\"   readings for another size
  quenchway gauges house-wire.toml --out cards            cards/house-wire-gauges.png, to hang up

The gauges are the stations with \"hot gauge\" and \"cold gauge\" in their names; without them the die and the \
end of the line. The program sizes the outer layer and computes the line with it, at the case's speed and at one \
percent less and more.

Exit status:
  0  done
  1  there is no answer
  2  the input is wrong";
