//! Cases of one structure side by side: each lane takes the next case as soon as its own is done.

use std::collections::VecDeque;
use std::sync::Arc;

use super::Prepared;
use super::trip::{Arrival, Trip};
use crate::case::error::Error;
use crate::engine::{self, Bundle, Eight, Path, Row, Structure, View};
use crate::march::outputs::{Numbers, Wanted};

/// Lanes of a runner.
const LANES: usize = Eight::LANES;

/// What became of a case.
pub(crate) struct Outcome {
    /// The case's number in its batch.
    pub(crate) index: usize,
    /// The values of its outputs.
    pub(crate) values: Result<Vec<f64>, Error>,
    /// How it was computed.
    pub(crate) path: Path,
}

/// A case in a lane.
struct Lane<'a> {
    index: usize,
    trip: Trip<'a>,
}

/// Lanes and the queue before them.
pub(crate) struct Runner<'a> {
    path: Path,
    bundle: Bundle<'a, Eight>,
    lanes: [Option<Box<Lane<'a>>>; LANES],
    numbers: [Numbers; LANES],
    queue: VecDeque<(usize, Arc<Prepared<'a>>)>,
}

impl<'a> Runner<'a> {
    /// Lanes for cases of one structure.
    pub(crate) fn new(path: Path, structure: Structure) -> Runner<'a> {
        let path = if path.runs_here() { path } else { Path::best() };
        let (lanes, numbers) = (std::array::from_fn(|_| None), std::array::from_fn(|_| Numbers::new()));
        Runner { path, bundle: Bundle::new(path, structure), lanes, numbers, queue: VecDeque::new() }
    }

    /// What its cases share.
    pub(crate) fn structure(&self) -> &Structure {
        &self.bundle.structure
    }

    /// Takes a case, and marches while every lane has one.
    pub(crate) fn feed(
        &mut self,
        index: usize,
        prepared: Arc<Prepared<'a>>,
        wanted: &Wanted<'_>,
        done: &mut Vec<Outcome>,
    ) {
        self.queue.push_back((index, prepared));
        self.run(false, wanted, done);
    }

    /// Marches until every case is done.
    pub(crate) fn drain(&mut self, wanted: &Wanted<'_>, done: &mut Vec<Outcome>) {
        self.run(true, wanted, done);
    }

    fn run(&mut self, drain: bool, wanted: &Wanted<'_>, done: &mut Vec<Outcome>) {
        loop {
            for lane in 0..LANES {
                self.refill(lane);
            }
            let full = self.lanes.iter().all(Option::is_some);
            if !full && (!drain || self.bundle.lanes.active == 0) {
                return;
            }
            engine::fields(&mut self.bundle);
            let mut refilled = false;
            for lane in 0..LANES {
                refilled |= self.arrive(lane, wanted, done);
            }
            if refilled {
                engine::fields(&mut self.bundle);
                for lane in 0..LANES {
                    self.arrive(lane, wanted, done);
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
            let mut taken = Eight::all(0.0);
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
        self.numbers[lane].clear(&of);
        self.bundle.fill(lane, &of.slice, &of.start);
        let mut trip = Trip::new(of);
        trip.enter(&mut self.bundle, lane);
        self.lanes[lane] = Some(Box::new(Lane { index, trip }));
        true
    }

    /// Reports what a lane reached; whether another case took its place.
    fn arrive(&mut self, lane: usize, wanted: &Wanted<'_>, done: &mut Vec<Outcome>) -> bool {
        let Some(own) = &mut self.lanes[lane] else { return false };
        if let Err(error) = own.trip.follow(View::new(&self.bundle, lane), &mut ()) {
            self.finish(lane, Err(error), done);
            return self.refill(lane);
        }
        loop {
            let Some(Lane { trip, .. }) = self.lanes[lane].as_deref_mut() else { return false };
            let arrival = trip.arrive(&mut self.bundle, lane);
            let (numbers, view) = (&mut self.numbers[lane], View::new(&self.bundle, lane));
            match arrival {
                Arrival::Under => return false,
                Arrival::Station(index) => numbers.station(trip, view, wanted, index),
                Arrival::SectionEnd(index) => numbers.section_end(view, index),
                Arrival::Out if trip.is_through() => {
                    let values = numbers.end(trip, view, wanted);
                    self.finish(lane, values, done);
                    return self.refill(lane);
                }
                Arrival::Out => trip.enter(&mut self.bundle, lane),
            }
        }
    }

    /// Takes a case out of its lane.
    fn finish(&mut self, lane: usize, values: Result<Vec<f64>, Error>, done: &mut Vec<Outcome>) {
        if let Some(own) = self.lanes[lane].take() {
            done.push(Outcome { index: own.index, values, path: self.path });
        }
        self.bundle.empty(lane);
    }
}
