//! A slice stepped by hand: for studies of the scheme, and its tests.

use super::bundle::{Bundle, Structure};
use super::coefficients::reach;
use super::field::Field;
use super::view::View;
use super::{accept, attempt, fields, surround};
use crate::film::surface::Surface;
use crate::maths::vector::{One, Path};
use crate::slice::Slice;

/// Steps a slice through a section.
#[derive(Clone, Debug)]
pub struct Stepper<'a> {
    /// The slice.
    pub slice: Slice,
    bundle: Bundle<'a, One>,
    /// The last accepted step in this medium, and the one that was tried, s.
    last: Option<f64>,
    tried: f64,
}

impl<'a> Stepper<'a> {
    /// A slice with its first state: enthalpies of vertices and middles, lumped core, heat given off per radian.
    pub fn new(slice: Slice, state: &[f64]) -> Stepper<'a> {
        let mut bundle = Bundle::new(Path::Single, Structure::of(&slice));
        bundle.fill(0, &slice, state);
        Stepper { slice, bundle, last: None, tried: 0.0 }
    }

    /// Prepares a step from the present state; `distance` from the section's entry, m: at 0 a medium begins.
    pub fn begin(&mut self, surface: &Surface<'a>, distance: f64) {
        self.last = self.last.filter(|_| distance > 0.0);
        self.bundle.surround(0, *surface);
        self.bundle.ends.distance[0] = distance;
        fields(&mut self.bundle);
        surround(&mut self.bundle);
    }

    /// After `begin`: rate of the surface temperature, K/s.
    pub fn surface_rate(&self) -> f64 {
        self.bundle.ends.surface_rate[0]
    }

    /// After `begin`: the fastest rate of the outermost interval, 1/s: kappa/c (K_BB + R h/kappa)/m of the surface vertex.
    pub fn surface_stiffness(&self) -> f64 {
        self.bundle.ends.stiffness[0]
    }

    /// Tries a step of `dt` seconds after `begin`; returns the error estimate in K (largest over all nodes).
    ///
    /// The new state is in place only after `accept`.
    pub fn attempt(&mut self, dt: f64) -> f64 {
        self.attempt_of(dt, 1.0)
    }

    /// As `attempt`, in a slice with a steep table with the error of what is reported alone.
    pub fn attempt_for_report(&mut self, dt: f64) -> f64 {
        self.attempt_of(dt, f64::INFINITY)
    }

    fn attempt_of(&mut self, dt: f64, ordinary: f64) -> f64 {
        self.tried = dt;
        let ends = &mut self.bundle.ends;
        (ends.step[0], ends.reach[0]) = (dt, reach(dt, self.last));
        self.bundle.allow(0, 1.0, ordinary);
        attempt(&mut self.bundle);
        self.bundle.ends.error[0]
    }

    /// Takes the last attempt as the new state.
    pub fn accept(&mut self) {
        accept(&mut self.bundle, &One([1.0]));
        self.last = Some(self.tried);
    }

    /// One step that is taken whatever its error.
    pub fn step(&mut self, surface: &Surface<'a>, distance: f64, dt: f64) {
        self.begin(surface, distance);
        self.attempt(dt);
        self.accept();
    }

    /// The present state.
    pub fn state(&self) -> Vec<f64> {
        View::new(&self.bundle, 0).state()
    }

    /// Temperatures of its nodes, degC.
    pub fn temperatures(&self) -> Vec<f64> {
        Field::of(&self.slice, &self.state()).temperature
    }

    /// Dense output inside the last accepted step, `theta` from 0 to 1 (order 3).
    pub fn inside(&self, theta: f64) -> Vec<f64> {
        let mut state = vec![0.0; self.slice.unknowns()];
        View::new(&self.bundle, 0).state_inside(theta, &mut state);
        state
    }
}
