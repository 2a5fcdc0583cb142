//! Pieces of the product on which what stations see is smooth, and polynomials through metres of each.
//!
//! The product is broken where a metre was parked at the die, at a boundary or at a station in a standstill (a jump there: both
//! sides are marched), and where a metre was there in a corner of the speed or of a film (a kink). Arrivals go with the root of
//! the distance from a jump, so a piece from a to b is mapped by s = a + (b - a)(3 u^2 - 2 u^3). On it stand 3, 5, 9, 17
//! Chebyshev points in u, each used again by the next; a piece that 17 do not settle is halved.

use super::Programme;
use super::asked::Asked;
use super::measure::{DIAMETER, Measure, place_of};
use super::metre::{Metre, Request, Sight};
use super::points::{chebyshev, interpolated, interpolated_one};
use super::wheel;
use crate::line::clock::{PARKED, Side};
use crate::line::itinerary::{bend, legs};
use crate::maths::order::sort_by_number;

/// Chebyshev points of a piece at most: intervals between them.
const MOST: usize = 16;
/// How often a piece is halved at most.
const HALVINGS: usize = 14;
/// Largest error of a diameter between metres, as a share of it: far below what a gauge reads.
const OF_DIAMETER: f64 = 1e-6;

/// A break of the product: where, and whether both sides of it are marched.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Break {
    pub(super) length: f64,
    pub(super) jump: bool,
}

/// Where a break of the product comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Origin {
    pub(super) at: Break,
    /// At which place its metre was then, m from the die.
    pub(super) place: f64,
    /// When, s: the metre is like its neighbours before.
    pub(super) since: f64,
}

/// Every break of a programme at some places, m from the die, with its origin, in no order.
pub(super) fn origins(programme: &Programme, places: &[f64]) -> Vec<Origin> {
    let Programme { case, clock, .. } = *programme;
    let mut found = Vec::new();
    let mut add = |length: f64, jump: bool, place: f64, since: f64| {
        found.push(Origin { at: Break { length, jump }, place, since });
    };
    for &place in places {
        clock.standstills().iter().for_each(|stand| add(stand.travelled - place, true, place, stand.from));
        // At the die a jump of the speed is one of the output over the speed.
        clock.corners().iter().for_each(|&time| add(clock.travelled(time) - place, place == 0.0, place, time));
    }
    for leg in legs(case) {
        let near =
            places.iter().filter(|&&place| place >= leg.start - PARKED && place <= leg.start + leg.length + PARKED);
        let near: Vec<f64> = near.copied().collect();
        if let Some(speed) = bend(case, &leg) {
            for time in clock.times_as_fast(speed) {
                let travelled = clock.travelled(time);
                near.iter().for_each(|&place| add(travelled - place, false, place, time));
            }
        }
    }
    found
}

/// The breaks of a programme between its first and last metre, these among them, in order.
pub(super) fn breaks(programme: &Programme) -> Vec<Break> {
    let Programme { case, first, last, .. } = *programme;
    let mut found = vec![Break { length: first, jump: false }, Break { length: last, jump: false }];
    let mut places = vec![0.0];
    places.extend(legs(case).map(|leg| leg.start + leg.length));
    places.extend(case.stations.iter().map(|station| case.station_distance(station)));
    places.extend(wheel::places(case));
    found.extend(origins(programme, &places).into_iter().map(|origin| origin.at));
    found.extend(wheel::changes(programme).into_iter().map(|length| Break { length, jump: false }));
    found.retain(|at| at.length >= first && at.length <= last);
    sort_by_number(&mut found, |at| at.length);
    // Breaks nearer than a parked metre is to its place are one.
    let mut merged: Vec<Break> = Vec::new();
    for at in found {
        match merged.last_mut() {
            Some(before) if at.length - before.length <= PARKED => before.jump |= at.jump,
            _ => merged.push(at),
        }
    }
    merged
}

/// A smooth piece of the product, or a part of one: metres at Chebyshev points of u.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// The whole piece, m.
    ends: [f64; 2],
    sides: [Side; 2],
    /// Which part of it, in u.
    part: [f64; 2],
    halved: usize,
    /// Intervals between its points, a power of two.
    intervals: usize,
    /// Its metres in order, by index.
    metres: Vec<usize>,
    /// How finely they are followed on wheels.
    fine: u32,
    /// Largest difference of a new point from the interpolant of those before it, K.
    pub(super) open: f64,
}

/// What metres at its points say of a piece.
pub(super) enum Judged {
    /// It needs no more.
    Settled(Piece),
    /// It needs more points, or its halves do.
    Finer(Vec<Piece>),
}

impl Piece {
    /// Between two breaks; its metres are followed on wheels as finely as `fine` says.
    pub(super) fn new([a, b]: [Break; 2], fine: u32) -> Piece {
        let sides = [if a.jump { Side::Behind } else { Side::At }, if b.jump { Side::Before } else { Side::At }];
        let (ends, open) = ([a.length, b.length], f64::INFINITY);
        Piece { ends, sides, part: [0.0, 1.0], halved: 0, intervals: 2, metres: Vec::new(), fine, open }
    }

    /// From which to which metre it goes, m.
    pub fn span(&self) -> [f64; 2] {
        self.part.map(|u| self.length(u))
    }

    /// Which part of the whole piece it is, in u.
    pub(super) fn part(&self) -> [f64; 2] {
        self.part
    }

    /// Its metres at both ends and every so many of those between.
    pub(super) fn checked(&self, every: usize) -> Vec<usize> {
        let last = self.metres.len() - 1;
        (0..=last).filter(|&j| j % every == 0 || j == last).map(|j| self.metres[j]).collect()
    }

    /// Names its metres by new numbers.
    pub(super) fn renumber(&mut self, numbers: &[usize]) {
        self.metres.iter_mut().for_each(|metre| *metre = numbers[*metre]);
    }

    /// The length at u.
    pub(super) fn length(&self, u: f64) -> f64 {
        let [a, b] = self.ends;
        if u >= 1.0 { b } else { a + (b - a) * u * u * (3.0 - 2.0 * u) }
    }

    /// u of a length: the root of 3 u^2 - 2 u^3 = w in closed form.
    fn inverse(&self, length: f64) -> f64 {
        let [a, b] = self.ends;
        let share = ((length - a) / (b - a)).clamp(0.0, 1.0);
        let u = 0.5 - libm::sin(libm::asin(1.0 - 2.0 * share) / 3.0);
        // Near the ends the arc sine is blunt.
        let mut u = if share < 1e-3 {
            (share / 3.0).sqrt()
        } else if share > 0.999 {
            1.0 - ((1.0 - share) / 3.0).sqrt()
        } else {
            u
        };
        for _ in 0..4 {
            let slope = 6.0 * u * (1.0 - u);
            if slope > 0.0 {
                let excess = if share < 0.5 {
                    u * u * (3.0 - 2.0 * u) - share
                } else {
                    (1.0 - share) - (1.0 - u) * (1.0 - u) * (1.0 + 2.0 * u)
                };
                u = (u - excess / slope).clamp(0.0, 1.0);
            }
        }
        u
    }

    /// u of its points.
    fn points(&self) -> Vec<f64> {
        chebyshev(self.part, self.intervals)
    }

    fn side(&self, u: f64) -> Side {
        if u <= 0.0 {
            self.sides[0]
        } else if u >= 1.0 {
            self.sides[1]
        } else {
            Side::At
        }
    }

    /// Its points as metres that are wanted.
    pub(super) fn requests(&self) -> impl Iterator<Item = Request> + '_ {
        self.points().into_iter().map(|u| Request::followed(self.length(u), self.side(u), self.fine))
    }

    /// The parts of the time that its metres are on the wheel of a station.
    fn on_wheel(&self, metres: &[Metre], station: usize) -> Vec<[usize; 3]> {
        let seen = self.metres.iter().filter_map(|&metre| metres[metre].seen[station].as_ref());
        let mut keys: Vec<[usize; 3]> = seen.flat_map(|seen| seen.wheel.keys()).collect();
        keys.sort_unstable();
        keys.dedup();
        keys
    }

    /// Those values of its metres that are asked of a station: on arrival, and then on the wheel, part by part; none where one of
    /// the metres never gets there.
    fn rows(&self, metres: &[Metre], station: usize, asked: &Asked) -> Option<Vec<Vec<f64>>> {
        let keys = if asked.on_wheel.is_empty() { Vec::new() } else { self.on_wheel(metres, station) };
        let row = |&metre: &usize| {
            let seen = metres[metre].seen[station].as_ref()?;
            let values = &seen.sight.values;
            let mut row: Vec<f64> = asked.arrival.iter().map(|&place| values[place]).collect();
            for &place in &asked.on_wheel {
                row.extend(keys.iter().flat_map(|&key| seen.wheel.values(values, key, place)));
            }
            Some(row)
        };
        self.metres.iter().map(row).collect()
    }

    /// Where u is between the ends of the part, 0 to 1.
    fn share(&self, u: f64) -> f64 {
        let [low, high] = self.part;
        (u - low) / (high - low)
    }

    /// What a station sees at a metre of it; none where a metre of the piece never gets there.
    pub(super) fn sight(&self, metres: &[Metre], station: usize, u: f64) -> Option<Sight> {
        let first = &metres[self.metres[0]].seen[station].as_ref()?.sight;
        let (count, wheeled) = (first.values.len(), !first.on_wheel.is_empty());
        let all: Vec<usize> = if wheeled { (0..count).collect() } else { Vec::new() };
        let rows = self.rows(metres, station, &Asked { arrival: (0..count).collect(), on_wheel: all.clone() })?;
        let rows: Vec<&[f64]> = rows.iter().map(Vec::as_slice).collect();
        let mut values = interpolated(&rows, self.share(u));
        let there = values.split_off(count);
        let of_place = there.len() / all.len().max(1);
        let largest =
            |&place: &usize| values[place].max(wheel::largest(&there[place * of_place..(place + 1) * of_place]));
        let on_wheel = all.iter().map(largest).collect();
        Some(Sight { values, on_wheel, given: 0.0 })
    }

    /// One value that a station saw of its metres: on arrival, and where the `largest` is asked for at every point on the wheel;
    /// none where one of them never gets there.
    pub(super) fn column(
        &self,
        metres: &[Metre],
        (station, measure): (usize, Measure),
        largest: bool,
    ) -> Option<Vec<Vec<f64>>> {
        let place = place_of(measure);
        let keys = if largest { self.on_wheel(metres, station) } else { Vec::new() };
        let of = |&metre: &usize| {
            let seen = metres[metre].seen[station].as_ref()?;
            let values = &seen.sight.values;
            let mut column = vec![seen.sight.of(measure)];
            column.extend(keys.iter().flat_map(|&key| seen.wheel.values(values, key, place)));
            Some(column)
        };
        self.metres.iter().map(of).collect()
    }

    /// A column at u: on a wheel the largest there.
    pub(super) fn value(&self, column: Option<&[Vec<f64>]>, u: f64) -> f64 {
        let Some(column) = column else { return f64::NAN };
        if column[0].len() == 1 {
            return interpolated_one(column.len() - 1, |j| column[j][0], self.share(u));
        }
        let rows: Vec<&[f64]> = column.iter().map(Vec::as_slice).collect();
        let all = interpolated(&rows, self.share(u));
        all[0].max(wheel::largest(&all[1..]))
    }

    /// As [`Piece::sight`], by product length.
    pub(super) fn sight_at(&self, metres: &[Metre], station: usize, length: f64) -> Option<Sight> {
        self.sight(metres, station, self.inverse(length))
    }

    /// Judges it by the metres at its points: whether nothing that is asked between them is off by more than `close`, K. What is asked
    /// stands station by station.
    pub(super) fn judged(mut self, of: Vec<usize>, metres: &[Metre], asked: &[Asked], close: f64) -> Judged {
        self.metres = of;
        if self.intervals > 2 {
            let [kelvin, share] = self.difference(metres, asked);
            self.open = kelvin;
            let span = self.span();
            let short = span[1] - span[0] <= 1e3 * PARKED || self.halved == HALVINGS;
            if (kelvin <= close && share <= OF_DIAMETER) || (self.intervals == MOST && short) {
                return Judged::Settled(self);
            }
        }
        if self.intervals < MOST {
            return Judged::Finer(vec![Piece { intervals: 2 * self.intervals, ..self }]);
        }
        let [low, high] = self.part;
        let middle = 0.5 * (low + high);
        let half = |part| Piece { part, halved: self.halved + 1, intervals: 2, metres: Vec::new(), ..self.clone() };
        Judged::Finer([[low, middle], [middle, high]].map(half).into())
    }

    /// Largest differences of its new points from the interpolant of the old ones: temperatures, K, and diameters as shares.
    fn difference(&self, metres: &[Metre], asked: &[Asked]) -> [f64; 2] {
        let mut worst = [0.0f64; 2];
        let points = self.points();
        for (station, asked) in asked.iter().enumerate() {
            let Some(rows) = self.rows(metres, station, asked) else { continue };
            let diameter = asked.arrival.iter().position(|place| *place == DIAMETER);
            let old: Vec<&[f64]> = rows.iter().step_by(2).map(Vec::as_slice).collect();
            for j in (1..self.intervals).step_by(2) {
                let expected = interpolated(&old, self.share(points[j]));
                for (place, (a, b)) in expected.iter().zip(&rows[j]).enumerate() {
                    if Some(place) == diameter {
                        worst[1] = worst[1].max((a / b - 1.0).abs());
                    } else {
                        worst[0] = worst[0].max((a - b).abs());
                    }
                }
            }
        }
        worst
    }
}

/// Where the values of a piece at a station rise through a level or fall: spans in u above it (or below).
pub(super) fn spans_beyond(
    piece: &Piece,
    metres: &[Metre],
    place: (usize, Measure),
    limit: f64,
    above: bool,
) -> Vec<[f64; 2]> {
    let column = piece.column(metres, place, above);
    let beyond = |u: f64| {
        let value = piece.value(column.as_deref(), u);
        if above { value - limit } else { limit - value }
    };
    let looks = looks(piece);
    let values: Vec<f64> = looks.iter().map(|&u| beyond(u)).collect();
    let mut spans = Vec::new();
    let mut from = (values.first().is_some_and(|&value| value > 0.0)).then_some(piece.part[0]);
    for (us, pair) in looks.windows(2).zip(values.windows(2)) {
        if (pair[0] > 0.0) == (pair[1] > 0.0) {
            continue;
        }
        let at = root(&beyond, [us[0], us[1]], [pair[0], pair[1]]);
        match from.take() {
            Some(from) => spans.push([from, at]),
            None => from = Some(at),
        }
    }
    if let Some(from) = from {
        spans.push([from, piece.part[1]]);
    }
    spans
}

/// Places of a piece, in u, between which no value turns twice.
pub(super) fn looks(piece: &Piece) -> Vec<f64> {
    const BETWEEN: usize = 4;
    let points = piece.points();
    let between = points.windows(2).flat_map(|pair| {
        (0..BETWEEN).map(|i| pair[0] + (pair[1] - pair[0]) * i as f64 / BETWEEN as f64).collect::<Vec<f64>>()
    });
    between.chain(points.last().copied()).collect()
}

/// A root by false position with the Illinois rule.
fn root(f: &impl Fn(f64) -> f64, [mut a, mut b]: [f64; 2], [mut fa, mut fb]: [f64; 2]) -> f64 {
    for _ in 0..100 {
        let x = (a * fb - b * fa) / (fb - fa);
        let fx = f(x);
        if (fx > 0.0) == (fb > 0.0) {
            fa *= 0.5;
        } else {
            (a, fa) = (b, fb);
        }
        let moved = (x - b).abs();
        (b, fb) = (x, fx);
        if moved < 1e-13 || fx == 0.0 {
            break;
        }
    }
    b
}
