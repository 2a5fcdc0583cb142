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

use crate::surface::Surface;
use crate::table::{Side, polynomial};

pub use drift::Drift;
pub use slice::{Core, Slice};

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
    /// s of vertices and of middles (links).
    square: Vec<f64>,
    square_middle: Vec<f64>,
    /// K_AB, K_AC, K_CB of links.
    pub k_ab: Vec<f64>,
    /// K_AC of links.
    pub k_ac: Vec<f64>,
    /// K_CB of links.
    pub k_cb: Vec<f64>,
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
        let (n, nv, nl) = (slice.nodes(), slice.vertices(), slice.links());
        let zeros = |n: usize| vec![0.0; n];
        let loaded = Loaded {
            low: vec![f64::INFINITY; n],
            high: vec![f64::NEG_INFINITY; n],
            enthalpy: zeros(n),
            temperature: zeros(n),
            capacity: zeros(n),
            capacity_squared: zeros(n),
            twice_slope: zeros(n),
            potential: std::array::from_fn(|_| zeros(n)),
            area: std::array::from_fn(|_| zeros(n)),
            joint_side: vec![Side { potential: [0.0; 5], area: [0.0; 4] }; slice.joints.len()],
        };
        let per_link = |f: &dyn Fn(f64, f64) -> f64| -> Vec<f64> {
            slice.link_mass.iter().zip(&slice.link_density).map(|(&mass, &density)| f(mass, density)).collect()
        };
        let mut field = Field {
            loaded,
            delta: zeros(n),
            temperature: zeros(n),
            capacity: zeros(n),
            potential: zeros(n),
            potential_in: zeros(nv),
            area: vec![1.0; n],
            area_in: vec![1.0; nv],
            square: vec![1.0; nv],
            square_middle: vec![1.0; nl],
            k_ab: zeros(nl),
            k_ac: zeros(nl),
            k_cb: zeros(nl),
            inverse_mass: per_link(&|mass, _| if mass > 0.0 { 1.0 / (6.0 * mass) } else { 0.0 }),
            double_volume: per_link(&|mass, density| 2.0 * mass / density),
            heat: 0.0,
            core_temperature: 0.0,
            core_capacity: 1.0,
            core_area: 1.0,
            core_conductance: 0.0,
            core_inside: 1.0,
        };
        if !slice.flat {
            field.follow_areas(slice);
        }
        field.conductances();
        field
    }

    /// Brings every property, radius and conductance to a state.
    pub fn update(&mut self, slice: &Slice, state: &[f64]) {
        self.properties(slice, state);
        self.heat = state[slice.heat_index()];
        if let Some(core) = &slice.core {
            self.core_state(slice, core, state[slice.core_index()]);
        }
        if slice.moving && !slice.flat {
            self.follow_areas(slice);
            self.conductances();
        }
        if let Some(core) = &slice.core {
            let radius = self.square[0].sqrt();
            let inside = core.shape
                * slice.tables[core.table].kappa(crate::units::Celsius(self.core_temperature))
                * self.core_area
                / core.density;
            self.core_inside = inside;
            self.core_conductance =
                if core.contact.is_finite() { 1.0 / (1.0 / inside + 1.0 / (radius * core.contact)) } else { inside };
        }
    }

    fn properties(&mut self, slice: &Slice, state: &[f64]) {
        let n = slice.nodes();
        let state = &state[..n];
        // Hardly any node leaves its segment in a stage: one pass without branches finds out whether any did.
        let (low, high) = (&self.loaded.low[..n], &self.loaded.high[..n]);
        let outside = |j: usize| !((state[j] >= low[j]) & (state[j] < high[j]));
        if (0..n).fold(false, |any, j| any | outside(j)) {
            for (j, &enthalpy) in state[..n].iter().enumerate() {
                if !(enthalpy >= self.loaded.low[j] && enthalpy < self.loaded.high[j]) {
                    self.reload(slice, j, enthalpy);
                }
            }
        }
        // Equal-length slices, so that the loop below has no bounds checks and becomes vector code.
        let l = &self.loaded;
        let (h0, t0, c0) = (&l.enthalpy[..n], &l.temperature[..n], &l.capacity[..n]);
        let (c2, slope2) = (&l.capacity_squared[..n], &l.twice_slope[..n]);
        let (delta, temperature) = (&mut self.delta[..n], &mut self.temperature[..n]);
        let (capacity, potential) = (&mut self.capacity[..n], &mut self.potential[..n]);
        let [p0, p1, p2, p3, p4] = &l.potential;
        let (p0, p1, p2, p3, p4) = (&p0[..n], &p1[..n], &p2[..n], &p3[..n], &p4[..n]);
        for j in 0..n {
            let dh = state[j] - h0[j];
            let c = (c2[j] + slope2[j] * dh).sqrt();
            let d = 2.0 * dh / (c0[j] + c);
            delta[j] = d;
            temperature[j] = t0[j] + d;
            capacity[j] = c;
            potential[j] = p0[j] + d * (p1[j] + d * (p2[j] + d * (p3[j] + d * p4[j])));
        }
        if slice.moving {
            let [a0, a1, a2, a3] = &l.area;
            let (a0, a1, a2, a3) = (&a0[..n], &a1[..n], &a2[..n], &a3[..n]);
            let area = &mut self.area[..n];
            for j in 0..n {
                let d = delta[j];
                area[j] = a0[j] + d * (a1[j] + d * (a2[j] + d * a3[j]));
            }
        }
        let nv = slice.vertices();
        self.potential_in.copy_from_slice(&self.potential[..nv]);
        self.area_in.copy_from_slice(&self.area[..nv]);
        for (side, &vertex) in self.loaded.joint_side.iter().zip(&slice.joints) {
            let d = self.delta[vertex];
            self.potential_in[vertex] = polynomial(&side.potential, d);
            if slice.moving {
                self.area_in[vertex] = polynomial(&side.area, d);
            }
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

    /// s at vertices and middles from the ring areas, from the inside outward.
    fn follow_areas(&mut self, slice: &Slice) {
        let nv = slice.vertices();
        let mut s = slice.inner + slice.core.map_or(0.0, |core| core.area * self.core_area);
        self.square[0] = s;
        for i in 0..slice.links() {
            let (a, c, b) = (self.area[i], self.area[nv + i], self.area_in[i + 1]);
            let volume = self.double_volume[i];
            self.square_middle[i] = s + volume * (5.0 * a + 8.0 * c - b) / 24.0;
            s += volume * (a + 4.0 * c + b) / 6.0;
            self.square[i + 1] = s;
        }
    }

    fn conductances(&mut self) {
        let nl = self.k_ab.len();
        let (s, middle, inverse) = (&self.square[..nl + 1], &self.square_middle[..nl], &self.inverse_mass[..nl]);
        let (k_ab, k_ac, k_cb) = (&mut self.k_ab[..nl], &mut self.k_ac[..nl], &mut self.k_cb[..nl]);
        for i in 0..nl {
            let (a, c, b) = (s[i], middle[i], s[i + 1]);
            k_ab[i] = (3.0 * a - 4.0 * c + 3.0 * b) * inverse[i];
            k_ac[i] = -(12.0 * a + 4.0 * b) * inverse[i];
            k_cb[i] = -(4.0 * a + 12.0 * b) * inverse[i];
        }
    }

    /// Outer radius, m (flat: 1, so that fluxes are per area).
    pub fn surface_radius(&self) -> f64 {
        self.square[self.square.len() - 1].sqrt()
    }

    /// Radius at a vertex, m (flat: 1).
    pub fn vertex_radius(&self, vertex: usize) -> f64 {
        self.square[vertex].sqrt()
    }

    /// Surface temperature, degC.
    pub fn surface_temperature(&self) -> f64 {
        self.temperature[self.square.len() - 1]
    }

    /// Mass-weighted rates m dh/dt of every node, of the core, and of the heat given off, per radian.
    pub fn rates(&self, slice: &Slice, surface: &Surface, distance: f64, rates: &mut [f64]) {
        self.conduct(slice, &self.k_ab, &self.k_ac, &self.k_cb, rates);
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

    /// Conduction alone with given conductances; overwrites the rates of all nodes.
    fn conduct(&self, slice: &Slice, k_ab: &[f64], k_ac: &[f64], k_cb: &[f64], rates: &mut [f64]) {
        let (nv, nl) = (slice.vertices(), slice.links());
        let (vertices, middles) = rates[..nv + nl].split_at_mut(nv);
        let (phi, phi_middle) = self.potential[..nv + nl].split_at(nv);
        let phi_in = &self.potential_in[..nv];
        let (k_ab, k_ac, k_cb) = (&k_ab[..nl], &k_ac[..nl], &k_cb[..nl]);
        let mut carry = 0.0;
        for i in 0..nl {
            let (a, c, b) = (phi[i], phi_middle[i], phi_in[i + 1]);
            let ends = k_ab[i] * (a - b);
            let inner = k_ac[i] * (a - c);
            let outer = k_cb[i] * (b - c);
            vertices[i] = carry + ends + inner;
            middles[i] = -inner - outer;
            carry = outer - ends;
        }
        vertices[nl] = carry;
    }

    /// kappa of every node on its outer side and of every vertex on its inner side.
    pub fn kappas(&self, slice: &Slice, outer: &mut [f64], inner: &mut [f64]) {
        let p = &self.loaded.potential;
        for (j, kappa) in outer.iter_mut().enumerate().take(slice.nodes()) {
            let d = self.delta[j];
            *kappa = p[1][j] + d * (2.0 * p[2][j] + d * (3.0 * p[3][j] + d * 4.0 * p[4][j]));
        }
        inner.copy_from_slice(&outer[..slice.vertices()]);
        for (side, &vertex) in self.loaded.joint_side.iter().zip(&slice.joints) {
            inner[vertex] = side.kappa(self.delta[vertex]);
        }
    }

    /// s of a vertex, m2 (flat: 1).
    pub fn square(&self, vertex: usize) -> f64 {
        self.square[vertex]
    }

    /// s of a link's middle, m2 (flat: 1).
    pub fn square_middle(&self, link: usize) -> f64 {
        self.square_middle[link]
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
