//! One metre of the product, or many of them: its sizes and temperatures at the die, its march, what stations see of it.

use std::sync::Arc;

use rayon::prelude::*;

use super::Programme;
use crate::case::error::Error;
use crate::case::shrink::Radii;
use crate::case::{Case, DieTemperature, Quantity};
use crate::engine::{Path, Row, View};
use crate::film::surface::Surface;
use crate::line::clock::Side;
use crate::line::itinerary::Metre as Place;
use crate::line::programme::{BARE, LUMP};
use crate::line::trip::Trip;
use crate::line::watch::{Notes, Watch};
use crate::line::{Outcome, Prepared, Runner, Settings, alone, observe};
use crate::march::checked_books;
use crate::march::outputs::Look;

/// Metres that a thread takes at a time.
const CHUNK: usize = 32;

/// What a station reads of the product.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// A temperature, degC.
    Temperature(Quantity),
    /// Outer diameter, hot, m.
    Diameter,
}

/// What is seen of the product at one place and moment: the temperatures by name, degC, the diameter, m, and the hottest point of
/// each layer; on a wheel also the largest of each while the product lay there.
#[derive(Clone, Debug, PartialEq)]
pub struct Sight {
    /// Surface, core, mean, hottest, equalised, diameter; then of each layer the hottest point.
    pub values: Vec<f64>,
    /// The same at their largest on the wheel; empty where there is none.
    pub on_wheel: Vec<f64>,
    /// Heat given to the medium per metre and radian, W/m; 0 of what is interpolated, and of what leaves the die.
    pub(super) given: f64,
}

/// Where the diameter stands among the values.
pub(super) const DIAMETER: usize = 5;
/// Chebyshev intervals of each part of the time on a wheel.
const ON_WHEEL: usize = 8;
/// Parts of a standstill on a wheel.
const AT_REST: usize = 8;

impl Sight {
    /// One of its values.
    pub fn of(&self, measure: Measure) -> f64 {
        self.values.get(place_of(measure)).copied().unwrap_or(f64::NAN)
    }

    /// What counts against an upper limit: on a wheel the largest value there.
    pub fn largest(&self, measure: Measure) -> f64 {
        self.on_wheel.get(place_of(measure)).copied().unwrap_or_else(|| self.of(measure))
    }

    /// All numbers of it in one row, and back.
    pub(super) fn row(&self) -> Vec<f64> {
        self.values.iter().chain(&self.on_wheel).copied().collect()
    }

    /// See `row`; `count` values are seen.
    pub(super) fn of_row(mut row: Vec<f64>, count: usize) -> Sight {
        let on_wheel = row.split_off(count.min(row.len()));
        Sight { values: row, on_wheel, given: 0.0 }
    }

    fn at<R: Row>(look: &Look<R>) -> Sight {
        let layers = 0..look.of.case.layers.len();
        let mut values =
            vec![look.view.surface(), look.core(), look.mean(), look.hottest(), look.equalised(), look.diameter()];
        values.extend(layers.map(|layer| look.hottest_of(layer)));
        let view = look.view;
        let flux = |surface: &Surface| surface.flux(view.surface(), view.heat(), view.distance());
        let given = view.medium().map_or(0.0, |surface| view.surface_square().sqrt() * flux(surface));
        Sight { values, on_wheel: Vec::new(), given }
    }

    /// What leaves the die.
    fn entering(of: &Prepared) -> Sight {
        let point = observe::entering(of.case, &of.slice, &of.radii, &of.start);
        let mut values = vec![point.surface, point.core, point.mean, point.hottest, point.equalised, point.diameter];
        values.extend(point.layer_hottest);
        Sight { values, on_wheel: Vec::new(), given: 0.0 }
    }

    /// Largest difference of a temperature, K.
    pub(super) fn distance(&self, other: &Sight) -> f64 {
        let seen = self.values.iter().zip(&other.values).enumerate();
        let pairs = seen.chain(self.on_wheel.iter().zip(&other.on_wheel).enumerate());
        pairs.filter(|(place, _)| *place != DIAMETER).fold(0.0, |worst, (_, (a, b))| worst.max((a - b).abs()))
    }
}

/// Where a measure stands among the values of a sight.
pub(super) fn place_of(measure: Measure) -> usize {
    match measure {
        // The hot side of water that does not touch all round is not followed in time: the mean surface stands for it.
        Measure::Temperature(Quantity::Surface | Quantity::HotSide) => 0,
        Measure::Temperature(Quantity::Core) => 1,
        Measure::Temperature(Quantity::Mean) => 2,
        Measure::Temperature(Quantity::Hottest) => 3,
        Measure::Temperature(Quantity::Equalised) => 4,
        Measure::Diameter => DIAMETER,
        Measure::Temperature(Quantity::Layer(layer)) => DIAMETER + 1 + layer,
    }
}

/// What a station sees of a metre.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// When the metre comes to the station, s.
    pub arrives: f64,
    /// When it leaves it, s: later where it is parked there.
    pub leaves: f64,
    /// What is seen when it comes.
    pub sight: Sight,
}

/// A metre of the product, marched.
#[derive(Clone, Debug, PartialEq)]
pub struct Metre {
    /// Product length, m: what had left the die before it since the programme began.
    pub length: f64,
    /// On which side of a standstill or of a jump at the die it is.
    pub side: Side,
    /// When it leaves the die, s.
    pub time_at_die: f64,
    /// Outer diameter there, m.
    pub diameter_at_die: f64,
    /// When it leaves each section, s; infinite where it never does.
    pub sections: Vec<f64>,
    /// Of each station; none where it never gets there.
    pub seen: Vec<Option<Seen>>,
    /// At the moments at which a look was asked.
    pub looks: Vec<Option<Sight>>,
    /// Time steps accepted and refused.
    pub steps: [usize; 2],
}

/// A metre that is wanted.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Request {
    pub(super) length: f64,
    pub(super) side: Side,
    /// Moments at which it is looked at, s.
    pub(super) looks: Vec<f64>,
}

impl Request {
    pub(super) fn new(length: f64, side: Side) -> Request {
        Request { length, side, looks: Vec::new() }
    }
}

/// What is noted of a metre on its way.
struct Sights {
    stations: Vec<Option<Sight>>,
    looks: Vec<Option<Sight>>,
}

impl Watch for Sights {
    fn station<R: Row>(&mut self, trip: &Trip, index: usize, view: View<R>) {
        let entering = trip.steps[0] == 0;
        let sight = if entering { Sight::entering(&trip.of) } else { Sight::at(&Look { of: &trip.of, view }) };
        self.stations[index] = Some(sight);
    }

    fn look<R: Row>(&mut self, trip: &Trip, index: usize, view: View<R>) {
        if self.looks.len() <= index {
            self.looks.resize(index + 1, None);
        }
        self.looks[index] = Some(Sight::at(&Look { of: &trip.of, view }));
    }
}

impl Notes for Sights {
    type Answer = (Vec<Option<Sight>>, Vec<Option<Sight>>, [usize; 2]);

    fn begin(&mut self, of: &Prepared) {
        self.stations = vec![None; of.case.stations.len()];
        self.looks = Vec::new();
    }

    fn end<R: Row>(&mut self, trip: &Trip, view: View<R>) -> Result<Self::Answer, Error> {
        let of = &*trip.of;
        checked_books(of.case, &of.slice, [&of.start, &view.state()], &trip.passages)?;
        Ok((std::mem::take(&mut self.stations), std::mem::take(&mut self.looks), trip.steps))
    }
}

/// A metre's case: temperatures at the die as the line speed of that moment makes them.
fn own_case(case: &Case, speed: f64) -> Option<Case> {
    let follows = case.layers.iter().any(|layer| !matches!(layer.temperature, DieTemperature::Fixed(_)));
    if !follows || speed == case.line_speed {
        return None;
    }
    let at_speed = Case { line_speed: speed, ..case.clone() };
    let mut own = case.clone();
    for (index, layer) in own.layers.iter_mut().enumerate() {
        layer.temperature = DieTemperature::Fixed(at_speed.die_temperature(index));
    }
    Some(own)
}

/// Moments at which a metre is looked at on the wheels, by station: Chebyshev points of every part of its time there between
/// corners of the speed, and of the parts of a standstill.
fn on_wheels(programme: &Programme, request: &Request) -> Vec<(usize, Vec<f64>)> {
    let Programme { case, clock, end, .. } = *programme;
    let mut all = Vec::new();
    for (station, of) in case.stations.iter().enumerate().filter(|(_, of)| of.contact > 0.0) {
        let travelled = request.length + case.station_distance(of);
        let [arrives, leaves] =
            [clock.arrives(travelled, request.side), clock.leaves(travelled + of.contact, request.side)];
        let leaves = if leaves.is_finite() { leaves } else { end };
        let inside = clock.corners().iter().copied().filter(|&corner| arrives < corner && corner < leaves);
        let cuts: Vec<f64> = std::iter::once(arrives).chain(inside).chain([leaves]).collect();
        let mut looks = Vec::new();
        if arrives.is_finite() {
            for part in cuts.windows(2).filter(|pair| pair[1] > pair[0]) {
                let stands = clock.speed(0.5 * (part[0] + part[1])) == 0.0;
                let ends = graded([part[0], part[1]], if stands { AT_REST } else { 1 });
                let parts =
                    ends.windows(2).flat_map(|ends| chebyshev([ends[0], ends[1]], ON_WHEEL).into_iter().skip(1));
                looks.extend(parts);
            }
        }
        all.push((station, looks));
    }
    all
}

/// Ends of the parts of a standstill: the i-th of n ends at (i/n)^4 of it, since the film has just come to rest.
pub(super) fn graded([from, to]: [f64; 2], parts: usize) -> Vec<f64> {
    let share = |i: usize| {
        let square = (i as f64 / parts as f64) * (i as f64 / parts as f64);
        square * square
    };
    (0..=parts).map(|i| if i == parts { to } else { from + (to - from) * share(i) }).collect()
}

/// Chebyshev points of a span, its ends among them.
pub(super) fn chebyshev([from, to]: [f64; 2], intervals: usize) -> Vec<f64> {
    let place = |j: usize| 0.5 * (1.0 - libm::cos(std::f64::consts::PI * j as f64 / intervals as f64));
    (0..=intervals).map(|j| if j == intervals { to } else { from + (to - from) * place(j) }).collect()
}

/// Weights of the values at Chebyshev points of a span from 0 to 1 at a place of it, and their sum; at a point itself which it is.
fn weights(count: usize, place: f64, mut take: impl FnMut(usize, f64)) -> Result<f64, usize> {
    let mut sum = 0.0;
    for j in 0..=count {
        let point =
            if j == count { 1.0 } else { 0.5 * (1.0 - libm::cos(std::f64::consts::PI * j as f64 / count as f64)) };
        let apart = place - point;
        if apart == 0.0 {
            return Err(j);
        }
        let half = if j == 0 || j == count { 0.5 } else { 1.0 };
        let weight = if j % 2 == 0 { half } else { -half } / apart;
        sum += weight;
        take(j, weight);
    }
    Ok(sum)
}

/// Rows at Chebyshev points of a span from 0 to 1, interpolated at a place of it.
pub(super) fn interpolated(rows: &[&[f64]], place: f64) -> Vec<f64> {
    let width = rows.first().map_or(0, |row| row.len());
    let mut sums = vec![0.0; width];
    let take = |j: usize, weight: f64| sums.iter_mut().zip(rows[j]).for_each(|(sum, value)| *sum += weight * value);
    match weights(rows.len() - 1, place, take) {
        Ok(weight) => sums.iter().map(|sum| sum / weight).collect(),
        Err(j) => rows[j].to_vec(),
    }
}

/// One value of such rows, to the same bits.
pub(super) fn interpolated_one(column: &[f64], place: f64) -> f64 {
    let mut sum = 0.0;
    match weights(column.len() - 1, place, |j, weight| sum += weight * column[j]) {
        Ok(weight) => sum / weight,
        Err(j) => column[j],
    }
}

/// The largest of every value on a wheel, from what was seen on arrival and at its looks, some of which may be missing.
fn largest(arrival: &Sight, looks: &[Option<Sight>]) -> Vec<f64> {
    const BETWEEN: usize = 32;
    let mut largest = arrival.values.clone();
    let mut part: Vec<&[f64]> = vec![&arrival.values];
    for look in looks.iter().flatten() {
        part.push(&look.values);
        if part.len() == ON_WHEEL + 1 {
            for i in 1..=BETWEEN {
                let here = interpolated(&part, f64::from(i as u32) / BETWEEN as f64);
                largest.iter_mut().zip(here).for_each(|(largest, here)| *largest = largest.max(here));
            }
            part = vec![&look.values];
        }
    }
    largest
}

/// Sizes of a metre at the die: the mass of each layer is that of its output, A rho(T0) v = A0 rho(T0 at the line speed of the
/// case) y.
fn own_radii(programme: &Programme, own: &Case, time: f64, side: Side) -> Radii {
    let Programme { case, radii, .. } = programme;
    let mut changed = Radii { hot: Vec::new(), finished: radii.finished.clone() };
    let (mut inner, mut nominal) = (case.bore / 2.0, case.bore / 2.0);
    let mut same = true;
    for (index, &outer) in radii.hot.iter().enumerate() {
        let density = &case.layers[index].material.density;
        let [before, now] = [case, own].map(|case| density.at(case.die_temperature(index)));
        // Only spoilt product is beyond these: at its very ends, which may be where the line stood, the limit is meant.
        let area = (programme.area)(index, time, side);
        // Neither output nor speed: no number, which counts as bare.
        let share = if area.is_nan() { BARE } else { area.clamp(BARE, LUMP) };
        let ratio = share * before / now;
        same &= ratio == 1.0;
        inner = case.shape.outer_radius(inner, ratio * case.shape.area_between(nominal, outer));
        nominal = outer;
        changed.hot.push(if same { outer } else { inner });
        inner = *changed.hot.last().unwrap_or(&inner);
    }
    changed
}

/// Marches one metre alone.
pub(super) fn one(programme: &Programme, request: &Request, settings: Settings) -> Result<Metre, Error> {
    let mut marched = on_one_thread(programme, std::slice::from_ref(request), settings, Path::Single);
    marched.pop().unwrap_or_else(|| Err(lost()))
}

fn lost() -> Error {
    Error::Unphysical { place: "drive".to_string(), reason: "a metre was lost".to_string() }
}

/// Marches metres, in order, on all threads of the present rayon pool; each gives the same bits in whatever company.
pub(super) fn march(
    programme: &Programme,
    requests: &[Request],
    settings: Settings,
    path: Path,
) -> Vec<Result<Metre, Error>> {
    requests.par_chunks(CHUNK).flat_map_iter(|chunk| on_one_thread(programme, chunk, settings, path)).collect()
}

fn on_one_thread(
    programme: &Programme,
    requests: &[Request],
    settings: Settings,
    path: Path,
) -> Vec<Result<Metre, Error>> {
    let Programme { case, clock, .. } = *programme;
    let at_die = |request: &Request| {
        let time = clock.leaves(request.length, request.side);
        (time, clock.speed_beside(time, request.side))
    };
    let own: Vec<Option<Case>> = requests.iter().map(|request| own_case(case, at_die(request).1)).collect();
    let mut runners: Vec<Runner<Sights>> = Vec::new();
    let mut done = Vec::new();
    let mut answers: Vec<Option<Result<Metre, Error>>> = vec![None; requests.len()];
    let mut metres: Vec<Metre> = Vec::with_capacity(requests.len());
    let mut on_wheel: Vec<Vec<(usize, Vec<f64>)>> = Vec::with_capacity(requests.len());
    let room = || Sights { stations: Vec::new(), looks: Vec::new() };
    for (index, (request, own)) in requests.iter().zip(&own).enumerate() {
        let Request { length, side, ref looks } = *request;
        let (time, _) = at_die(request);
        let own = own.as_ref().unwrap_or(case);
        let radii = own_radii(programme, own, time, side);
        let mut ends = 0.0;
        let sections = case.sections.iter().map(|section| {
            ends += section.span();
            clock.leaves(length + ends, side)
        });
        metres.push(Metre {
            length,
            side,
            time_at_die: time,
            diameter_at_die: 2.0 * radii.hot.last().copied().unwrap_or(0.0),
            sections: sections.collect(),
            seen: Vec::new(),
            looks: Vec::new(),
            steps: [0; 2],
        });
        if time.is_infinite() {
            // It never leaves the die.
            let (seen, looks) = (vec![None; case.stations.len()], vec![None; looks.len()]);
            answers[index] = metres.last().map(|metre| Ok(Metre { seen, looks, ..metre.clone() }));
            on_wheel.push(Vec::new());
            continue;
        }
        let wheels = on_wheels(programme, request);
        let looks: Vec<f64> = looks.iter().chain(wheels.iter().flat_map(|(_, looks)| looks)).copied().collect();
        on_wheel.push(wheels);
        let place = Place { length, side };
        let sizes = [&radii, programme.radii];
        let prepared =
            match Prepared::driven(own, (clock, programme.waters), place, &looks, programme.end, sizes, settings) {
                Ok(prepared) => prepared,
                Err(error) => {
                    answers[index] = Some(Err(error));
                    continue;
                }
            };
        let structure = prepared.structure().filter(|_| path != Path::Single);
        let Some(structure) = structure else {
            let answer = alone(Arc::clone(&prepared), &mut room());
            done.push(Outcome { index, answer, path: Path::Single });
            continue;
        };
        let found = runners.iter().position(|runner| *runner.structure() == structure);
        let place = found.unwrap_or_else(|| {
            runners.push(Runner::new(path, structure, room));
            runners.len() - 1
        });
        runners[place].feed(index, prepared, &mut done);
    }
    runners.iter_mut().for_each(|runner| runner.drain(&mut done));
    for Outcome { index, answer, .. } in done {
        let of = &metres[index];
        let seen = |(station, sight): (usize, Option<Sight>)| {
            let travelled = of.length + case.station_distance(&case.stations[station]);
            let [arrives, leaves] = [clock.arrives(travelled, of.side), clock.leaves(travelled, of.side)];
            sight.map(|sight| Seen { arrives: arrives.max(of.time_at_die), leaves, sight })
        };
        answers[index] = Some(answer.map(|(mut stations, mut looks, steps)| {
            let mut number = requests[index].looks.len();
            for (station, on_it) in &on_wheel[index] {
                let until = number + on_it.len();
                looks.resize(looks.len().max(until), None);
                if let Some(sight) = &mut stations[*station] {
                    sight.on_wheel = largest(sight, &looks[number..until]);
                }
                number = until;
            }
            looks.resize(requests[index].looks.len(), None);
            let seen = stations.into_iter().enumerate().map(seen).collect();
            Metre { seen, looks, steps, ..of.clone() }
        }));
    }
    answers.into_iter().map(|answer| answer.unwrap_or_else(|| Err(lost()))).collect()
}
