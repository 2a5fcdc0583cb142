//! How fast may a line ramp from one speed to another? The fastest ramp within limits, or the one of least scrap.
//!
//! Scrap over the time of a ramp is not monotone: a short ramp makes little product while the output lags, a long one lags
//! little. So the time is scanned, evenly and in percent.

use serde::Serialize;

use super::intervals::{Count, Edge, Question, Scanned, places, scan};
use super::{MoveError, Outcome, SEARCH, limited, outcome, outcome_by, steady, tail};
use crate::case::CaseFile;
use crate::case::programme::{Change, Programme, Ramp};
use crate::units::{Dimension, System};

/// The shortest ramp that is looked at where the case does not say what the drives allow, s.
const SHORTEST: f64 = 1.0;
/// The longest, s, where they allow it.
pub const LONGEST: f64 = 3600.0;

/// How a ramp rises.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Course {
    /// By the same speed in every second.
    Even,
    /// By the same share of itself in every second.
    Percent,
}

impl Course {
    /// In the words of a report.
    pub fn words(self) -> &'static str {
        match self {
            Course::Even => "even",
            Course::Percent => "in percent",
        }
    }
}

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Asked {
    /// m/s.
    pub from: f64,
    /// m/s.
    pub to: f64,
    /// Units in which answers are printed.
    pub print: System,
}

/// The answer.
#[derive(Clone, Debug)]
pub struct Ramping {
    /// m/s.
    pub from: f64,
    /// m/s.
    pub to: f64,
    /// The steady line before and behind the ramp: where the one behind is out of limits, no ramp helps and none is looked at.
    pub steady: [Outcome; 2],
    /// Even and in percent; none where no ramp helps.
    pub courses: Vec<OfCourse>,
    /// How many programmes were driven.
    pub drives: usize,
}

/// The ramps of one course.
#[derive(Clone, Debug)]
pub struct OfCourse {
    /// How they rise.
    pub course: Course,
    /// The shortest and the longest time looked at, s.
    pub looked_at: [f64; 2],
    /// Whether `plant.ramp_max` allows no shorter one.
    pub steepest: bool,
    /// By time, s.
    pub times: Scanned,
    /// The ramp of least scrap, driven with care; none where some ramp is within limits.
    pub least: Option<Least>,
}

/// The ramp of least scrap.
#[derive(Clone, Debug)]
pub struct Least {
    /// Which of the samples.
    pub index: usize,
    /// Driven with care.
    pub outcome: Outcome,
}

impl OfCourse {
    /// The shortest time from which on every ramp looked at is within limits: the end that was enclosed, or none where that is
    /// the shortest looked at. None outside where no such time is.
    pub fn fastest(&self) -> Option<Option<&Edge>> {
        self.times.last().map(|interval| interval.from.as_ref())
    }
}

/// A ramp of `time` s from one speed to another, to the case's tolerance.
///
/// # Errors
///
/// A metre has no answer.
pub fn at(case: &CaseFile, [from, to]: [f64; 2], course: Course, time: f64) -> Result<Outcome, MoveError> {
    outcome(&ramped(case, [from, to], course, time))
}

pub(super) fn ramped(case: &CaseFile, [from, to]: [f64; 2], course: Course, time: f64) -> CaseFile {
    let ramp = match course {
        Course::Even => Ramp::Within(time),
        Course::Percent => Ramp::Percent(libm::log(to / from).abs() / time),
    };
    let hold = Some(tail(case, to));
    let change = Change { name: "ramp".to_string(), after: 0.0, to, ramp, hold };
    let programme = Programme { starts_at: Some(from), changes: vec![change], ..Programme::default() };
    CaseFile { programme, ..case.clone() }
}

/// Which ramps of the line of a case stay within limits, and which makes least scrap.
///
/// # Errors
///
/// No limit; the speeds are the same; a programme has no answer.
pub fn ramps(case: &CaseFile, asked: Asked, told: &(dyn Fn(usize) + Sync)) -> Result<Ramping, MoveError> {
    limited(case)?;
    let Asked { from, to, print } = asked;
    if from == to {
        return Err(MoveError::SameSpeeds);
    }
    let rough = case.clone().to(case.tolerance.max(SEARCH));
    let count = Count::new(told);
    let at_speed = |speed: f64| {
        let found = outcome(&steady(case, speed));
        count.one();
        found
    };
    let steady = [at_speed(from)?, at_speed(to)?];
    if !steady[1].within() {
        return Ok(Ramping { from, to, steady, courses: Vec::new(), drives: count.done() });
    }
    let mut courses = Vec::new();
    for course in [Course::Even, Course::Percent] {
        let steepest = match course {
            Course::Even => (to - from).abs(),
            Course::Percent => libm::log(to / from).abs() * from.max(to),
        };
        let shortest = case.plant.ramp_max.map_or(SHORTEST, |most| steepest / most);
        // Drives that are that slow have one ramp only.
        let longest = LONGEST.max(shortest);
        let drive = |time: f64, care: bool| {
            let found = outcome_by(&ramped(if care { case } else { &rough }, [from, to], course, time), care);
            count.one();
            found
        };
        let question = Question { drive: &drive, dimension: Dimension::Time, print, least: 0.02 };
        let times = scan(&places(shortest, longest), &question)?;
        let mut least = None;
        if let Some(index) = times.least().filter(|_| times.intervals.is_empty()) {
            least = Some(Least { index, outcome: drive(times.points[index].at, true)? });
        }
        let steepest = case.plant.ramp_max.is_some();
        courses.push(OfCourse { course, looked_at: [shortest, longest], steepest, times, least });
    }
    Ok(Ramping { from, to, steady, courses, drives: count.done() })
}
