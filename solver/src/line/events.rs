//! What a run notes on its way: states at stations and section ends, states for fields, extremes, where layers set.

use super::Prepared;
use super::column::metal;
use super::itinerary::{Landing, Plan, Stop};
use super::passage::Place;
use super::set::{Set, extremes};
use super::skin::Skins;
use super::step::Step;
use super::trip::Trip;
use super::watch::Watch;
use crate::case::Case;
use crate::engine::{Row, View};
use crate::film::surface::Apart;
use crate::maths::order::sort_by_number;

/// Output points in each leg when fields are kept, at least.
const POINTS_A_LEG: usize = 60;

/// Output times from the leg's entry (s) with their distances from the die (m), in order.
type Outputs = std::iter::Peekable<std::vec::IntoIter<(f64, f64)>>;

/// The notes of a run.
#[derive(Debug)]
pub(super) struct Events {
    pub(super) stations: Vec<Vec<f64>>,
    pub(super) ends: Vec<Vec<f64>>,
    pub(super) track: Vec<Place>,
    pub(super) set: Set,
    pub(super) skins: Skins,
    pub(super) extremes: Vec<[f64; 2]>,
    /// Output points of the present leg, and which leg that is.
    outputs: Option<(usize, Outputs)>,
    /// What keeps the hot side apart at each station and at each section's end.
    pub(super) apart_at_stations: Vec<Option<Apart>>,
    pub(super) apart_at_ends: Vec<Option<Apart>>,
    /// States of the metal core along the line, where the march of a hot side will ask for them.
    pub(super) metal: Vec<(f64, Vec<f64>)>,
    metal_nodes: Option<Vec<usize>>,
}

impl Events {
    /// Notes what holds at the die.
    pub(super) fn new<R: Row>(of: &Prepared, view: View<R>) -> Events {
        let (case, slice, start) = (of.case, &of.slice, &of.start);
        let layers = case.layers.len();
        Events {
            stations: vec![start.clone(); case.stations.len()],
            ends: vec![start.clone(); case.sections.len()],
            track: Vec::new(),
            set: Set::new(of, view),
            skins: Skins::new(of, view),
            extremes: (0..layers).map(|layer| extremes(slice, view, layer)).collect(),
            outputs: None,
            apart_at_stations: vec![None; case.stations.len()],
            apart_at_ends: vec![None; case.sections.len()],
            metal: Vec::new(),
            metal_nodes: (case.is_uneven() && of.column.is_none()).then(|| metal(case, slice)),
        }
    }

    /// Extremes of every layer, and where it sets.
    fn watch_layers<R: Row>(&mut self, of: &Prepared, view: View<R>, step: &Step) {
        for layer in 0..of.case.layers.len() {
            let [hottest, coldest] = extremes(&of.slice, view, layer);
            let met = &mut self.extremes[layer];
            *met = [met[0].max(hottest), met[1].min(coldest)];
            self.set.look(of, view, step, layer, hottest);
        }
    }

    /// Keeps the states of the output points inside the step.
    fn keep_outputs<R: Row>(&mut self, of: &Prepared, view: View<R>, step: &Step) {
        if self.outputs.as_ref().is_none_or(|(leg, _)| *leg != step.number) {
            self.outputs = Some((step.number, outputs(of.case, &of.itinerary.legs[step.number])));
        }
        if self.track.is_empty() {
            self.track.extend(at_the_die(of, view));
        }
        let Some((_, outputs)) = &mut self.outputs else { return };
        let (before, now) = (step.before, step.before + step.size);
        while let Some((time, distance)) = outputs.next_if(|&(time, _)| time <= now) {
            let state = if time < now {
                let mut state = vec![0.0; of.slice.unknowns()];
                view.state_inside((time - before) / (now - before), &mut state);
                state
            } else {
                view.state()
            };
            let within = (distance - step.leg.start).max(0.0);
            self.track.extend(place(of, view, [distance, within], step.leg.section, state));
        }
    }
}

impl Watch for Events {
    fn step<R: Row>(&mut self, of: &Prepared, view: View<R>, step: &Step) {
        if of.settings.fields {
            self.keep_outputs(of, view, step);
        }
        self.watch_layers(of, view, step);
        self.skins.look(of, view, step);
        if let Some(nodes) = &self.metal_nodes {
            if self.metal.is_empty() {
                self.metal.push((0.0, nodes.iter().map(|&node| of.start[node]).collect()));
            }
            for quarter in 1..=4 {
                let theta = 0.25 * f64::from(quarter);
                let states = nodes.iter().map(|&node| view.inside(node, theta)).collect();
                self.metal.push((step.distance(theta, of.case.line_speed), states));
            }
        }
    }

    fn station<R: Row>(&mut self, _: &Trip, index: usize, view: View<R>) {
        view.copy_state(&mut self.stations[index]);
        self.apart_at_stations[index] = apart(view);
    }

    fn section_end<R: Row>(&mut self, _: &Trip, index: usize, view: View<R>) {
        view.copy_state(&mut self.ends[index]);
        self.apart_at_ends[index] = apart(view);
    }
}

/// What keeps the hot side apart where a march is.
fn apart<R: Row>(view: View<R>) -> Option<Apart> {
    view.medium()?.apart(view.surface(), view.heat(), view.distance())
}

/// A state with what surrounds it, its distance from the die and `within` from the leg's entry, m.
fn place<R: Row>(
    of: &Prepared,
    view: View<R>,
    [distance, within]: [f64; 2],
    section: usize,
    state: Vec<f64>,
) -> Option<Place> {
    let (slice, medium) = (&of.slice, view.medium()?);
    let last = slice.vertices() - 1;
    let temperature = slice.tables[slice.table_of[last]].temperature(state[last]).0.0;
    let heat = state[slice.heat_index()];
    Some(Place {
        distance,
        section,
        medium: medium.medium(heat),
        film: medium.film(temperature, heat, within),
        heat_flux: medium.flux(temperature, heat, within),
        apart: medium.apart(temperature, heat, within),
        state,
    })
}

/// The state at the die, in the first medium.
fn at_the_die<R: Row>(of: &Prepared, view: View<R>) -> Option<Place> {
    place(of, view, [0.0, 0.0], 0, of.start.clone())
}

/// Times in a leg, with their distances, at which a state is kept for the fields; stations and end exact.
fn outputs(case: &Case, plan: &Plan) -> Outputs {
    let (leg, speed) = (plan.leg, case.line_speed);
    let (start, duration) = (leg.start, leg.length / speed);
    let points = POINTS_A_LEG.max(240 / case.sections.len());
    let dense = (1..points).map(|i| duration * libm::pow(i as f64 / points as f64, 2.0));
    let mut places: Vec<(f64, f64)> = dense.map(|time| (time, start + time * speed)).collect();
    for &Landing { time, stop, .. } in plan.stops.iter().filter(|stop| stop.place > 0.0) {
        let distance = match stop {
            Stop::Station(index) => case.station_distance(&case.stations[index]),
            Stop::End => case.section_start(leg.section + 1),
            Stop::Turn => leg.start + leg.length,
            Stop::Kink | Stop::Corner | Stop::Bend | Stop::Look(_) => continue,
        };
        // A point next to an exact one would only repeat it.
        places.retain(|place| (place.0 - time).abs() > 1e-6 * duration);
        places.push((time, distance));
    }
    sort_by_number(&mut places, |(time, _)| *time);
    places.into_iter().peekable()
}
