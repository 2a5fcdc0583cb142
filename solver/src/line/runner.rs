//! Cases of one structure side by side: each lane takes the next case as soon as its own is done.

use std::collections::VecDeque;
use std::sync::Arc;

use super::Prepared;
use super::alone::Alone;
use super::trip::{Arrival, Trip};
use super::watch::Notes;
use super::water_search::{Order, Search};
use crate::case::error::Error;
use crate::engine::{self, Abreast, Bundle, Path, Row, Structure, View};

/// Lanes of a runner.
pub(crate) const LANES: usize = Abreast::LANES;

/// What became of a case.
pub(crate) struct Outcome<T> {
    /// The case's number in its batch.
    pub(crate) index: usize,
    /// What its notes make of it.
    pub(crate) answer: Result<T, Error>,
    /// How it was computed.
    pub(crate) path: Path,
}

/// A case in a lane.
struct Lane<'a> {
    index: usize,
    trip: Trip<'a>,
    search: Search<'a>,
    /// Whether it stands between two sections; whether the march through the one at hand counts.
    between: bool,
    watched: bool,
}

/// Lanes and the queue before them.
pub(crate) struct Runner<'a, N: Notes> {
    path: Path,
    bundle: Bundle<'a, Abreast>,
    lanes: [Option<Lane<'a>>; LANES],
    notes: [N; LANES],
    queue: VecDeque<(usize, Arc<Prepared<'a>>)>,
}

/// Marches one case alone, for what `notes` make of it.
pub(crate) fn alone<N: Notes>(of: Arc<Prepared>, notes: &mut N) -> Result<N::Answer, Error> {
    Alone::new(of).through(notes)
}

impl<'a, N: Notes> Runner<'a, N> {
    /// Lanes for cases of one structure, with notes for each.
    pub(crate) fn new(path: Path, structure: Structure, notes: impl Fn() -> N) -> Runner<'a, N> {
        let path = if path.runs_here() { path } else { Path::best() };
        let (lanes, notes) = (std::array::from_fn(|_| None), std::array::from_fn(|_| notes()));
        Runner { path, bundle: Bundle::new(path, structure), lanes, notes, queue: VecDeque::new() }
    }

    /// What its cases share.
    pub(crate) fn structure(&self) -> &Structure {
        &self.bundle.structure
    }

    /// Puts a case into the queue.
    pub(crate) fn put(&mut self, index: usize, prepared: Arc<Prepared<'a>>) {
        self.queue.push_back((index, prepared));
    }

    /// Takes a case, and marches while every lane has one.
    pub(crate) fn feed(&mut self, index: usize, prepared: Arc<Prepared<'a>>, done: &mut Vec<Outcome<N::Answer>>) {
        self.put(index, prepared);
        self.run(done, |cases, _| cases == LANES);
    }

    /// Marches until every case is done.
    pub(crate) fn drain(&mut self, done: &mut Vec<Outcome<N::Answer>>) {
        self.run(done, |_, _| true);
    }

    /// Marches while there is a case and it is wanted `on`, which is told in how many lanes there is one and how many are done.
    pub(crate) fn run(&mut self, done: &mut Vec<Outcome<N::Answer>>, on: impl Fn(usize, usize) -> bool) {
        loop {
            for lane in 0..LANES {
                self.refill(lane);
            }
            let cases = self.lanes.iter().flatten().count();
            if cases == 0 || !on(cases, done.len()) {
                return;
            }
            let mut moved = true;
            while std::mem::take(&mut moved) {
                engine::fields(&mut self.bundle);
                for lane in 0..LANES {
                    moved |= self.arrive(lane, done);
                }
            }
            engine::surround(&mut self.bundle);
            for lane in 0..LANES {
                let Some(own) = &mut self.lanes[lane] else { continue };
                if let Err(error) = own.trip.plan(&mut self.bundle, lane) {
                    self.finish(lane, Err(error), done);
                }
            }
            engine::attempt(&mut self.bundle);
            let mut taken = Abreast::all(0.0);
            for lane in 0..LANES {
                let Some(own) = &mut self.lanes[lane] else { continue };
                if own.trip.judge(&mut self.bundle, lane) {
                    taken[lane] = 1.0;
                }
            }
            engine::accept(&mut self.bundle, &taken);
        }
    }

    /// Puts the next case into an empty lane; whether there was one.
    fn refill(&mut self, lane: usize) -> bool {
        if self.lanes[lane].is_some() {
            return false;
        }
        let Some((index, of)) = self.queue.pop_front() else { return false };
        self.notes[lane].begin(&of);
        self.bundle.fill(lane, &of.slice, &of.start);
        let mut trip = Trip::new(of);
        let search = Search::new(&mut trip);
        self.lanes[lane] = Some(Lane { index, trip, search, between: true, watched: true });
        true
    }

    /// Reports what a lane reached; whether it is in another state now, of its own or of the next case.
    fn arrive(&mut self, lane: usize, done: &mut Vec<Outcome<N::Answer>>) -> bool {
        let Some(own) = &mut self.lanes[lane] else { return false };
        let (notes, view) = (&mut self.notes[lane], View::new(&self.bundle, lane));
        if own.trip.steps == [0; 2] {
            notes.start(&own.trip.of, view);
        }
        match own.trip.follow(view) {
            Ok(true) if own.watched => notes.step(&own.trip.of, view, &own.trip.step),
            Ok(_) => {}
            Err(error) => {
                self.finish(lane, Err(error), done);
                return self.refill(lane);
            }
        }
        loop {
            let Some(Lane { trip, search, between, watched, .. }) = &mut self.lanes[lane] else { return false };
            if *between {
                match search.next(trip, &mut self.bundle, lane) {
                    Ok(Some(Order::March { watched: counts })) => {
                        (*between, *watched) = (false, counts);
                        trip.enter(&mut self.bundle, lane);
                    }
                    Ok(Some(Order::Settle)) => return true,
                    Ok(None) => {
                        let answer = self.notes[lane].end(trip, View::new(&self.bundle, lane));
                        self.finish(lane, answer, done);
                        return self.refill(lane);
                    }
                    Err(error) => {
                        self.finish(lane, Err(error), done);
                        return self.refill(lane);
                    }
                }
            }
            let arrival = trip.arrive(&mut self.bundle, lane);
            let (notes, view) = (&mut self.notes[lane], View::new(&self.bundle, lane));
            match arrival {
                Arrival::Under => return false,
                Arrival::Out => *between = true,
                _ if !*watched => {}
                Arrival::Station(index) => notes.station(trip, index, view),
                Arrival::SectionEnd(index) => notes.section_end(trip, index, view),
                Arrival::Look(index) => notes.look(trip, index, view),
            }
        }
    }

    /// Takes a case out of its lane.
    fn finish(&mut self, lane: usize, answer: Result<N::Answer, Error>, done: &mut Vec<Outcome<N::Answer>>) {
        if let Some(Lane { index, .. }) = self.lanes[lane] {
            done.push(Outcome { index, answer, path: self.path });
        }
        self.lanes[lane] = None;
        self.bundle.empty(lane);
    }
}
