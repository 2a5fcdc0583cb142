//! A case that marches alone: section by section, with the water that is searched for.

use std::sync::Arc;

use super::Prepared;
use super::trip::{Arrival, Trip};
use super::watch::{Notes, Watch};
use super::water_search::{Order, Search, check_liquid};
use crate::case::error::Error;
use crate::engine::{self, Bundle, One, Path, Structure, View};

/// A case on its way alone.
pub(super) struct Alone<'a> {
    bundle: Bundle<'a, One>,
    pub(super) trip: Trip<'a>,
}

impl<'a> Alone<'a> {
    /// At the die.
    pub(super) fn new(of: Arc<Prepared<'a>>) -> Alone<'a> {
        let mut bundle = Bundle::new(Path::Single, Structure::of(&of.slice));
        bundle.fill(0, &of.slice, &of.start);
        engine::fields(&mut bundle);
        Alone { bundle, trip: Trip::new(of) }
    }

    /// Its present state.
    pub(super) fn view(&self) -> View<'_, 'a, One> {
        View::new(&self.bundle, 0)
    }

    /// Marches to the end of the line, its water searched for where nobody gave it.
    pub(super) fn along_the_line<W: Watch>(&mut self, watch: &mut W) -> Result<(), Error> {
        let mut search = Search::new(&mut self.trip);
        while let Some(order) = search.next(&mut self.trip, &mut self.bundle, 0)? {
            match order {
                Order::Settle => engine::fields(&mut self.bundle),
                Order::March { watched: true } => self.pass(watch)?,
                Order::March { watched: false } => self.pass(&mut ())?,
            }
        }
        check_liquid(&self.trip)
    }

    /// Marches to the end of the line, for what `notes` make of it; no water is searched for.
    pub(super) fn through<N: Notes>(mut self, notes: &mut N) -> Result<N::Answer, Error> {
        notes.begin(&self.trip.of);
        while !self.trip.is_through() {
            self.pass(notes)?;
        }
        notes.end(&self.trip, self.view())
    }

    /// Marches through the next section.
    pub(super) fn pass<W: Watch>(&mut self, watch: &mut W) -> Result<(), Error> {
        let Alone { bundle, trip } = self;
        trip.enter(bundle, 0);
        loop {
            if trip.follow(View::new(bundle, 0))? {
                watch.step(&trip.of, View::new(bundle, 0), &trip.step);
            }
            loop {
                match trip.arrive(bundle, 0) {
                    Arrival::Under => break,
                    Arrival::Station(index) => watch.station(trip, index, View::new(bundle, 0)),
                    Arrival::SectionEnd(index) => watch.section_end(trip, index, View::new(bundle, 0)),
                    Arrival::Look(index) => watch.look(trip, index, View::new(bundle, 0)),
                    Arrival::Out => return Ok(()),
                }
            }
            engine::surround(bundle);
            loop {
                trip.plan(bundle, 0)?;
                if let Some(column) = &trip.of.column {
                    column.hold(bundle, 0, trip.place_ahead(0.5 * bundle.ends.step[0]));
                    engine::fields(bundle);
                    engine::surround(bundle);
                }
                engine::attempt(bundle);
                if trip.judge(bundle, 0) {
                    break;
                }
            }
            engine::accept(bundle, &One([1.0]));
            engine::fields(bundle);
        }
    }
}
