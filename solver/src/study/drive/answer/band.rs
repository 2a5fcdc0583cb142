//! How sure the metre that decides is: what doubtful inputs do to it.

use serde::Serialize;

use super::{LimitOverTime, StationOverTime};
use crate::case::CaseFile;
use crate::line::clock::Side;
use crate::line::programme::Extruder;
use crate::study::drive::{Driven, Limited, Programme, Range, range};

/// How far the inputs move what decides.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Deciding {
    /// The station.
    pub station: String,
    /// What is limited there.
    pub limit: Limited,
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
    /// What each doubtful input changes at its low and at its high end, degC or m; none where that end has no answer.
    #[serde(skip)]
    pub(in crate::study) changes: Vec<[Option<f64>; 2]>,
}

/// The limit with most product out of it, or the nearest, and how far the inputs move its metre; none without a limit.
pub(super) fn deciding(
    case: &CaseFile,
    programme: Programme,
    extruders: &[Extruder],
    driven: &Driven,
    stations: &[StationOverTime],
) -> Option<Deciding> {
    let all = || {
        stations.iter().enumerate().flat_map(|(index, station)| station.limits.iter().map(move |limit| (index, limit)))
    };
    let worst = all().filter(|(_, limit)| limit.out_m > 0.0).max_by(|a, b| a.1.out_m.total_cmp(&b.1.out_m));
    let room = |limit: &LimitOverTime| (limit.limit - limit.largest).abs();
    let (station, limit) = worst.or_else(|| {
        all()
            .filter(|(_, limit)| !limit.of.is_diameter() && limit.largest.is_finite())
            .min_by(|a, b| room(a.1).total_cmp(&room(b.1)))
    })?;
    let measure = limit.of.measure;
    let area = |layer: usize, time: f64, side: Side| extruders[layer].share_beside(time, side);
    let programme = Programme { area: &area, ..programme };
    // The farthest metre may be the one just before a jump, or just behind it.
    let away = |side: &Side| {
        let sight = driven.at(station, limit.metre_m, *side);
        sight.map_or(f64::INFINITY, |sight| (sight.largest(measure) - limit.largest).abs())
    };
    let sides = [Side::At, Side::Before, Side::Behind];
    let side = sides.into_iter().min_by(|a, b| away(a).total_cmp(&away(b)))?;
    let Range { value, low, high, largest, changes, .. } =
        range(case, &programme, (limit.metre_m, side), station, measure).ok()??;
    Some(Deciding {
        station: stations[station].name.clone(),
        limit: limit.of.clone(),
        metre_m: limit.metre_m,
        value,
        low,
        high,
        largest,
        changes,
    })
}
