//! One lane of a bundle, looked at: its state in the order of a slice, and inside the last accepted step.

use super::bundle::Bundle;
use super::coefficients::{H1, H2};
use super::rows::Unknown;
use crate::film::surface::Surface;
use crate::maths::vector::Row;

/// One lane of a bundle. What is said of y_n holds after `fields`.
pub(crate) struct View<'b, 'a, R: Row> {
    bundle: &'b Bundle<'a, R>,
    lane: usize,
}

impl<R: Row> Clone for View<'_, '_, R> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<R: Row> Copy for View<'_, '_, R> {}

impl<'b, 'a, R: Row> View<'b, 'a, R> {
    pub(crate) fn new(bundle: &'b Bundle<'a, R>, lane: usize) -> Self {
        View { bundle, lane }
    }

    /// Number of nodes with a place.
    fn nodes(&self) -> usize {
        self.bundle.structure.nodes()
    }

    /// The node of the bundle that an index of a slice means.
    fn number(&self, index: usize) -> usize {
        let vertices = self.bundle.structure.links() + 1;
        match index {
            index if index < vertices => 2 * index,
            index if index < self.nodes() => 2 * (index - vertices) + 1,
            _ => self.nodes(),
        }
    }

    /// An unknown by its index in a state.
    fn unknown(&self, index: usize) -> &'b Unknown<R> {
        if index > self.nodes() { &self.bundle.heat } else { &self.bundle.nodes[self.number(index)].unknown }
    }

    /// Temperature of a node at y_n; of the lumped core behind them.
    pub(crate) fn temperature(&self, node: usize) -> f64 {
        self.bundle.nodes[self.number(node)].temperature[self.lane]
    }

    /// Temperatures of every node at y_n.
    pub(crate) fn temperatures(&self) -> Vec<f64> {
        (0..self.nodes()).map(|node| self.temperature(node)).collect()
    }

    /// Temperatures from one vertex out to another, middles among them.
    pub(crate) fn along(&self, first: usize, last: usize) -> impl Iterator<Item = f64> + use<'b, R> {
        let lane = self.lane;
        self.bundle.nodes[2 * first..=2 * last].iter().map(move |node| node.temperature[lane])
    }

    /// Temperature of the lumped core.
    pub(crate) fn core(&self) -> f64 {
        self.bundle.core().temperature[self.lane]
    }

    /// Conductance from the lumped core to the first vertex, and the part of it inside the core.
    pub(crate) fn core_conductances(&self) -> [f64; 2] {
        [self.bundle.ends.core_conductance[self.lane], self.bundle.ends.core_inside[self.lane]]
    }

    /// Surface temperature at y_n.
    pub(crate) fn surface(&self) -> f64 {
        self.bundle.surface().temperature[self.lane]
    }

    /// s at the surface at y_n.
    pub(crate) fn surface_square(&self) -> f64 {
        self.bundle.cells.last().map_or(&self.bundle.ends.square, |cell| &cell.square)[self.lane]
    }

    /// Heat given off since the die per radian, J/m.
    pub(crate) fn heat(&self) -> f64 {
        self.bundle.heat.state[self.lane]
    }

    /// Film coefficient at the start of the last step.
    pub(crate) fn film_before(&self) -> f64 {
        self.bundle.ends.film_now[self.lane]
    }

    /// Highest enthalpy that the surface had inside the last step, at eighths of it.
    pub(crate) fn peak(&self) -> f64 {
        self.bundle.ends.peak[self.lane]
    }

    /// Temperature of the surface at an enthalpy.
    pub(crate) fn surface_at(&self, enthalpy: f64) -> f64 {
        self.table(self.bundle.structure.links()).temperature(enthalpy).0.0
    }

    /// Distance from the leg's entry, m.
    pub(crate) fn distance(&self) -> f64 {
        self.bundle.ends.distance[self.lane]
    }

    /// The medium.
    pub(crate) fn medium(&self) -> Option<&'b Surface<'a>> {
        self.bundle.lanes.surfaces[self.lane].as_ref()
    }

    fn table(&self, node: usize) -> &'b crate::slice::enthalpy::Enthalpy {
        self.bundle.lanes.tables[self.lane].of(self.number(node))
    }

    /// The state in the order of a slice.
    pub(crate) fn state(&self) -> Vec<f64> {
        (0..self.nodes() + 2).map(|index| self.unknown(index).state[self.lane]).collect()
    }

    /// The state into room for it.
    pub(crate) fn copy_state(&self, into: &mut [f64]) {
        for (index, into) in into.iter_mut().enumerate() {
            *into = self.unknown(index).state[self.lane];
        }
    }

    /// Dense output of an unknown inside the last accepted step, `theta` from 0 to 1 (order 3).
    ///
    /// y(theta) = (1 - theta) y_n + theta (y_new + (1 - theta)(g1 + theta g2)).
    pub(crate) fn inside(&self, index: usize, theta: f64) -> f64 {
        let (unknown, lane) = (self.unknown(index), self.lane);
        let (mut g1, mut g2) = (0.0, 0.0);
        for ((h1, h2), u) in H1.iter().zip(&H2).zip(&unknown.u) {
            g1 += h1 * u[lane];
            g2 += h2 * u[lane];
        }
        let back = 1.0 - theta;
        // `accept` left the state before it where the attempt stood.
        back * unknown.fresh[lane] + theta * (unknown.state[lane] + back * (g1 + theta * g2))
    }

    /// The whole state inside the last accepted step.
    pub(crate) fn state_inside(&self, theta: f64, out: &mut [f64]) {
        for (index, out) in out.iter_mut().enumerate() {
            *out = self.inside(index, theta);
        }
    }

    /// Temperature of a node inside the last accepted step.
    pub(crate) fn temperature_inside(&self, node: usize, theta: f64) -> f64 {
        self.table(node).temperature(self.inside(node, theta)).0.0
    }

    /// Surface temperature inside the last accepted step.
    pub(crate) fn surface_inside(&self, theta: f64) -> f64 {
        self.temperature_inside(self.bundle.structure.links(), theta)
    }

    /// Heat given off inside the last accepted step.
    pub(crate) fn heat_inside(&self, theta: f64) -> f64 {
        self.inside(self.nodes() + 1, theta)
    }
}
