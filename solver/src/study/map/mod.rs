//! A map: one output of a case over two of its numbers, with every ceiling beside it.
//!
//! Every point is a march by the rule of its own case, many of them side by side, so that the map is the same whatever number
//! of threads makes it.
//! A point without an answer is blank and its cause is counted. One point in a hundred, spread evenly and both ends among
//! them, is marched again the careful way, and the largest difference states the error of the map; the base case is marched
//! carefully too.

mod data;
mod failures;
mod points;

pub use failures::{Failures, cause};

use std::fmt;

use points::Points;
use serde::Serialize;

use super::search::ceilings::Ceiling;
use crate::case::CaseFile;
use crate::case::error::Error;
use crate::engine::Path;
use crate::march::batch;
use crate::march::march;
use crate::march::output::Output;
use crate::march::solution::Solution;
use crate::names::error::KeyPathError;
use crate::names::variable::Variable;
use crate::units::System;

/// Most points along one axis.
pub const MOST: usize = 200;

/// An axis of the map: a number of the case and the values that it takes, rising.
#[derive(Clone, Debug)]
pub struct Axis {
    /// The number.
    pub variable: Variable,
    /// Its values, SI.
    pub values: Vec<f64>,
}

/// The answer. Points are in the order of y, then x: `y * x.values.len() + x`.
#[derive(Clone, Debug)]
pub struct Map {
    /// The axis to the right.
    pub x: Axis,
    /// The axis upward.
    pub y: Axis,
    /// What is shown.
    pub show: Output,
    /// Its value at every point, SI; not a number where there is no answer.
    pub shown: Vec<f64>,
    /// Everything that must not be exceeded, with the base case's ceilings.
    pub ceilings: Vec<Ceiling>,
    /// By how much each of them is exceeded at every point; met at or below zero.
    pub excess: Vec<Vec<f64>>,
    /// 0 at a point that has an answer, otherwise the number of its cause among `failures`, from 1.
    pub status: Vec<u16>,
    /// Why points have no answer, and how many.
    pub failures: Failures,
    /// The case as it is.
    pub base: Base,
    /// How exact the map is.
    pub check: Check,
    /// In which way its points were computed, and how many in each.
    pub computed: Vec<(Path, usize)>,
}

/// The case as it is, marched carefully.
#[derive(Clone, Debug)]
pub struct Base {
    /// Where it lies on the axes, SI; maybe outside the map.
    pub place: [f64; 2],
    /// What is shown, SI.
    pub shown: f64,
    /// By how much each ceiling is exceeded.
    pub excess: Vec<f64>,
    /// Its solution.
    pub solution: Solution,
}

/// Points that were marched again the careful way.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Check {
    /// How many.
    pub points: usize,
    /// How many of them the careful way has no answer for; they are in none of the numbers here.
    pub unsolved: usize,
    /// Largest difference of what is shown, SI.
    #[serde(rename = "error")]
    pub shown: f64,
    /// Largest difference of the value of each ceiling, SI.
    #[serde(skip)]
    pub ceilings: Vec<f64>,
    /// Largest error that the careful marches state of their temperatures, K.
    #[serde(rename = "stated_error_K")]
    pub stated: f64,
}

/// What a map tells at other values of its axes, for a table: by the rule alone, points in the order of a map.
#[derive(Clone, Debug, PartialEq)]
pub struct Look {
    /// Values of x and of y, SI.
    pub axes: [Vec<f64>; 2],
    /// What is shown, SI; not a number where there is no answer.
    pub shown: Vec<f64>,
    /// Whether every ceiling is met; none where there is no answer.
    pub allowed: Vec<Option<bool>>,
}

/// What `map` tells at a few values.
///
/// # Errors
///
/// A value outside what the case file allows.
pub fn look(case: &CaseFile, x: Axis, y: Axis, show: &Output) -> Result<Look, KeyPathError> {
    let solved = Points::new(case, &x, &y, show).by_rule(&|_| {})?;
    let told: Vec<Option<&points::Told>> =
        solved.iter().map(|point| point.as_ref().ok().filter(|told| told.shown.is_finite())).collect();
    let met = |told: &points::Told| told.excess.iter().all(|&excess| excess <= 0.0);
    Ok(Look {
        shown: told.iter().map(|told| told.map_or(f64::NAN, |told| told.shown)).collect(),
        allowed: told.iter().map(|told| told.map(met)).collect(),
        axes: [x.values, y.values],
    })
}

/// Why there is no map.
#[derive(Clone, Debug, PartialEq)]
pub enum MapError {
    /// Both axes are one number.
    Same {
        /// Its path.
        path: String,
    },
    /// An axis has too few or too many values, or they do not rise.
    Values {
        /// The axis' path.
        path: String,
        /// How many it has.
        count: usize,
    },
    /// A value that the case file does not allow.
    Value(KeyPathError),
    /// The base case has no answer.
    Base(Error),
    /// No point has one.
    Nowhere {
        /// The most frequent cause.
        cause: String,
    },
}

impl fmt::Display for MapError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            MapError::Same { path } => write!(out, "both axes are {path}; give two different numbers"),
            MapError::Values { path, count } => {
                write!(out, "{path} has {count} values; an axis takes 2 to {MOST} that rise")
            }
            MapError::Value(error) => error.fmt(out),
            MapError::Base(error) => write!(out, "the case itself has no answer: {error}"),
            MapError::Nowhere { cause } => write!(out, "no point of the map has an answer: {cause}"),
        }
    }
}

impl std::error::Error for MapError {}

/// Computes the map of `show` over two numbers of a case; `done` is told of so many more points that are done, from any
/// thread.
///
/// # Errors
///
/// Axes that make no map; a value outside what the case file allows; the base case or every point without an
/// answer.
///
/// ```
/// # let text = quenchway::file::EXAMPLE;
/// use quenchway::names::key_path::KeyPath;
/// use quenchway::study::map::{Axis, map};
/// use quenchway::march::output::Output;
/// let case = quenchway::file::read(text).unwrap();
/// let axis = |path: &str, values: &[f64]| {
///     Axis { variable: KeyPath::find(&case, path).unwrap(), values: values.to_vec() }
/// };
/// let (speed, length) = (axis("line.speed", &[2.0, 3.0]), axis("section.trough.length", &[10.0, 20.0, 30.0]));
/// let core = Output::find(&case, "capstan.core").unwrap();
/// let found = map(&case, speed, length, core, &|_| {}).unwrap();
/// // Faster is hotter, longer is colder; the last point is the fastest on the longest line.
/// assert!(found.shown[1] > found.shown[0] && found.shown[4] < found.shown[0]);
/// assert_eq!((found.shown.len(), found.failures.total()), (6, 0));
/// ```
pub fn map(case: &CaseFile, x: Axis, y: Axis, show: Output, done: &(dyn Fn(usize) + Sync)) -> Result<Map, MapError> {
    if x.variable.path == y.variable.path {
        return Err(MapError::Same { path: x.variable.path });
    }
    for axis in [&x, &y] {
        let rising = axis.values.windows(2).all(|pair| pair[0] < pair[1]);
        if !rising || !(2..=MOST).contains(&axis.values.len()) {
            return Err(MapError::Values { path: axis.variable.path.clone(), count: axis.values.len() });
        }
    }
    let points = Points::new(case, &x, &y, &show);
    let solution = march(case).map_err(MapError::Base)?;
    let told = points.of_solution(case, &solution);
    let place = [x.variable.get(case), y.variable.get(case)];
    let base = Base { place, shown: told.shown, excess: told.excess, solution };

    let solved = points.by_rule(done).map_err(MapError::Value)?;
    let count = solved.len();
    let ceilings = super::search::ceilings::all(case);
    let mut shown = vec![f64::NAN; count];
    let mut excess = vec![vec![f64::NAN; count]; ceilings.len()];
    let mut status = vec![0; count];
    let mut failures = Failures::default();
    for (index, told) in solved.iter().enumerate() {
        match told {
            Ok(told) => {
                shown[index] = told.shown;
                excess.iter_mut().zip(&told.excess).for_each(|(row, value)| row[index] = *value);
                if !told.shown.is_finite() {
                    status[index] = failures.add(format!("{} has no value", show.name));
                }
            }
            Err(error) => status[index] = failures.add(cause(error)),
        }
    }
    if failures.total() == count {
        return Err(MapError::Nowhere { cause: failures.most_frequent() });
    }
    let check = points.check(&solved);
    let computed = batch::counted(solved.iter().flatten().map(|told| told.path));
    Ok(Map { x, y, show, shown, ceilings, excess, status, failures, base, check, computed })
}

impl Map {
    /// Whether every ceiling is met at a point; none where there is no answer.
    pub fn allowed(&self, index: usize) -> Option<bool> {
        let known = self.status[index] == 0;
        known.then(|| self.excess.iter().all(|excess| excess[index] <= 0.0))
    }

    /// How many points meet every ceiling.
    pub fn count_allowed(&self) -> usize {
        (0..self.shown.len()).filter(|&index| self.allowed(index) == Some(true)).count()
    }

    /// Whether the base case lies on the map.
    pub fn holds_base(&self) -> bool {
        let within = |axis: &Axis, value: f64| {
            axis.values.first().is_some_and(|low| *low <= value)
                && axis.values.last().is_some_and(|high| value <= *high)
        };
        within(&self.x, self.base.place[0]) && within(&self.y, self.base.place[1])
    }

    /// A value of an axis with its unit.
    pub fn place(&self, index: usize, system: System) -> [String; 2] {
        let (x, y) = (index % self.x.values.len(), index / self.x.values.len());
        [(&self.x, x), (&self.y, y)].map(|(axis, at)| axis.variable.show(axis.values[at], system))
    }
}

#[cfg(test)]
mod tests;
