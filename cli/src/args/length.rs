//! The flags of `length`.

use quenchway::units::Dimension;

use super::{StudyArgs, value};

/// What `length` is told.
#[derive(Debug, clap::Args)]
pub struct LengthArgs {
    /// The case and what becomes of the answer.
    #[command(flatten)]
    pub study: StudyArgs,
    /// The line speed, with its unit: "240 m/min" [default: that of the case]
    #[arg(long, value_name = "SPEED", allow_hyphen_values = true, value_parser = value(Dimension::Speed, 1e-4, 100.0))]
    pub speed: Option<f64>,
    /// Also print a table of the needed length over line speeds, lowest and highest with their units: "100 m/min..400 m/min"
    /// [default with --out: from half to one and a half of the speed]
    #[arg(long, value_name = "LOW..HIGH", allow_hyphen_values = true)]
    pub speeds: Option<String>,
    /// How many speeds the table of --speeds or --out has, evenly spaced
    #[arg(long, value_name = "COUNT", default_value_t = 13, value_parser = clap::value_parser!(u16).range(2..=200))]
    pub points: u16,
    /// A section that may grow, by its name. Several sections, each with its own --adjust, share the growth in proportion
    /// to their lengths [default: those that the case names in [plant] adjustable, or its only section with water]
    #[arg(long, value_name = "SECTION")]
    pub adjust: Vec<String>,
    /// Leave out the range: how far the uncertain inputs move the answer
    #[arg(long)]
    pub no_band: bool,
}

pub(super) const AFTER: &str = "\
Examples:
  quenchway length house-wire.toml --speed \"240 m/min\"
  quenchway length house-wire.toml --speeds \"100 m/min..400 m/min\" --out results
  quenchway length thick-pe-core.toml --adjust \"middle trough\" --adjust \"cold trough\"
  quenchway length house-wire.toml --speed \"240 m/min\" --json | jq .length.needed_m

The needed length is the one from which on every limit at every station is met. The answer keeps to whole modules \
and to the ceilings of [plant] in the case file (module, hall_max, compound_max, chiller_max, water_out_max).

Exit status:
  0  done
  1  no length meets every limit, or the plant does not allow it
  2  the input is wrong";
