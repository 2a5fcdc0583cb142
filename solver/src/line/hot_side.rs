//! The hot side of a product that water does not touch all round: a second column of the product under the film of the dry
//! part, its metal core at the temperatures that the product's own has.
//!
//! Conduction around takes it from T_column towards T_rest, the temperature of a side at rest with the wet one:
//! T_hot = min(T_rest + W max(0, T_column - T_rest), max(T_column, T_s)). Behind such water T_hot follows the mean surface: with it in air, and by as
//! much less as water all round brings the column nearer to it.

use std::sync::Arc;

use super::alone::Alone;
use super::column::{Column, metal};
use super::events::Events;
use super::trip::Trip;
use super::{Passage, Prepared};
use crate::case::Case;
use crate::case::error::Error;
use crate::film::surface::Apart;
use crate::slice::Slice;

/// The metal core in the march of the hot side is so many times heavier: what holds its temperature is the product's own.
const HEAVY: f64 = 1e9;

/// Hot side along the line, degC; none before the first water that does not touch all round.
#[derive(Clone, Debug, Default)]
pub struct HotSide {
    /// At each station.
    pub stations: Vec<Option<f64>>,
    /// At each section's end.
    pub ends: Vec<Option<f64>>,
    /// At each place of the run's track.
    pub track: Vec<Option<f64>>,
    /// At the end of each section whose water does not touch all round.
    pub exits: Vec<Option<Apart>>,
}

/// Marches the hot side beside a run that is done.
pub(super) fn march<'a>(of: &Prepared<'a>, trip: &Trip<'a>, events: &mut Events) -> Result<Option<HotSide>, Error> {
    let case = of.case;
    if !case.is_uneven() {
        return Ok(None);
    }
    let warmest = |passage: &Passage| passage.water.map(|water| water.inlet.max(water.outlet));
    let media =
        trip.books.passages.iter().zip(&trip.supplies).map(|(passage, supply)| warmest(passage).unwrap_or(*supply));
    let metal = metal(case, &of.slice);
    let mut slice = of.slice.clone();
    for &node in &metal {
        match &mut slice.core {
            Some(core) if node == of.slice.core_index() => core.mass *= HEAVY,
            _ => slice.mass[node] *= HEAVY,
        }
    }
    let history = std::mem::take(&mut events.metal);
    let table = |node: usize| match &slice.core {
        Some(core) if node == slice.core_index() => core.table,
        _ => slice.table_of[node],
    };
    let temperature = |states: &Vec<f64>| match (metal.first(), states.first()) {
        (Some(&node), Some(&state)) => slice.tables[table(node)].temperature(state).0.0,
        _ => 0.0,
    };
    let temperatures = history.iter().map(|(_, states)| temperature(states)).collect();
    let column = Column { media: media.collect(), metal, history, temperatures };
    let of = Arc::new(Prepared {
        case,
        radii: of.radii.clone(),
        settings: of.settings,
        itinerary: of.itinerary.clone(),
        slice,
        start: of.start.clone(),
        means: false,
        metre: None,
        waters: None,
        inward: of.inward,
        column: Some(column),
    });
    let mut alone = Alone::new(of.clone());
    let mut beside = Events::new(&of, alone.view());
    for _ in &case.sections {
        alone.pass(&mut beside)?;
    }
    Ok(Some(assess(case, &of.slice, events, &beside)))
}

/// Temperatures of surface and hot column at one place.
#[derive(Clone, Copy)]
struct Pair {
    surface: f64,
    column: f64,
}

/// The end of water that does not touch all round.
#[derive(Clone, Copy)]
struct Exit {
    section: usize,
    at: Pair,
    hot: f64,
    dry: bool,
}

/// The hot side everywhere, from a run and the march of its hot column.
fn assess(case: &Case, slice: &Slice, run: &Events, beside: &Events) -> HotSide {
    let last = slice.vertices() - 1;
    let surface = |state: &[f64]| slice.tables[slice.table_of[last]].temperature(state[last]).0.0;
    let pair = |own: &[f64], column: &[f64]| Pair { surface: surface(own), column: surface(column) };
    let mut ends = Vec::with_capacity(case.sections.len());
    let mut exits: Vec<Exit> = Vec::new();
    for (section, (own, column)) in run.ends.iter().zip(&beside.ends).enumerate() {
        let (at, apart) = (pair(own, column), run.apart_at_ends[section]);
        let hot = at_place(case, &exits, section, at, apart);
        if let (Some(hot), Some(apart)) = (hot, apart) {
            exits.push(Exit { section, at, hot, dry: apart.dry });
        }
        ends.push(hot);
    }
    let stations = case.stations.iter().enumerate().map(|(index, station)| {
        let (section, within) = case.station_place(station);
        // At the die no water has touched it.
        let entered = section > 0 || within > 0.0;
        let at = pair(&run.stations[index], &beside.stations[index]);
        at_place(case, &exits, section, at, run.apart_at_stations[index]).filter(|_| entered)
    });
    let track = run
        .track
        .iter()
        .zip(&beside.track)
        .map(|(own, column)| at_place(case, &exits, own.section, pair(&own.state, &column.state), own.apart));
    HotSide { stations: stations.collect(), track: track.collect(), exits: run.apart_at_ends.clone(), ends }
}

/// The hot side at a place of a section; `exits` of the water that does not touch all round before it are known.
fn at_place(case: &Case, exits: &[Exit], section: usize, at: Pair, apart: Option<Apart>) -> Option<f64> {
    if let Some(apart) = apart {
        // Conduction around takes heat from the hot side: it is never hotter than the column.
        let hot = apart.at_rest + apart.share * (at.column - apart.at_rest).max(0.0);
        return Some(hot.min(at.column.max(at.surface)));
    }
    let exit = exits.iter().rfind(|exit| exit.section < section)?;
    let more = exit.hot - exit.at.surface;
    let even_water = case.sections[exit.section + 1..=section].iter().any(|section| section.medium.is_water());
    if even_water {
        let [then, now] = [exit.at, at].map(|pair| pair.column - pair.surface);
        let left = if then > 0.0 { (now / then).clamp(0.0, 1.0) } else { 1.0 };
        return Some(at.surface + left * more);
    }
    let follows = at.surface + more;
    Some(if exit.dry { follows.min(exit.hot.max(at.surface)) } else { follows })
}
