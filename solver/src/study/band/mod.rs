//! How sure an answer is: every uncertain input to both of its ends, one at a time, and the root sum of squares.
//!
//! low = value - sqrt(sum of squares of what each input takes away), high the same with what it adds; an input adds and
//! takes away the largest and smallest of 0 and its two changes, so that a one-sided input widens one side only. Inputs
//! count as independent, and small enough for their effects to add up; what several inputs do together is left out.

#[cfg(test)]
mod tests;
pub mod usual;

use ndarray::Array1;
use rayon::prelude::*;

use crate::case::error::Error;
use crate::case::warning::Warning;
use crate::case::{CaseFile, Quantity};
use crate::line::Settings;
use crate::march::solution::{Band, FieldBand, Solution};
use crate::march::{march_by_rule, march_with};
use crate::material::linear;
use usual::{Input, inputs};

/// What one solve says: every quantity of every station, then surface and core along the line.
struct Answer {
    stations: Vec<f64>,
    along: Option<[Vec<f64>; 2]>,
}

/// Adds to a solution of a case how far the inputs' uncertainty moves it; along the line too, where it has fields.
///
/// The cost is one solve by the rule for the case and two for each uncertain input, side by side. An end that has no
/// answer is left out, with a warning.
///
/// # Errors
///
/// The case itself cannot be solved.
pub fn add_band(case: &CaseFile, solution: &mut Solution) -> Result<(), Error> {
    let inputs = inputs(case);
    let distance: Vec<f64> = solution.fields.distance.to_vec();
    let base = answer(case, &distance)?;
    let ends: Vec<(usize, usize, f64)> = inputs
        .iter()
        .enumerate()
        .flat_map(|(i, input)| [(i, 0, input.band.low_end), (i, 1, input.band.high_end)])
        .collect();
    let answers: Vec<Result<Answer, Error>> =
        ends.par_iter().map(|&(index, _, end)| answer(&inputs[index].at(case, end), &distance)).collect();
    // Changes of every number of an answer, at the low and at the high end of every input.
    let mut changes: Vec<[Option<Answer>; 2]> = inputs.iter().map(|_| [None, None]).collect();
    for (&(index, end, _), answer) in ends.iter().zip(answers) {
        match answer {
            Ok(answer) => changes[index][end] = Some(answer.minus(&base)),
            Err(error) => solution
                .warnings
                .push(Warning::BandIncomplete { input: inputs[index].band.input.clone(), reason: error.to_string() }),
        }
    }
    solution.band = rows(case, solution, &inputs, &changes);
    if base.along.is_some() {
        let side = |which: usize, values: &Array1<f64>| widened(which, values, &changes);
        let (surface, core) = (side(0, &solution.fields.surface), side(1, &solution.fields.core));
        let ([surface_low, surface_high], [core_low, core_high]) = (surface, core);
        solution.fields.band = Some(FieldBand { surface_low, surface_high, core_low, core_high });
    }
    solution.band_inputs = inputs.into_iter().map(|input| input.band).collect();
    Ok(())
}

fn answer(case: &CaseFile, distance: &[f64]) -> Result<Answer, Error> {
    let settings = Settings { fields: !distance.is_empty(), ..Settings::rule(case.tolerance) };
    let (solution, _) = march_with(case, &settings)?;
    let points = solution.stations.iter().map(|station| &station.point);
    let stations =
        points.flat_map(|point| Quantity::all(case).into_iter().map(|quantity| point.quantity(quantity))).collect();
    let fields = &solution.fields;
    // Where a length varies the output points differ: both are read at the same distances.
    let at = |values: &Array1<f64>| {
        let points: Vec<[f64; 2]> = fields.distance.iter().zip(values).map(|(&x, &y)| [x, y]).collect();
        distance.iter().map(|&x| linear(&points, x)).collect()
    };
    let along = settings.fields.then(|| [at(&fields.surface), at(&fields.core)]);
    Ok(Answer { stations, along })
}

impl Answer {
    fn minus(mut self, base: &Answer) -> Answer {
        self.stations.iter_mut().zip(&base.stations).for_each(|(value, base)| *value -= base);
        for (values, base) in self.along.iter_mut().flatten().zip(base.along.iter().flatten()) {
            values.iter_mut().zip(base).for_each(|(value, base)| *value -= base);
        }
        self
    }
}

/// What one input takes away and adds.
fn sides(changes: [f64; 2]) -> [f64; 2] {
    // A change that is not a number is no change.
    let [low, high] = changes.map(|change| if change.is_nan() { 0.0 } else { change });
    [low.min(high).min(0.0), low.max(high).max(0.0)]
}

/// Surface and core of every station, and what else has a limit there.
fn rows(case: &CaseFile, solution: &Solution, inputs: &[Input], changes: &[[Option<Answer>; 2]]) -> Vec<Band> {
    let (mut rows, quantities) = (Vec::new(), Quantity::all(case));
    for (index, (station, report)) in case.stations.iter().zip(&solution.stations).enumerate() {
        for (which, quantity) in quantities.iter().copied().enumerate() {
            let limited = station.limits.iter().any(|limit| limit.quantity.judged(case) == quantity);
            if !limited && !matches!(quantity, Quantity::Surface | Quantity::Core) {
                continue;
            }
            let place = index * quantities.len() + which;
            let changes: Vec<[f64; 2]> = changes
                .iter()
                .map(|ends| ends.each_ref().map(|end| end.as_ref().map_or(f64::NAN, |end| end.stations[place])))
                .collect();
            let value = report.point.quantity(quantity);
            let [low, high] = ends(value, changes.iter().copied());
            rows.push(Band {
                station: station.name.clone(),
                quantity: quantity.name(case),
                low,
                high,
                largest: largest(inputs, &changes),
                changes,
            });
        }
    }
    rows
}

/// The input whose two changes are the largest; empty where there is none.
fn largest(inputs: &[Input], changes: &[[f64; 2]]) -> String {
    let size = |changes: &[f64; 2]| {
        let [down, up] = sides(*changes);
        down * down + up * up
    };
    let largest = (0..inputs.len()).max_by(|&a, &b| size(&changes[a]).total_cmp(&size(&changes[b])));
    largest.map(|index| inputs[index].band.input.clone()).unwrap_or_default()
}

/// How far the inputs' uncertainty moves some numbers of a case: each down and up, and the input that moves it most. An end that
/// has no answer is left out.
///
/// # Errors
///
/// The case itself cannot be solved.
pub(crate) fn widths(
    case: &CaseFile,
    numbers: impl Fn(&CaseFile, &Solution) -> Vec<f64> + Sync,
) -> Result<Vec<([f64; 2], String)>, Error> {
    let inputs = inputs(case);
    let solved = |case: &CaseFile| march_by_rule(case).map(|solution| numbers(case, &solution));
    let base = solved(case)?;
    let both = |input: &Input| [input.band.low_end, input.band.high_end].map(|end| solved(&input.at(case, end)).ok());
    let solved: Vec<[Option<Vec<f64>>; 2]> = inputs.par_iter().map(both).collect();
    let width = |which: usize| {
        let change = |end: &Option<Vec<f64>>| end.as_ref().map_or(f64::NAN, |values| values[which] - base[which]);
        let changes: Vec<[f64; 2]> = solved.iter().map(|pair| pair.each_ref().map(change)).collect();
        let [low, high] = ends(0.0, changes.iter().copied());
        ([-low, high], largest(&inputs, &changes))
    };
    Ok((0..base.len()).map(width).collect())
}

/// A value less and plus the root sum of squares of what the inputs take away and add.
pub(crate) fn ends(value: f64, changes: impl Iterator<Item = [f64; 2]>) -> [f64; 2] {
    let [down, up] = changes.map(sides).fold([0.0, 0.0], |sum, [down, up]| [sum[0] + down * down, sum[1] + up * up]);
    [value - down.sqrt(), value + up.sqrt()]
}

fn widened(which: usize, values: &Array1<f64>, changes: &[[Option<Answer>; 2]]) -> [Array1<f64>; 2] {
    let at = |place: usize| {
        let change = |end: &Option<Answer>| {
            end.as_ref().and_then(|end| end.along.as_ref()).map_or(f64::NAN, |along| along[which][place])
        };
        ends(values[place], changes.iter().map(|pair| [change(&pair[0]), change(&pair[1])]))
    };
    let both: Vec<[f64; 2]> = (0..values.len()).map(at).collect();
    [0, 1].map(|end| both.iter().map(|pair| pair[end]).collect())
}
