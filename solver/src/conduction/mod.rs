//! Radial conduction in one slice: storage, conductances and the residual.
//!
//! Unknowns are enthalpies (J/kg) at nodes of fixed mass. An interval of mass L (per radian; flat: per area) has a vertex
//! at each end and a middle node at half its mass, with the Simpson weights L/6, 4L/6, L/6. With the area ratio a and
//! s = r^2 (flat: s = 1):
//!
//! s_C = s_A + 2L/rho0 (5 a_A + 8 a_C - a_B)/24,  s_B = s_A + 2L/rho0 (a_A + 4 a_C + a_B)/6,
//! K_AB = (3 s_A - 4 s_C + 3 s_B)/(6L),  K_AC = -(12 s_A + 4 s_B)/(6L),  K_CB = -(4 s_A + 12 s_B)/(6L),
//!
//! and the flux from x to y is -K_xy (Phi_x - Phi_y) with Phi the conduction potential. Vertices are numbered outward;
//! link i joins vertices i and i + 1 and is an interval, or a contact (an interval of no mass). At a joint with one
//! temperature both layers share a vertex; a lumped metal core is one more unknown inside the first vertex.

mod drift;
mod slice;
#[cfg(test)]
mod tests;
mod wide;

use crate::surface::Surface;
use crate::table::{Side, polynomial};
use crate::vector::{Plain, Vector};

pub(crate) use drift::Drift;
pub use slice::{Core, Slice};
pub use wide::Geometry;
use wide::conduct;

/// Segment coefficients of every node, reloaded only when an enthalpy leaves its segment.
#[derive(Clone, Debug)]
struct Loaded {
    low: Vec<f64>,
    high: Vec<f64>,
    enthalpy: Vec<f64>,
    temperature: Vec<f64>,
    capacity: Vec<f64>,
    capacity_squared: Vec<f64>,
    twice_slope: Vec<f64>,
    potential: [Vec<f64>; 5],
    area: [Vec<f64>; 4],
    joint_side: Vec<Side>,
}

/// Everything that the residual and its Jacobian need of one state.
#[derive(Clone, Debug)]
pub struct Field {
    loaded: Loaded,
    /// T - T_segment, nodes.
    delta: Vec<f64>,
    /// Temperature, nodes, degC.
    pub temperature: Vec<f64>,
    /// Heat capacity, nodes, J/(kg K).
    pub capacity: Vec<f64>,
    /// Conduction potential, nodes (outer side at a joint).
    potential: Vec<f64>,
    /// Conduction potential of vertices seen from inside.
    potential_in: Vec<f64>,
    /// Area ratio, nodes (outer side at a joint).
    area: Vec<f64>,
    /// Area ratio of vertices seen from inside.
    area_in: Vec<f64>,
    /// Radii and conductances.
    pub geometry: Geometry,
    /// Room of `conduct`: what each link passes to its outer vertex.
    passed: Vec<f64>,
    /// Room for a state that ends with its last unknown.
    own: Vec<f64>,
    /// The outermost vertex.
    last: usize,
    /// Mass of every node and of the lumped core; 1 behind them.
    pub(crate) mass: Vec<f64>,
    inverse_mass: Vec<f64>,
    double_volume: Vec<f64>,
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
        let (nodes, links) = (slice.room(), slice.link_room());
        let all = |value: f64| vec![value; nodes];
        // A segment that holds no enthalpy asks to be loaded; behind the nodes one that holds them all is never asked for.
        let bound = |value: f64| (0..nodes).map(|j| if j < slice.nodes() { value } else { -value }).collect();
        let per_order = |order: usize, one: usize| all(if order == one { 1.0 } else { 0.0 });
        let loaded = Loaded {
            low: bound(f64::INFINITY),
            high: bound(f64::NEG_INFINITY),
            enthalpy: all(0.0),
            temperature: all(0.0),
            capacity: all(1.0),
            capacity_squared: all(1.0),
            twice_slope: all(0.0),
            potential: std::array::from_fn(|order| per_order(order, 1)),
            area: std::array::from_fn(|order| per_order(order, 0)),
            joint_side: vec![Side { potential: [0.0; 5], area: [0.0; 4] }; slice.joints.len()],
        };
        let per_link = |f: &dyn Fn(f64, f64) -> f64| -> Vec<f64> {
            let own = slice.link_mass.iter().zip(&slice.link_density).map(|(&mass, &density)| f(mass, density));
            own.chain(std::iter::repeat(0.0)).take(links).collect()
        };
        let core_mass = slice.core.map(|core| core.mass);
        let mut field = Field {
            loaded,
            delta: all(0.0),
            temperature: all(0.0),
            capacity: all(1.0),
            potential: all(0.0),
            potential_in: vec![0.0; links],
            area: all(1.0),
            area_in: vec![1.0; links],
            geometry: Geometry::new(links),
            passed: vec![0.0; links],
            own: vec![0.0; nodes],
            last: slice.vertices() - 1,
            mass: slice.mass.iter().copied().chain(core_mass).chain(std::iter::repeat(1.0)).take(nodes).collect(),
            inverse_mass: per_link(&|mass, _| if mass > 0.0 { 1.0 / (6.0 * mass) } else { 0.0 }),
            double_volume: per_link(&|mass, density| 2.0 * mass / density),
            heat: 0.0,
            core_temperature: 0.0,
            core_capacity: 1.0,
            core_area: 1.0,
            core_conductance: 0.0,
            core_inside: 1.0,
        };
        if slice.flat {
            field.geometry.conductances::<Plain>(&field.inverse_mass, slice.links());
        } else {
            field.follow_areas::<Plain>(slice);
        }
        field
    }

    /// Brings every property, radius and conductance to a state.
    pub fn update(&mut self, slice: &Slice, state: &[f64]) {
        let mut own = std::mem::take(&mut self.own);
        own[..slice.unknowns()].copy_from_slice(&state[..slice.unknowns()]);
        self.follow::<Plain>(slice, &own);
        self.own = own;
    }

    /// As `update`, of a state with `Slice::room` numbers.
    #[inline(always)]
    pub(crate) fn follow<V: Vector>(&mut self, slice: &Slice, state: &[f64]) {
        self.properties::<V>(slice, state);
        self.heat = state[slice.heat_index()];
        if let Some(core) = &slice.core {
            self.core_state(slice, core, state[slice.core_index()]);
        }
        if slice.moving && !slice.flat {
            self.follow_areas::<V>(slice);
        }
        if let Some(core) = &slice.core {
            let radius = self.geometry.square[0].sqrt();
            let inside = core.shape
                * slice.tables[core.table].kappa(crate::units::Celsius(self.core_temperature))
                * self.core_area
                / core.density;
            self.core_inside = inside;
            self.core_conductance =
                if core.contact.is_finite() { 1.0 / (1.0 / inside + 1.0 / (radius * core.contact)) } else { inside };
        }
    }

    fn reload(&mut self, slice: &Slice, node: usize, enthalpy: f64) {
        let table = &slice.tables[slice.table_of[node]];
        let index = table.find(enthalpy);
        let segment = &table.segments[index];
        let l = &mut self.loaded;
        l.low[node] = segment.low;
        l.high[node] = segment.high;
        l.enthalpy[node] = segment.enthalpy;
        l.temperature[node] = segment.temperature;
        l.capacity[node] = segment.heat_capacity;
        l.capacity_squared[node] = segment.heat_capacity * segment.heat_capacity;
        l.twice_slope[node] = 2.0 * segment.heat_capacity_slope;
        for (into, from) in l.potential.iter_mut().zip(segment.side.potential) {
            into[node] = from;
        }
        for (into, from) in l.area.iter_mut().zip(segment.side.area) {
            into[node] = from;
        }
        if !table.inner.is_empty()
            && let Some(joint) = slice.joints.iter().position(|&vertex| vertex == node)
        {
            l.joint_side[joint] = table.inner[index];
        }
    }

    fn core_state(&mut self, slice: &Slice, core: &Core, enthalpy: f64) {
        let table = &slice.tables[core.table];
        let segment = &table.segments[table.find(enthalpy)];
        let (temperature, capacity) = table.temperature(enthalpy);
        self.core_temperature = temperature.0;
        self.core_capacity = capacity;
        self.core_area = polynomial(&segment.side.area, temperature.0 - segment.temperature);
    }

    /// Outer radius, m (flat: 1, so that fluxes are per area).
    pub fn surface_radius(&self) -> f64 {
        self.geometry.square[self.last].sqrt()
    }

    /// Radius at a vertex, m (flat: 1).
    pub fn vertex_radius(&self, vertex: usize) -> f64 {
        self.geometry.square[vertex].sqrt()
    }

    /// Surface temperature, degC.
    pub fn surface_temperature(&self) -> f64 {
        self.temperature[self.last]
    }

    /// Mass-weighted rates m dh/dt of every node, of the core, and of the heat given off, per radian.
    ///
    /// `rates` has room for `Slice::room` numbers.
    #[inline(always)]
    pub(crate) fn rates<V: Vector>(&mut self, slice: &Slice, surface: &Surface, distance: f64, rates: &mut [f64]) {
        conduct::<V>(slice, [&self.potential, &self.potential_in], &self.geometry, &mut self.passed, rates);
        let last = slice.vertices() - 1;
        for &(link, conductance) in &slice.contacts {
            let flow = self.vertex_radius(link) * conductance * (self.temperature[link] - self.temperature[link + 1]);
            rates[link] -= flow;
            rates[link + 1] += flow;
        }
        rates[slice.core_index()] = 0.0;
        if slice.core.is_some() {
            let flow = self.core_conductance * (self.core_temperature - self.temperature[0]);
            rates[slice.core_index()] = -flow;
            rates[0] += flow;
        }
        let heat = self.surface_radius() * surface.flux(self.temperature[last], self.heat, distance);
        rates[last] -= heat;
        rates[slice.heat_index()] = heat;
    }

    /// s of a vertex, m2 (flat: 1).
    pub fn square(&self, vertex: usize) -> f64 {
        self.geometry.square[vertex]
    }

    /// s of a link's middle, m2 (flat: 1).
    pub fn square_middle(&self, link: usize) -> f64 {
        self.geometry.middle[link]
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
