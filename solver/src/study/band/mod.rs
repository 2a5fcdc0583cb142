//! How sure an answer is: every uncertain input to both of its ends, one at a time, and the root sum of squares.
//!
//! low = value - sqrt(sum of squares of what each input takes away), high the same with what it adds; an input adds and
//! takes away the largest and smallest of 0 and its two changes, so that a one-sided input widens one side only. Inputs
//! count as independent, and small enough for their effects to add up; what several inputs do together is left out.

#[cfg(test)]
mod tests;
pub mod usual;

use ndarray::Array1;

use crate::case::error::Error;
use crate::case::warning::Warning;
use crate::case::{CaseFile, Quantity};
use crate::line::Settings;
use crate::march::batch::{self, Batch};
use crate::march::march_with;
use crate::march::output::Output;
use crate::march::solution::{Band, FieldBand, Solution};
use crate::material::linear;
use crate::maths::parallel::each;
use usual::{Input, inputs};

/// Some outputs of a case at the low and at the high end of an input.
type Pair = [Result<Vec<f64>, Error>; 2];

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
    let (base, ends) = if distance.is_empty() {
        let of_station = |station| Quantity::all(case).into_iter().map(move |quantity| (station, quantity));
        let outputs: Vec<Output> = (0..case.stations.len())
            .flat_map(of_station)
            .map(|(station, quantity)| Output::temperature_of(case, station, quantity))
            .collect();
        let of = |stations: Vec<f64>| Answer { stations, along: None };
        let (base, ends) = side_by_side(case, &inputs, &outputs)?;
        (of(base), ends.into_iter().map(|pair| pair.map(|end| end.map(of))).collect())
    } else {
        let of_end = |input: &Input| {
            [input.band.low_end, input.band.high_end].map(|end| answer(&input.at(case, end), &distance))
        };
        let ends = each(&inputs, of_end);
        (answer(case, &distance)?, ends)
    };
    // Changes of every number of an answer, at the low and at the high end of every input.
    let mut changes: Vec<[Option<Answer>; 2]> = Vec::new();
    for (input, pair) in inputs.iter().zip(ends) {
        changes.push(pair.map(|end| match end {
            Ok(answer) => Some(answer.minus(&base)),
            Err(error) => {
                let (input, reason) = (input.band.input.clone(), error.to_string());
                solution.warnings.push(Warning::BandIncomplete { input, reason });
                None
            }
        }));
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

/// Some outputs of a case, and of both ends of every input: by the rule, side by side. A layer whose skin sets nowhere has all of
/// its melt's shrink still to lose.
fn side_by_side(case: &CaseFile, inputs: &[Input], outputs: &[Output]) -> Result<(Vec<f64>, Vec<Pair>), Error> {
    let ends = inputs.iter().flat_map(|input| [input.band.low_end, input.band.high_end].map(|end| input.at(case, end)));
    let cases: Vec<CaseFile> = std::iter::once(case.clone()).chain(ends).collect();
    let answers = batch::answers(&cases, outputs, Batch::default()).into_iter().zip(&cases).map(|(answer, case)| {
        let values = answer?.values.into_iter().zip(outputs);
        Ok(values.map(|(value, output)| output.against_limit(case, value)).collect())
    });
    let mut answers = answers.collect::<Vec<Result<Vec<f64>, Error>>>().into_iter();
    let Some(base) = answers.next() else { return Ok((Vec::new(), Vec::new())) };
    let base = base?;
    let mut pairs = Vec::with_capacity(inputs.len());
    while let (Some(low), Some(high)) = (answers.next(), answers.next()) {
        pairs.push([low, high]);
    }
    Ok((base, pairs))
}

/// How far the inputs' uncertainty moves some outputs of a case: what its root sums of squares take away from each and add, and the
/// input that moves it most. An end that has no answer is left out.
///
/// # Errors
///
/// The case itself cannot be solved.
pub(crate) fn widths(case: &CaseFile, outputs: &[Output]) -> Result<Vec<([f64; 2], String)>, Error> {
    let inputs = inputs(case);
    let (base, solved) = side_by_side(case, &inputs, outputs)?;
    let width = |which: usize| {
        let change =
            |end: &Result<Vec<f64>, Error>| end.as_ref().map_or(f64::NAN, |values| values[which] - base[which]);
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
