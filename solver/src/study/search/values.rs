//! Values of ceilings from the outputs of a batch.

use super::ceilings::{self, Ceiling, What};
use crate::case::shrink;
use crate::case::{CaseFile, Shape};
use crate::march::output::Output;
use crate::material::Kind;

/// What a batch is asked for, so that the ceilings of its cases are known.
#[derive(Clone, Debug)]
pub(crate) struct Values {
    /// Those that were asked for, then what ceilings are of, where an output tells it.
    pub(crate) outputs: Vec<Output>,
    /// For each ceiling its place among the outputs; none where the case alone tells it.
    of_ceiling: Vec<Option<usize>>,
}

impl Values {
    /// Of every ceiling of a case, beside other outputs.
    pub(crate) fn new(case: &CaseFile, mut outputs: Vec<Output>) -> Values {
        let mut place = |ceiling: &Ceiling| {
            let name = match ceiling.what {
                What::Temperature(..) | What::WaterOut(_) | What::MeltShrink(_) => ceiling.name.as_str(),
                What::Chiller => "line.chiller_duty",
                What::Compound | What::Hall => return None,
            };
            outputs.push(Output::find(case, name).ok()?);
            Some(outputs.len() - 1)
        };
        let of_ceiling = ceilings::all(case).iter().map(&mut place).collect();
        Values { outputs, of_ceiling }
    }

    /// The ceilings of one of the batch's cases, each with its value; `answered` are the values of the outputs.
    pub(crate) fn of(&self, case: &CaseFile, answered: &[f64]) -> Vec<(Ceiling, f64)> {
        // A ceiling may be what varies: it is that of the case.
        let value = |(ceiling, place): (Ceiling, &Option<usize>)| {
            let value = match (place, ceiling.what) {
                (Some(place), _) => self.outputs[*place].against_limit(case, answered[*place]),
                (None, What::Compound) => compound(case),
                (None, What::Hall) => case.floor_length(),
                (None, _) => f64::NAN,
            };
            (ceiling, value)
        };
        ceilings::all(case).into_iter().zip(&self.of_ceiling).map(value).collect()
    }
}

/// Mass flow of all plastic, kg/s: rho A v at the die.
fn compound(case: &CaseFile) -> f64 {
    let Ok(radii) = shrink::radii(case) else { return f64::NAN };
    let inner = std::iter::once(case.bore / 2.0).chain(radii.hot.iter().copied());
    let of_layer = |(index, (inner, &outer)): (usize, (f64, &f64))| {
        let material = &case.layers[index].material;
        let area = case.shape.area_between(inner, outer);
        // Half of r_out^2 - r_in^2 is the area of a radian.
        let area = if case.shape == Shape::Round { area / 2.0 } else { area };
        let flow = material.density.at(case.die_temperature(index)) * area * case.shape.around() * case.line_speed;
        if material.kind == Kind::Plastic { flow } else { 0.0 }
    };
    inner.zip(&radii.hot).enumerate().map(of_layer).sum()
}
