//! Which further measurement would tell two unknowns apart: every output that can be measured, at every setting tried.

use nalgebra::DVector;

use super::findings::Separation;
use super::model::Model;
use super::statistics::Linear;
use super::usual_uncertainty;
use crate::error::Error;
use crate::study::output::Output;
use crate::units::System;

/// What a plant can measure without cutting into the product.
const MEASURABLE: [&str; 4] = ["surface", "equalised", "water_out", "diameter"];

/// Sensitivities of what could be measured, trial by trial, over the usual uncertainties.
pub(super) struct Candidates {
    outputs: Vec<Output>,
    /// `[trial][output]`: sensitivity to every free unknown.
    rows: Vec<Vec<DVector<f64>>>,
}

impl Candidates {
    pub fn new(model: &Model, at: &[f64], free: &[usize], all: Vec<Output>) -> Result<Candidates, (usize, Error)> {
        let measurable = |output: &Output| {
            output.name.rsplit('.').next().is_some_and(|step| MEASURABLE.contains(&step))
                && !output.name.starts_with("line.")
        };
        let outputs: Vec<Output> = all.into_iter().filter(measurable).collect();
        let derivatives = model.derivatives(at, &outputs)?;
        let row = |trial: usize, output: usize| {
            let uncertainty = usual_uncertainty(&outputs[output]).unwrap_or(f64::INFINITY);
            DVector::from_iterator(free.len(), free.iter().map(|&i| derivatives[i][trial][output] / uncertainty))
        };
        let of_trial = |trial: usize| (0..outputs.len()).map(|output| row(trial, output)).collect();
        let rows = (0..model.trials.len()).map(of_trial).collect();
        Ok(Candidates { outputs, rows })
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
