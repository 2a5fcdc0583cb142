//! How sure the metre that decides is: each uncertain input to both of its ends, one at a time, that one metre marched anew.

use rayon::prelude::*;
use serde::Serialize;

use super::answer::{LimitOverTime, StationOverTime, programme_of};
use super::metre::{self, Request};
use super::{Measure, Programme};
use crate::case::shrink::{Radii, radii};
use crate::case::{CaseFile, Quantity};
use crate::line::Settings;
use crate::line::clock::Side;
use crate::line::programme::{Extruder, Motions};
use crate::study::band::usual::inputs;

/// How far the inputs move what decides.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Deciding {
    /// The station.
    pub station: String,
    /// What is limited there: the key of the limit.
    pub limit: String,
    /// In the words of a report.
    #[serde(skip)]
    pub words: String,
    /// Whether it is a diameter, m; else a temperature, degC.
    #[serde(skip)]
    pub diameter: bool,
    /// The metre.
    pub metre_m: f64,
    /// Its value, degC or m.
    pub value: f64,
    /// The value less the root sum of squares of what the inputs take away.
    pub low: f64,
    /// The value and that of what they add.
    pub high: f64,
    /// Key path of the largest contributor.
    pub largest: String,
}

/// The limit with most product out of it, or the nearest, and how far the inputs move its metre; none without a limit.
pub(super) fn deciding(
    case: &CaseFile,
    motions: &Motions,
    extruders: &[Extruder],
    sizes: &Radii,
    stations: &[StationOverTime],
) -> Option<Deciding> {
    let all = || {
        stations.iter().enumerate().flat_map(|(index, station)| station.limits.iter().map(move |limit| (index, limit)))
    };
    let worst = all().filter(|(_, limit)| limit.out_m > 0.0).max_by(|a, b| a.1.out_m.total_cmp(&b.1.out_m));
    let room = |limit: &LimitOverTime| (limit.limit - limit.largest).abs();
    let (station, limit) = worst.or_else(|| {
        all()
            .filter(|(_, limit)| !limit.diameter && limit.largest.is_finite())
            .min_by(|a, b| room(a.1).total_cmp(&room(b.1)))
    })?;
    let measure = if limit.diameter {
        Measure::Diameter
    } else {
        let quantity = Quantity::all(case).into_iter().find(|quantity| quantity.limit(case) == limit.name)?;
        Measure::Temperature(quantity)
    };
    let settings = Settings::rule(case.tolerance);
    let marched = |case: &CaseFile, sizes: &Radii, side: Side| -> Option<f64> {
        let area = |layer: usize, time: f64, side: Side| extruders[layer].share_beside(time, side);
        let programme: Programme = programme_of(case, motions, sizes, &area, &[]);
        let metre = metre::one(&programme, &Request::new(limit.metre_m, side), settings).ok()?;
        let sight = &metre.seen.get(station)?.as_ref()?.sight;
        Some(if limit.above { sight.largest(measure) } else { sight.of(measure) })
    };
    // The farthest metre may be the one just before a jump, or just behind it.
    let sides = [Side::At, Side::Before, Side::Behind];
    let of_sides = sides.map(|side| marched(case, sizes, side).unwrap_or(f64::NAN));
    let nearest = (0..3).filter(|&index| of_sides[index].is_finite());
    let nearest =
        nearest.min_by(|&a, &b| (of_sides[a] - limit.largest).abs().total_cmp(&(of_sides[b] - limit.largest).abs()))?;
    let base = of_sides[nearest];
    let inputs = inputs(case);
    let ends: Vec<(usize, f64)> = inputs
        .iter()
        .enumerate()
        .flat_map(|(index, input)| [(index, input.band.low_end), (index, input.band.high_end)])
        .collect();
    let changes: Vec<f64> = ends
        .par_iter()
        .map(|&(index, end)| {
            let moved = inputs[index].at(case, end);
            let change = radii(&moved).ok().and_then(|sizes| marched(&moved, &sizes, sides[nearest]));
            change.map_or(0.0, |value| value - base)
        })
        .collect();
    let (mut down, mut up, mut largest) = (0.0, 0.0, (0.0, String::new()));
    for (input, pair) in inputs.iter().zip(changes.chunks_exact(2)) {
        let [low, high] = [pair[0].min(pair[1]).min(0.0), pair[0].max(pair[1]).max(0.0)];
        (down, up) = (down + low * low, up + high * high);
        let size = low * low + high * high;
        if size > largest.0 {
            largest = (size, input.band.input.clone());
        }
    }
    Some(Deciding {
        station: stations[station].name.clone(),
        limit: limit.name.clone(),
        words: limit.words.clone(),
        diameter: limit.diameter,
        metre_m: limit.metre_m,
        value: base,
        low: base - f64::sqrt(down),
        high: base + f64::sqrt(up),
        largest: largest.1,
    })
}
