//! A fit and all that is told of it: as labelled numbers, and as JSON.

use serde::{Serialize, Serializer};

use super::{Estimate, Fit, Other, Residual, Trial, Unknown};
use crate::case::CaseFile;
use crate::data::{ByName, Column, Data, column, plain};
use crate::names::key_path::KeyPath;
use crate::names::variable::Variable;

/// A fit and what is told of it.
#[derive(Clone, Copy, Debug)]
pub struct Told<'a> {
    /// The case as it was.
    pub case: &'a CaseFile,
    /// The answer.
    pub fit: &'a Fit,
    /// Its unknowns.
    pub unknowns: &'a [Unknown],
    /// What was measured.
    pub trials: &'a [Trial],
    /// The line of the data file that each trial stands in.
    pub lines: &'a [usize],
    /// Rows of a logger that were merged, and how near settings are within one state: K, share; none where each is a trial.
    pub merged: Option<(usize, [f64; 2])>,
    /// Name of each measured column, its uncertainty with its unit, and where that comes from.
    pub uncertainties: &'a [[String; 3]],
    /// Name of the data file.
    pub source: &'a str,
    /// The unknowns were chosen by the program.
    pub chosen: bool,
    /// Why the fit must not be used as it is.
    pub doubtful: Option<&'a str>,
    /// Cautions for the plant floor.
    pub cautions: &'a [String],
}

static ESTIMATE: [Column<Estimate>; 5] = [
    column("given", "1", "value of the case, in value_units", |of| of.given.unwrap_or(f64::NAN)),
    column("value", "1", "fitted value, in value_units", |of| of.value),
    column("standard_error", "1", "standard error, relative where logarithmic, otherwise in value_units", |of| {
        of.standard_error.unwrap_or(f64::NAN)
    }),
    column("logarithmic", "1", "1 where fitted in its logarithm", |of| f64::from(of.logarithmic)),
    column("at_bound", "1", "1 where held at the end of what a case allows", |of| f64::from(of.at_bound)),
];

static OTHER: [Column<Other>; 2] = [
    column("moved", "1", "how far the trial moved it, in standard values of its band", |other| other.moved),
    column("remains", "1", "its standard uncertainty after the trial, in standard values of its band", |other| {
        other.remains
    }),
];

impl Told<'_> {
    /// Unknowns with their intervals and correlations; settings, measured and computed values of every trial.
    pub fn data(&self) -> Data {
        let fit = self.fit;
        let mut data = Data::with_cautions(self.cautions);
        let findings: Vec<String> = fit.findings.iter().map(|finding| finding.to_string()).collect();
        data.text("findings", findings.join("\n"))
            .text("spread", format!("{:?}", fit.spread).to_lowercase())
            .number("chi_square", fit.chi_square)
            .number("chi_square_before", fit.chi_square_before)
            .number("freedom", fit.freedom as f64)
            .number("coverage_factor", fit.coverage_factor)
            .number("condition", fit.condition)
            .number("converged", f64::from(fit.converged))
            .number("residual_deviation", fit.residual_deviation)
            .number("chi_square_chance", fit.chi_square_chance);
        let names = || fit.unknowns.iter().map(|estimate| &estimate.unknown);
        let unknown = data.names("unknown", "key paths of the unknown", names());
        let other = data.names("other_unknown", "key paths of the unknown", names());
        let end = data.names("end", "end of the interval", ["low", "high"]);
        let numbers = (1..=self.trials.len()).map(|number| number as f64).collect();
        let trial = data.scale("trial", "1", "number of the trial, in the order of the data", numbers);

        let units = fit.unknowns.iter().map(|estimate| estimate.unit);
        let words = "unit of given, value, interval and standard error of a direct fit";
        data.texts("value_units", words, unknown, units);
        data.along(unknown, &fit.unknowns, &ESTIMATE);
        let ends = fit.unknowns.iter().flat_map(|estimate| estimate.interval.unwrap_or([f64::NAN; 2])).collect();
        data.numbers("interval", "1", "ends of the 95 % confidence interval, in value_units", &[unknown, end], ends);
        let pairs = [unknown, other];
        data.numbers("correlation", "1", "correlation of the estimates", &pairs, fit.correlation.concat());
        let words =
            "covariance of the estimates, in products of value_units; of the natural logarithm where logarithmic";
        data.numbers("covariance", "1", words, &pairs, fit.covariance.concat());
        let lines = self.lines.iter().map(|line| *line as f64).collect();
        data.numbers("data_line", "1", "line of the data file", &[trial], lines);
        if !fit.others.is_empty() {
            let paths = fit.others.iter().map(|other| &other.input);
            let input = data.names("input", "other doubtful inputs that took part with their bands", paths);
            data.along(input, &fit.others, &OTHER);
        }
        // Every unknown once more as a variable of its own, in its own unit.
        for estimate in &fit.unknowns {
            let (name, words) =
                (format!("fitted_{}", plain(&estimate.unknown)), format!("{}, fitted", estimate.unknown));
            data.numbers(&name, estimate.unit, &words, &[], vec![estimate.value]);
        }
        self.settings(&mut data, trial);
        self.residuals(&mut data, trial);
        data
    }

    /// One variable for every setting; a trial that does not give it has the case's value.
    fn settings(&self, data: &mut Data, axis: usize) {
        let mut seen: Vec<&Variable> = Vec::new();
        for (number, _) in self.trials.iter().flat_map(|trial| &trial.settings) {
            if seen.iter().all(|known| known.path != number.path) {
                seen.push(number);
            }
        }
        for number in seen {
            let values = self.setting(&number.path);
            let (name, words) = (format!("setting_{}", plain(&number.path)), format!("setting {}", number.path));
            data.numbers(&name, number.units(), &words, &[axis], values);
        }
    }

    /// What the trials have for a number of the case.
    fn setting(&self, path: &str) -> Vec<f64> {
        let of_case = || KeyPath::find(self.case, path).map_or(f64::NAN, |variable| variable.get(self.case));
        let of_trial = |trial: &Trial| {
            trial.settings.iter().find(|(variable, _)| variable.path == path).map_or_else(of_case, |(_, value)| *value)
        };
        self.trials.iter().map(of_trial).collect()
    }

    /// Measured, uncertainty, computed, before and standardised for every measured column.
    fn residuals(&self, data: &mut Data, trial: usize) {
        // An output that a trial holds twice has a second set.
        let mut sets: Vec<(String, Vec<Option<&Residual>>)> = Vec::new();
        for residual in &self.fit.residuals {
            let free = |(name, column): &(String, Vec<Option<&Residual>>)| {
                *name == residual.output && column[residual.trial].is_none()
            };
            let place = sets.iter().position(free).unwrap_or_else(|| {
                sets.push((residual.output.clone(), vec![None; self.trials.len()]));
                sets.len() - 1
            });
            sets[place].1[residual.trial] = Some(residual);
        }
        for (index, (output, column)) in sets.iter().enumerate() {
            let before = sets[..index].iter().filter(|set| set.0 == *output).count();
            let number = if before == 0 { String::new() } else { format!("_{}", before + 1) };
            let units = column.iter().flatten().next().map_or("1", |residual| residual.unit);
            let difference = if units == "degC" { "K" } else { units };
            let mut add = |what: &str, units: &str, words: &str, value: fn(&Residual) -> f64| {
                let values = column.iter().map(|residual| residual.map_or(f64::NAN, value)).collect();
                let name = format!("{}{number}_{what}", plain(output));
                data.numbers(&name, units, &format!("{output}, {words}"), &[trial], values);
            };
            add("measured", units, "measured", |r| r.measured);
            add("uncertainty", difference, "standard uncertainty of the measurement", |r| r.uncertainty);
            add("computed", units, "computed with the fitted values", |r| r.computed);
            add("before", units, "computed with the case as it was", |r| r.before);
            add("standardised", "1", "residual over its standard deviation", |r| r.standardised.unwrap_or(f64::NAN));
        }
    }
}

/// The fit, the trials with their settings in SI.
#[derive(Serialize)]
struct Whole<'a> {
    #[serde(flatten)]
    fit: &'a Fit,
    trials: Vec<Set<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    merged: Option<Merged>,
    cautions: &'a [String],
}

#[derive(Serialize)]
struct Set<'a> {
    line: usize,
    settings: ByName<&'a str, f64>,
}

#[derive(Serialize)]
struct Merged {
    rows: usize,
    #[serde(rename = "near_K")]
    near: f64,
    near_share: f64,
}

impl<'a> Set<'a> {
    fn of((trial, &line): (&'a Trial, &usize)) -> Set<'a> {
        Set { line, settings: trial.settings.iter().map(|(number, value)| (number.path.as_str(), *value)).collect() }
    }
}

impl Serialize for Told<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let whole = Whole {
            fit: self.fit,
            trials: self.trials.iter().zip(self.lines).map(Set::of).collect(),
            merged: self.merged.map(|(rows, [near, near_share])| Merged { rows, near, near_share }),
            cautions: self.cautions,
        };
        whole.serialize(serializer)
    }
}
