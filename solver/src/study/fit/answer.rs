//! From the minimum to the answer: estimates with their intervals, residuals, what was found.

use std::sync::atomic::Ordering;

use nalgebra::DMatrix;

use super::findings::Finding;
use super::judge;
use super::model::Model;
use super::separate::Candidates;
use super::statistics::{Linear, Spread, chi_square_chance, coverage_factor};
use super::{Bound, Estimate, Fit, FitError, Residual};
use crate::case::Case;
use crate::error::Error;
use crate::study::output;

/// Where the search ended.
pub(super) struct Minimum {
    /// Coordinates of the unknowns.
    pub at: Vec<f64>,
    /// The bound that an unknown is held at.
    pub held: Vec<Option<Bound>>,
    /// Computed values with the case as it was, and their chi-square.
    pub before: (Vec<f64>, f64),
    /// The search ended at a minimum.
    pub converged: bool,
}

/// The answer at a minimum.
pub(super) fn answer(case: &Case, model: &Model, minimum: &Minimum, spread: Spread) -> Result<Fit, FitError> {
    let Minimum { at, held, before, converged } = minimum;
    let march = |(trial, error): (usize, Error)| FitError::March { trial, error };
    let free: Vec<usize> = (0..at.len()).filter(|&index| held[index].is_none()).collect();
    let computed = model.computed(at).map_err(march)?;
    let chi_square = model.chi_square(at, &computed);
    let rows = model.residuals(at, &computed).len();
    let freedom = rows - free.len();
    let linear = linear(model, at, &free)?;
    let spread = if freedom == 0 { Spread::Stated } else { spread };
    let residual_deviation = (freedom > 0).then(|| (chi_square / freedom as f64).sqrt());
    let (scale, factor) = match (spread, residual_deviation) {
        (Spread::Residuals, Some(deviation)) => (deviation, coverage_factor(Some(freedom))),
        _ => (1.0, coverage_factor(None)),
    };

    let count = at.len();
    let place = |index: usize| free.iter().position(|&free| free == index);
    let of_pair =
        |of: fn(&Linear, usize, usize) -> f64, i: usize, j: usize, held: f64| match (&linear, place(i), place(j)) {
            (Some(linear), Some(i), Some(j)) => of(linear, i, j),
            _ => held,
        };
    let square = |of: &dyn Fn(usize, usize) -> f64| -> Vec<Vec<f64>> {
        (0..count).map(|i| (0..count).map(|j| of(i, j)).collect()).collect()
    };
    let covariance = square(&|i, j| scale * scale * of_pair(|linear, i, j| linear.covariance[(i, j)], i, j, 0.0));
    let correlation =
        square(&|i, j| of_pair(|linear, i, j| linear.correlation[(i, j)], i, j, if i == j { 1.0 } else { 0.0 }));
    let untold = |index: usize| {
        let position = place(index);
        linear.iter().flat_map(|linear| &linear.untold).flatten().any(|&untold| Some(untold) == position)
    };
    let estimate = |index: usize| {
        let unknown = &model.unknowns[index];
        let told = held[index].is_none() && !untold(index);
        let standard_error = told.then(|| covariance[index][index].sqrt());
        let [low, high] = unknown.bounds;
        let end = |side: f64, error: f64| unknown.value(at[index] + side * factor * error).clamp(low, high);
        let ends = standard_error.map(|error| [end(-1.0, error), end(1.0, error)]);
        Estimate {
            unknown: unknown.name(),
            given: unknown.given.is_finite().then_some(unknown.given),
            value: held[index].map_or_else(|| unknown.value(at[index]), |bound| unknown.bounds[bound as usize]),
            standard_error,
            interval: ends.filter(|ends| ends.iter().all(|end| end.is_finite())),
            logarithmic: unknown.logarithmic,
            at_bound: held[index].is_some(),
            prior: unknown.prior,
        }
    };
    let unknowns: Vec<Estimate> = (0..count).map(estimate).collect();
    let residuals = residuals(model, &computed, &before.0, linear.as_ref(), scale);

    let chi_square_chance = chi_square_chance(chi_square, freedom).filter(|_| freedom > 0);
    let mut findings = Vec::new();
    if !converged {
        findings.push(Finding::NotConverged);
    }
    if let Some(linear) = &linear {
        let candidates = || Candidates::new(model, at, &free, output::all(case)).ok();
        findings.extend(judge::alike(model, linear, &free, candidates));
    }
    for (index, estimate) in unknowns.iter().enumerate() {
        match held[index] {
            Some(bound) => findings.push(judge::at_bound(&model.unknowns[index], bound)),
            None => {
                findings.extend(judge::untold(&model.unknowns[index], estimate.interval));
                findings.extend(judge::unusual(case, &model.unknowns[index], estimate.value));
            }
        }
    }
    if freedom == 0 {
        findings.push(Finding::NoFreedom);
    }
    findings.extend(judge::in_residuals(model, &residuals, freedom));
    if let (Some(chance), Some(deviation)) = (chi_square_chance, residual_deviation)
        && chance < 0.05
    {
        findings.push(Finding::Scatter { deviation, chance });
    }
    Ok(Fit {
        unknowns,
        correlation,
        covariance,
        residuals,
        chi_square,
        chi_square_before: before.1,
        freedom,
        chi_square_chance,
        residual_deviation,
        spread,
        coverage_factor: factor,
        condition: linear.as_ref().map_or(1.0, |linear| linear.condition),
        converged: *converged,
        solves: model.solves.load(Ordering::Relaxed),
        findings,
    })
}

/// What the sensitivities to the free unknowns say; none where every unknown is held.
fn linear(model: &Model, at: &[f64], free: &[usize]) -> Result<Option<Linear>, FitError> {
    if free.is_empty() {
        return Ok(None);
    }
    let all = model.jacobian(at).map_err(|(trial, error)| FitError::March { trial, error })?;
    let jacobian = DMatrix::from_fn(all.nrows(), free.len(), |row, column| all[(row, free[column])]);
    // A step that moves all measurements together by a millionth of their uncertainty is the engine's noise.
    for (column, &index) in free.iter().enumerate() {
        let reach = jacobian.column(column).norm() * model.unknowns[index].step();
        if reach.is_nan() || reach <= 1e-6 {
            return Err(FitError::Insensitive { unknown: model.unknowns[index].name() });
        }
    }
    Linear::new(&jacobian).map(Some).ok_or_else(|| FitError::Insensitive { unknown: model.unknowns[free[0]].name() })
}

/// Measured against computed; `scale` is the scatter in units of the stated uncertainties.
fn residuals(model: &Model, computed: &[f64], before: &[f64], linear: Option<&Linear>, scale: f64) -> Vec<Residual> {
    let one = |(index, (trial, measurement)): (usize, (usize, &super::Measurement))| {
        let residual = measurement.value - computed[index];
        let leverage = linear.map_or(0.0, |linear| linear.leverage[index]);
        let deviation = scale * measurement.uncertainty * (1.0 - leverage).sqrt();
        Residual {
            trial,
            output: measurement.output.name.clone(),
            measured: measurement.value,
            uncertainty: measurement.uncertainty,
            computed: computed[index],
            before: before[index],
            residual,
            // The fit goes through a measurement that alone decides an unknown.
            standardised: (leverage < 1.0 - 1e-9 && deviation > 0.0).then(|| residual / deviation),
            leverage,
        }
    };
    model.measurements().into_iter().enumerate().map(one).collect()
}
