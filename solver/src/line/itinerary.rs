//! The legs of the line, and where the clock must stop in each: stations, kinks of film tables, corners of the speed, the end.

use super::clock::{Clock, Motion, PARKED, Side};
use crate::case::Case;
use crate::film::Film;
use crate::film::surface::Driven;
use crate::maths::order::{sort_by_number, sort_by_numbers};
use crate::slice::build::Times;

/// A pass through a section, or a turn-round between two passes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Leg {
    /// Index of its section.
    pub(crate) section: usize,
    /// Whether it is a turn-round.
    pub(crate) turn: bool,
    /// Distance of its entry from the die, m.
    pub(crate) start: f64,
    /// Distance of its entry from the section's, m.
    offset: f64,
    /// m.
    pub(crate) length: f64,
    /// Whether it is the last of its section.
    pub(crate) last: bool,
}

/// Every leg of a line in order.
pub(crate) fn legs(case: &Case) -> impl Iterator<Item = Leg> + '_ {
    case.sections.iter().enumerate().flat_map(move |(index, section)| {
        let start = case.section_start(index);
        (0..2 * section.passes - 1).map(move |number| {
            let (passes, turns) = (number.div_ceil(2) as f64, (number / 2) as f64);
            let offset = passes * section.length + turns * section.turn.length;
            let turn = number % 2 == 1;
            let length = if turn { section.turn.length } else { section.length };
            Leg { section: index, turn, start: start + offset, offset, length, last: number == 2 * section.passes - 2 }
        })
    })
}

/// What the clock stops for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Stop {
    /// A station, by index.
    Station(usize),
    /// A point of a film table.
    Kink,
    /// The next motion of the leg begins.
    Corner,
    /// The film has a corner at the line speed of the moment.
    Bend,
    /// A moment for which a look was asked, by index.
    Look(usize),
    /// The end of a leg that others of the section follow.
    Turn,
    /// The section's end.
    End,
}

/// Two stops closer than this share of their leg are one: their distances differ by rounding only.
pub(crate) const SAME: f64 = 1e-11;

/// Every stop of a leg but for corners of the speed, in order; the end last. `when` tells the time of a place.
pub(super) fn stops(case: &Case, leg: &Leg, when: impl Fn(f64) -> f64) -> Vec<Landing> {
    let Leg { section, length, .. } = *leg;
    let mut stops: Vec<Landing> = Vec::with_capacity(case.stations.len() + 1);
    let mut push = |place: f64, stop: Stop| stops.push(Landing { place, time: when(place), stop });
    for (index, station) in case.stations.iter().enumerate() {
        let (stands_in, within) = case.station_place(station);
        let within = within - leg.offset;
        let entered = within > SAME * length || (leg.offset == 0.0 && within >= 0.0);
        // A hair past the end is the end, but for rounding.
        if stands_in == section && entered && within <= length * (1.0 + SAME) {
            push(within.min(length), Stop::Station(index));
        }
    }
    let film = if leg.turn { &case.sections[section].turn.film } else { &case.sections[section].film };
    for kink in film.kinks_in_distance() {
        if kink > 0.0 && kink < length {
            push(kink, Stop::Kink);
        }
    }
    push(length, if leg.last { Stop::End } else { Stop::Turn });
    sort_by_number(&mut stops, |stop| stop.place);
    stops
}

/// A stop of a leg: its distance from the leg's entry, m, and the time since then, s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Landing {
    /// See the type.
    pub(crate) place: f64,
    /// See the type.
    pub(crate) time: f64,
    /// What for.
    pub(crate) stop: Stop,
}

/// A leg with its stops.
#[derive(Clone, Debug)]
pub(crate) struct Plan {
    /// See the type.
    pub(crate) leg: Leg,
    /// Clock time of its entry, s, on a line whose speed changes.
    pub(crate) since: f64,
    /// In the order of their times; the end last.
    pub(crate) stops: Vec<Landing>,
    /// The motion of the slice, its times and places counted from the entry, and the one behind each corner.
    pub(crate) motion: Motion,
    /// See `motion`.
    pub(crate) later: Vec<Motion>,
}

impl Plan {
    /// How long the slice is in the leg, s.
    pub(crate) fn duration(&self) -> f64 {
        self.stops.last().map_or(0.0, |end| end.time)
    }
}

/// A metre of the product: the length that had left the die before it, m, and on which side of a standstill it counts where it is
/// parked exactly at a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Metre {
    /// See the type.
    pub(crate) length: f64,
    /// See the type.
    pub(crate) side: Side,
}

/// What a line whose speed changes does to the film of a leg.
pub(crate) fn driven(case: &Case, leg: &Leg) -> Driven {
    let section = &case.sections[leg.section];
    let [exponent, floor] = if leg.turn { [0.0; 2] } else { [section.film_exponent, section.film_floor] };
    Driven { rated: case.line_speed, exponent, floor }
}

/// Line speed at which the film of a leg has a corner, m/s: a given film meets its floor.
pub(crate) fn bend(case: &Case, leg: &Leg) -> Option<f64> {
    let section = &case.sections[leg.section];
    match if leg.turn { &section.turn.film } else { &section.film } {
        Film::Given(film) => driven(case, leg).at_the_floor(*film),
        _ => None,
    }
}

/// Every leg of a line with its stops.
#[derive(Clone, Debug)]
pub(crate) struct Itinerary {
    pub(crate) legs: Vec<Plan>,
}

impl Itinerary {
    /// Of a case at its line speed.
    pub(crate) fn of(case: &Case) -> Itinerary {
        let steady = Motion::steady(case.line_speed);
        let stops = |leg: &Leg| stops(case, leg, |place| steady.when(place));
        let plan = |leg: Leg| Plan { leg, since: 0.0, stops: stops(&leg), motion: steady, later: Vec::new() };
        Itinerary { legs: legs(case).map(plan).collect() }
    }

    /// Of a metre of the product on a line whose speed changes: where it is parked, it waits.
    ///
    /// A metre that is parked exactly at the end of a leg is in that leg until the line moves, and behind it where the metre counts as
    /// before the standstill.
    /// `looks` are moments at which it is looked at, s. On a line that stands at last it is followed until the moment `end`, and
    /// on every line until the moment `until`.
    pub(crate) fn on(case: &Case, clock: &Clock, metre: Metre, looks: &[f64], [end, until]: [f64; 2]) -> Itinerary {
        let Metre { length, side } = metre;
        let plan = |leg: Leg| {
            let (entry, exit) = (length + leg.start, length + leg.start + leg.length);
            let [enters, leaves] = [clock.leaves(entry, side), clock.leaves(exit, side)];
            if (enters >= end && enters.is_infinite()) || (leg.start > 0.0 && enters >= until) {
                return None;
            }
            // Parked for ever, or asked for no longer: its leg is its last.
            let ends = if leaves.is_finite() { until } else { end.min(until) };
            let breaks_off = leaves > ends;
            let last = leg.last || breaks_off;
            let (leg, leaves) = (Leg { last, ..leg }, if breaks_off { ends.max(enters) } else { leaves });
            let mut motions: Vec<Motion> = clock.motions_within([enters, leaves], entry).collect();
            let mut landings = stops(case, &leg, |place| clock.arrives(entry + place, side));
            landings.retain_mut(|landing| {
                let when = if matches!(landing.stop, Stop::End | Stop::Turn) { leaves } else { landing.time };
                let met = when.is_finite() && !(breaks_off && when > leaves);
                landing.time = if met { (when - enters).clamp(0.0, leaves - enters) } else { when };
                met
            });
            for (index, &when) in looks.iter().enumerate() {
                // What happens at its end belongs to it, as a metre that is parked there does; the end of the line but for rounding.
                let room = if leg.section + 1 == case.sections.len() && leg.last { PARKED } else { 0.0 };
                if enters < when && when <= leaves + room {
                    let when = when.min(leaves);
                    let place = clock.travelled(when) - entry;
                    landings.push(Landing { place, time: when - enters, stop: Stop::Look(index) });
                }
            }
            for (number, motion) in motions.iter().enumerate() {
                let until = motions.get(number + 1).map_or(leaves - enters, |next| next.since);
                if number > 0 {
                    landings.push(Landing { place: motion.from, time: motion.since, stop: Stop::Corner });
                }
                if let Some(time) = bend(case, &leg).and_then(|speed| motion.when_as_fast(speed))
                    && motion.changes()
                    && motion.since.max(0.0) < time
                    && time < until
                {
                    landings.push(Landing { place: motion.place(time), time, stop: Stop::Bend });
                }
            }
            // At one moment: what is on the way, the next motion, the end.
            let rank = |stop: Stop| match stop {
                Stop::End | Stop::Turn => 2.0,
                Stop::Corner => 1.0,
                _ => 0.0,
            };
            sort_by_numbers(&mut landings, |landing| [landing.time, rank(landing.stop)]);
            let motion = motions.remove(0);
            Some(Plan { leg, since: enters, stops: landings, motion, later: motions })
        };
        Itinerary { legs: legs(case).map_while(plan).collect() }
    }

    /// The times that the mesh rule asks for at a line speed; fronts are not asked for.
    pub(crate) fn times(&self, speed: f64) -> Times {
        let first_asked = |plan: &Plan| {
            let reported = |stop: &&Landing| matches!(stop.stop, Stop::Station(_) | Stop::End) && stop.place > 0.0;
            plan.stops.iter().find(reported).map_or(f64::INFINITY, |stop| stop.place / speed)
        };
        let first_report = self.legs.iter().find_map(|plan| {
            let asked = first_asked(plan);
            asked.is_finite().then_some(plan.leg.start / speed + asked)
        });
        Times {
            earliest: self.legs.iter().map(first_asked).fold(f64::INFINITY, f64::min),
            first_report: first_report.unwrap_or(f64::INFINITY),
            front: f64::INFINITY,
        }
    }
}

/// The times that the mesh rule asks for.
pub fn times(case: &Case) -> Times {
    Itinerary::of(case).times(case.line_speed)
}
