//! The flags of `quenchway films`.

use std::path::PathBuf;

use quenchway::units::Dimension;

use super::value;

/// What `films` is told.
#[derive(Debug, clap::Args)]
pub struct FilmsArgs {
    /// The law to print with its doubts and worked examples
    pub name: Option<String>,
    /// Line speed
    #[arg(long, default_value = "150 m/min", allow_hyphen_values = true, value_parser = value(Dimension::Speed, 1e-4, 100.0))]
    pub speed: f64,
    /// Outer diameter
    #[arg(long, default_value = "3 mm", allow_hyphen_values = true, value_parser = value(Dimension::Diameter, 1e-5, 1.0))]
    pub diameter: f64,
    /// Surface temperature
    #[arg(long, default_value = "60 degC", allow_hyphen_values = true, value_parser = value(Dimension::Temperature, -100.0, 500.0))]
    pub surface: f64,
    /// Temperature of the water
    #[arg(long, default_value = "16 degC", allow_hyphen_values = true, value_parser = value(Dimension::Temperature, 0.0, 100.0))]
    pub water: f64,
    /// Temperature of the air
    #[arg(long, default_value = "25 degC", allow_hyphen_values = true, value_parser = value(Dimension::Temperature, -100.0, 500.0))]
    pub air: f64,
    /// Distance from the section's entry
    #[arg(long, default_value = "1 m", allow_hyphen_values = true, value_parser = value(Dimension::Length, 0.0, 1e4))]
    pub distance: f64,
    /// Speed of a stream across the product or against its travel [default: 10 m/s in air, 0.5 m/s in water]
    #[arg(long, allow_hyphen_values = true, value_parser = value(Dimension::Speed, 0.0, 300.0))]
    pub velocity: Option<f64>,
    /// How fast the water of a trough moves past or across the product, besides the line
    #[arg(long, default_value = "0 m/s", allow_hyphen_values = true, value_parser = value(Dimension::Speed, 0.0, 10.0))]
    pub stirred: f64,
    /// Water that a spray brings to the surface
    #[arg(long, default_value = "0.5 L/(m2 s)", allow_hyphen_values = true, value_parser = value(Dimension::WaterFlux, 1e-3, 100.0))]
    pub water_flux: f64,
    /// Print one JSON object, in SI units, instead of the list
    #[arg(long)]
    pub json: bool,
    /// Draw the laws over line speed, under the same conditions, as a PNG
    #[arg(long, value_name = "FILE")]
    pub picture: Option<PathBuf>,
}

/// What stands below the flags.
pub(super) const AFTER: &str = "\
Examples:
  quenchway films
  quenchway films spray --water-flux \"4 L/(m2 s)\"
  quenchway films --speed \"600 m/min\" --diameter \"1.2 mm\" --surface \"90 degC\" --distance \"5 m\"
  quenchway films --json | jq '.laws[] | {name, film_W_m2K}'
  quenchway films --picture films.png";
