//! From the minimum to the answer: estimates with their intervals, residuals, what was found.

use std::sync::atomic::Ordering;

use nalgebra::DMatrix;

use super::findings::Finding;
use super::judge;
use super::model::Model;
use super::posterior::Posterior;
use super::profile::Profile;
use super::separate::{Candidates, next};
use super::statistics::{Linear, SELDOM, Spread, chi_square_chance, coverage_factor};
use super::{Bound, Estimate, Fit, FitError, Other, Residual};
use crate::case::CaseFile;
use crate::case::error::Error;
use crate::march::output::{self, Output};
use crate::maths::parallel::each;
use crate::names::variable::Variable;

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
pub(super) fn answer(case: &CaseFile, model: &Model, minimum: &Minimum, spread: Spread) -> Result<Fit, FitError> {
    let Minimum { at, held, before, converged } = minimum;
    let march = |(trial, error): (usize, Error)| FitError::March { trial, error };
    let free: Vec<usize> = (0..at.len()).filter(|&index| held[index].is_none()).collect();
    let computed = model.computed(at).map_err(march)?;
    let chi_square = model.chi_square(at, &computed);
    let rows = model.residuals(at, &computed).len();
    let freedom = rows - free.len();
    // What is measured and what could be: the same solves tell both.
    let mut outputs = model.outputs();
    let further = Candidates::of(&measurable(case));
    outputs.extend(
        further
            .iter()
            .filter(|output| outputs.iter().all(|known| known.name != output.name))
            .cloned()
            .collect::<Vec<_>>(),
    );
    let derivatives = model.derivatives(at, &outputs, &free).map_err(march)?;
    let sensitivities = (!free.is_empty()).then(|| model.weighted(at, &outputs, &derivatives, &free));
    let linear = match &sensitivities {
        Some(sensitivities) => Some(linear(model, sensitivities, &free)?),
        None => None,
    };
    let chi_square_chance = chi_square_chance(chi_square, freedom).filter(|_| freedom > 0);
    // Scatter that chance explains says nothing against the stated uncertainties.
    let seldom = chi_square_chance.is_some_and(|chance| chance < SELDOM);
    let spread = if seldom { spread } else { Spread::Stated };
    let residual_deviation = (freedom > 0).then(|| (chi_square / freedom as f64).sqrt());
    let (scale, factor) = match (spread, residual_deviation) {
        (Spread::Residuals, Some(deviation)) => (deviation, coverage_factor(Some(freedom))),
        _ => (1.0, coverage_factor(None)),
    };

    let count = model.unknowns.len();
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
    let standard_errors: Vec<Option<f64>> = (0..count)
        .map(|index| (held[index].is_none() && !untold(index)).then(|| covariance[index][index].sqrt()))
        .collect();
    let ends: Vec<Option<[f64; 2]>> = match &sensitivities {
        Some(sensitivities) => {
            let profile = Profile::new(model, at, chi_square, &free, sensitivities);
            let told: Vec<(usize, f64)> = (0..count).filter_map(|i| Some((i, standard_errors[i]?))).collect();
            let sides: Vec<(usize, f64, f64)> =
                told.iter().flat_map(|&(i, error)| [(i, -1.0, error), (i, 1.0, error)]).collect();
            let end = |&(index, side, error): &(usize, f64, f64)| {
                let position = place(index).unwrap_or(0);
                model.unknowns[index].value(profile.end(position, side, factor * scale, error / scale))
            };
            let found = each(&sides, end);
            (0..count)
                .map(|i| told.iter().position(|told| told.0 == i).map(|told| [found[2 * told], found[2 * told + 1]]))
                .collect()
        }
        None => vec![None; count],
    };
    let estimate = |index: usize| {
        let unknown = &model.unknowns[index];
        let [low, high] = unknown.bounds;
        Estimate {
            unknown: unknown.name(),
            unit: unknown.variables.first().map_or("1", Variable::units),
            given: unknown.given.is_finite().then_some(unknown.given),
            value: held[index].map_or_else(|| unknown.value(at[index]), |bound| unknown.bounds[bound as usize]),
            standard_error: standard_errors[index],
            interval: ends[index].map(|ends| ends.map(|end| end.clamp(low, high))),
            logarithmic: unknown.logarithmic,
            at_bound: held[index].is_some(),
            prior: unknown.prior,
        }
    };
    let unknowns: Vec<Estimate> = (0..count).map(estimate).collect();
    let other = |(position, drawn): (usize, &crate::study::spread::Drawn)| {
        let index = count + position;
        let variance = place(index).and_then(|i| linear.as_ref().map(|linear| linear.covariance[(i, i)]));
        Other {
            input: drawn.input.clone(),
            basis: drawn.basis.clone(),
            moved: at[index],
            remains: scale * variance.unwrap_or(1.0).sqrt(),
        }
    };
    let others: Vec<Other> = model.others.iter().enumerate().map(other).collect();
    let residuals = residuals(model, &computed, &before.0, linear.as_ref(), scale);
    let scaled = linear.as_ref().map(|linear| scale * scale * &linear.covariance);
    let posterior = Posterior::new(case, model, at, &free, scaled.as_ref());

    let mut findings = Vec::new();
    if !converged {
        findings.push(Finding::NotConverged);
    }
    let mut advice = None;
    if let Some(linear) = &linear {
        let candidates = Candidates::new(further, &outputs, &derivatives);
        findings.extend(judge::alike(model, linear, &free, &candidates));
        advice = next(model, &candidates, linear, &free);
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
    findings.extend(others.iter().filter_map(judge::pulled));
    if let (Some(chance), Some(deviation)) = (chi_square_chance, residual_deviation)
        && chance < SELDOM
    {
        findings.push(Finding::Scatter { deviation, chance });
    }
    Ok(Fit {
        unknowns,
        correlation,
        covariance,
        others,
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
        next: advice,
        posterior,
        findings,
    })
}

/// The outputs of a case, but that nobody cuts a length off before the water.
fn measurable(case: &CaseFile) -> Vec<Output> {
    let water = case.sections.iter().position(|section| section.medium.is_water()).unwrap_or(0);
    let cut = |output: &Output| {
        let station = output.temperature_at().and_then(|station| case.stations.get(station));
        output.name.ends_with(".equalised") && station.is_some_and(|station| case.station_place(station).0 < water)
    };
    output::all(case).into_iter().filter(|output| !cut(output)).collect()
}

/// What the sensitivities say.
fn linear(model: &Model, sensitivities: &DMatrix<f64>, free: &[usize]) -> Result<Linear, FitError> {
    // A step that moves all measurements together by a millionth of their uncertainty is the engine's noise.
    for (column, &index) in free.iter().enumerate() {
        let Some(unknown) = model.unknowns.get(index) else { break };
        // What was known before is no measurement.
        let measured = sensitivities.column(column).rows(0, model.measurements().len()).norm();
        let reach = measured * model.step(index);
        if reach.is_nan() || reach <= 1e-6 {
            return Err(FitError::Insensitive { unknown: unknown.name() });
        }
    }
    Linear::new(sensitivities).ok_or_else(|| FitError::Insensitive { unknown: model.unknowns[0].name() })
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
            unit: measurement.output.units,
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
