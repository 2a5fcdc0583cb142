//! Which further measurement would tell two unknowns apart, or make all surer: every output that can be measured, at every
//! setting tried.

use nalgebra::DVector;
use serde::Serialize;

use super::findings::Separation;
use super::model::Model;
use super::statistics::Linear;
use super::usual_uncertainty;
use crate::march::output::Output;
use crate::units::System;

/// Share of a standard error above which a further measurement is not worth naming.
const WORTH: f64 = 0.95;

/// The measurement that would make the fitted numbers surest.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Next {
    /// What to measure: an output, or the key path of an input.
    pub what: String,
    /// How well, SI; none of an input, which is then taken as known.
    pub uncertainty: Option<f64>,
    /// Index of the trial with whose settings; none of an input.
    pub trial: Option<usize>,
    /// Standard error of each unknown then, over what it is now; none of one that is held.
    pub shares: Vec<Option<f64>>,
}

/// The measurement or the input that would shrink the standard errors of the unknowns most, their product taken; none where
/// nothing would take a twentieth off one of them.
pub(super) fn next(model: &Model, candidates: &Candidates, linear: &Linear, free: &[usize]) -> Option<Next> {
    let fitted = free.iter().filter(|&&index| index < model.unknowns.len()).count();
    let mut best: Option<(f64, Next)> = None;
    let mut offer = |shares: Vec<f64>, what: &dyn Fn() -> (String, Option<f64>, Option<usize>)| {
        let product: f64 = shares.iter().product();
        let worth = shares.iter().any(|share| *share < WORTH) && product.is_finite();
        if !worth || best.as_ref().is_some_and(|(known, _)| *known <= product) {
            return;
        }
        let of = |index: usize| free.iter().position(|&free| free == index).and_then(|i| shares.get(i).copied());
        let (what, uncertainty, trial) = what();
        best = Some((product, Next { what, uncertainty, trial, shares: (0..model.unknowns.len()).map(of).collect() }));
    };
    for (trial, outputs) in candidates.rows.iter().enumerate() {
        for (output, row) in candidates.outputs.iter().zip(outputs) {
            let reach = &linear.covariance * row;
            let gain = 1.0 + row.dot(&reach);
            let share = |i: usize| (1.0 - reach[i] * reach[i] / gain / linear.covariance[(i, i)]).max(0.0).sqrt();
            offer((0..fitted).map(share).collect(), &|| (output.name.clone(), usual_uncertainty(output), Some(trial)));
        }
    }
    // An input that were known would take its part of the variance away.
    for (position, &index) in free.iter().enumerate().skip(fitted) {
        let known = linear.covariance[(position, position)];
        let share = |i: usize| {
            let shared = linear.covariance[(i, position)];
            (1.0 - shared * shared / known / linear.covariance[(i, i)]).max(0.0).sqrt()
        };
        let input = || (model.others[index - model.unknowns.len()].input.clone(), None, None);
        offer((0..fitted).map(share).collect(), &input);
    }
    best.map(|(_, next)| next)
}

/// What a plant can measure without cutting into the product.
const MEASURABLE: [&str; 4] = ["surface", "equalised", "water_out", "diameter"];

/// Sensitivities of what could be measured, trial by trial, over the usual uncertainties.
pub(super) struct Candidates {
    outputs: Vec<Output>,
    /// `[trial][output]`: sensitivity to every free unknown.
    rows: Vec<Vec<DVector<f64>>>,
}

impl Candidates {
    /// What could be measured of some outputs.
    pub fn of(all: &[Output]) -> Vec<Output> {
        let measurable = |output: &&Output| {
            output.name.rsplit('.').next().is_some_and(|step| MEASURABLE.contains(&step))
                && !output.name.starts_with("line.")
        };
        all.iter().filter(measurable).cloned().collect()
    }

    /// From derivatives `[coordinate][trial][output]` of the outputs `told`, among which these are.
    pub fn new(outputs: Vec<Output>, told: &[Output], derivatives: &[Vec<Vec<f64>>]) -> Candidates {
        let place = |output: &Output| told.iter().position(|told| told.name == output.name);
        let row = |trial: usize, output: &Output| {
            let uncertainty = usual_uncertainty(output).unwrap_or(f64::INFINITY);
            let of = |of: &Vec<Vec<f64>>| place(output).map_or(f64::NAN, |place| of[trial][place] / uncertainty);
            DVector::from_iterator(derivatives.len(), derivatives.iter().map(of))
        };
        let of_trial = |trial: usize| outputs.iter().map(|output| row(trial, output)).collect();
        let trials = derivatives.first().map_or(0, Vec::len);
        let rows = (0..trials).map(of_trial).collect();
        Candidates { outputs, rows }
    }

    /// The measurement that makes the joint uncertainty of a pair smallest (the determinant of its covariance: D-optimal
    /// design, Bates and Watts 1988, section 3.14; from memory, not checked); none where it would not halve one of the two.
    pub fn best(&self, model: &Model, linear: &Linear, pair: [usize; 2]) -> Option<Separation> {
        let before = pair.map(|i| linear.covariance[(i, i)]);
        let mut best: Option<(f64, Separation)> = None;
        for (trial, outputs) in self.rows.iter().enumerate() {
            for (output, row) in self.outputs.iter().zip(outputs) {
                if row.iter().any(|x| !x.is_finite()) {
                    continue;
                }
                let (correlation, variances) = linear.with_another(row, pair);
                let joint = variances[0] * variances[1] * (1.0 - correlation * correlation);
                let shares = [0, 1].map(|i| (variances[i] / before[i]).max(0.0).sqrt());
                if shares[0].min(shares[1]) < 0.5 && best.as_ref().is_none_or(|(known, _)| joint < *known) {
                    let separation = Separation {
                        output: output.name.clone(),
                        uncertainty: usual_uncertainty(output).unwrap_or(f64::NAN),
                        dimension: output.dimension,
                        setting: model.trials[trial].describe(System::Si),
                        correlation,
                        shares,
                    };
                    best = Some((joint, separation));
                }
            }
        }
        best.map(|(_, separation)| separation)
    }
}
