//! Every number of a case that has a key path, a row each: how it is read, how it is set.
//!
//! A number that stands for a curve (a material property or film table of several points) reads as the curve's value at 23 degC
//! (a film table: its first value); setting it puts a constant in the curve's place, scaling it multiplies the whole curve. A die
//! temperature that follows the line speed reads as its value at the case's speed and is shifted as a whole (a preheated one
//! through the temperature at the preheater's entry): set the speed first. A perfect contact reads as an infinite conductance,
//! and an infinite one is a perfect contact.

use crate::case::programme::{Accumulator, Change, Output, Ramp};
use crate::case::{CaseFile, Contact, DieTemperature, Flow, Layer, Medium, Quantity, Section, Shape, Size, Station};
use crate::film::{Film, Input, Pattern};
use crate::material::FINISHED;
use crate::material::{Curve, Kind, Material};
use crate::names::keys::Place;
use crate::units::Celsius;

/// How a number is reached.
#[derive(Debug)]
pub(super) enum Access {
    /// Anywhere in the case; the index is that of the layer, section or station of the path.
    Case(fn(&CaseFile, usize) -> Option<f64>, fn(&mut CaseFile, usize, f64)),
    Layer(fn(&Layer) -> Option<f64>, fn(&mut Layer, f64)),
    Section(fn(&Section) -> Option<f64>, fn(&mut Section, f64)),
    Station(fn(&Station) -> Option<f64>, fn(&mut Station, f64)),
    /// Of a station, by the index of a layer.
    OfLayer(fn(&Station, usize) -> Option<f64>, fn(&mut Station, usize, f64)),
    Change(fn(&Change) -> Option<f64>, fn(&mut Change, f64)),
    Accumulator(fn(&Accumulator) -> f64, fn(&mut Accumulator, f64)),
    /// In every layer of the material.
    Material(fn(&Material) -> Option<f64>, fn(&mut Material, f64)),
}

/// One key that leads to a number.
#[derive(Debug)]
pub(super) struct Row {
    pub(super) place: Place,
    pub(super) key: &'static str,
    pub(super) access: Access,
    /// How a curve is multiplied as a whole, where it may be one.
    pub(super) scale: Option<Scale>,
}

#[derive(Debug)]
pub(super) enum Scale {
    Section(fn(&mut Section, f64)),
    Material(fn(&mut Material, f64)),
}

const fn row(place: Place, key: &'static str, access: Access) -> Row {
    Row { place, key, access, scale: None }
}
const fn layer(key: &'static str, get: fn(&Layer) -> Option<f64>, set: fn(&mut Layer, f64)) -> Row {
    row(Place::Layer, key, Access::Layer(get, set))
}
const fn section(key: &'static str, get: fn(&Section) -> Option<f64>, set: fn(&mut Section, f64)) -> Row {
    row(Place::Section, key, Access::Section(get, set))
}
const fn station(key: &'static str, get: fn(&Station) -> Option<f64>, set: fn(&mut Station, f64)) -> Row {
    row(Place::Station, key, Access::Station(get, set))
}
const fn change(key: &'static str, get: fn(&Change) -> Option<f64>, set: fn(&mut Change, f64)) -> Row {
    row(Place::Change, key, Access::Change(get, set))
}
const fn accumulator(key: &'static str, get: fn(&Accumulator) -> f64, set: fn(&mut Accumulator, f64)) -> Row {
    row(Place::Accumulator, key, Access::Accumulator(get, set))
}
const fn curve(
    key: &'static str,
    get: fn(&Material) -> Option<f64>,
    set: fn(&mut Material, f64),
    scale: fn(&mut Material, f64),
) -> Row {
    Row { place: Place::Material, key, access: Access::Material(get, set), scale: Some(Scale::Material(scale)) }
}

/// The table: `get` answers none where this case has no such number.
#[rustfmt::skip]
pub(super) static ROWS: [Row; 57] = [
    row(Place::Line, "speed", Access::Case(|case, _| Some(case.line_speed), |case, _, v| case.line_speed = v)),

    layer("diameter", |l| size(l, "diameter"), |l, v| l.size = Size::Diameter(v)),
    layer("finished_diameter", |l| size(l, "finished_diameter"), |l, v| l.size = Size::FinishedDiameter(v)),
    layer("wall", |l| size(l, "wall"), |l, v| l.size = Size::Wall(v)),
    layer("finished_wall", |l| size(l, "finished_wall"), |l, v| l.size = Size::FinishedWall(v)),
    row(Place::Layer, "area", Access::Case(area, set_area)),
    row(Place::Layer, "bore", Access::Case(|case, i| (i == 0 && case.bore > 0.0).then_some(case.bore), |case, _, v| case.bore = v)),
    row(Place::Layer, "temperature", Access::Case(die_temperature, set_die_temperature)),
    row(Place::Layer, "contact", Access::Case(contact, set_contact)),
    layer("conductivity_factor", |l| Some(l.conductivity_factor), |l, v| l.conductivity_factor = v),
    layer("heat_capacity_factor", |l| Some(l.heat_capacity_factor), |l, v| l.heat_capacity_factor = v),
    layer("setting_shift", |l| (l.material.kind == Kind::Plastic).then_some(l.setting_shift), |l, v| l.setting_shift = v),
    layer("melt_shrink_max", |l| l.melt_shrink_max, |l, v| l.melt_shrink_max = Some(v)),

    section("length", |s| Some(s.length), |s, v| s.length = v),
    section("temperature", |s| Some(s.temperature.0), |s, v| s.temperature = Celsius(v)),
    Row { scale: Some(Scale::Section(scale_film)), ..section("film", film, |s, v| s.film = Film::Given(v)) },
    section("film_factor", |s| Some(s.film_factor), |s, v| s.film_factor = v),
    section("emissivity", |s| (s.medium == Medium::Air).then_some(s.emissivity), |s, v| s.emissivity = v),

    section("wetted", wetted, |s, v| s.wetting.pattern = Pattern::Part(v)),
    section("one_sided", one_sided, |s, v| s.wetting.pattern = Pattern::OneSided(v)),
    section("dry_film", |s| s.wetting.dry_film, |s, v| s.wetting.dry_film = Some(v)),

    section("velocity", |s| input(s, Input::Velocity), |s, v| set_input(s, Input::Velocity, v)),
    section("water_flux", |s| input(s, Input::WaterFlux), |s, v| set_input(s, Input::WaterFlux, v)),
    section("stirred", |s| input(s, Input::Stirred), |s, v| set_input(s, Input::Stirred, v)),
    section("film_lean", |s| input(s, Input::Lean), |s, v| set_input(s, Input::Lean, v)),
    section("flow", flow, set_flow),
    section("volume", |s| s.volume, |s, v| s.volume = Some(v)),
    section("passes", |s| (s.passes > 1).then_some(s.passes as f64), |s, v| s.passes = v.round() as usize),
    section("turn", |s| (s.passes > 1).then_some(s.turn.length), |s, v| s.turn.length = v),
    section("turn_temperature", |s| (s.passes > 1).then_some(s.turn.temperature.0), |s, v| s.turn.temperature = Celsius(v)),

    station("offset", |s| Some(s.offset), |s, v| s.offset = v),
    station("surface_max", |s| limit(s, Quantity::Surface), |s, v| set_limit(s, Quantity::Surface, v)),
    station("core_max", |s| limit(s, Quantity::Core), |s, v| set_limit(s, Quantity::Core, v)),
    station("mean_max", |s| limit(s, Quantity::Mean), |s, v| set_limit(s, Quantity::Mean, v)),
    station("hottest_max", |s| limit(s, Quantity::Hottest), |s, v| set_limit(s, Quantity::Hottest, v)),
    station("equalised_max", |s| limit(s, Quantity::Equalised), |s, v| set_limit(s, Quantity::Equalised, v)),
    row(Place::Station, "layer_max", Access::OfLayer(|s, i| limit(s, Quantity::Layer(i)), |s, i, v| set_limit(s, Quantity::Layer(i), v))),

    curve("conductivity", |m| at_room(&m.conductivity), |m, v| replace(&mut m.conductivity, Curve::constant(v)), |m, f| scale(&mut m.conductivity, f)),
    curve("heat_capacity", |m| at_room(&m.heat_capacity), |m, v| replace(&mut m.heat_capacity, Curve::constant(v)), |m, f| scale(&mut m.heat_capacity, f)),
    curve("density", |m| at_room(&m.density), |m, v| replace(&mut m.density, Curve::constant(v)), |m, f| scale(&mut m.density, f)),
    row(Place::Material, "set_temperature", Access::Material(|m| m.set_temperature.map(|t| t.0), |m, v| m.set_temperature = Some(Celsius(v)))),

    layer("output", lag, |l, v| l.feed.output = Output::Lag(v)),

    change("after", |c| Some(c.after), |c, v| c.after = v),
    change("to", |c| Some(c.to), |c, v| c.to = v),
    change("within", |c| if let Ramp::Within(time) = c.ramp { Some(time) } else { None }, |c, v| c.ramp = Ramp::Within(v)),
    change("rate", rate, set_rate),
    change("hold", |c| c.hold, |c, v| c.hold = Some(v)),
    accumulator("capacity", |a| a.capacity, |a, v| a.capacity = v),
    accumulator("content", |a| a.content, |a, v| a.content = v),
    accumulator("reserve", |a| a.reserve, |a, v| a.reserve = v),

    row(Place::Plant, "module", Access::Case(|case, _| case.plant.module, |case, _, v| case.plant.module = Some(v))),
    row(Place::Plant, "hall_max", Access::Case(|case, _| case.plant.hall_max, |case, _, v| case.plant.hall_max = Some(v))),
    row(Place::Plant, "compound_max", Access::Case(|case, _| case.plant.compound_max, |case, _, v| case.plant.compound_max = Some(v))),
    row(Place::Plant, "chiller_max", Access::Case(|case, _| case.plant.chiller_max, |case, _, v| case.plant.chiller_max = Some(v))),
    row(Place::Plant, "water_out_max", Access::Case(|case, _| case.plant.water_out_max.map(|t| t.0), |case, _, v| case.plant.water_out_max = Some(Celsius(v)))),

    row(Place::Plant, "ramp_max", Access::Case(|case, _| case.plant.ramp_max, |case, _, v| case.plant.ramp_max = Some(v))),
    row(Place::Solver, "tolerance", Access::Case(|case, _| Some(case.tolerance), |case, _, v| case.tolerance = v)),
];

impl Row {
    pub(super) fn get(&self, case: &CaseFile, index: usize, layer: usize) -> Option<f64> {
        match &self.access {
            Access::Case(get, _) => get(case, index),
            Access::Layer(get, _) => get(case.layers.get(index)?),
            Access::Section(get, _) => get(case.sections.get(index)?),
            Access::Station(get, _) => get(case.stations.get(index)?),
            Access::OfLayer(get, _) => get(case.stations.get(index)?, layer),
            Access::Change(get, _) => get(case.programme.changes.get(index)?),
            Access::Accumulator(get, _) => Some(get(case.programme.accumulators.get(index)?)),
            Access::Material(get, _) => get(&case.layers.get(index)?.material),
        }
    }

    pub(super) fn set(&self, case: &mut CaseFile, index: usize, layer: usize, value: f64) {
        match &self.access {
            Access::Case(_, set) => set(case, index, value),
            Access::Layer(_, set) => case.layers.get_mut(index).into_iter().for_each(|layer| set(layer, value)),
            Access::Section(_, set) => case.sections.get_mut(index).into_iter().for_each(|section| set(section, value)),
            Access::Station(_, set) => case.stations.get_mut(index).into_iter().for_each(|station| set(station, value)),
            Access::OfLayer(_, set) => {
                case.stations.get_mut(index).into_iter().for_each(|station| set(station, layer, value));
            }
            Access::Change(_, set) => {
                case.programme.changes.get_mut(index).into_iter().for_each(|change| set(change, value));
            }
            Access::Accumulator(_, set) => {
                case.programme.accumulators.get_mut(index).into_iter().for_each(|one| set(one, value));
            }
            Access::Material(_, set) => each_of_material(case, index, |material| set(material, value)),
        }
    }
}

/// The lag of a layer's output, s.
fn lag(layer: &Layer) -> Option<f64> {
    if let Output::Lag(lag) = layer.feed.output { Some(lag) } else { None }
}

/// How steep a change is, m/s2 or 1/s; none where its time is given.
fn rate(change: &Change) -> Option<f64> {
    match change.ramp {
        Ramp::Even(rate) | Ramp::Percent(rate) => Some(rate),
        Ramp::Within(_) => None,
    }
}

fn set_rate(change: &mut Change, value: f64) {
    change.ramp = if matches!(change.ramp, Ramp::Percent(_)) { Ramp::Percent(value) } else { Ramp::Even(value) };
}

/// Changes the material of a layer wherever the product has it.
pub(super) fn each_of_material(case: &mut CaseFile, first: usize, change: impl Fn(&mut Material)) {
    // A material has the index of its first layer, so that no layer before it is concerned.
    if let Some((layer, rest)) = case.layers.get_mut(first..).and_then(<[Layer]>::split_first_mut) {
        for other in rest.iter_mut().filter(|other| other.material.name == layer.material.name) {
            change(&mut other.material);
        }
        change(&mut layer.material);
    }
}

/// The size of a layer, where the case gives it by this key.
fn size(layer: &Layer, key: &str) -> Option<f64> {
    let (given, value) = match layer.size {
        Size::Diameter(value) => ("diameter", value),
        Size::FinishedDiameter(value) => ("finished_diameter", value),
        Size::Wall(value) => ("wall", value),
        Size::FinishedWall(value) => ("finished_wall", value),
    };
    (given == key).then_some(value)
}

/// The area of a solid round first layer given by its hot diameter.
fn area(case: &CaseFile, index: usize) -> Option<f64> {
    let solid = index == 0 && case.bore == 0.0 && case.shape == Shape::Round;
    let diameter = size(case.layers.first()?, "diameter").filter(|_| solid)?;
    Some(std::f64::consts::FRAC_PI_4 * diameter * diameter)
}

fn set_area(case: &mut CaseFile, index: usize, area: f64) {
    if let Some(layer) = case.layers.get_mut(index) {
        layer.size = Size::Diameter((area / std::f64::consts::FRAC_PI_4).sqrt());
    }
}

fn die_temperature(case: &CaseFile, index: usize) -> Option<f64> {
    (index < case.layers.len()).then(|| case.die_temperature(index).0)
}

fn set_die_temperature(case: &mut CaseFile, index: usize, value: f64) {
    let Some(before) = die_temperature(case, index) else { return };
    match &mut case.layers[index].temperature {
        DieTemperature::Fixed(temperature) => *temperature = Celsius(value),
        DieTemperature::OfSpeed(points) => points.iter_mut().for_each(|point| point[1] += value - before),
        DieTemperature::Preheated(preheat) => preheat.entry_temperature.0 += value - before,
    }
}

fn contact(case: &CaseFile, index: usize) -> Option<f64> {
    let layer = case.layers.get(index).filter(|_| index > 0)?;
    match layer.contact {
        Contact::Perfect => Some(f64::INFINITY),
        Contact::Conductance(conductance) => Some(conductance),
    }
}

fn set_contact(case: &mut CaseFile, index: usize, value: f64) {
    if let Some(layer) = case.layers.get_mut(index) {
        layer.contact = if value.is_infinite() { Contact::Perfect } else { Contact::Conductance(value) };
    }
}

/// A given coefficient, or the first one of a table; a law has no number of its own.
fn film(section: &Section) -> Option<f64> {
    match &section.film {
        Film::Given(coefficient) => Some(*coefficient),
        Film::OfSurface(points) | Film::OfDistance(points) => points.first().map(|point| point[1]),
        Film::Law(..) => None,
    }
}

fn scale_film(section: &mut Section, factor: f64) {
    match &mut section.film {
        Film::Given(coefficient) => *coefficient *= factor,
        Film::OfSurface(points) | Film::OfDistance(points) => points.iter_mut().for_each(|point| point[1] *= factor),
        Film::Law(..) => {}
    }
}

/// The part of the circumference that water touches, where the case says it.
fn wetted(section: &Section) -> Option<f64> {
    match section.wetting.pattern {
        Pattern::Part(part) => Some(part),
        _ => None,
    }
}

/// How much more film one side has, where the case says it.
fn one_sided(section: &Section) -> Option<f64> {
    match section.wetting.pattern {
        Pattern::OneSided(ratio) => Some(ratio),
        _ => None,
    }
}

/// What a section tells its law by a key of the law's own.
fn input(section: &Section, input: Input) -> Option<f64> {
    match &section.film {
        Film::Law(law, inputs) if law.keys().any(|taken| taken == input) => Some(input.of(inputs)),
        _ => None,
    }
}

fn set_input(section: &mut Section, input: Input, value: f64) {
    if let Film::Law(_, inputs) = &mut section.film {
        *inputs = input.set(*inputs, value);
    }
}

/// The flow of a section that has its own, in the unit of its kind: kg/s or m3/s.
fn flow(section: &Section) -> Option<f64> {
    match section.circulation.filter(|_| section.supply.is_none())?.flow {
        Flow::Mass(flow) | Flow::Volume(flow) => Some(flow),
    }
}

fn set_flow(section: &mut Section, value: f64) {
    if let Some(water) = &mut section.circulation {
        match &mut water.flow {
            Flow::Mass(flow) | Flow::Volume(flow) => *flow = value,
        }
    }
}

fn limit(station: &Station, quantity: Quantity) -> Option<f64> {
    station.limits.iter().find(|limit| limit.quantity == quantity).map(|limit| limit.max.0)
}

fn set_limit(station: &mut Station, quantity: Quantity, value: f64) {
    for limit in station.limits.iter_mut().filter(|limit| limit.quantity == quantity) {
        limit.max = Celsius(value);
    }
}

fn at_room(curve: &Curve) -> Option<f64> {
    Some(curve.at(FINISHED))
}

/// Values within their bounds are positive, so that the new curve is one.
fn replace(curve: &mut Curve, new: Result<Curve, crate::material::CurveError>) {
    if let Ok(new) = new {
        *curve = new;
    }
}

fn scale(curve: &mut Curve, factor: f64) {
    let scaled = curve.scaled(factor);
    replace(curve, scaled);
}
