//! One metre of the product: its sizes and temperatures at the die, its march, what stations see of it.

use std::sync::Arc;

use super::Programme;
use super::asked::Asked;
use super::kept::Kept;
use super::measure::{DIAMETER, Measure, place_of};
use super::wheel::{self, Wheel};
use crate::case::error::Error;
use crate::case::shrink::Radii;
use crate::case::{Case, DieTemperature};
use crate::engine::{Row, View};
use crate::film::surface::Surface;
use crate::line::clock::Side;
use crate::line::itinerary::Metre as Place;
use crate::line::programme::{BARE, LUMP};
use crate::line::trip::Trip;
use crate::line::watch::{Notes, Watch};
use crate::line::{Prepared, Settings, alone, observe};
use crate::march::checked_books;
use crate::march::outputs::Look;

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

impl Sight {
    /// One of its values.
    pub fn of(&self, measure: Measure) -> f64 {
        self.values.get(place_of(measure)).copied().unwrap_or(f64::NAN)
    }

    /// What counts against an upper limit: on a wheel the largest value there.
    pub fn largest(&self, measure: Measure) -> f64 {
        self.on_wheel.get(place_of(measure)).copied().unwrap_or_else(|| self.of(measure))
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

    /// Largest difference of those of its values that stand at these places, K; the diameter is none of them.
    pub(super) fn distance_at(&self, other: &Sight, places: &[usize]) -> f64 {
        let apart = |&place: &usize| (self.values[place] - other.values[place]).abs();
        places.iter().filter(|place| **place != DIAMETER).map(apart).fold(0.0, f64::max)
    }

    /// Largest difference of a temperature, K.
    pub(super) fn distance(&self, other: &Sight) -> f64 {
        let seen = self.values.iter().zip(&other.values).enumerate();
        let pairs = seen.chain(self.on_wheel.iter().zip(&other.on_wheel).enumerate());
        pairs.filter(|(place, _)| *place != DIAMETER).fold(0.0, |worst, (_, (a, b))| worst.max((a - b).abs()))
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
    /// What it is on the wheel; nothing where there is none.
    pub(super) wheel: Wheel,
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
    /// Heat that it gave per radian in the passes of each section that it left, J/m.
    pub(super) heats: Vec<f64>,
    /// Time steps accepted and refused.
    pub steps: [usize; 2],
}

impl Metre {
    /// What it may be off by between its looks on the wheels, K, of what is asked of each station.
    pub(super) fn open_on_wheels(&self, asked: &[Asked]) -> f64 {
        let seen = self.seen.iter().zip(asked).filter_map(|(seen, asked)| Some((seen.as_ref()?, asked)));
        seen.map(|(seen, asked)| seen.wheel.open(&seen.sight.values, &asked.on_wheel)).fold(0.0, f64::max)
    }
}

/// A metre that is wanted.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Request {
    pub(super) length: f64,
    pub(super) side: Side,
    /// Moments at which it is looked at, s.
    pub(super) looks: Vec<f64>,
    /// How finely it is followed on wheels; none where nobody asks what it is there.
    pub(super) wheels: Option<u32>,
    /// Until when anybody asks for it, s.
    pub(super) until: f64,
}

impl Request {
    pub(super) fn new(length: f64, side: Side) -> Request {
        Request { length, side, looks: Vec::new(), wheels: None, until: f64::INFINITY }
    }

    /// As [`Request::new`], and followed on wheels.
    pub(super) fn followed(length: f64, side: Side, fine: u32) -> Request {
        Request { wheels: Some(fine), ..Request::new(length, side) }
    }
}

/// What was noted of a metre: of each station, at each look; its passages; steps accepted and refused.
pub(super) struct Noted {
    stations: Vec<Option<Sight>>,
    looks: Vec<Option<Sight>>,
    /// Heat that it gave per radian in the passes of each section that it left, J/m.
    heats: Vec<f64>,
    steps: [usize; 2],
}

/// What is noted of a metre on its way.
pub(super) struct Sights {
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
    type Answer = Noted;

    fn begin(&mut self, of: &Prepared) {
        self.stations = vec![None; of.case.stations.len()];
        self.looks = Vec::new();
    }

    fn end<R: Row>(&mut self, trip: &Trip, view: View<R>) -> Result<Self::Answer, Error> {
        let of = &*trip.of;
        checked_books(of.case, &of.slice, [&of.start, &view.state()], &trip.books.passages)?;
        let (stations, looks) = (std::mem::take(&mut self.stations), std::mem::take(&mut self.looks));
        let heats = trip.books.passages.iter().map(|passage| passage.heat_of_passes).collect();
        Ok(Noted { stations, looks, heats, steps: trip.steps })
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

/// The parts of a metre's time on the wheels, by station.
fn on_wheels(programme: &Programme, request: &Request) -> Vec<(usize, Vec<wheel::Span>)> {
    let Some(fine) = request.wheels else { return Vec::new() };
    let stations = programme.case.stations.iter().enumerate().filter(|(_, station)| station.contact > 0.0);
    stations
        .map(|(index, station)| (index, wheel::parts(programme, (request.length, request.side), station, fine)))
        .collect()
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

/// A metre on its way: what it is at the die, what it looks at on wheels, and how many looks were asked for.
pub(super) struct Begun<'a> {
    metre: Metre,
    wheels: Vec<(usize, Vec<wheel::Span>)>,
    looks: usize,
    /// None where it never leaves the die.
    pub(super) prepared: Option<Arc<Prepared<'a>>>,
}

/// What is noted of metres, one after the other.
pub(super) fn notes() -> Sights {
    Sights { stations: Vec::new(), looks: Vec::new() }
}

/// A metre at the die; a case of its own goes into `kept`.
pub(super) fn begin<'a>(
    programme: &Programme<'a>,
    request: &Request,
    settings: Settings,
    kept: &'a Kept<Case>,
) -> Result<Begun<'a>, Error> {
    let Programme { case, clock, .. } = *programme;
    let Request { length, side, ref looks, .. } = *request;
    let time = clock.leaves(length, side);
    let own = own_case(case, clock.speed_beside(time, side));
    let radii = own_radii(programme, own.as_ref().unwrap_or(case), time, side);
    let mut ends = 0.0;
    let sections = case.sections.iter().map(|section| {
        ends += section.span();
        clock.leaves(length + ends, side)
    });
    let metre = Metre {
        length,
        side,
        time_at_die: time,
        diameter_at_die: 2.0 * radii.hot.last().copied().unwrap_or(0.0),
        sections: sections.collect(),
        seen: Vec::new(),
        looks: Vec::new(),
        heats: Vec::new(),
        steps: [0; 2],
    };
    if time.is_infinite() {
        return Ok(Begun { metre, wheels: Vec::new(), looks: looks.len(), prepared: None });
    }
    let wheels = on_wheels(programme, request);
    let there = wheels.iter().flat_map(|(_, parts)| parts).flat_map(|(_, span)| wheel::moments(*span));
    let all: Vec<f64> = looks.iter().copied().chain(there).collect();
    let own = own.map_or(case, |own| kept.keep(own));
    let (sizes, ends) = ([&radii, programme.radii], [programme.end, request.until]);
    let place = Place { length, side };
    let prepared = Prepared::driven(own, (clock, programme.waters), place, &all, ends, sizes, settings)?;
    Ok(Begun { metre, wheels, looks: looks.len(), prepared: Some(prepared) })
}

impl Begun<'_> {
    /// Which metre it is.
    pub(super) fn place(&self) -> (f64, Side) {
        (self.metre.length, self.metre.side)
    }

    /// The metre with what was noted of it; with nothing where it never leaves the die.
    pub(super) fn end(self, programme: &Programme, noted: Option<Noted>) -> Metre {
        let Programme { case, clock, .. } = *programme;
        let Begun { metre: of, wheels, looks: asked, .. } = self;
        let nothing = || Noted {
            stations: vec![None; case.stations.len()],
            looks: vec![None; asked],
            heats: Vec::new(),
            steps: [0; 2],
        };
        let Noted { stations, mut looks, heats, steps } = noted.unwrap_or_else(nothing);
        let mut on_wheels = looks.split_off(asked.min(looks.len())).into_iter();
        looks.resize(asked, None);
        let mut wheels = wheels.iter().peekable();
        let mut seen = Vec::with_capacity(stations.len());
        for (station, sight) in stations.into_iter().enumerate() {
            let parts = wheels.next_if(|(there, _)| *there == station).map(|(_, parts)| parts.as_slice());
            let count = parts.map_or(0, |parts| parts.iter().map(|(_, span)| wheel::moments(*span).count()).sum());
            let mut looks: Vec<Option<Sight>> = on_wheels.by_ref().take(count).collect();
            looks.resize(count, None);
            let Some(mut sight) = sight else {
                seen.push(None);
                continue;
            };
            let values = looks.into_iter().map(|look| look.map(|look| look.values));
            let keys = parts.into_iter().flatten().map(|(key, _)| *key);
            let wheel = Wheel::new(&sight.values, keys, values);
            if parts.is_some() {
                let largest = |place: usize| wheel.largest(&sight.values, place);
                sight.on_wheel = (0..sight.values.len()).map(largest).collect();
            }
            let travelled = of.length + case.station_distance(&case.stations[station]);
            let [arrives, leaves] = [clock.arrives(travelled, of.side), clock.leaves(travelled, of.side)];
            seen.push(Some(Seen { arrives: arrives.max(of.time_at_die), leaves, sight, wheel }));
        }
        Metre { seen, looks, heats, steps, ..of }
    }
}

/// Marches one metre alone.
pub(super) fn one(programme: &Programme, request: &Request, settings: Settings) -> Result<Metre, Error> {
    let kept = Kept::default();
    let begun = begin(programme, request, settings, &kept)?;
    let noted = begun.prepared.clone().map(|prepared| alone(prepared, &mut notes())).transpose()?;
    Ok(begun.end(programme, noted))
}
