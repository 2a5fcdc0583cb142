//! What the result of a fit must be read with: a closed family with its words; how each is found is in `judge`.

use std::fmt;

use crate::units::words::listed;
use crate::units::{Dimension, System, write};

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
    /// An unknown came out further from the case than such a number is usually off.
    Unusual {
        /// Its name.
        unknown: String,
        /// The fitted value with its unit.
        value: String,
        /// The value of the case.
        given: String,
        /// Twice the usual band: lowest and highest value.
        usual: [String; 2],
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
    /// The trial moved another doubtful input further than its band explains.
    Pulled {
        /// Its key path.
        input: String,
        /// How far, in standard values of its band.
        moved: f64,
    },
    /// An output is far off and no unknown moves it: it only widens the intervals.
    Unmoved {
        /// The output.
        output: String,
        /// Root mean square of its residuals in units of their uncertainties.
        off: f64,
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
            Finding::Unusual { .. } => "unusual",
            Finding::AtBound { .. } => "at-bound",
            Finding::Pulled { .. } => "pulled",
            Finding::Unmoved { .. } => "unmoved",
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
                "the search did not end at a minimum. Do not use these values. Start nearer with a prior, or fit fewer \
                 unknowns"
            ),
            Finding::Indistinguishable { unknowns: [a, b], correlation, separation } => {
                write!(out, "the data cannot tell {a} and {b} apart: their correlation is {correlation:.3}. ")?;
                match separation {
                    Some(separation) => write!(out, "{separation}. Or fit one of them alone, or give a prior"),
                    None => write!(
                        out,
                        "No single surface, water, mixed or diameter measurement at these settings would. Fit one of them \
                         alone, or give a prior"
                    ),
                }
            }
            Finding::Collinear { unknowns, condition } => write!(
                out,
                "the data cannot tell {} apart from each other (condition number {condition:.0}). Fit fewer of them, or give \
                 priors",
                listed(unknowns, "and")
            ),
            Finding::Untold { unknown, interval } => write!(
                out,
                "the data hardly tell {unknown}: its interval is {interval}. Leave it out, or measure where it acts"
            ),
            Finding::Unusual { unknown, value, given, usual: [low, high] } => write!(
                out,
                "{unknown} came out as {value}, and the case gives {given}. Such a number is seldom off by more than {low} to \
                 {high}. Before you use it, check settings and instruments, and whether another unknown is missing"
            ),
            Finding::AtBound { unknown, perfect: true, .. } => write!(
                out,
                "{unknown} ran to its upper end: the data see no contact resistance. It counts as perfect, without an \
                 interval"
            ),
            Finding::AtBound { unknown, bound, .. } => write!(
                out,
                "{unknown} ran to {bound}, the end of what a case allows. The program holds it there, without an interval. \
                 Something else is probably wrong: an unknown that is missing, a measurement, a setting"
            ),
            Finding::Pulled { input, moved } => write!(
                out,
                "the trial pulls {input} by {:.1} of its standard values, {}. Check it, the settings and the instruments",
                moved.abs(),
                if *moved > 0.0 { "up" } else { "down" }
            ),
            Finding::Unmoved { output, off } => write!(
                out,
                "{output} is off by {off:.1} of its uncertainties and no unknown moves it. It widens the intervals of all. \
                 Mend what makes it in the case (sizes, speeds), fit that, or leave the column out"
            ),
            Finding::OneSided { output, above, count } => write!(
                out,
                "{output}: {above} of {count} measured values are above the computed ones. Look for an offset of the \
                 instrument (emissivity, a wet surface, zero of the gauge) or for an unknown that is missing"
            ),
            Finding::Trend { output, setting, rising, chance } => write!(
                out,
                "{output}: measured less computed {} with {setting} (chance {} % without a cause). A cause that goes with \
                 {setting} is missing from the unknowns",
                if *rising { "rises" } else { "falls" },
                percent(*chance),
            ),
            Finding::Outlier { output, trial, setting, sigmas } => write!(
                out,
                "{output} of trial {} ({setting}) is {} standard deviations off. Check it, and leave it out only for a reason \
                 found on the line",
                trial + 1,
                if sigmas.abs() < 99.0 { format!("{sigmas:.1}") } else { "very many".to_string() },
            ),
            Finding::Scatter { deviation, chance } => write!(
                out,
                "the residuals scatter {deviation:.1} times as much as the stated uncertainties say (chance {} %). The \
                 uncertainties are too small, or the model lacks something",
                percent(*chance),
            ),
            Finding::NoFreedom => write!(
                out,
                "there are as many unknowns as measurements. Nothing judges the fit, and the intervals rest on the stated \
                 uncertainties alone. Measure more"
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
            "Measuring {} within {within} with {} would bring it to {:.2} and their standard errors to {a:.0} % and {b:.0} % \
             of what they are",
            self.output, self.setting, self.correlation
        )
    }
}

fn percent(chance: f64) -> String {
    if chance < 1e-3 { "below 0.1".to_string() } else { format!("{:.1}", 100.0 * chance) }
}
