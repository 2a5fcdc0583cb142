//! What the result of a fit must be read with: a closed family, and how each is found.

use std::fmt;

use super::model::Model;
use super::separate::Candidates;
use super::statistics::{Linear, sign_chance, trend_chance, two_sided, without_itself};
use super::{Bound, Residual, Unknown};
use crate::input::listed;
use crate::units::{Dimension, System, write};

/// Correlation above which two unknowns count as not told apart.
pub const CORRELATED: f64 = 0.95;

/// Chance below which a trend, a one-sidedness or an outlier is spoken of.
const CHANCE: f64 = 0.01;

/// What the result must be read with; every variant carries what its message prints.
#[derive(Clone, Debug, PartialEq)]
pub enum Finding {
    /// The search did not end at a minimum.
    NotConverged,
    /// The data cannot tell two unknowns apart.
    Indistinguishable {
        /// Their names.
        unknowns: [String; 2],
        /// Their correlation.
        correlation: f64,
        /// The measurement that would help most.
        separation: Option<Separation>,
    },
    /// Several unknowns together are not told apart, though no two of them are alike.
    Collinear {
        /// Their names.
        unknowns: Vec<String>,
        /// Condition number.
        condition: f64,
    },
    /// An unknown is told only to within a factor of ten, or to within 100 K.
    Untold {
        /// Its name.
        unknown: String,
        /// Its interval in words.
        interval: String,
    },
    /// An unknown sits at the end of what the case file allows.
    AtBound {
        /// Its name.
        unknown: String,
        /// The bound with its unit.
        bound: String,
        /// A contact at its upper end.
        perfect: bool,
    },
    /// The residuals of an output are mostly of one sign.
    OneSided {
        /// The output.
        output: String,
        /// Measured values above the computed ones.
        above: usize,
        /// All measured values of it.
        count: usize,
    },
    /// The residuals of an output rise or fall with a setting.
    Trend {
        /// The output.
        output: String,
        /// The setting.
        setting: String,
        /// They rise.
        rising: bool,
        /// Chance of as much order without a trend.
        chance: f64,
    },
    /// A measurement far outside the scatter of the others.
    Outlier {
        /// The output.
        output: String,
        /// Index of the trial.
        trial: usize,
        /// Its setting in words.
        setting: String,
        /// Residual over its standard deviation, the scatter judged without it.
        sigmas: f64,
    },
    /// The scatter is larger than the stated uncertainties allow.
    Scatter {
        /// Residual standard deviation in units of the stated uncertainties.
        deviation: f64,
        /// Chance of as much.
        chance: f64,
    },
    /// As many unknowns as measurements: nothing judges the fit.
    NoFreedom,
}

/// A measurement that would help to tell two unknowns apart.
#[derive(Clone, Debug, PartialEq)]
pub struct Separation {
    /// What to measure.
    pub output: String,
    /// How well, SI.
    pub uncertainty: f64,
    /// What it measures.
    pub dimension: Option<Dimension>,
    /// At which setting, in words.
    pub setting: String,
    /// Correlation of the two then.
    pub correlation: f64,
    /// Standard errors then, over what they are now.
    pub shares: [f64; 2],
}

impl Finding {
    /// Its short name, for JSON.
    pub fn kind(&self) -> &'static str {
        match self {
            Finding::NotConverged => "not-converged",
            Finding::Indistinguishable { .. } => "indistinguishable",
            Finding::Collinear { .. } => "collinear",
            Finding::Untold { .. } => "untold",
            Finding::AtBound { .. } => "at-bound",
            Finding::OneSided { .. } => "one-sided",
            Finding::Trend { .. } => "trend",
            Finding::Outlier { .. } => "outlier",
            Finding::Scatter { .. } => "scatter",
            Finding::NoFreedom => "no-freedom",
        }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Finding::NotConverged => write!(
                out,
                "the search did not end at a minimum: do not use these values; start nearer with a prior, or fit fewer \
                 unknowns"
            ),
            Finding::Indistinguishable { unknowns: [a, b], correlation, separation } => {
                write!(out, "the data cannot tell {a} and {b} apart: their correlation is {correlation:.3}; ")?;
                match separation {
                    Some(separation) => write!(out, "{separation}; or fit one of them alone, or give a prior"),
                    None => write!(
                        out,
                        "no single surface, water, mixed or diameter measurement at these settings would; fit one of them \
                         alone, or give a prior"
                    ),
                }
            }
            Finding::Collinear { unknowns, condition } => write!(
                out,
                "the data cannot tell {} apart from each other (condition number {condition:.0}); fit fewer of them, or give \
                 priors",
                listed(unknowns, "and")
            ),
            Finding::Untold { unknown, interval } => write!(
                out,
                "the data hardly tell {unknown}: its interval is {interval}; leave it out, or measure where it acts"
            ),
            Finding::AtBound { unknown, perfect: true, .. } => write!(
                out,
                "{unknown} ran to its upper end: the data see no contact resistance; it counts as perfect, without an \
                 interval"
            ),
            Finding::AtBound { unknown, bound, .. } => write!(
                out,
                "{unknown} ran to {bound}, the end of what a case allows, and was held there without an interval; something \
                 else is probably wrong: an unknown that is missing, a measurement, a setting"
            ),
            Finding::OneSided { output, above, count } => write!(
                out,
                "{output}: {above} of {count} measured values are above the computed ones; look for an offset of the \
                 instrument (emissivity, a wet surface, zero of the gauge) or for an unknown that is missing"
            ),
            Finding::Trend { output, setting, rising, chance } => write!(
                out,
                "{output}: measured less computed {} with {setting} (chance {} % without a cause); a cause that goes with \
                 {setting} is missing from the unknowns",
                if *rising { "rises" } else { "falls" },
                percent(*chance),
            ),
            Finding::Outlier { output, trial, setting, sigmas } => write!(
                out,
                "{output} of trial {} ({setting}) is {} standard deviations off; look at it again, and leave it out only \
                 for a reason found on the line",
                trial + 1,
                if sigmas.abs() < 99.0 { format!("{sigmas:.1}") } else { "very many".to_string() },
            ),
            Finding::Scatter { deviation, chance } => write!(
                out,
                "the residuals scatter {deviation:.1} times as much as the stated uncertainties say (chance {} %): the \
                 uncertainties are too small, or the model lacks something",
                percent(*chance),
            ),
            Finding::NoFreedom => write!(
                out,
                "as many unknowns as measurements: nothing judges the fit, and the intervals rest on the stated \
                 uncertainties alone; measure more"
            ),
        }
    }
}

impl fmt::Display for Separation {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let within = match self.dimension {
            Some(Dimension::Temperature) => write(self.uncertainty, Dimension::TemperatureDifference, System::Si),
            Some(dimension) => write(self.uncertainty, dimension, System::Si),
            None => self.uncertainty.to_string(),
        };
        let [a, b] = self.shares.map(|share| 100.0 * share);
        write!(
            out,
            "measuring {} within {within} with {} would bring it to {:.2} and their standard errors to {a:.0} % and {b:.0} % \
             of what they are",
            self.output, self.setting, self.correlation
        )
    }
}

fn percent(chance: f64) -> String {
    if chance < 1e-3 { "below 0.1".to_string() } else { format!("{:.1}", 100.0 * chance) }
}

/// Pairs that are not told apart, each with the measurement that would help; then groups that no pair accounts for.
pub(super) fn alike(
    model: &Model,
    linear: &Linear,
    free: &[usize],
    candidates: impl Fn() -> Option<Candidates>,
) -> Vec<Finding> {
    let name = |index: usize| model.unknowns[free[index]].name();
    let mut found = Vec::new();
    let mut paired: Vec<usize> = Vec::new();
    for a in 0..free.len() {
        for b in a + 1..free.len() {
            let correlation = linear.correlation[(a, b)];
            if correlation.abs() > CORRELATED {
                paired.extend([a, b]);
                let separation = candidates().and_then(|candidates| candidates.best(model, linear, [a, b]));
                found.push(Finding::Indistinguishable { unknowns: [name(a), name(b)], correlation, separation });
            }
        }
    }
    for group in linear.untold.iter().chain(&linear.collinear) {
        let told = group.iter().all(|index| paired.contains(index));
        if group.len() > 1 && !told {
            paired.extend(group);
            let unknowns = group.iter().map(|&index| name(index)).collect();
            found.push(Finding::Collinear { unknowns, condition: linear.condition });
        }
    }
    found
}

/// An unknown whose interval says next to nothing.
pub(super) fn untold(unknown: &Unknown, interval: Option<[f64; 2]>) -> Option<Finding> {
    let wide = match interval {
        Some([low, high]) if unknown.logarithmic => high > 10.0 * low,
        Some([low, high]) => high - low > 100.0,
        None => true,
    };
    let shown = |value: f64| unknown.show(value, System::Si);
    let interval = interval.map_or("without end".to_string(), |[low, high]| format!("{} to {}", shown(low), shown(high)));
    wide.then(|| Finding::Untold { unknown: unknown.name(), interval })
}

/// An unknown that is held at its bound.
pub(super) fn at_bound(unknown: &Unknown, bound: Bound) -> Finding {
    let contact = unknown.variables.iter().all(|variable| variable.path.ends_with(".contact"));
    Finding::AtBound {
        unknown: unknown.name(),
        bound: unknown.show(unknown.bounds[bound as usize], System::Si),
        perfect: contact && bound == Bound::High,
    }
}

/// Outputs whose residuals are of one sign or go with a setting, and single measurements far outside the scatter.
pub(super) fn in_residuals(model: &Model, residuals: &[Residual], freedom: usize) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut outputs: Vec<&str> = residuals.iter().map(|residual| residual.output.as_str()).collect();
    outputs.sort_unstable();
    outputs.dedup();
    for output in outputs {
        let of_output: Vec<&Residual> = residuals.iter().filter(|residual| residual.output == output).collect();
        let above = of_output.iter().filter(|residual| residual.residual > 0.0).count();
        let count = of_output.len();
        if sign_chance(above.min(count - above), count) < 0.05 {
            found.push(Finding::OneSided { output: output.to_string(), above, count });
        }
        for setting in settings(model) {
            let value = |trial: usize| {
                let settings = &model.trials[trial].settings;
                settings.iter().find(|(variable, _)| variable.path == setting).map(|(_, value)| *value)
            };
            let points: Vec<[f64; 2]> =
                of_output.iter().filter_map(|r| Some([value(r.trial)?, r.residual / r.uncertainty])).collect();
            if let Some(chance) = trend_chance(&points).filter(|chance| *chance < CHANCE) {
                let rising = slope(&points) > 0.0;
                found.push(Finding::Trend { output: output.to_string(), setting, rising, chance });
            }
        }
    }
    // The largest of n: the chance is shared among them (Bonferroni).
    let far = two_sided(CHANCE / residuals.len().max(1) as f64, (freedom > 1).then(|| freedom - 1)).max(3.0);
    for residual in residuals {
        let sigmas = residual.standardised.and_then(|standardised| without_itself(standardised, freedom));
        if let Some(sigmas) = sigmas.filter(|sigmas| sigmas.abs() > far) {
            let setting = model.trials[residual.trial].describe(System::Si);
            found.push(Finding::Outlier { output: residual.output.clone(), trial: residual.trial, setting, sigmas });
        }
    }
    found
}

/// Key paths of the settings of the trials.
fn settings(model: &Model) -> Vec<String> {
    let mut paths: Vec<String> =
        model.trials.iter().flat_map(|trial| &trial.settings).map(|(variable, _)| variable.path.clone()).collect();
    paths.sort_unstable();
    paths.dedup();
    paths
}

fn slope(points: &[[f64; 2]]) -> f64 {
    let mean = |axis: usize| points.iter().map(|point| point[axis]).sum::<f64>() / points.len() as f64;
    let (x, y) = (mean(0), mean(1));
    points.iter().map(|point| (point[0] - x) * (point[1] - y)).sum()
}
