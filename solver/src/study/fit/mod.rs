//! Calibration: the unknowns of a case that make it agree best with what was measured on a trial of the line.
//!
//! Weighted least squares: the sum over all measurements of ((measured - computed)/u)^2 is made smallest, u the standard
//! uncertainty of the measurement, by the method of Levenberg and Marquardt (J. J. More, The Levenberg-Marquardt
//! algorithm: implementation and theory, in Numerical Analysis, ed. G. A. Watson, Lecture Notes in Mathematics 630,
//! Springer 1978, 105-116). A prior is one more measurement. What else of the case is doubtful takes part with its band as a
//! prior, so that an interval holds what it claims. Covariance, intervals and what is found in the residuals:
//! [`statistics`] and [`findings`].

mod answer;
pub mod findings;
mod judge;
mod model;
#[cfg(test)]
mod plants_tests;
mod possible;
mod posterior;
mod profile;
mod separate;
pub mod statistics;
mod steady;
#[cfg(test)]
mod tests;
mod told;
mod unknown;

use std::fmt;
use std::sync::atomic::AtomicUsize;

use levenberg_marquardt::LevenbergMarquardt;
use serde::{Serialize, Serializer};

use answer::{Minimum, answer};
pub use findings::{Finding, Separation};
use model::{Model, Search};
pub use possible::{TOO_FAR, possible};
pub use posterior::Posterior;
pub use separate::Next;
pub use statistics::Spread;
pub use steady::{NEAR, Steady, steady};
pub use told::Told;
pub use unknown::{Unknown, usual_unknowns};

use crate::case::CaseFile;
use crate::case::error::Error;
use crate::march::output::Output;
use crate::names::error::KeyPathError;
use crate::names::variable::Variable;
use crate::units::{Dimension, System};

/// What a fit is told beside the trial.
#[derive(Clone, Copy, Debug, Default)]
pub struct Settings {
    /// What the intervals rest on.
    pub spread: Spread,
    /// What becomes of the bands of the case's inputs.
    pub bands: Bands,
}

/// What becomes of the bands of a case's doubtful inputs, usual ones and those that it gives.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Bands {
    /// Each is what was known of its input before the trial: of a fitted number that has no prior, and of every other input,
    /// which then takes part in the fit.
    #[default]
    Use,
    /// The other inputs are taken as known, and nothing of the fitted numbers.
    Ignore,
}

/// One setting of the line and what was measured there.
#[derive(Clone, Debug, Default)]
pub struct Trial {
    /// What differs from the case: a number and its value, SI.
    pub settings: Vec<(Variable, f64)>,
    /// What was measured.
    pub measurements: Vec<Measurement>,
}

/// One measured value.
#[derive(Clone, Debug)]
pub struct Measurement {
    /// What it is the value of.
    pub output: Output,
    /// The value, SI (temperatures degC).
    pub value: f64,
    /// Its standard uncertainty, SI.
    pub uncertainty: f64,
}

/// The usual standard uncertainty of a measurement on a running line; none where nobody measures it.
///
/// Common practice, no source: a surface by pyrometer 2 K, the mixed temperature of a cut length 2 K, a core by an inserted
/// couple 3 K, water 0.3 K, a diameter by an optical gauge 0.01 mm.
///
/// ```
/// # let text = "line.speed = \"150 m/min\"\n[[layer]]\nname = \"wire\"\nmaterial = \"copper\"\ndiameter = \"2 mm\"\n\
/// # temperature = \"90 degC\"\n[[section]]\nname = \"trough\"\nmedium = \"water\"\nlength = \"5 m\"\n\
/// # temperature = \"20 degC\"\n[[station]]\nname = \"capstan\"\nafter = \"trough\"";
/// use quenchway::study::fit::usual_uncertainty;
/// use quenchway::march::output::Output;
/// let case = quenchway::file::read(text).unwrap();
/// assert_eq!(usual_uncertainty(&Output::find(&case, "capstan.surface").unwrap()), Some(2.0));
/// assert_eq!(usual_uncertainty(&Output::find(&case, "capstan.time").unwrap()), None);
/// ```
pub fn usual_uncertainty(output: &Output) -> Option<f64> {
    match output.step() {
        "surface" | "equalised" => Some(2.0),
        "core" | "mean" | "hottest" => Some(3.0),
        "water_in" | "water_out" => Some(0.3),
        "diameter" | "hot_gauge" | "cold_gauge" | "finished" if output.dimension == Some(Dimension::Diameter) => {
            Some(1e-5)
        }
        _ => None,
    }
}

/// What came of a fit. All SI; temperatures in degC, differences in K.
#[derive(Clone, Debug, Serialize)]
pub struct Fit {
    /// The unknowns in the order in which they were given.
    pub unknowns: Vec<Estimate>,
    /// Correlation of the estimates.
    pub correlation: Vec<Vec<f64>>,
    /// Covariance of the estimates; of a factor, that of its natural logarithm.
    pub covariance: Vec<Vec<f64>>,
    /// The other doubtful inputs, and what the trial says of them.
    pub others: Vec<Other>,
    /// Measured against computed, in the order of the trials.
    pub residuals: Vec<Residual>,
    /// Sum of ((measured - computed)/uncertainty)^2 over measurements, priors and bands.
    pub chi_square: f64,
    /// The same with the case as it was.
    pub chi_square_before: f64,
    /// Measurements and priors less fitted unknowns; an input with its band takes none.
    pub freedom: usize,
    /// Chance of a larger `chi_square`, were the uncertainties right and the model true; none without freedom.
    pub chi_square_chance: Option<f64>,
    /// Residual standard deviation in units of the stated uncertainties; none without freedom.
    pub residual_deviation: Option<f64>,
    /// What the intervals rest on: the scatter only where it is larger than chance allows.
    pub spread: Spread,
    /// Half width of the intervals in standard errors: the 97.5 % point of Student's t, or of the normal distribution.
    pub coverage_factor: f64,
    /// Largest over smallest singular value of the sensitivities, each unknown's scaled to unit length.
    pub condition: f64,
    /// Whether the search found its minimum.
    pub converged: bool,
    /// How many times a case was solved.
    pub solves: usize,
    /// The measurement that would make the fitted numbers surest.
    pub next: Option<Next>,
    /// What the trial says of the case, for a calibrated one.
    #[serde(skip)]
    pub posterior: Posterior,
    /// What the result must be read with.
    #[serde(serialize_with = "as_objects")]
    pub findings: Vec<Finding>,
}

/// A fitted unknown.
#[derive(Clone, Debug, Serialize)]
pub struct Estimate {
    /// Key paths, separated by a comma and a blank.
    pub unknown: String,
    /// Unit of the first of them in UDUNITS spelling.
    pub unit: &'static str,
    /// What the case gives for the first of them, SI; none for a perfect contact.
    pub given: Option<f64>,
    /// The fitted value.
    pub value: f64,
    /// Standard error; of a number fitted in its logarithm relative. None at a bound and where the data do not tell.
    pub standard_error: Option<f64>,
    /// Ends of the 95 % interval; none at a bound and where the data do not tell.
    pub interval: Option<[f64; 2]>,
    /// Fitted in its logarithm.
    pub logarithmic: bool,
    /// It sits at the end of what the case file allows.
    pub at_bound: bool,
    /// What was known before the trial: value and standard uncertainty.
    pub prior: Option<[f64; 2]>,
}

/// A doubtful input that took part with its band.
#[derive(Clone, Debug, Serialize)]
pub struct Other {
    /// Key path; several, separated by a comma and a blank, that move together.
    pub input: String,
    /// Where its band comes from.
    pub basis: String,
    /// How far the trial moved it, in standard values of its band.
    pub moved: f64,
    /// Its standard uncertainty after the trial, in standard values of its band.
    pub remains: f64,
}

/// A measured value beside the computed one.
#[derive(Clone, Debug, Serialize)]
pub struct Residual {
    /// Index of the trial.
    pub trial: usize,
    /// Name of the output, and its unit in UDUNITS spelling.
    pub output: String,
    /// See `output`.
    pub unit: &'static str,
    /// Measured, SI.
    pub measured: f64,
    /// Standard uncertainty, SI.
    pub uncertainty: f64,
    /// Computed with the fitted values.
    pub computed: f64,
    /// Computed with the case as it was.
    pub before: f64,
    /// Measured less computed.
    pub residual: f64,
    /// The same over its own standard deviation (internally studentised); none where the measurement alone decides an
    /// unknown.
    pub standardised: Option<f64>,
    /// How strongly the fit follows this measurement, 0 to 1.
    pub leverage: f64,
}

/// Why a fit gives no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum FitError {
    /// A key path that leads to no number, or a setting that cannot be.
    Path(KeyPathError),
    /// A number that no measurement tells.
    NotFittable {
        /// Its path.
        path: String,
    },
    /// Numbers of different kinds under one unknown.
    Unlike {
        /// The first path.
        first: String,
        /// The path that measures something else.
        other: String,
    },
    /// Nothing is to be fitted.
    NoUnknowns,
    /// A number is fitted twice.
    Twice {
        /// Its path.
        path: String,
    },
    /// A number is fitted and given by the trial.
    SettingIsUnknown {
        /// Its path.
        path: String,
    },
    /// Fewer measurements than unknowns.
    TooFew {
        /// How many measurements and priors there are.
        measurements: usize,
        /// How many unknowns.
        unknowns: usize,
    },
    /// No measurement changes with the unknown.
    Insensitive {
        /// Its name.
        unknown: String,
    },
    /// A measured value that the case does not compute.
    NoNumber {
        /// Index of the trial.
        trial: usize,
        /// Name of the output.
        output: String,
    },
    /// The case of a trial has no answer.
    March {
        /// Index of the trial.
        trial: usize,
        /// Why.
        error: Error,
    },
}

impl fmt::Display for FitError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            FitError::Path(error) => error.fmt(out),
            FitError::NotFittable { path } => write!(
                out,
                "{path} cannot be fitted: no measurement tells it; fit a film_factor, a contact, a temperature or a \
                 conductivity_factor"
            ),
            FitError::Unlike { first, other } => write!(
                out,
                "{first} and {other} measure different things, so that one factor or difference cannot move both; give \
                 each its own --unknown"
            ),
            FitError::NoUnknowns => write!(
                out,
                "nothing is to be fitted: this case has no section with water and no contact given by its conductance. Name \
                 what is not known with --unknown KEYPATH"
            ),
            FitError::Twice { path } => write!(out, "{path} is fitted twice; leave it out once"),
            FitError::SettingIsUnknown { path } => write!(
                out,
                "{path} is fitted and is a column of settings in the data; leave out the column or the unknown"
            ),
            FitError::TooFew { measurements, unknowns } => write!(
                out,
                "{measurements} measurements cannot determine {unknowns} unknowns; fit fewer, measure more, or give a \
                 prior"
            ),
            FitError::Insensitive { unknown } => write!(
                out,
                "no measurement changes with {unknown}, so that the data cannot tell it. Leave it out, or measure after \
                 the place where it acts"
            ),
            FitError::NoNumber { trial, output } => {
                write!(out, "the case computes no {output} with the settings of trial {}", trial + 1)
            }
            FitError::March { trial, error } => write!(out, "trial {}: {error}", trial + 1),
        }
    }
}

impl std::error::Error for FitError {}

/// Fits the unknowns of a case to what was measured.
///
/// The case is solved by the rule at its tolerance, at most 0.02 K; sensitivities are central differences (2 % of a factor,
/// 0.5 K of a temperature, a tenth of a band's standard value), all solves of a step side by side. Bounds of the case file
/// are kept: an unknown that presses against its bound is held there and the others are fitted.
///
/// # Errors
///
/// Unknowns or settings that cannot be; fewer measurements than unknowns; an unknown that no measurement answers; a
/// trial whose case has no answer.
pub fn fit(case: &CaseFile, unknowns: &[Unknown], trials: &[Trial], settings: Settings) -> Result<Fit, FitError> {
    fit_watched(case, unknowns, trials, settings, &AtomicUsize::new(0))
}

/// As `fit`, and counts the cases solved so far, for a display of the progress.
///
/// # Errors
///
/// As [`fit`].
pub fn fit_watched(
    case: &CaseFile,
    unknowns: &[Unknown],
    trials: &[Trial],
    settings: Settings,
    solves: &AtomicUsize,
) -> Result<Fit, FitError> {
    let with_priors: Vec<Unknown>;
    let unknowns = match settings.bands {
        Bands::Ignore => unknowns,
        Bands::Use => {
            with_priors = unknowns.iter().map(|unknown| unknown.clone().with_band(case)).collect();
            &with_priors
        }
    };
    let model = Model::new(case, unknowns, trials, settings.bands, solves)?;
    let given: Vec<f64> = unknowns.iter().map(|unknown| unknown.coordinate(unknown.start)).collect();
    // Without coordinates of the others the case is as it was.
    let before = model.computed(&given).map_err(|(trial, error)| FitError::March { trial, error })?;
    if let Some(missing) = before.iter().position(|value| !value.is_finite()) {
        let (trial, measurement) = model.measurements()[missing];
        return Err(FitError::NoNumber { trial, output: measurement.output.name.clone() });
    }
    let mut at = given.clone();
    at.resize(model.count(), 0.0);
    let mut held: Vec<Option<Bound>> = vec![None; model.count()];
    let mut converged = true;
    // Each pass holds what presses against a bound, or lets go what no longer does.
    for pass in 0..2 * unknowns.len() + 2 {
        if held.iter().all(Option::is_some) {
            break;
        }
        let search = Search::new(&model, &at, &held);
        let (search, report) = LevenbergMarquardt::new()
            .with_ftol(1e-8)
            .with_xtol(1e-6)
            .with_gtol(1e-9)
            .with_stepbound(1.0)
            .with_patience(60)
            .minimize(search);
        converged = report.termination.was_successful();
        at = search.coordinates();
        let changed = pass <= unknowns.len()
            && (model.hold_what_is_flat(&mut at, &mut held)? || model.let_go(&mut at, &mut held)?);
        if !changed {
            break;
        }
    }
    let chi_square_before = model.chi_square(&given, &before);
    let minimum = Minimum { at, held, before: (before, chi_square_before), converged };
    answer(case, &model, &minimum, settings.spread)
}

/// An end of what the case file allows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    /// The lower one.
    Low,
    /// The upper one.
    High,
}

impl Trial {
    /// Its settings in words: `line.speed 150 m/min, section.trough.temperature 16 degC`; "the case" without any.
    pub fn describe(&self, system: System) -> String {
        let one = |(variable, value): &(Variable, f64)| format!("{} {}", variable.path, variable.show(*value, system));
        match &self.settings[..] {
            [] => "the case".to_string(),
            settings => settings.iter().map(one).collect::<Vec<_>>().join(", "),
        }
    }
}

fn as_objects<S: Serializer>(findings: &[Finding], serializer: S) -> Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct Object {
        kind: &'static str,
        message: String,
    }
    serializer.collect_seq(findings.iter().map(|f| Object { kind: f.kind(), message: f.to_string() }))
}
