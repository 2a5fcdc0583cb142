//! What the doubtful inputs of a case do to the metre that decides a verdict: one slice, marched once more for both ends of each.

use super::metre::{self, Request};
use super::{Measure, Programme, check};
use crate::case::error::Error;
use crate::case::programme::Output;
use crate::case::{Case, CaseFile, shrink};
use crate::line::Settings;
use crate::line::clock::Side;
use crate::line::programme::Extruder;
use crate::maths::parallel::each;
use crate::study::band::ends;
use crate::study::band::usual::{Input, inputs};

/// A value and how far the inputs move it.
#[derive(Clone, Debug, PartialEq)]
pub struct Range {
    /// The value of the case itself, degC or m.
    pub value: f64,
    /// It less and plus the root sum of squares of what the inputs take away and add.
    pub low: f64,
    /// See `low`.
    pub high: f64,
    /// The input that moves it most, as a key path; empty where none does.
    pub largest: String,
    /// Inputs of which one end has no answer.
    pub without: Vec<String>,
    /// What each of the [`doubtful`] inputs changes at its low and at its high end; none where that end has no answer.
    pub changes: Vec<[Option<f64>; 2]>,
}

/// The doubtful inputs of a case but for its line speed: the programme says that.
pub(in crate::study) fn doubtful(case: &CaseFile) -> Vec<Input> {
    inputs(case).into_iter().filter(|input| input.band.input != "line.speed").collect()
}

/// The range of a measure that a station sees of one metre; on a wheel of its largest value there.
///
/// `case` is the case of the programme with its bands. Its programme stays: an input that moves the line speed is left out.
///
/// # Errors
///
/// As [`super::drive`], for the case itself; none where the metre never comes to the station.
pub fn range(
    case: &CaseFile,
    programme: &Programme,
    (length, side): (f64, Side),
    station: usize,
    measure: Measure,
) -> Result<Option<Range>, Error> {
    check(programme)?;
    let request = Request::followed(length, side, 0);
    let settings = Settings::rule(programme.tolerance);
    let seen = |programme: &Programme| -> Result<Option<f64>, Error> {
        let metre = metre::one(programme, &request, settings)?;
        Ok(metre.seen[station].as_ref().map(|seen| seen.sight.largest(measure)))
    };
    let Some(value) = seen(programme)? else { return Ok(None) };
    let inputs = doubtful(case);
    let change = |input: &Input, end: f64| -> Option<f64> {
        let changed = input.at(case, end);
        let radii = shrink::radii(&changed).ok()?;
        let outputs = |case: &Case| case.layers.iter().map(|layer| layer.feed.output).collect::<Vec<Output>>();
        let extruders: Vec<Extruder> = outputs(&changed)
            .into_iter()
            .map(|output| Extruder::new(output, programme.clock, changed.line_speed))
            .collect();
        let area = |layer: usize, time: f64, side: Side| extruders[layer].share_beside(time, side);
        // An output that is doubtful itself makes other areas.
        let area: &(dyn Fn(usize, f64, Side) -> f64 + Sync) =
            if outputs(&changed) == outputs(programme.case) { programme.area } else { &area };
        Some(seen(&Programme { case: &changed, radii: &radii, area, ..*programme }).ok()?? - value)
    };
    let changes = each(&inputs, |input| [input.band.low_end, input.band.high_end].map(|end| change(input, end)));
    let known = |pair: &[Option<f64>; 2]| pair.map(|change| change.unwrap_or(f64::NAN));
    let size = |pair: &[Option<f64>; 2]| pair.iter().flatten().fold(0.0f64, |size, change| size.max(change.abs()));
    let [low, high] = ends(value, changes.iter().map(known));
    let largest = (0..inputs.len()).max_by(|&a, &b| size(&changes[a]).total_cmp(&size(&changes[b])));
    let name = |index: usize| inputs[index].band.input.clone();
    let without = (0..inputs.len()).filter(|&index| changes[index].contains(&None)).map(name).collect();
    Ok(Some(Range { value, low, high, largest: largest.map(name).unwrap_or_default(), without, changes }))
}
