//! What is reported of a state: temperatures, areas, radii and the lumped core's ends, for a look at a state that was kept.
//!
//! The numbers are those that the kernel has at the same state, to the last bit; a test holds the two together.

use crate::slice::enthalpy::polynomial;
use crate::slice::{Core, Slice};

/// Temperatures and sizes of one state.
#[derive(Clone, Debug)]
pub struct Field {
    /// Which segment of its table each node is in: the next state is not far.
    index: Vec<usize>,
    /// Temperature, nodes, degC.
    pub temperature: Vec<f64>,
    /// Area ratio, nodes (outer side at a joint).
    area: Vec<f64>,
    /// Area ratio of vertices seen from inside.
    area_in: Vec<f64>,
    /// s of vertices.
    square: Vec<f64>,
    /// s of middles (links).
    middle: Vec<f64>,
    /// Heat given off since the die per radian, J/m (flat: per area).
    pub heat: f64,
    /// Temperature of the lumped core, degC.
    pub core_temperature: f64,
    /// Its heat capacity, J/(kg K).
    pub core_capacity: f64,
    core_area: f64,
    /// Conductance core to first vertex, per radian.
    pub core_conductance: f64,
    /// The part of it inside the core, from its mean to its face, per radian.
    pub core_inside: f64,
}

impl Field {
    /// Room for the fields of a slice.
    pub fn new(slice: &Slice) -> Field {
        let (nodes, vertices) = (slice.nodes(), slice.vertices());
        Field {
            index: vec![0; nodes],
            temperature: vec![0.0; nodes],
            area: vec![1.0; nodes],
            area_in: vec![1.0; vertices],
            square: vec![1.0; vertices],
            middle: vec![1.0; slice.links()],
            heat: 0.0,
            core_temperature: 0.0,
            core_capacity: 1.0,
            core_area: 1.0,
            core_conductance: 0.0,
            core_inside: 1.0,
        }
    }

    /// Those of a state.
    pub fn of(slice: &Slice, state: &[f64]) -> Field {
        let mut field = Field::new(slice);
        field.update(slice, state);
        field
    }

    /// Brings everything to a state.
    pub fn update(&mut self, slice: &Slice, state: &[f64]) {
        let vertices = slice.vertices();
        for (node, &value) in state[..slice.nodes()].iter().enumerate() {
            let table = &slice.tables[slice.table_of[node]];
            let index = table.find_near(self.index[node], value);
            self.index[node] = index;
            let segment = &table.segments[index];
            let (delta, _) = segment.inverted(value);
            self.temperature[node] = segment.temperature + delta;
            self.area[node] = polynomial(&segment.side.area, delta);
            if node < vertices {
                let inside = table.inner.get(index).unwrap_or(&segment.side);
                self.area_in[node] = polynomial(&inside.area, delta);
            }
        }
        self.heat = state[slice.heat_index()];
        if let Some(core) = &slice.core {
            let table = &slice.tables[core.table];
            let segment = &table.segments[table.find(state[slice.core_index()])];
            let (delta, capacity) = segment.inverted(state[slice.core_index()]);
            self.core_temperature = segment.temperature + delta;
            self.core_capacity = capacity;
            self.core_area = polynomial(&segment.side.area, delta);
            self.core_inside = core.shape * segment.side.kappa(delta) * self.core_area * (1.0 / core.density);
        }
        if !slice.flat {
            self.follow_areas(slice);
        }
        if let Some(core) = &slice.core {
            self.core_conductance = self.conductance(core);
        }
    }

    /// s from the area ratios.
    fn follow_areas(&mut self, slice: &Slice) {
        let mut s = slice.core.map_or(0.0, |core| core.area * self.core_area) + slice.inner;
        self.square[0] = s;
        for link in 0..slice.links() {
            let (mass, density) = (slice.link_mass[link], slice.link_density[link]);
            let (a, c, b) = (self.area[link], self.area[slice.vertices() + link], self.area_in[link + 1]);
            self.middle[link] = s + 2.0 * mass / density * (5.0 * a + 8.0 * c - b) / 24.0;
            s += mass / (3.0 * density) * (4.0 * c + (a + b));
            self.square[link + 1] = s;
        }
    }

    /// 1/(1/G_i + 1/(r h_c)).
    fn conductance(&self, core: &Core) -> f64 {
        let (inside, r) = (self.core_inside, self.square[0].sqrt());
        let resistance = if core.contact.is_finite() { 1.0 / core.contact } else { 0.0 };
        inside * r / (resistance * inside + r)
    }

    /// Outer radius, m (flat: 1, so that fluxes are per area).
    pub fn surface_radius(&self) -> f64 {
        self.vertex_radius(self.square.len() - 1)
    }

    /// Radius at a vertex, m (flat: 1).
    pub fn vertex_radius(&self, vertex: usize) -> f64 {
        self.square[vertex].sqrt()
    }

    /// Surface temperature, degC.
    pub fn surface_temperature(&self) -> f64 {
        self.temperature[self.square.len() - 1]
    }

    /// s of a vertex, m2 (flat: 1).
    pub fn square(&self, vertex: usize) -> f64 {
        self.square[vertex]
    }

    /// s of a link's middle, m2 (flat: 1).
    pub fn square_middle(&self, link: usize) -> f64 {
        self.middle[link]
    }

    /// Area ratio of a node on its outer side.
    pub fn area(&self, node: usize) -> f64 {
        self.area[node]
    }

    /// Area ratio of a vertex on its inner side.
    pub fn area_in(&self, vertex: usize) -> f64 {
        self.area_in[vertex]
    }

    /// Area ratio of the lumped core.
    pub fn core_area(&self) -> f64 {
        self.core_area
    }
}
