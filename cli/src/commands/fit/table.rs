//! The fit as labelled tables of the results file.

use quenchway::case::CaseFile;
use quenchway::march::output::{Output, udunits};
use quenchway::names::key_path::KeyPath;
use quenchway::names::variable::Variable as Number;
use quenchway::study::fit::{Estimate, Fit, Residual};

use crate::store::{Axis, Table, Variable};
use crate::trial::Data;

const UNKNOWN: usize = 0;
const OTHER: usize = 1;
const END: usize = 2;
const TRIAL: usize = 3;
const INPUT: usize = 4;

/// Unknowns with their intervals and correlations; settings, measured and computed values of every trial.
pub(super) fn table(case: &CaseFile, fit: &Fit, data: &Data, cautions: Vec<String>) -> Table {
    let names: Vec<String> = fit.unknowns.iter().map(|estimate| estimate.unknown.clone()).collect();
    let mut axes = vec![
        Axis::names("unknown", "key paths of the unknown", names.clone()),
        Axis::names("other_unknown", "key paths of the unknown", names),
        Axis::names("end", "end of the interval", vec!["low".to_string(), "high".to_string()]),
        Axis::numbers("trial", "1", "number of the trial, in the order of the data", numbers(data.trials.len())),
    ];
    let of_unknowns = |value: &dyn Fn(usize) -> f64| (0..fit.unknowns.len()).map(value).collect::<Vec<f64>>();
    let unknown = |name: &str, words: &str, value: &dyn Fn(usize) -> f64| {
        Variable::numbers(name, "1", words, &[UNKNOWN], of_unknowns(value))
    };
    let none = f64::NAN;
    let units = fit.unknowns.iter().map(|estimate| units(case, &estimate.unknown).to_string()).collect();
    let mut variables = vec![
        Variable::texts(
            "value_units",
            "unit of given, value, interval and standard error of a direct fit",
            UNKNOWN,
            units,
        ),
        unknown("given", "value of the case, in value_units", &|i| fit.unknowns[i].given.unwrap_or(none)),
        unknown("value", "fitted value, in value_units", &|i| fit.unknowns[i].value),
        unknown("standard_error", "standard error, relative where logarithmic, otherwise in value_units", &|i| {
            fit.unknowns[i].standard_error.unwrap_or(none)
        }),
        unknown("logarithmic", "1 where fitted in its logarithm", &|i| f64::from(fit.unknowns[i].logarithmic)),
        unknown("at_bound", "1 where held at the end of what a case allows", &|i| f64::from(fit.unknowns[i].at_bound)),
        Variable::numbers(
            "interval",
            "1",
            "ends of the 95 % confidence interval, in value_units",
            &[UNKNOWN, END],
            fit.unknowns.iter().flat_map(|estimate| estimate.interval.unwrap_or([none, none])).collect(),
        ),
        Variable::numbers(
            "correlation",
            "1",
            "correlation of the estimates",
            &[UNKNOWN, OTHER],
            fit.correlation.concat(),
        ),
        Variable::numbers(
            "covariance",
            "1",
            "covariance of the estimates, in products of value_units; of the natural logarithm where logarithmic",
            &[UNKNOWN, OTHER],
            fit.covariance.concat(),
        ),
        Variable::numbers(
            "data_line",
            "1",
            "line of the data file",
            &[TRIAL],
            data.lines.iter().map(|line| *line as f64).collect(),
        ),
    ];
    if !fit.others.is_empty() {
        let paths = fit.others.iter().map(|other| other.input.clone()).collect();
        axes.push(Axis::names("input", "other doubtful inputs that took part with their bands", paths));
        let of = |value: fn(&quenchway::study::fit::Other) -> f64| fit.others.iter().map(value).collect();
        let moved = "how far the trial moved it, in standard values of its band";
        variables.push(Variable::numbers("moved", "1", moved, &[INPUT], of(|other| other.moved)));
        let remains = "its standard uncertainty after the trial, in standard values of its band";
        variables.push(Variable::numbers("remains", "1", remains, &[INPUT], of(|other| other.remains)));
    }
    variables.extend(fitted(case, fit));
    variables.extend(settings(case, data));
    variables.extend(residuals(case, fit, data.trials.len()));
    let mut numbers = vec![
        ("chi_square".to_string(), fit.chi_square),
        ("chi_square_before".to_string(), fit.chi_square_before),
        ("freedom".to_string(), fit.freedom as f64),
        ("coverage_factor".to_string(), fit.coverage_factor),
        ("condition".to_string(), fit.condition),
        ("converged".to_string(), f64::from(fit.converged)),
    ];
    numbers.extend(fit.residual_deviation.map(|value| ("residual_deviation".to_string(), value)));
    numbers.extend(fit.chi_square_chance.map(|value| ("chi_square_chance".to_string(), value)));
    let findings: Vec<String> = fit.findings.iter().map(|finding| finding.to_string()).collect();
    let spread = format!("{:?}", fit.spread).to_lowercase();
    let texts = vec![
        ("data_csv".to_string(), data.text.clone()),
        ("data_sha256".to_string(), crate::store::sha256(&data.text)),
        ("findings".to_string(), findings.join("\n")),
        ("spread".to_string(), spread),
    ];
    Table { cautions, texts, numbers, axes, variables, ..Table::default() }
}

/// The fitted value of every unknown as a variable of its own, in its own unit.
fn fitted(case: &CaseFile, fit: &Fit) -> Vec<Variable> {
    let of = |estimate: &Estimate| {
        let name = format!("fitted_{}", plain(&estimate.unknown));
        let words = format!("{}, fitted", estimate.unknown);
        Variable::numbers(&name, units(case, &estimate.unknown), &words, &[], vec![estimate.value])
    };
    fit.unknowns.iter().map(of).collect()
}

fn numbers(count: usize) -> Vec<f64> {
    (1..=count).map(|number| number as f64).collect()
}

fn of_number(number: &Number) -> &'static str {
    number.dimension.map_or("1", udunits)
}

/// The unit of the first key path of an unknown.
pub(super) fn units(case: &CaseFile, unknown: &str) -> &'static str {
    let paths = KeyPath::parse_list(unknown);
    paths.first().and_then(|path| path.find_in(case).ok()).map_or("1", |number| of_number(&number))
}

/// One variable for every setting; a trial that does not give it has the case's value.
fn settings(case: &CaseFile, data: &Data) -> Vec<Variable> {
    let mut seen: Vec<&Number> = Vec::new();
    for (number, _) in data.trials.iter().flat_map(|trial| &trial.settings) {
        if seen.iter().all(|known| known.path != number.path) {
            seen.push(number);
        }
    }
    let variable = |number: &Number| {
        let words = format!("setting {}", number.path);
        let values = super::setting(case, data, &number.path);
        Variable::numbers(&format!("setting_{}", plain(&number.path)), of_number(number), &words, &[TRIAL], values)
    };
    seen.into_iter().map(variable).collect()
}

/// Measured, uncertainty, computed, before and standardised for every measured column.
fn residuals(case: &CaseFile, fit: &Fit, trials: usize) -> Vec<Variable> {
    // An output that a trial holds twice has a second set.
    let mut sets: Vec<(String, Vec<Option<&Residual>>)> = Vec::new();
    for residual in &fit.residuals {
        let free = |(name, column): &(String, Vec<Option<&Residual>>)| {
            *name == residual.output && column[residual.trial].is_none()
        };
        let place = sets.iter().position(free).unwrap_or_else(|| {
            sets.push((residual.output.clone(), vec![None; trials]));
            sets.len() - 1
        });
        sets[place].1[residual.trial] = Some(residual);
    }
    let mut variables = Vec::new();
    for (index, (output, column)) in sets.iter().enumerate() {
        let before = sets[..index].iter().filter(|set| set.0 == *output).count();
        let number = if before == 0 { String::new() } else { format!("_{}", before + 1) };
        let units = Output::find(case, output).map_or("1", |output| output.units);
        let difference = if units == "degC" { "K" } else { units };
        let mut add = |what: &str, units: &str, words: &str, value: &dyn Fn(&Residual) -> f64| {
            let values = column.iter().map(|residual| residual.map_or(f64::NAN, value)).collect();
            let name = format!("{}{number}_{what}", plain(output));
            variables.push(Variable::numbers(&name, units, &format!("{output}, {words}"), &[TRIAL], values));
        };
        add("measured", units, "measured", &|r| r.measured);
        add("uncertainty", difference, "standard uncertainty of the measurement", &|r| r.uncertainty);
        add("computed", units, "computed with the fitted values", &|r| r.computed);
        add("before", units, "computed with the case as it was", &|r| r.before);
        add("standardised", "1", "residual over its standard deviation", &|r| r.standardised.unwrap_or(f64::NAN));
    }
    variables
}

/// A name that HDF5 readers take as a variable.
fn plain(name: &str) -> String {
    let kept = name.chars().filter(|c| *c != '"').map(|c| if c.is_ascii_alphanumeric() { c } else { '_' });
    kept.collect()
}
