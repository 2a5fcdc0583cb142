//! The points of a map: their cases, what the rule says of them, and some of them again the careful way.

use super::{Axis, Check};
use crate::case::CaseFile;
use crate::case::error::Error;
use crate::engine::Path;
use crate::march::batch::{self, Answer, Batch};
use crate::march::march;
use crate::march::output::Output;
use crate::march::solution::Solution;
use crate::maths::order::sort_by_number;
use crate::maths::parallel::{each, try_each};
use crate::names::error::KeyPathError;
use crate::study::search::ceilings;
use crate::study::search::values::Values;
use crate::study::searched::Searched;

/// One point in so many along each axis is marched again, but no fewer than [`LEAST_CHECKED`].
const CHECKED: usize = 10;
/// Points along each axis that are marched again at least, where there are so many.
const LEAST_CHECKED: usize = 3;
/// Points that a thread takes at a time, at least and at most.
const CHUNK: [usize; 2] = [32, 512];
/// Chunks for every thread, so that none waits long for the last.
const CHUNKS: usize = 16;

/// What is known of a point: what is shown, the value and the excess of each ceiling.
pub(super) struct Told {
    pub shown: f64,
    pub values: Vec<f64>,
    pub excess: Vec<f64>,
    /// How it was computed.
    pub path: Path,
}

/// What every point has in common.
pub(super) struct Points<'a> {
    case: &'a CaseFile,
    x: &'a Axis,
    y: &'a Axis,
    /// What is shown, and the ceilings.
    values: Values,
}

impl<'a> Points<'a> {
    pub(super) fn new(case: &'a CaseFile, x: &'a Axis, y: &'a Axis, show: &Output) -> Points<'a> {
        Points { case, x, y, values: Values::new(case, vec![show.clone()]) }
    }

    fn count(&self) -> usize {
        self.x.values.len() * self.y.values.len()
    }

    /// The case of a point.
    fn case(&self, index: usize) -> Result<CaseFile, KeyPathError> {
        let (x, y) = (self.x.values[index % self.x.values.len()], self.y.values[index / self.x.values.len()]);
        let mut case = self.case.clone();
        let mut settings = [(&self.x.variable, x), (&self.y.variable, y)];
        // A die temperature that follows the speed is shifted from its value at the point's speed.
        sort_by_number(&mut settings, |(variable, _)| f64::from(variable.path != "line.speed"));
        for (variable, value) in settings {
            variable.set(&mut case, value)?;
        }
        Ok(case)
    }

    /// Marches every point by the rule.
    pub(super) fn by_rule(&self, done: &(dyn Fn(usize) + Sync)) -> Result<Vec<Result<Told, Error>>, KeyPathError> {
        let indices: Vec<usize> = (0..self.count()).collect();
        let chunk = (self.count() / (CHUNKS * rayon::current_num_threads())).clamp(CHUNK[0], CHUNK[1]);
        let chunks: Vec<&[usize]> = indices.chunks(chunk).collect();
        let told = try_each(&chunks, |chunk| {
            let cases: Vec<CaseFile> = chunk.iter().map(|&index| self.case(index)).collect::<Result<_, _>>()?;
            let answers = batch::on_one_thread(&cases, &self.values.outputs, Batch::default());
            done(chunk.len());
            let told = answers.into_iter().zip(&cases).map(|(answer, case)| {
                let told = self.of_outputs(case, &answer?);
                Ok(Told { shown: self.searched(case).unwrap_or(told.shown), ..told })
            });
            Ok(told.collect::<Vec<_>>())
        })?;
        Ok(told.into_iter().flatten().collect())
    }

    /// What is shown, where a march does not tell it: not a number where the search or the drive finds none.
    fn searched(&self, case: &CaseFile) -> Option<f64> {
        let search = self.values.outputs[0].searched()?;
        Some(Searched::default().number(case, search).unwrap_or(f64::NAN))
    }

    fn of_outputs(&self, case: &CaseFile, answer: &Answer) -> Told {
        let ceilings = self.values.of(case, &answer.values);
        let excess = ceilings.iter().map(|(ceiling, value)| value - ceiling.max).collect();
        let values = ceilings.iter().map(|(_, value)| *value).collect();
        Told { shown: answer.values[0], values, excess, path: answer.path }
    }

    /// What a solution of a point's case tells.
    pub(super) fn of_solution(&self, case: &CaseFile, solution: &Solution) -> Told {
        let ceilings = ceilings::all(case);
        Told {
            shown: self.searched(case).unwrap_or_else(|| self.values.outputs[0].of(solution)),
            values: ceilings.iter().map(|ceiling| ceiling.value(case, solution)).collect(),
            excess: ceilings.iter().map(|ceiling| ceiling.excess(case, solution)).collect(),
            path: Path::Single,
        }
    }

    /// What a careful march tells of a point, and the error that it states, K.
    fn carefully(&self, index: usize) -> Option<(Told, f64)> {
        let case = self.case(index).ok()?;
        let solution = march(&case).ok()?;
        Some((self.of_solution(&case, &solution), solution.numerics.error))
    }

    /// Marches some of the points again, carefully, and compares.
    pub(super) fn check(&self, solved: &[Result<Told, Error>]) -> Check {
        let columns = self.x.values.len();
        let chosen: Vec<usize> = spread(self.y.values.len())
            .into_iter()
            .flat_map(|row| spread(columns).into_iter().map(move |column| row * columns + column))
            .filter(|&index| solved[index].is_ok())
            .collect();
        let careful = each(&chosen, |&index| self.carefully(index));
        let ceilings = vec![0.0; ceilings::all(self.case).len()];
        let mut check = Check { points: 0, unsolved: 0, shown: 0.0, ceilings, stated: 0.0 };
        for (&index, careful) in chosen.iter().zip(&careful) {
            let (Ok(ruled), Some((careful, stated))) = (&solved[index], careful) else {
                check.unsolved += 1;
                continue;
            };
            check.points += 1;
            check.stated = check.stated.max(*stated);
            check.shown = check.shown.max((ruled.shown - careful.shown).abs());
            for (worst, (a, b)) in check.ceilings.iter_mut().zip(ruled.values.iter().zip(&careful.values)) {
                *worst = worst.max((a - b).abs());
            }
        }
        check
    }
}

/// Indices of so many values, spread evenly over `count`, both ends among them.
pub(super) fn spread(count: usize) -> Vec<usize> {
    let chosen = (count / CHECKED).max(LEAST_CHECKED).min(count);
    let last = chosen.saturating_sub(1).max(1);
    (0..chosen).map(|index| (index * (count - 1) + last / 2) / last).collect()
}
