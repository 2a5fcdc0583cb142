//! One run of a slice from the die to the end of the line, and what it leaves behind.

use super::alone::Alone;
use super::events::Events;
use super::{HotSide, Passage, Place, Prepared, Settings, Skin, hot_side};
use crate::case::Case;
use crate::case::error::Error;
use crate::case::shrink::Radii;
use crate::engine::Field;
use crate::slice::Slice;

/// The run of one slice: states kept at every landing, events, books.
#[derive(Clone, Debug)]
pub struct Run {
    /// The slice that marched.
    pub slice: Slice,
    /// State at the die.
    pub start: Vec<f64>,
    /// State at the end of the line.
    pub state: Vec<f64>,
    /// State at each station, in the order of the case.
    pub stations: Vec<Vec<f64>>,
    /// State at each section's end.
    pub ends: Vec<Vec<f64>>,
    /// What each section left behind.
    pub passages: Vec<Passage>,
    /// States along the line with their distance and section, when asked for.
    pub track: Vec<Place>,
    /// Where each layer's hottest point last fell below its set temperature, m; `None` where it is above at the end.
    pub set_through: Vec<Option<f64>>,
    /// Where the insulation of laid-up cores first came above its set temperature, m; `None` where it did not.
    pub softened: Vec<Option<f64>>,
    /// The set skin of each layer; of metals and of plastics without a set temperature nothing is known.
    pub skins: Vec<Skin>,
    /// Highest and lowest temperature that each layer met, degC.
    pub extremes: Vec<[f64; 2]>,
    /// Highest surface temperature after the last water, degC.
    pub dry_peak: Option<f64>,
    /// The hot side, where water does not touch all round.
    pub hot_side: Option<HotSide>,
    /// Steps accepted and rejected.
    pub steps: [usize; 2],
}

impl Run {
    /// The fields at the end of the line.
    pub fn field(&self) -> Field {
        Field::of(&self.slice, &self.state)
    }
}

/// Marches one slice from the die to the end of the line.
///
/// # Errors
///
/// Every [`Error`] of a march but an open balance, which is looked at afterwards.
pub fn run(case: &Case, radii: &Radii, settings: &Settings) -> Result<Run, Error> {
    let of = Prepared::new(case, radii.clone(), *settings, true)?;
    let mut alone = Alone::new(of.clone());
    let mut events = Events::new(&of, alone.view());
    alone.along_the_line(&mut events)?;
    let hot_side = hot_side::march(&of, &alone.trip, &mut events)?;
    let state = alone.view().state();
    let dry_peak = alone.trip.dry_peak.map(|enthalpy| alone.view().surface_at(enthalpy));
    let trip = alone.trip;
    Ok(Run {
        slice: of.slice.clone(),
        start: of.start.clone(),
        state,
        stations: events.stations,
        ends: events.ends,
        passages: trip.books.passages,
        track: events.track,
        set_through: events.set.through,
        softened: events.set.softened,
        skins: events.skins.found,
        extremes: events.extremes,
        dry_peak,
        hot_side,
        steps: trip.steps,
    })
}
