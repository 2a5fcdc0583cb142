//! The model of a fit: coordinates of the unknowns to computed values, weighted residuals and their sensitivities.

use std::cell::RefCell;
use std::sync::atomic::{AtomicUsize, Ordering};

use levenberg_marquardt::LeastSquaresProblem;
use nalgebra::{DMatrix, DVector, Dyn, Owned};
use rayon::prelude::*;

use super::{Bound, FitError, Measurement, Trial, Unknown};
use crate::case::Case;
use crate::error::Error;
use crate::march::march_by_rule;
use crate::solution::Solution;
use crate::study::output::Output;

/// Largest tolerance that the fit solves with, K: above it the engine's noise shows in the sensitivities.
const TOLERANCE: f64 = 0.02;

/// How strongly a coordinate is drawn back to where the search began, per step of its own: too weak to move what the data
/// tell (an estimate with a standard error of 10 % moves by a 40 000th of its way), stronger than the engine's noise in a
/// direction that they do not.
const ANCHOR: f64 = 1e-3;

/// A rise of chi-square that no data can speak of.
const FLAT: f64 = 0.01;

/// A residual that no trial has: where the case has no answer the search turns back.
const NO_ANSWER: f64 = 1e6;

/// The unknowns of a case and its trials.
pub(super) struct Model<'a> {
    pub unknowns: &'a [Unknown],
    pub trials: &'a [Trial],
    /// The case with the settings of each trial.
    cases: Vec<Case>,
    pub solves: AtomicUsize,
}

impl<'a> Model<'a> {
    pub fn new(case: &Case, unknowns: &'a [Unknown], trials: &'a [Trial]) -> Result<Model<'a>, FitError> {
        if unknowns.is_empty() {
            return Err(FitError::NoUnknowns);
        }
        let mut seen: Vec<&str> = Vec::new();
        for path in unknowns.iter().flat_map(Unknown::paths) {
            if seen.contains(&path) {
                return Err(FitError::Twice { path: path.to_string() });
            }
            seen.push(path);
        }
        let mut base = case.clone();
        base.tolerance = base.tolerance.min(TOLERANCE);
        let mut cases = Vec::with_capacity(trials.len());
        for trial in trials {
            let mut case = base.clone();
            // What follows the line speed is read at the new one.
            let (speeds, others): (Vec<_>, Vec<_>) = trial.settings.iter().partition(|(v, _)| v.path == "line.speed");
            for (variable, value) in speeds.into_iter().chain(others) {
                if seen.contains(&variable.path.as_str()) {
                    return Err(FitError::SettingIsUnknown { path: variable.path.clone() });
                }
                variable.set(&mut case, *value).map_err(FitError::Path)?;
            }
            cases.push(case);
        }
        let model = Model { unknowns, trials, cases, solves: AtomicUsize::new(0) };
        let measurements = model.measurements().len() + unknowns.iter().filter(|u| u.prior.is_some()).count();
        if measurements < unknowns.len() {
            return Err(FitError::TooFew { measurements, unknowns: unknowns.len() });
        }
        Ok(model)
    }

    /// Every measurement with the index of its trial.
    pub fn measurements(&self) -> Vec<(usize, &'a Measurement)> {
        let of_trial = |(index, trial): (usize, &'a Trial)| trial.measurements.iter().map(move |m| (index, m));
        self.trials.iter().enumerate().flat_map(of_trial).collect()
    }

    /// Bounds of an unknown's coordinate.
    pub fn bounds(&self, index: usize) -> [f64; 2] {
        let unknown = &self.unknowns[index];
        unknown.bounds.map(|bound| unknown.coordinate(bound))
    }

    fn clamped(&self, at: &[f64]) -> Vec<f64> {
        let clamp = |(index, &value): (usize, &f64)| {
            let [low, high] = self.bounds(index);
            value.clamp(low, high)
        };
        at.iter().enumerate().map(clamp).collect()
    }

    /// The solution of a trial.
    fn solve(&self, trial: usize, at: &[f64]) -> Result<Solution, Error> {
        let mut case = self.cases[trial].clone();
        for (unknown, &coordinate) in self.unknowns.iter().zip(at) {
            let of = |error: crate::study::key_path::KeyPathError| Error::Unphysical {
                place: unknown.name(),
                reason: error.to_string(),
            };
            unknown.set(&mut case, unknown.value(coordinate)).map_err(of)?;
        }
        self.solves.fetch_add(1, Ordering::Relaxed);
        march_by_rule(&case)
    }

    /// The solutions of all trials at several sets of coordinates, side by side; trials within sets.
    fn solutions(&self, sets: &[Vec<f64>]) -> Result<Vec<Vec<Solution>>, (usize, Error)> {
        let trials = self.trials.len();
        let all: Result<Vec<Solution>, (usize, Error)> = (0..sets.len() * trials)
            .into_par_iter()
            .map(|job| self.solve(job % trials, &sets[job / trials]).map_err(|error| (job % trials, error)))
            .collect();
        let mut all = all?.into_iter();
        Ok(sets.iter().map(|_| all.by_ref().take(trials).collect()).collect())
    }

    /// What the measurements would be.
    pub fn computed(&self, at: &[f64]) -> Result<Vec<f64>, (usize, Error)> {
        let solutions = self.solutions(&[self.clamped(at)])?;
        Ok(self
            .measurements()
            .iter()
            .map(|(trial, measurement)| measurement.output.of(&solutions[0][*trial]))
            .collect())
    }

    /// Derivatives of any outputs of every trial with respect to every coordinate: `[unknown][trial][output]`.
    ///
    /// Central differences; one-sided where the other side is outside the bounds.
    pub fn derivatives(&self, at: &[f64], outputs: &[Output]) -> Result<Vec<Vec<Vec<f64>>>, (usize, Error)> {
        let at = self.clamped(at);
        let mut sets = Vec::with_capacity(2 * at.len());
        for index in 0..at.len() {
            let ([low, high], step) = (self.bounds(index), self.unknowns[index].step());
            for end in [(at[index] - step).max(low), (at[index] + step).min(high)] {
                let mut set = at.clone();
                set[index] = end;
                sets.push(set);
            }
        }
        let solutions = self.solutions(&sets)?;
        let of = |index: usize, trial: usize, output: &Output| {
            let [low, high] = [2 * index, 2 * index + 1];
            let rise = output.of(&solutions[high][trial]) - output.of(&solutions[low][trial]);
            rise / (sets[high][index] - sets[low][index])
        };
        let of_trial = |index: usize, trial: usize| outputs.iter().map(|output| of(index, trial, output)).collect();
        let of_unknown = |index: usize| (0..self.trials.len()).map(|trial| of_trial(index, trial)).collect();
        Ok((0..at.len()).map(of_unknown).collect())
    }

    /// Weighted residuals (computed - measured)/u of the measurements, then of the priors.
    pub fn residuals(&self, at: &[f64], computed: &[f64]) -> Vec<f64> {
        let measured = self.measurements();
        let of_data = computed.iter().zip(&measured).map(|(value, (_, m))| (value - m.value) / m.uncertainty);
        let of_priors = self.unknowns.iter().zip(at).filter_map(|(unknown, at)| {
            let [value, uncertainty] = unknown.prior_coordinate()?;
            Some((at - value) / uncertainty)
        });
        of_data.chain(of_priors).collect()
    }

    pub fn chi_square(&self, at: &[f64], computed: &[f64]) -> f64 {
        self.residuals(at, computed).iter().map(|r| r * r).sum()
    }

    /// Derivatives of the weighted residuals, measurements then priors, with respect to the coordinates.
    pub fn jacobian(&self, at: &[f64]) -> Result<DMatrix<f64>, (usize, Error)> {
        let mut outputs: Vec<Output> = Vec::new();
        for (_, measurement) in self.measurements() {
            if outputs.iter().all(|output| output.name != measurement.output.name) {
                outputs.push(measurement.output.clone());
            }
        }
        let derivatives = self.derivatives(at, &outputs)?;
        let place = |name: &str| outputs.iter().position(|output| output.name == name).unwrap_or(0);
        let mut rows: Vec<Vec<f64>> = Vec::new();
        for (trial, measurement) in self.measurements() {
            let output = place(&measurement.output.name);
            rows.push(derivatives.iter().map(|of| of[trial][output] / measurement.uncertainty).collect());
        }
        for (index, unknown) in self.unknowns.iter().enumerate() {
            if let Some([_, uncertainty]) = unknown.prior_coordinate() {
                rows.push((0..at.len()).map(|other| if other == index { 1.0 / uncertainty } else { 0.0 }).collect());
            }
        }
        Ok(DMatrix::from_fn(rows.len(), at.len(), |row, column| rows[row][column]))
    }

    /// Holds every free coordinate that is at one of its bounds or may as well be there, not at both: a contact as good as
    /// perfect, a film so strong that it no longer matters; whether there was one.
    pub fn hold_what_is_flat(&self, at: &mut [f64], held: &mut [Option<Bound>]) -> Result<bool, FitError> {
        let march = |(trial, error)| FitError::March { trial, error };
        let sum = |at: &[f64]| self.computed(at).map(|computed| self.chi_square(at, &computed));
        let (here, mut found) = (sum(at).map_err(march)?, false);
        for index in 0..at.len() {
            if held[index].is_some() {
                continue;
            }
            let bounds = self.bounds(index);
            // A case without an answer there is not flat.
            let flat = bounds.map(|bound| {
                let mut there = at.to_vec();
                there[index] = bound;
                sum(&there).is_ok_and(|sum| sum - here < FLAT)
            });
            let bound = match flat {
                [true, false] => Bound::Low,
                [false, true] => Bound::High,
                _ => continue,
            };
            (held[index], at[index], found) = (Some(bound), bounds[bound as usize], true);
        }
        Ok(found)
    }

    /// Lets go one held coordinate that would rather be inside its bounds; whether there was one.
    pub fn let_go(&self, at: &mut [f64], held: &mut [Option<Bound>]) -> Result<bool, FitError> {
        if held.iter().all(Option::is_none) {
            return Ok(false);
        }
        let march = |(trial, error)| FitError::March { trial, error };
        let residuals = DVector::from_vec(self.residuals(at, &self.computed(at).map_err(march)?));
        let slope = self.jacobian(at).map_err(march)?.transpose() * residuals;
        for index in 0..held.len() {
            let step = self.unknowns[index].step();
            let inward = match held[index] {
                Some(Bound::Low) => -slope[index],
                Some(Bound::High) => slope[index],
                None => 0.0,
            };
            // Less than a thousandth of a unit of chi-square in a step is the noise of the differences.
            if inward * step > 1e-3 {
                at[index] += if held[index] == Some(Bound::Low) { step } else { -step };
                held[index] = None;
                return Ok(true);
            }
        }
        Ok(false)
    }
}

/// The search: the coordinates that are not held, in twenty of their steps, counted from 1 at the start.
pub(super) struct Search<'a, 'b> {
    model: &'b Model<'a>,
    start: Vec<f64>,
    free: Vec<usize>,
    scaled: DVector<f64>,
    computed: RefCell<Option<Vec<f64>>>,
}

impl<'a, 'b> Search<'a, 'b> {
    pub fn new(model: &'b Model<'a>, start: &[f64], held: &[Option<Bound>]) -> Search<'a, 'b> {
        let free: Vec<usize> = (0..start.len()).filter(|&index| held[index].is_none()).collect();
        let scaled = DVector::from_element(free.len(), 1.0);
        Search { model, start: start.to_vec(), free, scaled, computed: RefCell::new(None) }
    }

    fn step(&self, index: usize) -> f64 {
        self.model.unknowns[index].step()
    }

    fn width(&self, index: usize) -> f64 {
        20.0 * self.step(index)
    }

    /// Where the search stands, bounds or not: outside them the case is that at the bound.
    fn unbounded(&self) -> Vec<f64> {
        let mut at = self.start.clone();
        for (position, &index) in self.free.iter().enumerate() {
            at[index] += (self.scaled[position] - 1.0) * self.width(index);
        }
        at
    }

    /// Where the search stands, within the bounds.
    pub fn coordinates(&self) -> Vec<f64> {
        self.model.clamped(&self.unbounded())
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Search<'_, '_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, scaled: &DVector<f64>) {
        self.scaled.copy_from(scaled);
        // What has no answer is far from everything that was measured.
        *self.computed.borrow_mut() = self.model.computed(&self.unbounded()).ok();
    }

    fn params(&self) -> DVector<f64> {
        self.scaled.clone()
    }

    /// Residuals, then the anchors of the free coordinates.
    fn residuals(&self) -> Option<DVector<f64>> {
        let at = self.unbounded();
        let mut known = self.computed.borrow_mut();
        if known.is_none() {
            *known = self.model.computed(&at).ok();
        }
        let priors = self.model.unknowns.iter().filter(|unknown| unknown.prior.is_some()).count();
        let mut residuals = match &*known {
            Some(computed) if computed.iter().all(|value| value.is_finite()) => self.model.residuals(&at, computed),
            _ => vec![NO_ANSWER; self.model.measurements().len() + priors],
        };
        residuals.extend(self.free.iter().map(|&index| ANCHOR * (at[index] - self.start[index]) / self.step(index)));
        Some(DVector::from_vec(residuals))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let at = self.unbounded();
        let of_model = self.model.jacobian(&at).ok()?;
        let (rows, free) = (of_model.nrows(), self.free.len());
        Some(DMatrix::from_fn(rows + free, free, |row, column| {
            let index = self.free[column];
            let slope = match row.checked_sub(rows) {
                None => of_model[(row, index)],
                Some(anchor) if anchor == column => ANCHOR / self.step(index),
                Some(_) => 0.0,
            };
            slope * self.width(index)
        }))
    }
}
