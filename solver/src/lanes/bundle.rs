//! Eight cases of one structure side by side: every number of a node is a row of eight.
//!
//! Node 2v is vertex v, node 2l + 1 the middle of link l; the lumped core follows behind. Cell l is the link
//! from vertex l to vertex l + 1.

use super::vector::{LANES, Row};
use crate::conduction::Slice;
use crate::surface::{STEFAN_BOLTZMANN, Surface};
use crate::table::{Side, Table};
use crate::units::ZERO_CELSIUS;

/// What two cases must share to march side by side: the pattern of nodes, links and tables.
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
}

impl Structure {
    /// The structure of a slice.
    pub fn of(slice: &Slice) -> Structure {
        let mut contacts = vec![false; slice.links()];
        slice.contacts.iter().for_each(|&(link, _)| contacts[link] = true);
        let mut joints = vec![None; slice.vertices()];
        slice.joints.iter().enumerate().for_each(|(joint, &vertex)| joints[vertex] = Some(joint));
        Structure { contacts, joints, core: slice.core.is_some(), moving: slice.moving }
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

/// Coefficients of the segment that a node's enthalpy is in.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Segment {
    /// Enthalpies at which the segment begins and ends.
    pub low: Row,
    /// See `low`.
    pub high: Row,
    /// Enthalpy and temperature at delta = 0.
    pub enthalpy: Row,
    /// See `enthalpy`.
    pub temperature: Row,
    /// Heat capacity there, its square, and twice its slope.
    pub capacity: Row,
    /// See `capacity`.
    pub capacity_squared: Row,
    /// See `capacity`.
    pub twice_slope: Row,
    /// The polynomials; at a joint of the outer side.
    pub side: Sides,
    /// Which segment of its table it is.
    pub index: [usize; LANES],
}

/// Polynomials of delta, lowest order first.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Sides {
    /// Conduction potential.
    pub potential: [Row; 5],
    /// Area ratio.
    pub area: [Row; 4],
}

/// An unknown: the enthalpy of a node or of the lumped core, or the heat given off.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Unknown {
    /// The accepted state y_n.
    pub state: Row,
    /// Increments of the first five stages.
    pub u: [Row; 5],
    /// The state of the last stage, which the new state builds on.
    pub stage: Row,
    /// The state that the last attempt reached.
    pub fresh: Row,
    /// Mass per radian, and over the step.
    pub mass: Row,
    /// See `mass`.
    pub mass_per_step: Row,
    /// m dh/dt at y_n, and its change by geometry and film.
    pub rate: Row,
    /// See `rate`.
    pub drift: Row,
}

/// A node.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Node {
    /// Its enthalpy.
    pub unknown: Unknown,
    /// In the stage at hand: its enthalpy, and the part of its right side that the sweep does not make.
    pub h: Row,
    /// See `h`.
    pub side: Row,
    /// The segment that it is in.
    pub segment: Segment,
    /// At y_n: T - T_segment, temperature, heat capacity, kappa, potential.
    pub delta: Row,
    /// See `delta`.
    pub temperature: Row,
    /// See `delta`.
    pub capacity: Row,
    /// See `delta`.
    pub kappa: Row,
    /// See `delta`.
    pub phi: Row,
}

/// A link between two vertices.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Cell {
    /// Whether the link is a contact: its middle is idle then.
    pub contact: bool,
    /// Whether the outer vertex is a joint with one temperature.
    pub joint: bool,
    /// The inner side of the joint.
    pub inside: Sides,
    /// 1/(3 L), 1/(9 rho0) and L/(3 rho0); zero for a contact and, the last two, for a flat product.
    pub i3: Row,
    /// See `i3`.
    pub j: Row,
    /// See `i3`.
    pub w: Row,
    /// Contact conductance, W/(m2 K).
    pub conductance: Row,
    /// At y_n: K_AB, -K_AC, -K_CB, s at the outer vertex, kappa and potential on its inner side.
    pub k_ab: Row,
    /// See `k_ab`.
    pub k_ac: Row,
    /// See `k_ab`.
    pub k_cb: Row,
    /// See `k_ab`.
    pub square: Row,
    /// See `k_ab`.
    pub kappa_in: Row,
    /// See `k_ab`.
    pub phi_in: Row,
    /// Of the attempt: how the middle's right side enters its vertices, and how its temperature follows.
    pub into_a: Row,
    /// See `into_a`.
    pub into_b: Row,
    /// See `into_a`.
    pub own: Row,
    /// See `into_a`.
    pub from_a: Row,
    /// See `into_a`.
    pub from_b: Row,
    /// Right side of the middle.
    pub right: Row,
    /// The factorised row of the inner vertex.
    pub row: Vertex,
}

/// A row of the factorised tridiagonal matrix and its right side.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Vertex {
    /// Multiplier of the row above.
    pub lower: Row,
    /// Inverse pivot.
    pub inverse: Row,
    /// Entry of the next column over the pivot.
    pub upper: Row,
    /// Eliminated right side.
    pub right: Row,
}

/// The two ends of the product, of each lane.
#[derive(Clone, Debug)]
#[repr(C)]
pub struct Ends {
    /// s at the inner edge, without the lumped core; s at the first vertex at y_n.
    pub inner: Row,
    /// See `inner`.
    pub square: Row,
    /// Lumped core: s that it takes at the die, G_i/k, 1/density, 1/contact conductance.
    pub core_square: Row,
    /// See `core_square`.
    pub core_shape: Row,
    /// See `core_square`.
    pub core_per_density: Row,
    /// See `core_square`.
    pub core_resistance: Row,
    /// At y_n: conductance to the first vertex, the part of it inside the core; of the attempt: inverse pivot.
    pub core_conductance: Row,
    /// See `core_conductance`.
    pub core_inside: Row,
    /// See `core_conductance`.
    pub core_inverse: Row,
    /// Given film coefficient, emissivity times the Stefan-Boltzmann constant, medium where the product enters, degC and K.
    pub film: Row,
    /// See `film`.
    pub radiance: Row,
    /// See `film`.
    pub entry: Row,
    /// See `film`.
    pub entry_kelvin: Row,
    /// K per J/m, and the heat given off before the entry.
    pub warming: Row,
    /// See `warming`.
    pub entry_heat: Row,
    /// Line speed, and distance from the leg's entry.
    pub speed: Row,
    /// See `speed`.
    pub distance: Row,
    /// At y_n: R dq''/dT_s, -R dq''/dQ.
    pub film_slope: Row,
    /// See `film_slope`.
    pub water_slope: Row,
    /// Fastest rate of the outermost interval, 1/s, and rate of the surface temperature, K/s.
    pub stiffness: Row,
    /// See `stiffness`.
    pub surface_rate: Row,
    /// Of the attempt: the factorised row of the surface, and the inverse pivot of the heat.
    pub row: Vertex,
    /// See `row`.
    pub heat_inverse: Row,
    /// The step to try, s, and the error that it may have, K.
    pub step: Row,
    /// See `step`.
    pub allowed: Row,
    /// Of the attempt: error over what is allowed, and the factor that the next step takes by it.
    pub error: Row,
    /// See `error`.
    pub factor: Row,
    /// Highest enthalpy that the surface had inside the attempt, at eighths of it.
    pub peak: Row,
}

/// The tables of the case in a lane.
#[derive(Clone, Debug, Default)]
pub struct Tables {
    /// Layers first, joints behind.
    pub tables: Vec<Table>,
    /// Table of each node; of the lumped core behind them.
    pub of: Vec<usize>,
}

/// Eight cases of one structure.
pub struct Bundle<'a> {
    /// What they share.
    pub structure: Structure,
    /// The lanes, but for their nodes.
    pub lanes: Lanes<'a>,
    /// From the inside outward, and the lumped core behind them.
    pub nodes: Vec<Node>,
    /// From the inside outward; at least one.
    pub cells: Vec<Cell>,
    /// The heat given off.
    pub heat: Unknown,
    /// Both ends.
    pub ends: Ends,
}

/// What lanes hold beside their numbers.
#[derive(Default)]
pub struct Lanes<'a> {
    /// Lanes that hold a case.
    pub active: u8,
    /// Lanes whose film is not a given coefficient.
    pub laws: u8,
    /// Lanes behind the last water.
    pub dry: u8,
    /// Of each node: lanes whose enthalpy left its segment. Padded to eights.
    pub outside: Vec<u8>,
    /// Of each lane.
    pub tables: [Tables; LANES],
    /// Of each lane.
    pub surfaces: [Option<Surface<'a>>; LANES],
}

const ZERO: Row = Row::all(0.0);

fn unknown() -> Unknown {
    Unknown {
        state: ZERO,
        u: [ZERO; 5],
        stage: ZERO,
        fresh: ZERO,
        mass: Row::all(1.0),
        mass_per_step: ZERO,
        rate: ZERO,
        drift: ZERO,
    }
}

fn node() -> Node {
    let segment = Segment {
        low: ZERO,
        high: ZERO,
        enthalpy: ZERO,
        temperature: ZERO,
        capacity: Row::all(1.0),
        capacity_squared: Row::all(1.0),
        twice_slope: ZERO,
        side: sides(),
        index: [0; LANES],
    };
    Node {
        unknown: unknown(),
        h: ZERO,
        side: ZERO,
        segment,
        delta: ZERO,
        temperature: ZERO,
        capacity: ZERO,
        kappa: ZERO,
        phi: ZERO,
    }
}

fn sides() -> Sides {
    Sides { potential: [ZERO; 5], area: [Row::all(1.0), ZERO, ZERO, ZERO] }
}

fn vertex() -> Vertex {
    Vertex { lower: ZERO, inverse: ZERO, upper: ZERO, right: ZERO }
}

fn cell(contact: bool, joint: bool) -> Cell {
    Cell {
        contact,
        joint,
        inside: sides(),
        i3: ZERO,
        j: ZERO,
        w: ZERO,
        conductance: ZERO,
        k_ab: ZERO,
        k_ac: ZERO,
        k_cb: ZERO,
        square: ZERO,
        kappa_in: ZERO,
        phi_in: ZERO,
        into_a: ZERO,
        into_b: ZERO,
        own: ZERO,
        from_a: ZERO,
        from_b: ZERO,
        right: ZERO,
        row: vertex(),
    }
}

impl Bundle<'_> {
    /// Room for eight cases.
    pub fn new(structure: Structure) -> Self {
        let joint = |link: usize| structure.joints[link + 1].is_some();
        let cells = structure.contacts.iter().enumerate().map(|(link, &contact)| cell(contact, joint(link)));
        Bundle {
            lanes: Lanes { outside: vec![0; (structure.nodes() + 1).next_multiple_of(8)], ..Lanes::default() },
            nodes: vec![node(); structure.nodes() + 1],
            cells: cells.collect(),
            heat: unknown(),
            ends: Ends {
                inner: Row::all(1.0),
                square: ZERO,
                core_square: ZERO,
                core_shape: ZERO,
                core_per_density: ZERO,
                core_resistance: ZERO,
                core_conductance: ZERO,
                core_inside: ZERO,
                core_inverse: ZERO,
                film: ZERO,
                radiance: ZERO,
                entry: ZERO,
                entry_kelvin: ZERO,
                warming: ZERO,
                entry_heat: ZERO,
                speed: ZERO,
                distance: ZERO,
                film_slope: ZERO,
                water_slope: ZERO,
                stiffness: ZERO,
                surface_rate: ZERO,
                row: vertex(),
                heat_inverse: ZERO,
                step: Row::all(1.0),
                allowed: Row::all(1.0),
                error: ZERO,
                factor: ZERO,
                peak: ZERO,
            },
            structure,
        }
    }

    /// The lumped core.
    pub fn core(&self) -> &Node {
        &self.nodes[self.structure.nodes()]
    }

    /// The surface's vertex.
    pub fn surface(&self) -> &Node {
        &self.nodes[self.structure.nodes() - 1]
    }

    /// Loads the segments of the lanes that `outside` tells of.
    pub fn settle(&mut self) {
        let Lanes { outside, tables, .. } = &self.lanes;
        for (eight, bytes) in outside.chunks_exact(8).enumerate() {
            let mut left = bytes.iter().rev().fold(0, |word, &byte| word << 8 | u64::from(byte));
            while left != 0 {
                let place = left.trailing_zeros() as usize;
                left &= left - 1;
                let (number, lane) = (8 * eight + place / 8, place % 8);
                let (node, tables) = (&mut self.nodes[number], &tables[lane]);
                let table = &tables.tables[tables.of[number]];
                let index = table.find_near(node.segment.index[lane], node.h.0[lane]);
                node.segment.load(lane, index, &table.segments[index]);
                if let Some(side) = table.inner.get(index) {
                    self.cells[number / 2 - 1].inside.load(lane, side);
                }
            }
        }
    }
}

impl<'a> Bundle<'a> {
    /// Puts a case at the die into a lane.
    pub fn fill(&mut self, lane: usize, slice: &mut Slice, state: &[f64]) {
        let (nv, nodes) = (slice.vertices(), slice.nodes());
        let number = |node: usize| if node < nv { 2 * node } else { 2 * (node - nv) + 1 };
        let mut of = vec![0; nodes + 1];
        for node in 0..nodes {
            let own = &mut self.nodes[number(node)];
            own.unknown.mass.0[lane] = slice.mass[node];
            own.unknown.state.0[lane] = state[node];
            own.segment.forget(lane);
            of[number(node)] = slice.table_of[node];
        }
        self.heat.state.0[lane] = state[slice.heat_index()];
        for (link, cell) in self.cells.iter_mut().enumerate() {
            let (mass, density) = (slice.link_mass[link], slice.link_density[link]);
            cell.i3.0[lane] = if mass > 0.0 { 1.0 / (3.0 * mass) } else { 0.0 };
            cell.j.0[lane] = if slice.flat || mass == 0.0 { 0.0 } else { 1.0 / (9.0 * density) };
            cell.w.0[lane] = if slice.flat { 0.0 } else { mass / (3.0 * density) };
        }
        for &(link, conductance) in &slice.contacts {
            self.cells[link].conductance.0[lane] = conductance;
        }
        let ends = &mut self.ends;
        ends.inner.0[lane] = if slice.flat { 1.0 } else { slice.inner };
        if let Some(core) = &slice.core {
            of[nodes] = core.table;
            let own = &mut self.nodes[nodes];
            own.unknown.mass.0[lane] = core.mass;
            own.unknown.state.0[lane] = state[slice.core_index()];
            own.segment.forget(lane);
            ends.core_square.0[lane] = if slice.flat { 0.0 } else { core.area };
            ends.core_shape.0[lane] = core.shape;
            ends.core_per_density.0[lane] = 1.0 / core.density;
            ends.core_resistance.0[lane] = if core.contact.is_finite() { 1.0 / core.contact } else { 0.0 };
        }
        self.lanes.tables[lane] = Tables { tables: std::mem::take(&mut slice.tables), of };
        self.lanes.active |= 1 << lane;
    }

    /// Puts a lane into a medium.
    pub fn surround(&mut self, lane: usize, surface: Surface<'a>) {
        let (ends, lanes) = (&mut self.ends, &mut self.lanes);
        let bit = 1 << lane;
        match surface.given() {
            Some(film) => (ends.film.0[lane], lanes.laws) = (film, lanes.laws & !bit),
            None => lanes.laws |= bit,
        }
        ends.radiance.0[lane] = surface.emissivity() * STEFAN_BOLTZMANN;
        ends.entry.0[lane] = surface.entry();
        ends.entry_kelvin.0[lane] = surface.entry() + ZERO_CELSIUS;
        ends.warming.0[lane] = surface.warming();
        ends.entry_heat.0[lane] = surface.entry_heat();
        ends.speed.0[lane] = surface.speed();
        lanes.surfaces[lane] = Some(surface);
    }

    /// Takes the case out of a lane; what its rows hold is computed with, and looked at by nobody.
    pub fn empty(&mut self, lane: usize) {
        let (lanes, bit) = (&mut self.lanes, 1 << lane);
        (lanes.active, lanes.laws, lanes.dry) = (lanes.active & !bit, lanes.laws & !bit, lanes.dry & !bit);
        lanes.surfaces[lane] = None;
    }
}

impl Segment {
    /// No enthalpy is inside: the next look loads the segment.
    fn forget(&mut self, lane: usize) {
        (self.low.0[lane], self.high.0[lane]) = (f64::INFINITY, f64::NEG_INFINITY);
    }

    fn load(&mut self, lane: usize, index: usize, from: &crate::table::Segment) {
        self.index[lane] = index;
        self.low.0[lane] = from.low;
        self.high.0[lane] = from.high;
        self.enthalpy.0[lane] = from.enthalpy;
        self.temperature.0[lane] = from.temperature;
        self.capacity.0[lane] = from.heat_capacity;
        self.capacity_squared.0[lane] = from.heat_capacity * from.heat_capacity;
        self.twice_slope.0[lane] = 2.0 * from.heat_capacity_slope;
        self.side.load(lane, &from.side);
    }
}

impl Sides {
    fn load(&mut self, lane: usize, side: &Side) {
        for (row, value) in self.potential.iter_mut().zip(side.potential) {
            row.0[lane] = value;
        }
        for (row, value) in self.area.iter_mut().zip(side.area) {
            row.0[lane] = value;
        }
    }
}
