//! Logger files: many rows of a line that hardly changes become one trial for each steady state.
//!
//! Rows that follow each other belong to one state while every setting stays near the state's mean; where the line comes back
//! to so many settings that the states are still too many, those of like settings are taken together whenever they were. The
//! mean of a state keeps the uncertainty of one reading: averaging takes scatter away, not what an instrument is off by.

use std::collections::HashMap;

use super::{Measurement, Trial};

/// How near settings are within one state: K of a temperature, the share of everything else.
pub const NEAR: [f64; 2] = [0.5, 0.01];

/// The steady states of many rows.
#[derive(Clone, Debug)]
pub struct Steady {
    /// One trial for each state, with means of settings and measured values.
    pub trials: Vec<Trial>,
    /// The rows of each state, in order.
    pub rows: Vec<Vec<usize>>,
    /// How near settings are within one state: K of a temperature, the share of everything else.
    pub near: [f64; 2],
}

/// The steady states of some rows, at most `most`.
///
/// ```
/// use quenchway::study::fit::{Measurement, Trial, steady};
/// use quenchway::names::key_path::KeyPath;
/// use quenchway::march::output::Output;
/// let case = quenchway::file::read(quenchway::file::EXAMPLE).unwrap();
/// let speed = KeyPath::find(&case, "line.speed").unwrap();
/// let output = Output::find(&case, "capstan.surface").unwrap();
/// let row = |second: usize| Trial {
///     settings: vec![(speed.clone(), if second < 60 { 2.0 } else { 2.5 } + 0.001 * (second % 7) as f64)],
///     measurements: vec![Measurement { output: output.clone(), value: 40.0, uncertainty: 2.0 }],
/// };
/// let steady = steady(&(0..100).map(row).collect::<Vec<_>>(), 10);
/// assert_eq!(steady.rows.iter().map(Vec::len).collect::<Vec<_>>(), [60, 40]);
/// ```
pub fn steady(trials: &[Trial], most: usize) -> Steady {
    let mut near = NEAR;
    let mut rows = in_time(trials, near);
    while rows.len() > most.max(1) {
        rows = by_settings(trials, near);
        if rows.len() > most.max(1) {
            near = near.map(|near| 2.0 * near);
        }
    }
    let trials = rows.iter().map(|rows| mean(trials, rows)).collect();
    Steady { trials, rows, near }
}

/// How far two values of a setting are apart, in what counts as near.
fn apart(trial: &Trial, setting: usize, value: f64, near: [f64; 2]) -> f64 {
    let (variable, here) = &trial.settings[setting];
    if variable.is_temperature() {
        (here - value).abs() / near[0]
    } else {
        (here - value).abs() / (near[1] * here.abs().max(value.abs()).max(f64::MIN_POSITIVE))
    }
}

/// The names of what a row holds: only rows of one kind make a state.
fn kind(trial: &Trial) -> Vec<&str> {
    let settings = trial.settings.iter().map(|(variable, _)| variable.path.as_str());
    settings.chain(trial.measurements.iter().map(|measurement| measurement.output.name.as_str())).collect()
}

/// Rows that follow each other.
fn in_time(trials: &[Trial], near: [f64; 2]) -> Vec<Vec<usize>> {
    let mut states: Vec<(Vec<usize>, Vec<f64>)> = Vec::new();
    for (row, trial) in trials.iter().enumerate() {
        let last = states.last_mut().filter(|(rows, mean)| {
            kind(&trials[rows[0]]) == kind(trial)
                && mean.iter().enumerate().all(|(setting, mean)| apart(trial, setting, *mean, near) <= 1.0)
        });
        match last {
            Some((rows, mean)) => {
                rows.push(row);
                for (mean, (_, value)) in mean.iter_mut().zip(&trial.settings) {
                    *mean += (value - *mean) / rows.len() as f64;
                }
            }
            None => states.push((vec![row], trial.settings.iter().map(|(_, value)| *value).collect())),
        }
    }
    states.into_iter().map(|(rows, _)| rows).collect()
}

/// Rows of like settings, whenever they were.
fn by_settings(trials: &[Trial], near: [f64; 2]) -> Vec<Vec<usize>> {
    let mut places: HashMap<(Vec<&str>, Vec<i64>), usize> = HashMap::new();
    let mut states: Vec<Vec<usize>> = Vec::new();
    for (row, trial) in trials.iter().enumerate() {
        let bin = |(variable, value): &(crate::names::variable::Variable, f64)| {
            let width = 2.0 * near[usize::from(!variable.is_temperature())];
            let along = if variable.is_temperature() { *value } else { libm::log(value.abs().max(1e-300)) };
            (along / width).floor() as i64
        };
        let place = *places.entry((kind(trial), trial.settings.iter().map(bin).collect())).or_insert(states.len());
        match states.get_mut(place) {
            Some(rows) => rows.push(row),
            None => states.push(vec![row]),
        }
    }
    states
}

/// The mean of some rows.
fn mean(trials: &[Trial], rows: &[usize]) -> Trial {
    let mut state = trials[rows[0]].clone();
    let count = rows.len() as f64;
    for (place, (_, value)) in state.settings.iter_mut().enumerate() {
        *value = rows.iter().map(|&row| trials[row].settings[place].1).sum::<f64>() / count;
    }
    for (place, measurement) in state.measurements.iter_mut().enumerate() {
        let of = |value: fn(&Measurement) -> f64| {
            rows.iter().map(|&row| value(&trials[row].measurements[place])).sum::<f64>() / count
        };
        measurement.value = of(|measurement| measurement.value);
        measurement.uncertainty = of(|measurement| measurement.uncertainty * measurement.uncertainty).sqrt();
    }
    state
}
