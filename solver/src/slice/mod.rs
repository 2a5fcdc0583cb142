//! A slice of the product as nodes and links of fixed mass, and where each unknown stands in a state.
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

pub mod build;
pub mod enthalpy;
pub mod mesh;

use std::sync::Arc;

use crate::slice::enthalpy::Enthalpy;

/// A slice of the product cut into nodes of fixed mass.
#[derive(Clone, Debug)]
pub struct Slice {
    /// Flat product (s = 1) or round.
    pub flat: bool,
    /// Whether any area ratio varies.
    pub moving: bool,
    /// r^2 (flat: x) of the inner edge at the die: bore, before any lumped core.
    pub inner: f64,
    /// Property tables: layers first, joints behind.
    pub tables: Arc<Vec<Enthalpy>>,
    /// Table of each node: vertices, then middles.
    pub table_of: Vec<usize>,
    /// Mass of each node: vertices, then middles (1 for the idle middle of a contact).
    pub mass: Vec<f64>,
    /// Mass inside each node, vertices, then middles: the coordinate of the scheme.
    pub coordinate: Vec<f64>,
    /// Mass of each link (0 for a contact).
    pub link_mass: Vec<f64>,
    /// Density at the die of each link's layer.
    pub link_density: Vec<f64>,
    /// Contacts as (link, conductance W/(m2 K)).
    pub contacts: Vec<(usize, f64)>,
    /// Vertices that are joints with one temperature.
    pub joints: Vec<usize>,
    /// A metal core solved as one node.
    pub core: Option<Core>,
    /// Vertices of each layer: first and last; `None` for a lumped core.
    pub layers: Vec<Option<(usize, usize)>>,
}

/// A metal core solved as one node: F = G (T_c - T_A), 1/G = 1/G_i + 1/(r h_c).
#[derive(Clone, Copy, Debug)]
pub struct Core {
    /// Mass per radian (flat: per area).
    pub mass: f64,
    /// Its table.
    pub table: usize,
    /// Area at the die over 2 pi x 2, that is r_out^2 - r_in^2 (flat: thickness).
    pub area: f64,
    /// G_i / k: conductance from the mean to the outer face.
    pub shape: f64,
    /// T_axis = T_c + axis (T_c - T_face).
    pub axis: f64,
    /// Contact conductance to the plastic, W/(m2 K); infinite when perfect.
    pub contact: f64,
    /// Density at the die, kg/m3.
    pub density: f64,
}

impl Slice {
    /// Number of vertices.
    pub fn vertices(&self) -> usize {
        self.link_mass.len() + 1
    }

    /// Number of links.
    pub fn links(&self) -> usize {
        self.link_mass.len()
    }

    /// Number of nodes with a place: vertices and middles.
    pub fn nodes(&self) -> usize {
        self.mass.len()
    }

    /// Whether any of its tables is steep.
    pub fn is_steep(&self) -> bool {
        self.tables.iter().any(Enthalpy::is_steep)
    }

    /// Length of a state: nodes, lumped core (unused entry where there is none), heat given off per radian.
    pub fn unknowns(&self) -> usize {
        self.nodes() + 2
    }

    /// Index of the lumped core in a state.
    pub fn core_index(&self) -> usize {
        self.nodes()
    }

    /// Index of the heat given off in a state.
    pub fn heat_index(&self) -> usize {
        self.nodes() + 1
    }

    /// Number of intervals, the lumped core counted as one.
    pub fn cells(&self) -> usize {
        self.link_mass.iter().filter(|&&mass| mass > 0.0).count() + usize::from(self.core.is_some())
    }

    /// Enthalpy of all nodes per radian (flat: per area), in the order in which the balance sums it.
    pub fn content(&self, state: &[f64]) -> f64 {
        let nodes = self.nodes();
        let idle = |link: usize| self.link_mass[link] == 0.0;
        let vertices = self.vertices();
        let mut sum = 0.0;
        for (j, (&mass, &enthalpy)) in self.mass.iter().zip(&state[..nodes]).enumerate() {
            if j < vertices || !idle(j - vertices) {
                sum += mass * enthalpy;
            }
        }
        sum + self.core.map_or(0.0, |core| core.mass * state[nodes])
    }
}
