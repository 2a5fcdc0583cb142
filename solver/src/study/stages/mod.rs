//! Stages of the trough: how hot, how long, how fast. The best water temperatures, lengths, preheat and speed within bounds.
//!
//! The functions are cheap, kinked where limits change hands, and flat in places, so the box is scanned, the best places are
//! polished side by side, and a compass of all directions has the last word; then whole steps and modules, then the digits that
//! are printed. What is found by the rule is marched again with care and confirmed. The order is fixed, so that the answer is the
//! same on any number of threads.

mod around;
mod error;
mod hunt;
mod linear;
mod number;
mod problem;
mod question;
mod search;
#[cfg(test)]
mod tests;
mod told;

use super::search::ceilings::{self, Ceiling, What};
use super::search::confirm::search_tolerance;
use crate::case::{Aim, CaseFile};
use crate::march::skins;
use crate::march::solution::Solution;
use crate::units::System;
use hunt::Hunt;
use problem::Problem;
use question::{Question, excess, lower};

pub use around::{Front, FrontPoint, Grid, MOST_OF_GRID, Neighbour};
pub use error::StagesError;
pub use number::Number;
pub use problem::{Of, Requirement, Told, heating, wet_length};

/// What is asked beside the best trough.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Asked {
    /// The units in which the numbers are printed, and rounded to.
    pub print: System,
    /// What the uncertainty of the inputs leaves of it: some hundred solves more.
    pub range: bool,
    /// What the aim costs in the limit that it is traded against: some thousand solves more.
    pub front: bool,
    /// A full grid over the bounds and about the answer, of up to three numbers: some ten thousand solves more.
    pub grid: bool,
}

/// The best trough within bounds.
#[derive(Clone, Debug)]
pub struct Staged {
    /// What is best.
    pub aim: Aim,
    /// The numbers that were set.
    pub numbers: Vec<Number>,
    /// What must hold.
    pub requirements: Vec<Requirement>,
    /// The case as it is; none where it has no answer.
    pub before: Option<Setting>,
    /// The best.
    pub after: Setting,
    /// The numbers as they are printed.
    pub printed: Vec<String>,
    /// Indices of the requirements that hold it.
    pub binding: Vec<usize>,
    /// Indices of the numbers that lie on their bounds; whether it is the high one.
    pub on_bound: Vec<(usize, bool)>,
    /// Half widths of the uncertainty by which each requirement is kept lower, SI: of a margin that is the band.
    pub band: Vec<f64>,
    /// The aim that the unfavourable end of the inputs' uncertainty leaves; none where it was not asked for, or nothing serves it.
    pub unfavourable: Option<f64>,
    /// One step of each number, down and up.
    pub neighbours: Vec<Neighbour>,
    /// The aim against the limit that it is traded with.
    pub front: Option<Front>,
    /// What a full grid says of the answer.
    pub grid: Option<Grid>,
    /// How many cases were looked at.
    pub evaluations: usize,
}

/// A setting of the numbers, carefully marched.
#[derive(Clone, Debug)]
pub struct Setting {
    /// The case.
    pub case: CaseFile,
    /// The values of the numbers, SI.
    pub values: Vec<f64>,
    /// What it tells.
    pub told: Told,
    /// Its solution, with fields.
    pub solution: Solution,
}

impl Setting {
    /// What is to spare of each requirement below what is allowed, its margin not counted; below zero it is exceeded.
    pub fn spare(&self, requirements: &[Requirement]) -> Vec<f64> {
        requirements.iter().zip(&self.told.values).map(|(requirement, value)| requirement.max - value).collect()
    }

    /// What is left to set of each plastic that sets at the end of the line: its name and percent of its mass.
    pub fn left_to_set(&self) -> Vec<(&str, f64)> {
        let layers = self.case.layers.iter().enumerate();
        let left = layers.filter_map(|(index, layer)| {
            Some((layer.name.as_str(), skins::left_to_set(&self.case, &self.solution, index)?))
        });
        left.collect()
    }

    /// Power that warms the product, W.
    pub fn heating(&self) -> f64 {
        let heats: Vec<f64> = self.solution.sections.iter().map(|section| section.heat_to_water).collect();
        heating(&self.case, &heats)
    }
}

impl Staged {
    /// Whether everything holds of a setting, margins counted.
    pub fn holds(&self, setting: &Setting) -> bool {
        excess(&self.requirements, &setting.told.values, &self.band).iter().all(|&excess| excess <= 0.0)
    }

    /// By how much the aim is better than that of the case as it is; none where that has no answer.
    pub fn gain(&self) -> Option<f64> {
        let before = self.before.as_ref()?;
        Some(lower(self.aim, before.told.aim) - lower(self.aim, self.after.told.aim))
    }

    /// Whether the case as it is is as good, as far as the inputs are known: it holds, and what is gained is less than what the
    /// uncertainty of the inputs moves the answer by.
    pub fn as_good(&self) -> bool {
        let (Some(before), Some(gain), Some(end)) = (&self.before, self.gain(), self.unfavourable) else {
            return false;
        };
        self.holds(before) && gain.abs() <= (self.after.told.aim - end).abs()
    }

    /// Whether a full grid found something better than the answer: then there is none.
    pub fn withdrawn(&self) -> bool {
        self.grid.as_ref().is_some_and(Grid::better)
    }
}

/// The best trough of a case within the bounds of its `[stages]`; `done` is told of so many more cases that are solved, from any
/// thread.
///
/// # Errors
///
/// Nothing is asked; nothing within the bounds meets everything, or has an answer; no number moves the aim.
///
/// ```
/// use quenchway::study::stages::{Asked, stages};
/// let text = format!("{}\n[stages]\naim = \"fastest\"\nmargin = \"5 K\"\n[stages.vary]\n\
///     line.speed = [\"50 m/min\", \"300 m/min\"]\nsection.trough.temperature = [\"10 degC\", \"30 degC\"]",
///     quenchway::file::EXAMPLE);
/// let case = quenchway::file::read(&text).unwrap();
/// let found = stages(&case, Asked::default(), &|_| {}).unwrap();
/// // The coldest water, and the speed at which the core is 5 K below its limit.
/// assert_eq!(found.on_bound, [(1, false)]);
/// let core = found.after.solution.stations[2].point.core;
/// assert!(core <= 55.0 && core > 54.9, "{core}");
/// ```
pub fn stages(case: &CaseFile, asked: Asked, done: &(dyn Fn(usize) + Sync)) -> Result<Staged, StagesError> {
    let stages = case.stages.as_ref().ok_or(StagesError::NotAsked)?;
    let melt = stages.aim == Aim::LeastVoid || stages.limits.iter().any(|limit| limit.output.ends_with(".melt_shrink"));
    let mut ceilings = ceilings::all(case);
    if melt {
        // Melt under a skin asks for a tighter search, wherever its limit stands.
        let what = What::MeltShrink(0);
        ceilings.push(Ceiling { what, name: String::new(), temperature: String::new(), path: String::new(), max: 0.0 });
    }
    let tolerance = search_tolerance(case, &ceilings);
    let problem = Problem::new(case, stages, asked.print, tolerance).map_err(StagesError::Value)?;
    if let Some(number) = problem.numbers.iter().find(|number| number.is_empty()) {
        return Err(StagesError::NoStep { path: number.variable.path.clone() });
    }
    let question = Question::new(problem, done);
    Hunt::new(&question)?.answer(asked)
}
