//! Cases of one structure through eight lanes: each lane takes the next case as soon as its own is done.

use std::collections::VecDeque;

use super::bundle::{Bundle, Structure};
use super::prepare::Prepared;
use super::report::{Lane, Wanted, blank, clear};
use super::trip::{Arrival, Trip};
use super::{Path, accept, attempt, fields, surround};
use crate::solution::Solution;
use crate::vector::{LANES, Row};

/// What became of a case: the numbers of its outputs, or none where it must march alone to say what is wrong.
pub struct Outcome {
    /// The case's number in its batch.
    pub index: usize,
    /// The values of its outputs.
    pub values: Option<Vec<f64>>,
    /// How it was computed.
    pub path: Path,
}

/// Eight lanes and the queue before them.
pub struct Runner<'a> {
    path: Path,
    bundle: Bundle<'a>,
    trips: [Option<Box<Trip<'a>>>; LANES],
    solutions: [Solution; LANES],
    queue: VecDeque<Box<Prepared<'a>>>,
    /// Rounds of the kernel, and lanes that were busy in them.
    pub rounds: usize,
    /// See `rounds`.
    pub busy: usize,
}

impl<'a> Runner<'a> {
    /// Lanes for cases of one structure.
    pub fn new(path: Path, structure: Structure) -> Runner<'a> {
        let path = if path.runs_here() { path } else { Path::best() };
        let (trips, solutions) = (std::array::from_fn(|_| None), std::array::from_fn(|_| blank()));
        Runner { path, bundle: Bundle::new(structure), trips, solutions, queue: VecDeque::new(), rounds: 0, busy: 0 }
    }

    /// What its cases share.
    pub fn structure(&self) -> &Structure {
        &self.bundle.structure
    }

    /// Whether nothing is on its way.
    pub fn is_idle(&self) -> bool {
        self.queue.is_empty() && self.bundle.lanes.active == 0
    }

    /// Takes a case, and marches while every lane has one.
    pub fn feed(&mut self, prepared: Box<Prepared<'a>>, wanted: &Wanted<'_>, done: &mut Vec<Outcome>) {
        self.queue.push_back(prepared);
        self.run(false, wanted, done);
    }

    /// Marches until every case is done.
    pub fn drain(&mut self, wanted: &Wanted<'_>, done: &mut Vec<Outcome>) {
        self.run(true, wanted, done);
    }

    fn run(&mut self, drain: bool, wanted: &Wanted<'_>, done: &mut Vec<Outcome>) {
        loop {
            for lane in 0..LANES {
                self.refill(lane);
            }
            let full = self.trips.iter().all(Option::is_some);
            if !full && (!drain || self.bundle.lanes.active == 0) {
                return;
            }
            fields(self.path, &mut self.bundle);
            let mut refilled = false;
            for lane in 0..LANES {
                refilled |= self.arrive(lane, wanted, done);
            }
            if refilled {
                fields(self.path, &mut self.bundle);
                for lane in 0..LANES {
                    self.arrive(lane, wanted, done);
                }
            }
            surround(self.path, &mut self.bundle);
            for lane in 0..LANES {
                let Some(trip) = &mut self.trips[lane] else { continue };
                if !trip.plan(&mut self.bundle, lane) {
                    self.give_up(lane, done);
                }
            }
            attempt(self.path, &mut self.bundle);
            self.rounds += 1;
            self.busy += self.bundle.lanes.active.count_ones() as usize;
            let mut taken = Row::all(0.0);
            for lane in 0..LANES {
                let Some(trip) = &mut self.trips[lane] else { continue };
                if trip.judge(&mut self.bundle, lane, wanted.films) {
                    taken.0[lane] = 1.0;
                }
            }
            accept(self.path, &mut self.bundle, &taken);
        }
    }

    /// Puts the next case into an empty lane; whether there was one.
    fn refill(&mut self, lane: usize) -> bool {
        if self.trips[lane].is_some() {
            return false;
        }
        let Some(prepared) = self.queue.pop_front() else { return false };
        clear(&mut self.solutions[lane], prepared.case);
        self.trips[lane] = Some(Box::new(Trip::start(prepared, &mut self.bundle, lane)));
        true
    }

    /// Reports what a lane reached; whether another case took its place.
    fn arrive(&mut self, lane: usize, wanted: &Wanted<'_>, done: &mut Vec<Outcome>) -> bool {
        loop {
            let (Some(trip), solution) = (&mut self.trips[lane], &mut self.solutions[lane]) else { return false };
            let arrival = trip.arrive(&mut self.bundle, lane);
            let here = Lane { bundle: &self.bundle, lane };
            match arrival {
                Arrival::Under => return false,
                Arrival::Station(index) => here.station(trip, wanted, index, solution),
                Arrival::SectionEnd(index) => solution.sections[index].exit.surface = here.surface(),
                Arrival::LineEnd => {
                    let values = here.end(trip, wanted, solution).map(|()| wanted.values(solution));
                    done.push(Outcome { index: trip.of.index, values, path: self.path });
                    self.trips[lane] = None;
                    self.bundle.empty(lane);
                    return self.refill(lane);
                }
            }
        }
    }

    /// Hands a case back that cannot go on.
    fn give_up(&mut self, lane: usize, done: &mut Vec<Outcome>) {
        if let Some(trip) = self.trips[lane].take() {
            done.push(Outcome { index: trip.of.index, values: None, path: self.path });
        }
        self.bundle.empty(lane);
    }
}
