//! What lies about an answer: its neighbours, the front of the aim against a limit, a full grid.

use super::hunt::{Hunt, Printed};
use super::question::{Toward, excess, lower};
use super::search::Point;
use crate::case::Aim;
use crate::study::search::ceilings::{Ceiling, What};

use super::{Of, Requirement, Setting, Told};

/// Numbers that a full grid takes, at most.
pub const MOST_OF_GRID: usize = 3;
/// Values of a number on a full grid.
const GRID: usize = 21;
/// The second grid spans this share of the bounds about the answer.
const SHRUNK: f64 = 0.1;
/// A grid that finds a place better by more than this, relative, withdraws an answer.
const BETTER: f64 = 2e-3;
/// Points of a front.
const POINTS: usize = 9;
/// Part of the range that a neighbour lies away, about.
const STEP: f64 = 0.02;

/// One number a step away from the answer, all others as they are.
#[derive(Clone, Debug)]
pub struct Neighbour {
    /// Index of the number.
    pub number: usize,
    /// How far it is moved, SI; below zero it is lowered.
    pub by: f64,
    /// What it then tells less what the answer tells, both by the rule.
    pub change: Told,
    /// Whether everything holds there.
    pub holds: bool,
    /// Index of the requirement that is missed most there; none where all hold.
    pub missed: Option<usize>,
    /// Whether everything holds and the aim is better: there is none of that kind.
    pub better: bool,
}

/// The aim against the limit that it is traded with.
#[derive(Clone, Debug)]
pub struct Front {
    /// Index of the requirement.
    pub requirement: usize,
    /// From the case as it is to the least that is possible.
    pub points: Vec<FrontPoint>,
    /// What the case as it is tells.
    pub today: Option<[f64; 2]>,
    /// The answer.
    pub answer: [f64; 2],
}

/// The best with one limit.
#[derive(Clone, Debug)]
pub struct FrontPoint {
    /// The most that the requirement may be, SI.
    pub limit: f64,
    /// The best aim, SI.
    pub aim: f64,
    /// The values of the numbers there, SI.
    pub values: Vec<f64>,
}

/// What a full grid says of an answer.
#[derive(Clone, Debug)]
pub struct Grid {
    /// Places of the two grids.
    pub places: usize,
    /// Of them, where everything holds.
    pub held: usize,
    /// The best aim of those, SI; none where nothing holds on the grids.
    pub best: Option<f64>,
    /// The values of the numbers there, SI.
    pub values: Vec<f64>,
    /// By how much it is better than the answer, as a share of it; below zero it is worse.
    pub by: f64,
}

impl Grid {
    /// Whether it found something better than the answer.
    pub fn better(&self) -> bool {
        self.by > BETTER
    }
}

impl Hunt<'_> {
    /// The numbers of an answer, each a step down and up.
    pub(super) fn neighbours(&self, printed: &Printed, band: &[f64]) -> Vec<Neighbour> {
        let problem = &self.question.problem;
        let requirements = &problem.requirements;
        let mut asked = vec![printed.at.x.clone()];
        let mut steps = Vec::new();
        for (index, number) in problem.numbers.iter().enumerate() {
            let apart = number.neighbour(STEP);
            for sign in [-1, 1] {
                let Some(share) = number.of_lattice(printed.places[index] + sign * apart) else { continue };
                let mut x = printed.at.x.clone();
                x[index] = share;
                steps.push((index, number.at(share) - number.at(printed.at.x[index])));
                asked.push(x);
            }
        }
        let told = self.question.told(&asked);
        let Some(base) = told[0].clone() else { return Vec::new() };
        let neighbour = |((number, by), told): ((usize, f64), &Option<Told>)| {
            let told = told.as_ref()?;
            let excess = excess(requirements, &told.values, band);
            let share = |which: &usize| excess[*which] / self.scales[*which];
            let missed = (0..excess.len()).filter(|&which| excess[which] > 0.0);
            let missed = missed.max_by(|a, b| share(a).total_cmp(&share(b)));
            let values = told.values.iter().zip(&base.values).map(|(there, here)| there - here).collect();
            let lower = |aim: f64| lower(self.stages.aim, aim);
            let better = missed.is_none() && lower(told.aim) < lower(base.aim) - 1e-6 * base.aim.abs();
            let change = Told { aim: told.aim - base.aim, values };
            Some(Neighbour { number, by, change, holds: missed.is_none(), missed, better })
        };
        steps.into_iter().zip(&told[1..]).filter_map(neighbour).collect()
    }

    /// The requirement that the aim is traded with: a limit of melt under a skin, else the first that holds the answer.
    pub(super) fn traded(&self, binding: &[usize]) -> Option<usize> {
        let requirements = &self.question.problem.requirements;
        let melts = |which: &usize| requirements[*which].melt(self.case).is_some();
        // Its own limit is no price of the least void.
        let melt = (0..requirements.len()).find(melts).filter(|_| self.stages.aim != Aim::LeastVoid);
        let cools = |which: &&usize| {
            let of_station = |of: &Of| matches!(of, Of::Ceiling(Ceiling { what: What::Temperature(..), .. }));
            of_station(&requirements[**which].of) || matches!(requirements[**which].of, Of::Output(_))
        };
        melt.or_else(|| binding.iter().find(cools).copied())
    }

    /// The best aim with other limits of one requirement: from what the case as it is has of it to the least that is possible.
    pub(super) fn front(
        &self,
        which: usize,
        raised: &[f64],
        before: Option<&Setting>,
        after: &Setting,
        printed: &Printed,
    ) -> Option<Front> {
        let requirements: &[Requirement] = &self.question.problem.requirements;
        let least = self.best_from(Toward::Least(which), raised, std::slice::from_ref(&printed.at.x))?;
        let least_x = least.x.clone();
        let least = Some(least).filter(|least| least.at.is_met())?.at.aim;
        let allowed = requirements[which].max - requirements[which].margin - raised[which];
        let highest = before.map_or(allowed, |before| before.told.values[which].max(allowed));
        if highest <= least {
            return None;
        }
        let mut points: Vec<FrontPoint> = Vec::new();
        let mut last = printed.at.x.clone();
        for index in 0..POINTS {
            let limit = highest + (least - highest) * index as f64 / (POINTS - 1) as f64;
            let mut raised = raised.to_vec();
            raised[which] = requirements[which].max - requirements[which].margin - limit;
            // The last point is the least itself, which a search can only just meet.
            let starts = [last.clone(), least_x.clone()];
            let Some(found) = self.best_from(Toward::Aim, &raised, &starts).filter(|found| found.at.is_met()) else {
                continue;
            };
            last.clone_from(&found.x);
            let values = self.question.values(&found.x);
            points.push(FrontPoint { limit, aim: lower(self.stages.aim, found.at.aim), values });
        }
        let pair = |setting: &Setting| [setting.told.values[which], setting.told.aim];
        Some(Front { requirement: which, points, today: before.map(pair), answer: pair(after) })
    }

    /// A full grid over the bounds, and one over a tenth of them about the answer; none where there are too many numbers.
    pub(super) fn grid(&self, printed: &Printed, band: &[f64]) -> Option<Grid> {
        let numbers = &self.question.problem.numbers;
        if numbers.len() > MOST_OF_GRID {
            return None;
        }
        let mut places: Vec<Vec<f64>> = Vec::new();
        for about in [None, Some(&printed.at.x)] {
            let axis = |index: usize| -> Vec<f64> {
                let [low, high] = match about {
                    None => [0.0, 1.0],
                    Some(x) => [(x[index] - SHRUNK / 2.0).max(0.0), (x[index] + SHRUNK / 2.0).min(1.0)],
                };
                let even = (0..GRID).map(|step| low + (high - low) * step as f64 / (GRID - 1) as f64);
                match numbers[index].step {
                    None => even.collect(),
                    Some(_) => {
                        let mut whole: Vec<i64> = even.map(|share| numbers[index].lattice_at(share)).collect();
                        whole.dedup();
                        whole.into_iter().filter_map(|place| numbers[index].of_lattice(place)).collect()
                    }
                }
            };
            let mut all = vec![Vec::new()];
            for index in 0..numbers.len() {
                let axis = axis(index);
                all = all
                    .into_iter()
                    .flat_map(|x: Vec<f64>| axis.iter().map(|share| [&x[..], &[*share]].concat()).collect::<Vec<_>>())
                    .collect();
            }
            places.extend(all);
        }
        self.question.ask(Toward::Aim, band);
        let points: Vec<Point> = self.question.points(&places);
        let held: Vec<(usize, f64)> = points
            .iter()
            .enumerate()
            .filter(|(_, point)| point.is_met())
            .map(|(index, point)| (index, point.aim))
            .collect();
        let best = held.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1));
        let own = self.question.points(std::slice::from_ref(&printed.at.x))[0].aim;
        Some(Grid {
            places: places.len(),
            held: held.len(),
            best: best.map(|(_, aim)| lower(self.stages.aim, aim)),
            values: best.map_or(Vec::new(), |(index, _)| self.question.values(&places[index])),
            by: best.map_or(f64::NEG_INFINITY, |(_, aim)| (own - aim) / own.abs().max(f64::MIN_POSITIVE)),
        })
    }
}
