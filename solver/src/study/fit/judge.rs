//! Judging a fit: unknowns that are alike, untold, unusual or at a bound; residuals that stand out.

use super::findings::Finding;
use super::model::Model;
use super::separate::Candidates;
use super::statistics::{Linear, sign_chance, trend_chance, two_sided, without_itself};
use super::{Bound, Other, Residual, Unknown};
use crate::case::{CaseFile, Varied};
use crate::names::key_path::KeyPath;
use crate::study::band::usual::{self, Input, inputs};
use crate::units::System;

/// Correlation above which two unknowns count as not told apart.
const CORRELATED: f64 = 0.95;

/// Leverage below which the unknowns do not move a measurement.
const UNMOVED: f64 = 1e-3;

/// Standard values beyond which an input is pulled too far.
const PULLED: f64 = 3.0;

/// Chance below which a trend, a one-sidedness or an outlier is spoken of.
const CHANCE: f64 = 0.01;

/// Pairs that are not told apart, each with the measurement that would help; then groups that no pair accounts for.
pub(super) fn alike(model: &Model, linear: &Linear, free: &[usize], candidates: &Candidates) -> Vec<Finding> {
    // The unknowns come first; other inputs have their bands.
    let fitted = free.iter().filter(|&&index| index < model.unknowns.len()).count();
    let name = |index: usize| model.unknowns[free[index]].name();
    let mut found = Vec::new();
    let mut paired: Vec<usize> = Vec::new();
    for a in 0..fitted {
        for b in a + 1..fitted {
            let correlation = linear.correlation[(a, b)];
            if correlation.abs() > CORRELATED {
                paired.extend([a, b]);
                let separation = candidates.best(model, linear, [a, b]);
                found.push(Finding::Indistinguishable { unknowns: [name(a), name(b)], correlation, separation });
            }
        }
    }
    for group in linear.untold.iter().chain(&linear.collinear) {
        let group: Vec<usize> = group.iter().copied().filter(|&index| index < fitted).collect();
        let told = group.iter().all(|index| paired.contains(index));
        if group.len() > 1 && !told {
            paired.extend(&group);
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
    let shown = |value: f64| unknown.show(four(value), System::Si);
    let interval =
        interval.map_or("without end".to_string(), |[low, high]| format!("{} to {}", shown(low), shown(high)));
    wide.then(|| Finding::Untold { unknown: unknown.name(), interval })
}

/// An unknown further from the case than twice its usual band, where it has one.
pub(super) fn unusual(case: &CaseFile, unknown: &Unknown, value: f64) -> Option<Finding> {
    let given = unknown.given;
    let path = unknown.paths().first().and_then(|path| KeyPath::parse(path).ok())?;
    let same = usual::alike(case, &path.to_string());
    let of = |input: &Input| KeyPath::parse_list(&input.band.input).iter().any(|path| same.contains(&path.to_string()));
    let input = inputs(case).into_iter().find(of)?;
    let unsure = same.iter().find_map(|path| input.unsure(path));
    let band = input.band;
    let ends = [band.low_end, band.high_end];
    let usual = match band.varied {
        Varied::Kelvin => ends.map(|end| given + 2.0 * end),
        Varied::Factor => ends.map(|end| given * end * end),
        Varied::Lean => [-2.0, 2.0].map(|ends| given * libm::exp(ends * unsure.unwrap_or(0.0))),
        Varied::Conductance | Varied::Mode => return None,
    };
    let show = |value: f64| unknown.show(value, System::Si);
    (given.is_finite() && !(usual[0]..=usual[1]).contains(&value)).then(|| Finding::Unusual {
        unknown: unknown.name(),
        value: show(four(value)),
        given: show(given),
        usual: usual.map(|end| show(four(end))),
    })
}

/// To four digits.
fn four(value: f64) -> f64 {
    format!("{value:.3e}").parse().unwrap_or(value)
}

/// An input that the trial moved further than its band explains.
pub(super) fn pulled(other: &Other) -> Option<Finding> {
    (other.moved.abs() > PULLED).then(|| Finding::Pulled { input: other.input.clone(), moved: other.moved })
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
        let square =
            of_output.iter().map(|r| libm::pow(r.residual / r.uncertainty, 2.0)).sum::<f64>() / of_output.len() as f64;
        if square > 9.0 && of_output.iter().all(|residual| residual.leverage < UNMOVED) {
            found.push(Finding::Unmoved { output: output.to_string(), off: square.sqrt() });
            continue;
        }
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
