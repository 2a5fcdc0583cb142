//! One case down the line at one accuracy, alone or side by side with others: sections, landings, events, books.

mod alone;
pub mod clock;
mod column;
mod events;
mod hot_side;
pub(crate) mod itinerary;
pub mod observe;
mod passage;
mod prepare;
pub mod programme;
mod run;
mod runner;
pub(crate) mod set;
pub(crate) mod skin;
pub(crate) mod trip;
pub(crate) mod watch;
pub(crate) mod water_search;
pub mod waters;

#[cfg(test)]
mod tests;

pub use hot_side::HotSide;
pub use itinerary::times;
pub(crate) use itinerary::{Itinerary, SAME, Stop};
pub use passage::{Passage, Place, WaterRun};
pub(crate) use prepare::Prepared;
pub use prepare::is_searched;
pub use run::{Run, Settings};
pub(crate) use runner::{Outcome, Runner, alone};
pub use skin::{ASIDE, SKIN, Skin};

use alone::Alone;
use events::Events;

use crate::case::Case;
use crate::case::error::Error;
use crate::case::shrink::Radii;

/// Marches one slice from the die to the end of the line.
///
/// # Errors
///
/// Every [`Error`] of a march but an open balance, which is looked at afterwards.
pub fn run(case: &Case, radii: &Radii, settings: &Settings) -> Result<Run, Error> {
    let of = Prepared::new(case, radii.clone(), *settings, true)?;
    let mut alone = Alone::new(of.clone());
    let mut events = Events::new(&of, alone.view());
    water_search::march(&mut alone, &mut events)?;
    let hot_side = hot_side::march(&of, &alone.trip, &mut events)?;
    let state = alone.view().state();
    let trip = alone.trip;
    Ok(Run {
        slice: of.slice.clone(),
        start: of.start.clone(),
        state,
        stations: events.stations,
        ends: events.ends,
        passages: trip.passages,
        track: events.track,
        set_through: events.set.through,
        softened: events.set.softened,
        skins: events.skins.found,
        extremes: events.extremes,
        dry_peak: trip.dry_peak,
        hot_side,
        steps: trip.steps,
    })
}
