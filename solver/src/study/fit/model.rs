//! The model of a fit: coordinates of the unknowns to computed values, weighted residuals and their sensitivities.

use std::cell::RefCell;
use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use levenberg_marquardt::LeastSquaresProblem;
use nalgebra::{DMatrix, DVector, Dyn, Owned};

use super::{Bands, Bound, FitError, Measurement, Trial, Unknown};
use crate::case::CaseFile;
use crate::case::error::Error;
use crate::march::batch;
use crate::march::output::Output;
use crate::maths::distribution::cumulative;
use crate::maths::parallel::{each_chunk, try_each};
use crate::names::error::KeyPathError;
use crate::study::band::usual::alike;
use crate::study::spread::{Drawn, drawn_of_bands};

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

/// How far from its middle a band is followed, in its standard values.
const FARTHEST: f64 = 6.0;

/// Half the distance of a central difference of a band, in its standard values.
const BAND_STEP: f64 = 0.1;

/// The unknowns of a case, its other doubtful inputs, and its trials.
///
/// The coordinates are those of the unknowns, then one for each other input: the standard normal value of its band.
pub(super) struct Model<'a> {
    pub unknowns: &'a [Unknown],
    pub others: Vec<Drawn>,
    pub trials: &'a [Trial],
    /// The case with the settings of the trials, those with equal settings once.
    cases: Vec<CaseFile>,
    /// Which of the cases each trial has.
    places: Vec<usize>,
    pub solves: &'a AtomicUsize,
    /// What has been computed, by the bits of its coordinates: nothing is solved twice.
    known: Mutex<HashMap<Vec<u64>, Vec<f64>>>,
}

impl<'a> Model<'a> {
    pub fn new(
        case: &CaseFile,
        unknowns: &'a [Unknown],
        trials: &'a [Trial],
        bands: Bands,
        solves: &'a AtomicUsize,
    ) -> Result<Model<'a>, FitError> {
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
        let mut cases: Vec<CaseFile> = Vec::new();
        let mut places = Vec::with_capacity(trials.len());
        let mut known: HashMap<Vec<(&str, u64)>, usize> = HashMap::new();
        for trial in trials {
            let settings = trial.settings.iter().map(|(v, value)| (v.path.as_str(), value.to_bits())).collect();
            if let Some(&place) = known.get(&settings) {
                places.push(place);
                continue;
            }
            let mut case = base.clone();
            // What follows the line speed is read at the new one.
            let (speeds, rest): (Vec<_>, Vec<_>) = trial.settings.iter().partition(|(v, _)| v.path == "line.speed");
            for (variable, value) in speeds.into_iter().chain(rest) {
                if seen.contains(&variable.path.as_str()) {
                    return Err(FitError::SettingIsUnknown { path: variable.path.clone() });
                }
                variable.set(&mut case, *value).map_err(FitError::Path)?;
            }
            known.insert(settings, cases.len());
            places.push(cases.len());
            cases.push(case);
        }
        let others = match bands {
            Bands::Ignore => Vec::new(),
            Bands::Use => {
                let set = trials.iter().flat_map(|trial| &trial.settings).map(|(variable, _)| variable.path.as_str());
                let mut taken: Vec<String> = seen.iter().copied().chain(set).map(String::from).collect();
                taken.sort_unstable();
                taken.dedup();
                let taken: Vec<String> = taken.iter().flat_map(|path| alike(case, path)).collect();
                drawn_of_bands(case, &taken)
            }
        };
        let model = Model { unknowns, others, trials, cases, places, solves, known: Mutex::default() };
        let measurements = model.measurements().len() + unknowns.iter().filter(|u| u.prior.is_some()).count();
        if measurements < unknowns.len() {
            return Err(FitError::TooFew { measurements, unknowns: unknowns.len() });
        }
        Ok(model)
    }

    /// How many coordinates there are.
    pub fn count(&self) -> usize {
        self.unknowns.len() + self.others.len()
    }

    /// Every measurement with the index of its trial.
    pub fn measurements(&self) -> Vec<(usize, &'a Measurement)> {
        let of_trial = |(index, trial): (usize, &'a Trial)| trial.measurements.iter().map(move |m| (index, m));
        self.trials.iter().enumerate().flat_map(of_trial).collect()
    }

    /// Bounds of a coordinate.
    pub fn bounds(&self, index: usize) -> [f64; 2] {
        match self.unknowns.get(index) {
            Some(unknown) => unknown.bounds.map(|bound| unknown.coordinate(bound)),
            None => [-FARTHEST, FARTHEST],
        }
    }

    /// Half the distance of a central difference.
    pub fn step(&self, index: usize) -> f64 {
        self.unknowns.get(index).map_or(BAND_STEP, Unknown::step)
    }

    /// Gives a case the values at some coordinates; those that are missing leave it as it is.
    pub fn put(&self, case: &mut CaseFile, at: &[f64]) -> Result<(), Error> {
        let (of_unknowns, of_others) = at.split_at(self.unknowns.len().min(at.len()));
        let failed = |place: String, error: KeyPathError| Error::Unphysical { place, reason: error.to_string() };
        // The line speed may be among the others, and temperatures follow it.
        for (other, &z) in self.others.iter().zip(of_others) {
            let value = other.distribution.quantile(cumulative(z));
            other.put(case, value).map_err(|error| failed(other.input.clone(), error))?;
        }
        for (unknown, &coordinate) in self.unknowns.iter().zip(of_unknowns) {
            unknown.set(case, unknown.value(coordinate)).map_err(|error| failed(unknown.name(), error))?;
        }
        Ok(())
    }

    fn clamped(&self, at: &[f64]) -> Vec<f64> {
        let clamp = |(index, &value): (usize, &f64)| {
            let [low, high] = self.bounds(index);
            value.clamp(low, high)
        };
        at.iter().enumerate().map(clamp).collect()
    }

    /// Outputs of every trial at several sets of coordinates, all solves side by side: `[set][trial][output]`.
    fn values(&self, sets: &[Vec<f64>], outputs: &[Output]) -> Result<Vec<Vec<Vec<f64>>>, (usize, Error)> {
        let count = self.cases.len();
        let trial = |job: usize| self.places.iter().position(|&place| place == job % count).unwrap_or(0);
        let jobs: Vec<usize> = (0..sets.len() * count).collect();
        let cases = try_each(&jobs, |&job| {
            let mut case = self.cases[job % count].clone();
            self.put(&mut case, &sets[job / count]).map_err(|error| (trial(job), error))?;
            Ok(case)
        })?;
        self.solves.fetch_add(cases.len(), Ordering::Relaxed);
        let at_a_time = (cases.len() / (2 * rayon::current_num_threads())).clamp(8, 128);
        let answers =
            each_chunk(&cases, at_a_time, |cases| batch::on_one_thread(cases, outputs, batch::Batch::default()));
        let values: Vec<Vec<f64>> = (answers.into_iter().enumerate())
            .map(|(job, answer)| answer.map(|answer| answer.values).map_err(|error| (trial(job), error)))
            .collect::<Result<_, _>>()?;
        let of_set = |set: &[Vec<f64>]| self.places.iter().map(|&place| set[place].clone()).collect();
        Ok(values.chunks(count.max(1)).map(of_set).collect())
    }

    /// The outputs that are measured, each once.
    pub fn outputs(&self) -> Vec<Output> {
        let mut outputs: Vec<Output> = Vec::new();
        for measurement in self.trials.iter().flat_map(|trial| &trial.measurements) {
            if outputs.iter().all(|output| output.name != measurement.output.name) {
                outputs.push(measurement.output.clone());
            }
        }
        outputs
    }

    /// What the measurements would be.
    pub fn computed(&self, at: &[f64]) -> Result<Vec<f64>, (usize, Error)> {
        let at = self.clamped(at);
        let key: Vec<u64> = at.iter().map(|coordinate| coordinate.to_bits()).collect();
        let known = || self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(computed) = known().get(&key) {
            return Ok(computed.clone());
        }
        let outputs = self.outputs();
        let values = self.values(&[at], &outputs)?;
        let measured = self.measurements();
        let computed: Vec<f64> = measured.iter().map(|(trial, m)| values[0][*trial][place_of(&outputs, m)]).collect();
        known().insert(key, computed.clone());
        Ok(computed)
    }

    /// Derivatives of any outputs of every trial with respect to the coordinates `of`: `[coordinate][trial][output]`.
    ///
    /// Central differences; one-sided where the other side is outside the bounds.
    pub fn derivatives(
        &self,
        at: &[f64],
        outputs: &[Output],
        of: &[usize],
    ) -> Result<Vec<Vec<Vec<f64>>>, (usize, Error)> {
        let at = self.clamped(at);
        let mut sets = Vec::with_capacity(2 * of.len());
        for &index in of {
            let ([low, high], step) = (self.bounds(index), self.step(index));
            for end in [(at[index] - step).max(low), (at[index] + step).min(high)] {
                let mut set = at.clone();
                set[index] = end;
                sets.push(set);
            }
        }
        let values = self.values(&sets, outputs)?;
        let slope = |place: usize, trial: usize, output: usize| {
            let [low, high] = [2 * place, 2 * place + 1];
            let rise = values[high][trial][output] - values[low][trial][output];
            rise / (sets[high][of[place]] - sets[low][of[place]])
        };
        let of_trial =
            |place: usize, trial: usize| (0..outputs.len()).map(|output| slope(place, trial, output)).collect();
        let of_coordinate = |place: usize| (0..self.trials.len()).map(|trial| of_trial(place, trial)).collect();
        Ok((0..of.len()).map(of_coordinate).collect())
    }

    /// Weighted residuals (computed - measured)/u of the measurements, then of the priors, then of the bands.
    pub fn residuals(&self, at: &[f64], computed: &[f64]) -> Vec<f64> {
        let measured = self.measurements();
        let of_data = computed.iter().zip(&measured).map(|(value, (_, m))| (value - m.value) / m.uncertainty);
        let of_priors = self.unknowns.iter().zip(at).filter_map(|(unknown, at)| Some(unknown.off_prior(*at)?[0]));
        let of_bands = at.iter().skip(self.unknowns.len()).copied();
        of_data.chain(of_priors).chain(of_bands).collect()
    }

    pub fn chi_square(&self, at: &[f64], computed: &[f64]) -> f64 {
        self.residuals(at, computed).iter().map(|r| r * r).sum()
    }

    /// Derivatives of the weighted residuals, in their order, with respect to the coordinates `of`: a column for each.
    pub fn jacobian(&self, at: &[f64], of: &[usize]) -> Result<DMatrix<f64>, (usize, Error)> {
        let outputs = self.outputs();
        Ok(self.weighted(at, &outputs, &self.derivatives(at, &outputs, of)?, of))
    }

    /// The same from the derivatives of outputs among which are all that are measured.
    pub fn weighted(
        &self,
        at: &[f64],
        outputs: &[Output],
        derivatives: &[Vec<Vec<f64>>],
        of: &[usize],
    ) -> DMatrix<f64> {
        let mut rows: Vec<Vec<f64>> = Vec::new();
        for (trial, measurement) in self.measurements() {
            let output = place_of(outputs, measurement);
            rows.push(derivatives.iter().map(|of| of[trial][output] / measurement.uncertainty).collect());
        }
        let one = |index: usize, value: f64| {
            of.iter().map(|&other| if other == index { value } else { 0.0 }).collect::<Vec<f64>>()
        };
        for (index, unknown) in self.unknowns.iter().enumerate() {
            rows.extend(unknown.off_prior(at[index]).map(|[_, slope]| one(index, slope)));
        }
        rows.extend((self.unknowns.len()..at.len()).map(|index| one(index, 1.0)));
        DMatrix::from_fn(rows.len(), of.len(), |row, column| rows[row][column])
    }

    /// Holds every free unknown that is at one of its bounds or may as well be there, not at both: a contact as good as
    /// perfect, a film so strong that it no longer matters; whether there was one.
    pub fn hold_what_is_flat(&self, at: &mut [f64], held: &mut [Option<Bound>]) -> Result<bool, FitError> {
        let march = |(trial, error)| FitError::March { trial, error };
        let sum = |at: &[f64]| self.computed(at).map(|computed| self.chi_square(at, &computed));
        let (here, mut found) = (sum(at).map_err(march)?, false);
        for index in 0..self.unknowns.len() {
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
        let of: Vec<usize> = (0..self.unknowns.len()).filter(|&index| held[index].is_some()).collect();
        let slopes = self.jacobian(at, &of).map_err(march)?.transpose() * residuals;
        for (&index, &slope) in of.iter().zip(slopes.iter()) {
            let step = self.step(index);
            let inward = if held[index] == Some(Bound::Low) { -slope } else { slope };
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

/// Which of the outputs a measurement is of.
fn place_of(outputs: &[Output], measurement: &Measurement) -> usize {
    outputs.iter().position(|output| output.name == measurement.output.name).unwrap_or(0)
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

    fn width(&self, index: usize) -> f64 {
        20.0 * self.model.step(index)
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
        let mut residuals = match &*known {
            Some(computed) if computed.iter().all(|value| value.is_finite()) => self.model.residuals(&at, computed),
            _ => vec![NO_ANSWER; self.model.residuals(&at, &vec![0.0; self.model.measurements().len()]).len()],
        };
        residuals
            .extend(self.free.iter().map(|&index| ANCHOR * (at[index] - self.start[index]) / self.model.step(index)));
        Some(DVector::from_vec(residuals))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let at = self.unbounded();
        let of_model = self.model.jacobian(&at, &self.free).ok()?;
        let (rows, free) = (of_model.nrows(), self.free.len());
        Some(DMatrix::from_fn(rows + free, free, |row, column| {
            let index = self.free[column];
            let slope = match row.checked_sub(rows) {
                None => of_model[(row, column)],
                Some(anchor) if anchor == column => ANCHOR / self.model.step(index),
                Some(_) => 0.0,
            };
            slope * self.width(index)
        }))
    }
}
