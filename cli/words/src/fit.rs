//! The report of a fit: the answer first, then the unknowns, how well they agree with the data and what must be thought of.

use quenchway::march::output::Output;
use quenchway::study::fit::{Estimate, Finding, Next, Residual, Spread, Told, Unknown};
use quenchway::units::{Dimension, System, show, write};

use super::blocks::{Block, Grid, Mark, Part, Report, Tone};
use super::clean;
use crate::shown::Shown;

/// Most measurements that are listed one by one.
const MOST_ROWS: usize = 40;

/// A value of an unknown with its unit: three digits of a number fitted in its logarithm, tenths of a degree.
pub fn value(unknown: &Unknown, value: f64, system: System) -> String {
    let perfect = unknown.variables.iter().all(|variable| variable.path.ends_with(".contact"));
    // Through its logarithm and back the bound is not met to the last digit.
    if perfect && value >= unknown.bounds[1] * (1.0 - 1e-9) {
        return "perfect".to_string();
    }
    match unknown.variables.first() {
        Some(variable) if variable.is_temperature() => Shown { system }.with_unit(value, Dimension::Temperature),
        Some(variable) => {
            let dimension = variable.dimension;
            let (number, unit) = dimension.map_or((value, ""), |dimension| show(value, dimension, system));
            let rounded: f64 = format!("{number:.2e}").parse().unwrap_or(number);
            if value.is_finite() {
                format!("{rounded} {unit}").trim_end().to_string()
            } else {
                variable.show(value, system)
            }
        }
        None => String::new(),
    }
}

/// An interval of an unknown, its unit once.
pub fn interval(unknown: &Unknown, [low, high]: [f64; 2], system: System) -> String {
    let [low, high] = [low, high].map(|end| value(unknown, end, system));
    match (low.split_once(' '), high.split_once(' ')) {
        (Some((number, a)), Some((_, b))) if a == b => format!("{number} to {high}"),
        _ => format!("{low} to {high}"),
    }
}

/// A standard error in words: percent of a number that is fitted in its logarithm, otherwise with its unit.
fn error(unknown: &Unknown, estimate: &Estimate, shown: Shown) -> String {
    let Some(error) = estimate.standard_error else { return "-".to_string() };
    let temperature = unknown.variables.first().is_some_and(|variable| variable.is_temperature());
    match (estimate.logarithmic, temperature) {
        (true, _) => format!("{:.2} %", 100.0 * error).replacen(".00 %", " %", 1),
        (false, true) => shown.with_unit(error, Dimension::TemperatureDifference),
        (false, false) => value(unknown, error, shown.system),
    }
}

/// Everything that is told.
pub fn report(told: &Told<'_>, shown: Shown) -> Report {
    Words(told).report(shown)
}

struct Words<'a>(&'a Told<'a>);

impl Words<'_> {
    fn report(&self, shown: Shown) -> Report {
        let mut measured = self.outputs(shown);
        measured.extend(self.rows(shown));
        let parts = vec![
            Part::new("Verdict", self.answer(shown)),
            Part::new("Unknowns", vec![Block::Table(self.estimates(shown))]),
            Part::new("Correlation", self.correlations()),
            Part::new("Other doubtful inputs", self.others()),
            Part::new("Agreement", vec![self.agreement()]),
            Part::new("Measured and computed", measured),
            Part::new("Uncertainty of the measurements", self.uncertainties()),
            Part::new("Findings", self.findings()),
            Part::new("Cautions", self.0.cautions.iter().map(|caution| Block::words(Mark::Item, caution)).collect()),
        ];
        Report::new(&self.0.case.title, self.about(shown), parts).bare()
    }

    fn about(&self, shown: Shown) -> String {
        let (fit, trials) = (self.0.fit, self.0.trials.len());
        let mut about = format!(
            "{} measurements of {trials} trials in {}; {} fitted.",
            fit.residuals.len(),
            clean(self.0.source),
            if fit.unknowns.len() == 1 { "1 unknown".to_string() } else { format!("{} unknowns", fit.unknowns.len()) },
        );
        if self.0.chosen {
            about += " The program chose what to fit: the film factors of the water sections, those under one law together, \
                      and contacts given by a conductance. Choose others with --unknown.";
        }
        if let Some((rows, [kelvin, share])) = self.0.merged {
            about += &format!(
                " The program merged the {rows} rows of the file. One trial is the mean of the rows of one steady state, with \
                 settings within {} and {} %. A mean keeps the uncertainty of one reading.",
                write(kelvin, Dimension::TemperatureDifference, shown.system),
                100.0 * share,
            );
        }
        about
    }

    /// Which numbers, how sure, whether the model fits the trial, and what to measure next.
    fn answer(&self, shown: Shown) -> Vec<Block> {
        let mut blocks = Vec::new();
        if let Some(reason) = self.0.doubtful {
            let words = format!("DOUBTFUL: {}. Do not use these values.", clean(reason));
            blocks.push(Block::stressed(Mark::None, words, Tone::Bad, "DOUBTFUL"));
        }
        for (unknown, estimate) in self.0.unknowns.iter().zip(&self.0.fit.unknowns) {
            let fitted = value(unknown, estimate.value, shown.system);
            let sure = match (estimate.interval, estimate.at_bound) {
                (Some(ends), _) => {
                    format!(
                        "with 95 % confidence between {}",
                        interval(unknown, ends, shown.system).replace(" to ", " and ")
                    )
                }
                (None, true) => "the end of what a case allows, without an interval".to_string(),
                (None, false) => "the data do not tell how sure".to_string(),
            };
            let words = format!("{} is {fitted}, {sure}.", clean(&estimate.unknown));
            blocks.push(Block::stressed(Mark::None, words, Tone::Answer, &fitted));
        }
        blocks.extend([self.verdict(), self.next(shown.system)].map(|words| Block::words(Mark::None, words)));
        blocks
    }

    /// Whether the model fits the trial.
    fn verdict(&self) -> String {
        let fit = self.0.fit;
        let (Some(deviation), Some(chance)) = (fit.residual_deviation, fit.chi_square_chance) else {
            return "Nothing judges the fit: there are as many unknowns as measurements.".to_string();
        };
        let percent = if chance < 1e-3 { "below 0.1".to_string() } else { format!("{:.1}", 100.0 * chance) };
        match chance {
            chance if chance < 0.05 => format!(
                "The model does not fit the trial as well as the uncertainties say: the readings scatter {deviation:.1} times \
                 as much (chance {percent} %)."
            ),
            _ => format!(
                "The model fits the trial: the readings scatter {deviation:.2} times as much as their uncertainties say. \
                 (Chi-square is {:.1} for {} degrees of freedom, the chance of more {percent} %.)",
                fit.chi_square, fit.freedom
            ),
        }
    }

    /// What to measure next.
    fn next(&self, system: System) -> String {
        let Some(Next { what, uncertainty, trial, shares }) = &self.0.fit.next else {
            return "Measure next: no single reading at these settings would make the numbers much surer.".to_string();
        };
        let mut words = format!("Measure next: {}", clean(what));
        if let (Some(uncertainty), Some(dimension)) = (uncertainty, self.dimension(what)) {
            let of = match dimension {
                Dimension::Temperature => Dimension::TemperatureDifference,
                other => other,
            };
            words += &format!(" within {}", write(*uncertainty, of, system));
        }
        if let Some(trial) = trial.and_then(|trial| self.0.trials.get(trial)) {
            words += &format!(", with {}", clean(&trial.describe(system)));
        }
        let share = |(estimate, share): (&Estimate, &Option<f64>)| {
            share.map(|share| format!("{} to {:.0} %", clean(&estimate.unknown), 100.0 * share))
        };
        let shares: Vec<String> = self.0.fit.unknowns.iter().zip(shares).filter_map(share).collect();
        format!("{words}. It would bring the standard error of {} of what it is.", shares.join(", that of "))
    }

    /// What the trial says of the inputs that are not fitted.
    fn others(&self) -> Vec<Block> {
        let mut told: Vec<&quenchway::study::fit::Other> = self.0.fit.others.iter().collect();
        let is_told = |other: &&quenchway::study::fit::Other| other.moved.abs() > 0.1 || other.remains < 0.95;
        let count = told.len();
        told.retain(is_told);
        if count == 0 {
            return Vec::new();
        }
        let mut rows = Grid::new(["input", "moved by", "left unsure"].map(String::from).to_vec());
        for other in &told {
            let moved = format!("{:+.1} of its band", other.moved);
            rows.row(vec![clean(&other.input), moved, format!("{:.0} % of its band", 100.0 * other.remains)]);
        }
        let quiet = match count - told.len() {
            0 => String::new(),
            1 => " One other took part and the trial hardly touches it.".to_string(),
            more => format!(" {more} others took part and the trial hardly touches them."),
        };
        let words = format!("Each took part with its band (one standard value) as what was known before.{quiet}");
        vec![Block::Table(rows), Block::words(Mark::Indent, words)]
    }

    fn estimates(&self, shown: Shown) -> Grid {
        let header = ["unknown", "in the case", "fitted", "95 % interval", "standard error", "known before"];
        let with_prior = self.0.fit.unknowns.iter().any(|estimate| estimate.prior.is_some());
        let count = if with_prior { 6 } else { 5 };
        let mut rows = Grid::new(header[..count].iter().map(|head| head.to_string()).collect());
        for (unknown, estimate) in self.0.unknowns.iter().zip(&self.0.fit.unknowns) {
            let show = |number: f64| value(unknown, number, shown.system);
            let interval = match (estimate.interval, estimate.at_bound) {
                (Some(ends), _) => interval(unknown, ends, shown.system),
                (None, true) => "at its bound".to_string(),
                (None, false) => "not told".to_string(),
            };
            let fitted = show(estimate.value);
            let error = error(unknown, estimate, shown);
            let prior = estimate.prior.map_or("-".to_string(), |[value, uncertainty]| {
                if estimate.logarithmic {
                    let factor = (uncertainty / value).exp();
                    return format!("{}, times or over {factor:.2}", show(value));
                }
                let with = Estimate { standard_error: Some(uncertainty), ..estimate.clone() };
                format!("{} ± {}", show(value), self::error(unknown, &with, shown))
            });
            let row = [clean(&estimate.unknown), show(unknown.given), fitted, interval, error, prior];
            rows.row(row[..count].to_vec());
        }
        rows
    }

    fn correlations(&self) -> Vec<Block> {
        let count = self.0.fit.unknowns.len();
        if count < 2 {
            return Vec::new();
        }
        let mut header = vec!["unknown".to_string()];
        header.extend((1..=count).map(|number| format!("({number})")));
        let mut rows = Grid::new(header);
        for (index, estimate) in self.0.fit.unknowns.iter().enumerate() {
            let mut row = vec![format!("({}) {}", index + 1, clean(&estimate.unknown))];
            row.extend(self.0.fit.correlation[index].iter().map(|value| format!("{value:.2}")));
            rows.row(row);
        }
        vec![Block::Table(rows)]
    }

    fn agreement(&self) -> Block {
        let fit = self.0.fit;
        let mut words = format!(
            "The sum of squares over the stated uncertainties is {:.3} ({:.3} with the case as it was), with {} degrees of \
             freedom.",
            fit.chi_square, fit.chi_square_before, fit.freedom
        );
        if let (Some(deviation), Some(chance)) = (fit.residual_deviation, fit.chi_square_chance) {
            words += &format!(
                " The residuals scatter {deviation:.2} times as much as stated. If the uncertainties are right and the model \
                 is true, a larger sum comes with a chance of {:.0} %.",
                100.0 * chance
            );
        }
        words += &match fit.spread {
            Spread::Residuals => format!(
                " Intervals: the scatter, which is larger than chance allows, Student's t {:.2} for {} degrees of freedom.",
                fit.coverage_factor, fit.freedom
            ),
            Spread::Stated => format!(" Intervals: the uncertainties as stated, times {:.2}.", fit.coverage_factor),
        };
        words += &format!(" Condition number {:.1}; {} solves.", fit.condition, fit.solves);
        Block::words(Mark::Indent, words)
    }

    /// One line for every measured output: how far it is off before and after.
    fn outputs(&self, shown: Shown) -> Vec<Block> {
        let header = ["output", "measured", "off before", "off after", "scatter", "unit"];
        let mut rows = Grid::new(header.iter().map(|head| head.to_string()).collect());
        let mut names: Vec<&str> = Vec::new();
        for residual in &self.0.fit.residuals {
            if !names.contains(&residual.output.as_str()) {
                names.push(&residual.output);
            }
        }
        for name in names {
            let own: Vec<&Residual> = self.0.fit.residuals.iter().filter(|residual| residual.output == name).collect();
            let count = own.len() as f64;
            let mean = |of: &dyn Fn(&Residual) -> f64| own.iter().map(|residual| of(residual)).sum::<f64>() / count;
            let dimension = self.dimension(name);
            let show = |value: f64| self.difference(value, dimension, shown);
            let scatter = mean(&|r| r.residual * r.residual).sqrt();
            let row = [
                clean(name),
                format!("{} times", own.len()),
                show(mean(&|r| r.measured - r.before)),
                show(mean(&|r| r.residual)),
                show(scatter),
                difference_unit(dimension, shown),
            ];
            rows.row(row.to_vec());
        }
        let words = "Off: mean of measured less computed. Scatter: root mean square of it after the fit.";
        vec![Block::Table(rows), Block::words(Mark::Indent, words)]
    }

    /// Every measurement, where there are not too many.
    fn rows(&self, shown: Shown) -> Vec<Block> {
        if self.0.fit.residuals.len() > MOST_ROWS {
            let words =
                format!("{} measurements are not listed here; --json and --out hold them.", self.0.fit.residuals.len());
            return vec![Block::words(Mark::Indent, words)];
        }
        let header = ["output", "trial", "line", "measured", "computed", "unit", "residual / its deviation"];
        let mut rows = Grid::new(header.iter().map(|head| head.to_string()).collect());
        for residual in &self.0.fit.residuals {
            let dimension = self.dimension(&residual.output);
            let number =
                |value: f64| dimension.map_or(format!("{value:.3}"), |dimension| shown.number(value, dimension));
            let row = [
                clean(&residual.output),
                (residual.trial + 1).to_string(),
                self.0.lines.get(residual.trial).map_or(String::new(), usize::to_string),
                number(residual.measured),
                number(residual.computed),
                dimension.map_or("%".to_string(), |dimension| shown.unit(dimension).to_string()),
                residual.standardised.map_or("-".to_string(), |value| format!("{value:+.1}")),
            ];
            rows.row(row.to_vec());
        }
        vec![Block::Gap, Block::Table(rows)]
    }

    fn uncertainties(&self) -> Vec<Block> {
        let one = |[name, value, basis]: &[String; 3]| format!("{}: {value}, {basis}", clean(name));
        self.0.uncertainties.iter().map(|one_of| Block::words(Mark::Item, one(one_of))).collect()
    }

    fn findings(&self) -> Vec<Block> {
        if self.0.fit.findings.is_empty() {
            let nothing = "Nothing stands out: the data tell the unknowns apart, no residual is far off, none goes with a setting.";
            return vec![Block::words(Mark::Indent, nothing)];
        }
        let one = |finding: &Finding| Block::words(Mark::Warning, clean(&finding.to_string()));
        self.0.fit.findings.iter().map(one).collect()
    }

    fn dimension(&self, output: &str) -> Option<Dimension> {
        Output::find(self.0.case, output).ok().and_then(|output| output.dimension)
    }

    /// A difference of two values of an output.
    fn difference(&self, value: f64, dimension: Option<Dimension>, shown: Shown) -> String {
        match dimension {
            Some(Dimension::Temperature) => shown.number(value, Dimension::TemperatureDifference),
            Some(dimension) => shown.number(value, dimension),
            None => format!("{value:.3}"),
        }
    }
}

fn difference_unit(dimension: Option<Dimension>, shown: Shown) -> String {
    match dimension {
        Some(Dimension::Temperature) => shown.unit(Dimension::TemperatureDifference).to_string(),
        Some(dimension) => shown.unit(dimension).to_string(),
        None => "%".to_string(),
    }
}
