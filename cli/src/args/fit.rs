//! The flags of `fit`.

use std::path::PathBuf;

use clap::ValueEnum;
use clap::builder::ArgAction;

use super::StudyArgs;

/// What `fit` is told.
#[derive(Debug, clap::Args)]
#[command(mut_arg("overwrite", |_| overwrite()))]
pub struct FitArgs {
    /// The case and what becomes of the answer.
    #[command(flatten)]
    pub study: StudyArgs,
    /// The trial: a CSV file whose header names settings by key path and measured values as station.quantity, units in
    /// square brackets: line.speed [m/min],capstan.surface [degC]
    #[arg(long, value_name = "FILE")]
    pub data: PathBuf,
    /// A number of the case to fit; may be given several times. One factor or difference fits several key paths with a comma
    /// and a space between them [default: the film factors of the water sections, those under one law together, and every
    /// contact given by its conductance]
    #[arg(long, value_name = "KEYPATH")]
    pub unknown: Vec<String>,
    /// What was known of an unknown before the trial, with its standard uncertainty: "KEYPATH = 188 degC ± 3 K" (or "+-")
    #[arg(long, value_name = "PRIOR")]
    pub prior: Vec<String>,
    /// What the intervals rest on
    #[arg(long, value_enum, default_value = "residuals")]
    pub spread: Spread,
    /// What becomes of the bands of the inputs, usual ones and those of [band]
    #[arg(long, value_enum, default_value = "use")]
    pub bands: Bands,
    /// Write the case to this file, with the fitted values and with what the trial leaves unsure. Comments and layout stay
    #[arg(long, value_name = "FILE")]
    pub write: Option<PathBuf>,
    /// Write the files even where the fit is doubtful: no minimum, a number at its bound, off by more than 4 times the
    /// uncertainties
    #[arg(long)]
    pub write_doubtful: bool,
}

/// What becomes of the bands of the inputs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Bands {
    /// Each is what was known before the trial. The inputs that are not fitted take part with theirs
    Use,
    /// Inputs that are not fitted count as known. Where they are not known, the intervals are too narrow
    Ignore,
}

/// What the intervals rest on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Spread {
    /// The uncertainties as they are stated. Where the residuals scatter more than chance allows: their scatter, with
    /// Student's t
    Residuals,
    /// The uncertainties as they are stated
    Stated,
}

/// The flag of all studies, for the calibrated case too.
fn overwrite() -> clap::Arg {
    let help = "Replace files in DIR, and the FILE of --write, that this program did not write";
    clap::Arg::new("overwrite").long("overwrite").action(ArgAction::SetTrue).help(help)
}

pub(super) const AFTER: &str = "\
Examples:
  quenchway fit house-wire.toml --data trials/house-wire-trial.csv
  quenchway fit house-wire.toml --data trial.csv --unknown section.trough.film_factor \\
      --unknown layer.conductor.temperature --write calibrated.toml --out results
  quenchway fit house-wire.toml --data trial.csv --unknown section.trough.film_factor \\
      --unknown layer.insulation.temperature \\
      --prior \"layer.insulation.temperature = 188 degC +- 3 K\"

The data, as a spreadsheet saves them:
  line.speed [m/min],trough exit.surface [degC],capstan.equalised [degC],hot gauge.diameter [mm]
  ±,2 K,1.5 K,
  120,31.5,52.3,3.41
  150,34.2,,3.42
An empty cell was not measured. Without a ± the program takes the usual uncertainty of such a measurement.

If there are more than 100 rows, the program takes them for a logger's. It merges those of one steady state, and the \
report says so.

A fit is doubtful where it has no minimum, a number at its bound, or is off by more than 4 times the uncertainties.
It writes nothing without --write-doubtful.

Exit status:
  0  done
  1  there is no answer, or the fit is doubtful
  2  the input is wrong";
