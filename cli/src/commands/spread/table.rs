//! The results file of a spread: every sample with its inputs and outputs, and what is said of them.

use quenchway::study::spread::{Index, LimitChance, Plan, SHARES, Spread};
use quenchway::units::Dimension;

use crate::store::{Axis, Table, Variable};

const SAMPLE: usize = 0;
const INPUT: usize = 1;
const PERCENTILE: usize = 2;
const LIMIT: usize = 3;
const CHANCE: usize = 4;
const TARGET: usize = 5;

/// The answer as a results file.
pub(super) fn table(spread: &Spread, plan: &Plan, vary: Option<String>, cautions: Vec<String>) -> Table {
    let lengths = spread.lengths.as_ref().map(|lengths| lengths.at.as_slice()).unwrap_or_default();
    let numbered: Vec<f64> = (0..spread.samples.len()).map(|index| index as f64).collect();
    let targets: Vec<String> = spread.indices.iter().map(|(output, _)| spread.outputs[*output].name.clone()).collect();
    let axes = vec![
        Axis::numbers("sample", "1", "number of the sample", numbered),
        Axis::names("input", "what varies, by key path", names(spread.inputs.iter().map(|input| &input.input))),
        Axis::numbers("percentile", "1", "share of the samples below", SHARES.to_vec()),
        Axis::names("limit", "what has a limit", names(spread.limits.iter().map(|limit| &limit.ceiling.name))),
        Axis::numbers("chance", "1", "chance of meeting all limits", lengths.iter().map(|at| at.chance).collect()),
        Axis::names("target", "output whose variance is shared out", targets),
    ];
    let mut variables = samples(spread);
    variables.extend(summaries(spread));
    if !spread.limits.is_empty() {
        variables.extend(limits(spread));
    }
    if !lengths.is_empty() {
        let of = |name: &str, words: &str, value: &dyn Fn(usize) -> f64| {
            Variable::numbers(name, "m", words, &[CHANCE], (0..lengths.len()).map(value).collect())
        };
        variables.push(of("length_at_chance", "trough that meets all limits with the chance; infinite: none", &|i| {
            lengths[i].length
        }));
        variables.push(of("length_at_chance_low", "low end of its 95 % interval", &|i| lengths[i].interval[0]));
        variables.push(of("length_at_chance_high", "high end of its 95 % interval", &|i| lengths[i].interval[1]));
    }
    if !spread.indices.is_empty() {
        variables.extend(indices(spread));
    }
    let mut numbers = vec![
        ("seed".to_string(), plan.seed as f64),
        ("checked_samples".to_string(), spread.checked.samples as f64),
        ("checked_largest_K".to_string(), spread.checked.largest),
        ("solves".to_string(), spread.solves as f64),
    ];
    if let Some(all) = spread.all {
        numbers.push(("all_limits_probability".to_string(), all.probability));
        numbers.push(("all_limits_probability_low".to_string(), all.interval[0]));
        numbers.push(("all_limits_probability_high".to_string(), all.interval[1]));
    }
    let mut texts = vec![
        ("method".to_string(), plan.method.name().to_string()),
        ("varies".to_string(), if spread.usual { "usual bands" } else { "[vary]" }.to_string()),
    ];
    texts.extend(vary.map(|text| ("vary_toml".to_string(), text)));
    texts.extend(spread.lengths.as_ref().err().map(|reason| ("no_length".to_string(), reason.to_string())));
    // A dimension without anything along it says nothing.
    let empty = |axis: usize| !variables.iter().any(|variable| variable.axes.contains(&axis));
    let kept: Vec<usize> = (0..axes.len()).filter(|&axis| axis <= INPUT || !empty(axis)).collect();
    for variable in &mut variables {
        for axis in &mut variable.axes {
            *axis = kept.iter().position(|kept| kept == axis).unwrap_or(*axis);
        }
    }
    let axes = axes.into_iter().enumerate().filter(|(axis, _)| kept.contains(axis)).map(|(_, axis)| axis).collect();
    Table { cautions, texts, numbers, axes, variables, ..Table::default() }
}

fn names<'a>(names: impl Iterator<Item = &'a String>) -> Vec<String> {
    names.cloned().collect()
}

/// Inputs, outputs, needed trough and status of every sample.
fn samples(spread: &Spread) -> Vec<Variable> {
    let samples = &spread.samples;
    let mut variables = Vec::new();
    for (place, input) in spread.inputs.iter().enumerate() {
        let words = format!("drawn for {}: {}", input.input, serde_word(&input.measures));
        let values = samples.iter().map(|sample| sample.drawn[place]).collect();
        variables.push(Variable::numbers(
            &format!("vary_{}", plain(&input.input)),
            input.units(),
            &words,
            &[SAMPLE],
            values,
        ));
    }
    for (place, output) in spread.outputs.iter().enumerate() {
        let values = samples.iter().map(|sample| sample.outputs.as_ref().map_or(f64::NAN, |outputs| outputs[place]));
        variables.push(Variable::numbers(
            &plain(&output.name),
            output.units,
            &output.describes,
            &[SAMPLE],
            values.collect(),
        ));
    }
    if spread.lengths.is_ok() {
        let words = "trough that the sample needs; infinite: none meets the limits";
        let values = samples.iter().map(|sample| sample.length).collect();
        variables.push(Variable::numbers("needed_length", "m", words, &[SAMPLE], values));
    }
    let failed = samples.iter().map(|sample| f64::from(u8::from(sample.outputs.is_err()))).collect();
    variables.push(Variable::numbers("status", "1", "0: good, 1: no answer", &[SAMPLE], failed));
    if !spread.failures.is_empty() {
        let reasons = samples.iter().map(|sample| sample.outputs.as_ref().err().cloned().unwrap_or_default());
        variables.push(Variable::texts("status_reason", "why the sample has no answer", SAMPLE, reasons.collect()));
    }
    let of_inputs = |of: &dyn Fn(&quenchway::study::spread::Drawn) -> String| spread.inputs.iter().map(of).collect();
    let distribution =
        |input: &quenchway::study::spread::Drawn| serde_json::to_string(&input.distribution).unwrap_or_default();
    variables.push(Variable::texts("distribution", "distribution of the input, SI", INPUT, of_inputs(&distribution)));
    variables.push(Variable::texts("basis", "where it comes from", INPUT, of_inputs(&|input| input.basis.clone())));
    variables
}

/// Of every output its percentiles, mean and standard deviation, each in the output's unit.
fn summaries(spread: &Spread) -> Vec<Variable> {
    let mut variables = Vec::new();
    for (output, summary) in spread.outputs.iter().zip(&spread.summaries) {
        let name = |what: &str| format!("{}_{what}", plain(&output.name));
        let words = |what: &str| format!("{}, {what} of the samples", output.describes);
        let difference = if output.units == "degC" { "K" } else { output.units };
        let percentiles = summary.percentiles.to_vec();
        let words_of_shares = words("percentiles");
        variables.push(Variable::numbers(
            &name("percentiles"),
            output.units,
            &words_of_shares,
            &[PERCENTILE],
            percentiles,
        ));
        variables.push(Variable::numbers(&name("mean"), output.units, &words("mean"), &[], vec![summary.mean]));
        let deviation = vec![summary.deviation];
        let words = words("standard deviation");
        variables.push(Variable::numbers(&name("standard_deviation"), difference, &words, &[], deviation));
    }
    variables
}

fn limits(spread: &Spread) -> Vec<Variable> {
    let of = |name: &str, units: &str, words: &str, value: fn(&LimitChance) -> f64| {
        Variable::numbers(name, units, words, &[LIMIT], spread.limits.iter().map(value).collect())
    };
    fn of_kind(limit: &LimitChance, kind: Dimension) -> f64 {
        if limit.ceiling.dimension() == kind { limit.ceiling.max } else { f64::NAN }
    }
    let mut variables = vec![
        of("limit_temperature", "degC", "the limit", |limit| of_kind(limit, Dimension::Temperature)),
        of("probability", "1", "probability that it is met", |limit| limit.chance.probability),
        of("probability_low", "1", "low end of its 95 % interval", |limit| limit.chance.interval[0]),
        of("probability_high", "1", "high end of its 95 % interval", |limit| limit.chance.interval[1]),
    ];
    if spread.limits.iter().any(|limit| limit.ceiling.dimension() == Dimension::Share) {
        variables.push(of("limit_melt_shrink", "percent", "the limit", |limit| of_kind(limit, Dimension::Share)));
    }
    variables
}

fn indices(spread: &Spread) -> Vec<Variable> {
    let of = |name: &str, words: &str, value: fn(&Index) -> f64| {
        let values = spread.indices.iter().flat_map(|(_, indices)| indices.iter().map(value)).collect();
        Variable::numbers(name, "1", words, &[TARGET, INPUT], values)
    };
    vec![
        of("first_order", "first-order Sobol index", |index| index.first),
        of("first_order_low", "low end of its 95 % interval", |index| index.first_interval[0]),
        of("first_order_high", "high end of its 95 % interval", |index| index.first_interval[1]),
        of("total_order", "total-order Sobol index", |index| index.total),
        of("total_order_low", "low end of its 95 % interval", |index| index.total_interval[0]),
        of("total_order_high", "high end of its 95 % interval", |index| index.total_interval[1]),
    ]
}

/// The word that a value is written with in JSON.
fn serde_word(value: &impl serde::Serialize) -> String {
    serde_json::to_value(value).ok().and_then(|value| value.as_str().map(str::to_string)).unwrap_or_default()
}

/// A name that HDF5 readers take as a variable.
fn plain(name: &str) -> String {
    let kept = name.chars().filter(|c| *c != '"').map(|c| if c.is_ascii_alphanumeric() { c } else { '_' });
    kept.collect()
}
