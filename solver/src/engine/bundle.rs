//! Cases of one structure side by side, or one alone: every number of a node is a row with a place for each lane.
//!
//! Node 2v is vertex v, node 2l + 1 the middle of link l; the lumped core follows behind. Cell l is the link
//! from vertex l to vertex l + 1.

use std::sync::Arc;

use super::rows::{Cell, Ends, Forecast, Node, Unknown, cell, ends, forecast, node, unknown};
use crate::film::layers::Films;
use crate::film::surface::{STEFAN_BOLTZMANN, Surface};
use crate::maths::vector::{Instructions, Path, Row};
use crate::slice::Slice;
use crate::slice::enthalpy::Enthalpy;
use crate::units::ZERO_CELSIUS;

/// What cases must share to march side by side: the pattern of nodes, links and tables.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Structure {
    /// Of each link: whether it is a contact.
    pub contacts: Vec<bool>,
    /// Of each vertex: which joint it is.
    pub joints: Vec<Option<usize>>,
    /// A metal core solved as one node.
    pub core: bool,
    /// Whether areas follow the density.
    pub moving: bool,
    /// Whether a table is steep.
    pub steep: bool,
}

impl Structure {
    /// The structure of a slice.
    pub fn of(slice: &Slice) -> Structure {
        let mut contacts = vec![false; slice.links()];
        slice.contacts.iter().for_each(|&(link, _)| contacts[link] = true);
        let mut joints = vec![None; slice.vertices()];
        slice.joints.iter().enumerate().for_each(|(joint, &vertex)| joints[vertex] = Some(joint));
        Structure { contacts, joints, core: slice.core.is_some(), moving: slice.moving, steep: slice.is_steep() }
    }

    /// Whether it is that of a slice.
    pub fn is_of(&self, slice: &Slice) -> bool {
        let contact = |link: usize| slice.contacts.iter().any(|&(own, _)| own == link);
        let joint = |vertex: usize| slice.joints.iter().position(|&own| own == vertex);
        self.links() == slice.links()
            && [self.core, self.moving, self.steep] == [slice.core.is_some(), slice.moving, slice.is_steep()]
            && self.contacts.iter().enumerate().all(|(link, &own)| own == contact(link))
            && self.joints.iter().enumerate().all(|(vertex, &own)| own == joint(vertex))
    }

    /// Number of links.
    pub fn links(&self) -> usize {
        self.contacts.len()
    }

    /// Number of nodes with a place.
    pub fn nodes(&self) -> usize {
        2 * self.links() + 1
    }
}

/// The tables of the case in a lane.
#[derive(Clone, Debug, Default)]
pub struct Tables {
    /// Layers first, joints behind.
    tables: Arc<Vec<Enthalpy>>,
    /// Table of each node; of the lumped core behind them.
    of: Vec<usize>,
}

impl Tables {
    /// The table of a node.
    #[inline]
    pub fn of(&self, number: usize) -> &Enthalpy {
        &self.tables[self.of[number]]
    }
}

/// Cases of one structure.
#[derive(Clone, Debug)]
pub struct Bundle<'a, R: Row> {
    /// What they share.
    pub structure: Structure,
    /// The lanes, but for their nodes.
    pub lanes: Lanes<'a, R>,
    /// From the inside outward, and the lumped core behind them.
    pub nodes: Vec<Node<R>>,
    /// Of each node, in a slice with a steep table; of other slices none.
    pub forecasts: Vec<Forecast<R>>,
    /// From the inside outward.
    pub cells: Vec<Cell<R>>,
    /// The heat given off.
    pub heat: Unknown<R>,
    /// Both ends.
    pub ends: Ends<R>,
}

/// Of each node the lanes whose enthalpy left its segment: few or none in a stage, so that eight nodes are looked at at once.
#[derive(Clone, Debug)]
pub struct Outside(Vec<[u8; 8]>);

impl Outside {
    fn of(nodes: usize) -> Outside {
        Outside(vec![[0; 8]; nodes.div_ceil(8)])
    }

    /// A place for the lanes of each node, to be put there without asking whether there are any.
    #[inline(always)]
    pub fn lanes(&mut self) -> &mut [u8] {
        self.0.as_flattened_mut()
    }
}

/// What lanes hold beside their numbers.
#[derive(Clone, Debug)]
pub struct Lanes<'a, R> {
    /// What they are computed with.
    pub instructions: Instructions,
    /// Lanes that hold a case.
    pub active: u8,
    /// Lanes whose film is not a given coefficient.
    pub laws: u8,
    /// The films that are boundary layers; other laws and tables are asked lane by lane.
    pub layers: Films<R>,
    /// Lanes behind the last water.
    pub dry: u8,
    /// Lanes whose line speed changes in the step.
    pub ramps: u8,
    /// Lanes that step onto a report or from a kink in a slice with a steep table.
    pub reporting: u8,
    /// Nodes whose enthalpy left its segment.
    pub outside: Outside,
    /// Whether every node's segment is that of y_n: no attempt came after `fields`.
    pub settled: bool,
    /// Of the first vertex and of the lumped core: the lanes in whose segment properties change.
    pub curved: [u8; 2],
    /// Of each lane.
    pub tables: Vec<Tables>,
    /// Of each lane.
    pub surfaces: Vec<Option<Surface<'a>>>,
}

impl<R: Row> Bundle<'_, R> {
    /// Room for cases, to be computed on a path, or on the best that this processor has.
    pub fn new(path: Path, structure: Structure) -> Self {
        let joint = |link: usize| structure.joints[link + 1].is_some();
        let cells = structure.contacts.iter().enumerate().map(|(link, &contact)| cell(contact, joint(link)));
        Bundle {
            lanes: Lanes {
                instructions: Instructions::of(path),
                active: 0,
                laws: 0,
                layers: Films::default(),
                dry: 0,
                ramps: 0,
                reporting: 0,
                settled: false,
                curved: [u8::MAX; 2],
                outside: Outside::of(structure.nodes() + 1),
                tables: vec![Tables::default(); R::LANES],
                surfaces: vec![None; R::LANES],
            },
            nodes: vec![node(); structure.nodes() + 1],
            forecasts: vec![forecast(); if structure.steep { structure.nodes() + 1 } else { 0 }],
            cells: cells.collect(),
            heat: unknown(),
            ends: ends(),
            structure,
        }
    }

    /// The lumped core.
    pub fn core(&self) -> &Node<R> {
        &self.nodes[self.structure.nodes()]
    }

    /// The surface's vertex.
    pub fn surface(&self) -> &Node<R> {
        &self.nodes[self.structure.nodes() - 1]
    }

    /// Loads the segments of enthalpies that left theirs.
    #[inline]
    pub fn settle(&mut self) {
        for place in 0..self.lanes.outside.0.len() {
            let mut left = u64::from_le_bytes(self.lanes.outside.0[place]);
            self.lanes.outside.0[place] = [0; 8];
            while left != 0 {
                let bit = left.trailing_zeros() as usize;
                left &= left - 1;
                self.reload(8 * place + bit / 8, bit % 8);
            }
        }
    }

    /// Loads the segment of a node's enthalpy in a lane.
    #[inline(always)]
    fn reload(&mut self, number: usize, lane: usize) {
        let table = self.lanes.tables[lane].of(number);
        let node = &mut self.nodes[number];
        let index = table.find_beyond(node.segment.index[lane], node.h[lane], node.segment.high[lane]);
        let segment = &table.segments[index];
        node.segment.load(lane, index, segment);
        if let Some(side) = table.inner.get(index) {
            self.cells[number / 2 - 1].inside.load(lane, side);
        }
        let curved = &mut self.lanes.curved;
        let curved = match number.checked_sub(1) {
            None => &mut curved[0],
            Some(place) => self.cells.get_mut(place / 2).map_or(&mut curved[1], |cell| &mut cell.curved[place % 2]),
        };
        *curved = *curved & !(1 << lane) | u8::from(!segment.constant) << lane;
        if let Some(forecast) = self.forecasts.get_mut(number) {
            forecast.calm = forecast.calm & !(1 << lane) | u8::from(segment.calm) << lane;
        }
    }
}

impl<'a, R: Row> Bundle<'a, R> {
    /// Puts a case into a lane, in a state whose unknowns stand in the order of a slice.
    pub fn fill(&mut self, lane: usize, slice: &Slice, state: &[f64]) {
        let (nv, nodes) = (slice.vertices(), slice.nodes());
        let number = |node: usize| if node < nv { 2 * node } else { 2 * (node - nv) + 1 };
        let own = &mut self.lanes.tables[lane];
        own.tables = Arc::clone(&slice.tables);
        own.of.clear();
        own.of.resize(nodes + 1, 0);
        for (node, &value) in state[..nodes].iter().enumerate() {
            own.of[number(node)] = slice.table_of[node];
            let own = &mut self.nodes[number(node)];
            own.unknown.mass[lane] = slice.mass[node];
            own.unknown.state[lane] = value;
            own.segment.forget(lane);
        }
        for (number, forecast) in self.forecasts.iter_mut().enumerate() {
            let steep = number < nodes && self.lanes.tables[lane].of(number).is_steep();
            (forecast.change[lane], forecast.least[lane]) = (0.0, if steep { 0.0 } else { 1.0 });
            forecast.any |= steep;
        }
        self.heat.state[lane] = state[slice.heat_index()];
        for (link, cell) in self.cells.iter_mut().enumerate() {
            let (mass, density) = (slice.link_mass[link], slice.link_density[link]);
            cell.i3[lane] = if mass > 0.0 { 1.0 / (3.0 * mass) } else { 0.0 };
            cell.j[lane] = if slice.flat || mass == 0.0 { 0.0 } else { 1.0 / (9.0 * density) };
            cell.w[lane] = if slice.flat { 0.0 } else { mass / (3.0 * density) };
        }
        for &(link, conductance) in &slice.contacts {
            self.cells[link].conductance[lane] = conductance;
        }
        let ends = &mut self.ends;
        ends.inner[lane] = if slice.flat { 1.0 } else { slice.inner };
        if let Some(core) = &slice.core {
            self.lanes.tables[lane].of[nodes] = core.table;
            let own = &mut self.nodes[nodes];
            own.unknown.mass[lane] = core.mass;
            own.unknown.state[lane] = state[slice.core_index()];
            own.segment.forget(lane);
            ends.core_square[lane] = if slice.flat { 0.0 } else { core.area };
            ends.core_shape[lane] = core.shape;
            ends.core_per_density[lane] = 1.0 / core.density;
            ends.core_resistance[lane] = if core.contact.is_finite() { 1.0 / core.contact } else { 0.0 };
        }
        self.lanes.active |= 1 << lane;
    }

    /// Takes a lane back to a state that it had between two legs, its unknowns in the order of a slice.
    pub(crate) fn go_back(&mut self, lane: usize, state: &[f64]) {
        let heat = self.structure.nodes() + 1;
        for (node, &value) in state[..heat].iter().enumerate() {
            self.put(lane, node, value);
        }
        self.heat.state[lane] = state[heat];
        self.forecasts.iter_mut().for_each(|forecast| forecast.change[lane] = 0.0);
        self.lanes.dry &= !(1 << lane);
    }

    /// Puts one node of a lane into a state, by its index in a slice's states.
    pub(crate) fn put(&mut self, lane: usize, node: usize, state: f64) {
        let vertices = self.structure.links() + 1;
        let number = match node {
            node if node < vertices => 2 * node,
            node if node < self.structure.nodes() => 2 * (node - vertices) + 1,
            _ => self.structure.nodes(),
        };
        self.nodes[number].unknown.state[lane] = state;
    }

    /// What the step of a lane may err by, K: what is reported of it, and every other node of a slice with a steep table.
    pub fn allow(&mut self, lane: usize, reported: f64, ordinary: f64) {
        (self.ends.allowed[lane], self.ends.ordinary[lane]) = (reported, ordinary);
        let reporting = self.structure.steep && reported < ordinary;
        self.lanes.reporting = self.lanes.reporting & !(1 << lane) | u8::from(reporting) << lane;
    }

    /// Puts a lane into a medium.
    pub fn surround(&mut self, lane: usize, surface: Surface<'a>) {
        let (ends, lanes) = (&mut self.ends, &mut self.lanes);
        let bit = 1 << lane;
        match surface.given() {
            Some(film) => (ends.film[lane], lanes.laws) = (film, lanes.laws & !bit),
            None => lanes.laws |= bit,
        }
        lanes.layers.surround(lane, &surface);
        ends.radiance[lane] = surface.emissivity() * STEFAN_BOLTZMANN;
        ends.entry[lane] = surface.entry();
        ends.entry_kelvin[lane] = surface.entry() + ZERO_CELSIUS;
        ends.warming[lane] = surface.warming();
        ends.entry_heat[lane] = surface.entry_heat();
        ends.speed[lane] = surface.speed();
        if let (Some(driven), Some(film)) = (surface.follows(), surface.at_rated_speed()) {
            let factor = surface.factor();
            let rows = [factor * film, driven.rated, driven.exponent, factor * driven.floor];
            ends.given.iter_mut().zip(rows).for_each(|(row, value)| row[lane] = value);
        } else {
            // What makes its own films.
            ends.given.iter_mut().zip([0.0, 1.0, 0.0, 0.0]).for_each(|(row, value)| row[lane] = value);
        }
        self.hold(lane);
        self.lanes.surfaces[lane] = Some(surface);
    }

    /// Takes a lane in its medium to a line speed, m/s, that changes by so much, m/s2, or not at all.
    pub fn set_speed(&mut self, lane: usize, speed: f64, acceleration: Option<f64>) {
        let Some(surface) = &mut self.lanes.surfaces[lane] else { return };
        *surface = surface.at_speed(speed);
        self.ends.speed[lane] = speed;
        if let Some(film) = surface.given() {
            self.ends.film[lane] = film;
        }
        match acceleration {
            Some(acceleration) => {
                self.lanes.ramps |= 1 << lane;
                (self.ends.ramp[lane], self.ends.acceleration[lane]) = (1.0, acceleration);
            }
            None => self.hold(lane),
        }
    }

    /// Takes the medium of a lane, whose speed was set before, to a temperature, degC, that changes by so much, K/s.
    pub fn set_medium(&mut self, lane: usize, temperature: f64, rate: f64) {
        let Some(surface) = &mut self.lanes.surfaces[lane] else { return };
        *surface = surface.at_entry(temperature);
        self.lanes.layers.set_entry(lane, temperature);
        (self.ends.entry[lane], self.ends.medium_rate[lane]) = (temperature, rate);
    }

    fn hold(&mut self, lane: usize) {
        self.lanes.ramps &= !(1 << lane);
        (self.ends.ramp[lane], self.ends.acceleration[lane]) = (0.0, 0.0);
        self.ends.medium_rate[lane] = 0.0;
    }

    /// Takes the case out of a lane; what its rows hold is computed with, and looked at by nobody.
    pub fn empty(&mut self, lane: usize) {
        let (lanes, bit) = (&mut self.lanes, 1 << lane);
        (lanes.active, lanes.laws, lanes.dry) = (lanes.active & !bit, lanes.laws & !bit, lanes.dry & !bit);
        lanes.reporting &= !bit;
        lanes.layers.leave(lane);
        lanes.surfaces[lane] = None;
        self.hold(lane);
    }
}
