//! Product on the wheel of a station with `contact`: what it is over the time that it lies there, and the largest of that.
//!
//! The time on the wheel is cut at corners of the speed and of the film, and where the product comes into another medium; a long
//! standstill is cut on. In each part stands a polynomial in u through Chebyshev points, time = from + (to - from) u^2: after a
//! change of the film temperatures go with the root of the time. Metre by metre these points change smoothly. So what lies between
//! metres is interpolated point by point, and the largest is taken last, of the polynomials.

use std::sync::LazyLock;

use super::Programme;
use super::measure::{Measure, place_of};
use super::points::{chebyshev, graded, interpolated_one};
use crate::case::{Case, Quantity, Station};
use crate::film::Film;
use crate::line::clock::{PARKED, Side};
use crate::line::itinerary::{bend, legs};
use crate::maths::order::sort_by_number;

/// Chebyshev intervals of a part.
const INTERVALS: usize = 8;
/// Points of a part.
const POINTS: usize = INTERVALS + 1;
/// Parts of a standstill at first.
const AT_REST: usize = 8;
/// A part that is shorter, s, is none: at the end of a smooth piece of the product one shrinks to nothing.
const NOTHING: f64 = 1e-9;
/// Places between which the largest of a polynomial is looked for.
const LOOKS: usize = 32;

/// Which part of the time on a wheel: how many corners and how many places lie before it, and which part of a standstill.
type Key = [usize; 3];
/// Where a part of the time on a wheel lies: which one it is, from when until when, s.
pub(super) type Span = (Key, [f64; 2]);

/// A part of the time on a wheel.
#[derive(Clone, Debug, PartialEq)]
struct Part {
    key: Key,
    /// At each of its points every value of a sight.
    rows: Vec<Vec<f64>>,
}

/// A metre on the wheel of a station.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wheel {
    parts: Vec<Part>,
}

/// Where the product leaves the wheel of a station, m from the die: the end of the line at the latest.
pub(super) fn end(case: &Case, station: &Station) -> f64 {
    (case.station_distance(station) + station.contact).min(case.line_length())
}

/// Places on the wheel of a station, m from the die, in order: where a section ends, or a table of its film has a kink.
fn on_the_way(case: &Case, station: &Station) -> Vec<f64> {
    let (from, to) = (case.station_distance(station), end(case, station));
    let mut places = Vec::new();
    for leg in legs(case) {
        places.push(leg.start + leg.length);
        let section = &case.sections[leg.section];
        let film: &Film = if leg.turn { &section.turn.film } else { &section.film };
        places.extend(film.kinks_in_distance().filter(|kink| *kink < leg.length).map(|kink| leg.start + kink));
    }
    places.retain(|place| from + PARKED < *place && *place < to - PARKED);
    places.sort_by(f64::total_cmp);
    places.dedup_by(|b, a| *b - *a <= PARKED);
    places
}

/// Every place of a case, m from the die, at which something begins or ends for product on a wheel.
pub(super) fn places(case: &Case) -> Vec<f64> {
    let with = case.stations.iter().filter(|station| station.contact > 0.0);
    with.flat_map(|station| on_the_way(case, station).into_iter().chain([end(case, station)])).collect()
}

/// Moments at which the speed has a corner, or the film of a section on the wheel at the speed of the moment, s, in order.
fn corners(programme: &Programme, station: &Station) -> Vec<f64> {
    let Programme { case, clock, .. } = *programme;
    let (from, to) = (case.station_distance(station), end(case, station));
    let mut corners: Vec<f64> = clock.corners().to_vec();
    for leg in legs(case).filter(|leg| leg.start < to && leg.start + leg.length > from - PARKED) {
        corners.extend(bend(case, &leg).into_iter().flat_map(|speed| clock.times_as_fast(speed)));
    }
    corners.sort_by(f64::total_cmp);
    corners.dedup();
    corners
}

/// Product lengths at which the parts of the time on a wheel change, m.
pub(super) fn changes(programme: &Programme) -> Vec<f64> {
    let Programme { case, clock, .. } = *programme;
    let mut lengths = Vec::new();
    for station in case.stations.iter().filter(|station| station.contact > 0.0) {
        let mut places = on_the_way(case, station);
        places.extend([case.station_distance(station), end(case, station)]);
        for time in corners(programme, station) {
            lengths.extend(places.iter().map(|place| clock.travelled(time) - place));
        }
    }
    lengths
}

/// What counts on a wheel: surface, core, and what has a limit, as places among the values of a sight.
pub(super) fn counted(station: &Station) -> Vec<usize> {
    let limits = station.limits.iter().map(|limit| limit.quantity);
    let quantities = [Quantity::Surface, Quantity::Core].into_iter().chain(limits);
    let mut places: Vec<usize> = quantities.map(|quantity| place_of(Measure::Temperature(quantity))).collect();
    places.sort_unstable();
    places.dedup();
    places
}

/// The time of a metre on the wheel of a station, part by part; `fine` halves every part so many times.
pub(super) fn parts(programme: &Programme, (length, side): (f64, Side), station: &Station, fine: u32) -> Vec<Span> {
    let Programme { case, clock, end: last, .. } = *programme;
    let arrives = clock.arrives(length + case.station_distance(station), side);
    let leaves = clock.leaves(length + end(case, station), side);
    let leaves = if leaves.is_finite() { leaves } else { last };
    if !(arrives.is_finite() && leaves > arrives) {
        return Vec::new();
    }
    let inside = |time: &f64| arrives < *time && *time < leaves;
    let corners = corners(programme, station);
    let before = corners.partition_point(|&corner| corner <= arrives);
    let corners = corners.into_iter().enumerate().filter(|(_, corner)| inside(corner));
    let mut cuts: Vec<(f64, [usize; 2])> = vec![(arrives, [before, 0])];
    cuts.extend(corners.map(|(number, corner)| (corner, [number + 1, 0])));
    let places = on_the_way(case, station);
    let passed = places.iter().enumerate().map(|(number, place)| (clock.leaves(length + place, side), [0, number + 1]));
    cuts.extend(passed.filter(|(time, _)| inside(time)));
    sort_by_number(&mut cuts, |(time, _)| *time);
    let mut parts = Vec::new();
    let mut now = [0, 0];
    for (number, &(from, passed)) in cuts.iter().enumerate() {
        now = [now[0].max(passed[0]), now[1].max(passed[1])];
        let to = cuts.get(number + 1).map_or(leaves, |next| next.0);
        if to - from <= NOTHING {
            continue;
        }
        let stands = clock.speed(0.5 * (from + to)) == 0.0;
        let whole = if stands { graded([from, to], AT_REST) } else { vec![from, to] };
        let halved = 1u32 << fine;
        let mut ends: Vec<f64> = whole
            .windows(2)
            .flat_map(|pair| (0..halved).map(|i| pair[0] + (pair[1] - pair[0]) * f64::from(i) / f64::from(halved)))
            .collect();
        ends.push(to);
        parts.extend(ends.windows(2).enumerate().map(|(sub, ends)| ([now[0], now[1], sub], [ends[0], ends[1]])));
    }
    parts
}

/// The moments at which a metre is looked at in a part, s: its points but for the first.
pub(super) fn moments([from, to]: [f64; 2]) -> impl Iterator<Item = f64> {
    let points = chebyshev([0.0, 1.0], INTERVALS).into_iter().skip(1);
    points.map(move |u| if u == 1.0 { to } else { from + (to - from) * u * u })
}

impl Wheel {
    /// From what was seen on arrival, and in each part at its moments.
    pub(super) fn new(
        arrival: &[f64],
        keys: impl Iterator<Item = Key>,
        mut looks: impl Iterator<Item = Option<Vec<f64>>>,
    ) -> Wheel {
        let mut now = arrival.to_vec();
        let parts = keys.map(|key| {
            let mut rows = vec![now.clone()];
            for _ in 0..INTERVALS {
                // Beyond the end of the line by rounding: as it left.
                if let Some(row) = looks.next().flatten() {
                    now = row;
                }
                rows.push(now.clone());
            }
            Part { key, rows }
        });
        Wheel { parts: parts.collect() }
    }

    /// The parts of it.
    pub(super) fn keys(&self) -> impl Iterator<Item = Key> + '_ {
        self.parts.iter().map(|part| part.key)
    }

    /// One of its values at the points of a part; of a part that has shrunk to nothing the value there.
    pub(super) fn values<'a>(&'a self, arrival: &'a [f64], key: Key, place: usize) -> impl Iterator<Item = f64> + 'a {
        let next = self.parts.partition_point(|part| part.key < key);
        let part = self.parts.get(next).filter(|part| part.key == key);
        let before = next.checked_sub(1).and_then(|before| self.parts[before].rows.last());
        let held = before.map_or(arrival, Vec::as_slice);
        (0..POINTS).map(move |point| part.map_or(held, |part| part.rows[point].as_slice())[place])
    }

    /// The largest of one of its values.
    pub(super) fn largest(&self, arrival: &[f64], place: usize) -> f64 {
        let of = |part: &Part| {
            let values: Vec<f64> = part.rows.iter().map(|row| row[place]).collect();
            highest(&values)
        };
        self.parts.iter().map(of).fold(arrival[place], f64::max)
    }

    /// What the largest of its values at some places may be off by, K: as far as the last two coefficients of the Chebyshev series
    /// of any part reach beyond it.
    pub(super) fn open(&self, arrival: &[f64], places: &[usize]) -> f64 {
        let coefficient = |values: &[f64], order: usize| {
            let term = |(j, value): (usize, &f64)| {
                let half = if j == 0 || j == INTERVALS { 0.5 } else { 1.0 };
                half * value * libm::cos(std::f64::consts::PI * (order * j) as f64 / INTERVALS as f64)
            };
            let half = if order == INTERVALS { 0.5 } else { 1.0 };
            (half * 2.0 / INTERVALS as f64 * values.iter().enumerate().map(term).sum::<f64>()).abs()
        };
        let of_place = |&place: &usize| {
            let largest = self.largest(arrival, place);
            let beyond = |part: &Part| {
                let values: Vec<f64> = part.rows.iter().map(|row| row[place]).collect();
                let off = coefficient(&values, INTERVALS - 1) + coefficient(&values, INTERVALS);
                highest(&values) + off - largest
            };
            self.parts.iter().map(beyond).fold(0.0, f64::max)
        };
        places.iter().map(of_place).fold(0.0, f64::max)
    }
}

/// The largest of the polynomials through values at the points of parts, part by part.
pub(super) fn largest(values: &[f64]) -> f64 {
    values.chunks(POINTS).map(highest).fold(f64::NEG_INFINITY, f64::max)
}

/// Weights of the values at the points of a part in the polynomial at each of the looks.
static AT_LOOKS: LazyLock<Vec<[f64; POINTS]>> = LazyLock::new(|| {
    let weight = |look: usize, point: usize| {
        let unit: Vec<f64> = (0..POINTS).map(|other| if other == point { 1.0 } else { 0.0 }).collect();
        interpolated_one(INTERVALS, |j| unit[j], look as f64 / LOOKS as f64)
    };
    (0..=LOOKS).map(|look| std::array::from_fn(|point| weight(look, point))).collect()
});

/// The largest of the polynomial through the values at the points of a part: the top of a parabola through three of its looks.
fn highest(values: &[f64]) -> f64 {
    let look =
        |weights: &[f64; POINTS]| weights.iter().zip(values).fold(0.0, |sum, (weight, value)| sum + weight * value);
    let looks: Vec<f64> = AT_LOOKS.iter().map(look).collect();
    let best = (0..=LOOKS).fold(0, |best, look| if looks[look] > looks[best] { look } else { best });
    let middle = best.clamp(1, LOOKS - 1);
    let [a, b, c] = [looks[middle - 1], looks[middle], looks[middle + 1]];
    let (slope, curve) = (0.5 * (c - a), a - 2.0 * b + c);
    let top = -slope / curve;
    let parabola = if curve < 0.0 && top.abs() <= 1.0 { b - 0.5 * slope * slope / curve } else { f64::NEG_INFINITY };
    looks[best].max(parabola)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn values(f: impl Fn(f64) -> f64) -> Vec<f64> {
        chebyshev([0.0, 1.0], INTERVALS).into_iter().map(f).collect()
    }

    #[test]
    fn the_top_of_a_polynomial_is_found_inside_and_at_its_ends() {
        for top in [0.0, 0.013, 0.31, 0.5, 0.994, 1.0] {
            let found = highest(&values(|u| 40.0 - 10.0 * (u - top) * (u - top)));
            assert!((found - 40.0).abs() < 1e-12, "{top}: {found}");
            // A wave that turns twice: the parabola of three looks is off by less than a millikelvin.
            let found = highest(&values(|u| 40.0 + libm::cos(5.0 * (u - top))));
            assert!((found - 41.0).abs() < 1e-3, "{top}: {found}");
        }
        assert_eq!(highest(&values(|u| 20.0 + u)), 21.0);
    }

    #[test]
    fn a_part_that_is_not_there_holds_what_was_before_it() {
        let looks = (0..INTERVALS).map(|j| Some(vec![30.0 + j as f64, 60.0]));
        let wheel = Wheel::new(&[29.0, 60.0], std::iter::once([2, 0, 0]), looks);
        let at = |key: Key, place: usize| wheel.values(&[29.0, 60.0], key, place).collect::<Vec<f64>>();
        assert_eq!(at([1, 0, 0], 0), [29.0; POINTS]);
        assert_eq!(at([2, 0, 0], 0), [29.0, 30.0, 31.0, 32.0, 33.0, 34.0, 35.0, 36.0, 37.0]);
        assert_eq!(at([2, 1, 0], 0), [37.0; POINTS]);
        assert_eq!(at([3, 0, 0], 1), [60.0; POINTS]);
    }
}
