//! Which stops and slow-downs stay within limits? Intervals of their duration, and the lowest speed.
//!
//! A short stop may be worse than a long one, so the durations are scanned from 0. A speed counts as within limits where
//! slow-downs to it of every duration looked at are; in the steady line it counts for itself.

use super::intervals::{Count, Question, Scanned, places, scan};
use super::ramps::Ramps;
use super::{MoveError, Outcome, SEARCH, limited, outcome, outcome_by, steady, tail};
use crate::case::CaseFile;
use crate::maths::order::sort_by_number;
use crate::maths::parallel::try_each;
use crate::units::{Dimension, System};

/// The shortest duration above 0 that is looked at, s.
const SHORTEST: f64 = 1.0;
/// The slowest speed that is looked at, as a share of the line speed.
const SLOWEST: f64 = 1.0 / 32.0;
/// Of the time that the line takes to be filled at a slow speed: longer slow-downs do no other harm.
const FILLED: f64 = 1.5;

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Asked {
    /// The speed that the line slows down to, m/s; none: it stops.
    pub slow_to: Option<f64>,
    /// The longest duration looked at, s.
    pub longest: f64,
    /// Units in which answers are printed.
    pub print: System,
}

/// The answer.
#[derive(Clone, Debug)]
pub struct Stops {
    /// How the line brakes and starts.
    pub ramps: Ramps,
    /// The speed at the bottom, m/s.
    pub to: f64,
    /// The longest duration looked at, s.
    pub longest: f64,
    /// The line as it runs before and behind: nothing else is answered where it is out of limits itself.
    pub steady: Outcome,
    /// By the time that the line stands or runs slowly, s.
    pub durations: Scanned,
    /// By speed, m/s; where a stop was asked for.
    pub lowest: Option<Lowest>,
    /// How many programmes were driven.
    pub drives: usize,
}

/// Low speeds.
#[derive(Clone, Debug)]
pub struct Lowest {
    /// Slow-downs of every duration looked at, and back.
    pub slowed: Scanned,
    /// The steady line.
    pub steady: Scanned,
    /// The longest slow-down looked at where the line fills again sooner, s.
    pub longest: f64,
    /// Length of the line, m.
    pub line: f64,
}

impl Lowest {
    /// The longest slow-down to a speed, m/s, that was looked at, s: the line is filled one and a half times at that speed.
    pub fn longest_at(&self, speed: f64) -> f64 {
        self.longest.min(FILLED * self.line / speed)
    }
}

/// What a slow-down to `to`, m/s, for `lasts` s does, to the case's tolerance.
///
/// # Errors
///
/// A metre has no answer.
pub fn at(case: &CaseFile, to: f64, lasts: f64) -> Result<Outcome, MoveError> {
    let ramps = Ramps::of(case);
    outcome(&ramps.slowed(case, to, lasts, tail(case, ramps.back)))
}

/// Which stops of the line of a case stay within limits.
///
/// # Errors
///
/// No limit; `slow_to` is not below the line speed; a programme has no answer.
pub fn stops(case: &CaseFile, asked: Asked, told: &(dyn Fn(usize) + Sync)) -> Result<Stops, MoveError> {
    limited(case)?;
    let Asked { slow_to, longest, print } = asked;
    let ramps = Ramps::of(case);
    let to = slow_to.unwrap_or(0.0);
    if to >= ramps.speed {
        return Err(MoveError::NotSlower);
    }
    let rough = case.clone().to(case.tolerance.max(SEARCH));
    let count = Count::new(told);
    let tail = tail(case, ramps.back);
    let slowed = |to: f64, lasts: f64, care: bool| {
        let found = outcome_by(&ramps.slowed(if care { case } else { &rough }, to, lasts, tail), care);
        count.one();
        found
    };
    let at_speed = |speed: f64, care: bool| {
        let found = outcome_by(&steady(if care { case } else { &rough }, speed), care);
        count.one();
        found
    };
    let mut steady = at_speed(ramps.speed, true)?;
    if ramps.back != ramps.speed {
        let back = at_speed(ramps.back, true)?;
        if steady.within() {
            steady = back;
        }
    }
    let none = Scanned { points: Vec::new(), intervals: Vec::new() };
    if !steady.within() {
        return Ok(Stops { ramps, to, longest, steady, durations: none, lowest: None, drives: count.done() });
    }
    let durations: Vec<f64> = std::iter::once(0.0).chain(places(SHORTEST.min(longest), longest)).collect();
    let question =
        Question { drive: &|lasts, care| slowed(to, lasts, care), dimension: Dimension::Time, print, least: 0.02 };
    let durations = scan(&durations, &question)?;
    let lowest = match slow_to {
        Some(_) => None,
        None => {
            let speeds = places(SLOWEST * ramps.speed, ramps.speed);
            let over_durations = |speed: f64, care: bool| {
                // A slow-down to its own speed is the line itself.
                if speed >= ramps.speed {
                    return slowed(speed, 0.0, care);
                }
                let durations = every_other(longest.min(FILLED * case.line_length() / speed));
                let look = |&lasts: &f64| Ok::<_, MoveError>((lasts, slowed(speed, lasts, false)?));
                let mut each = try_each(&durations, look)?;
                if care {
                    // An end is asked whether all are within limits: the first that is not answers. What the search sees far
                    // from every limit is there with care, too; the nearest is driven again in any case.
                    sort_by_number(&mut each, |(_, outcome)| -outcome.nearness());
                    let near = each.iter().position(|(_, outcome)| outcome.is_clear()).unwrap_or(each.len()).max(1);
                    let mut found = slowed(speed, each[0].0, true)?;
                    for (lasts, _) in &each[1..near] {
                        if !found.within() {
                            break;
                        }
                        found = slowed(speed, *lasts, true)?;
                    }
                    return Ok(found);
                }
                let each = each.into_iter().map(|(_, outcome)| outcome).collect();
                Ok(worst(each))
            };
            let question =
                Question { drive: &over_durations, dimension: Dimension::Speed, print, least: 1e-4 * ramps.speed };
            let slowed = scan(&speeds, &question)?;
            let steady = scan(&speeds, &Question { drive: &at_speed, ..question })?;
            Some(Lowest { slowed, steady, longest, line: case.line_length() })
        }
    };
    Ok(Stops { ramps, to, longest, steady, durations, lowest, drives: count.done() })
}

/// Durations from 0 to the longest, each twice the one before.
fn every_other(longest: f64) -> Vec<f64> {
    let doubled = std::iter::successors(Some(2.0 * SHORTEST), |lasts| Some(2.0 * lasts));
    std::iter::once(0.0).chain(doubled.take_while(|lasts| *lasts < longest)).chain([longest]).collect()
}

/// The outcome with most scrap, with the farthest that any of them comes to each limit.
fn worst(outcomes: Vec<Outcome>) -> Outcome {
    let all = outcomes.into_iter().reduce(|a, b| {
        let (mut most, other) = if b.avoidable() > a.avoidable() { (b, a) } else { (a, b) };
        for (reach, other) in most.reaches.iter_mut().zip(other.reaches) {
            if other.excess() > reach.excess() {
                (reach.farthest, reach.out_m) = (other.farthest, other.out_m);
            }
        }
        most
    });
    // Durations always hold 0.
    all.unwrap_or(Outcome {
        made_m: 0.0,
        scrap_m: 0.0,
        by_cause: Vec::new(),
        out_s: 0.0,
        reaches: Vec::new(),
        error: f64::NAN,
    })
}
