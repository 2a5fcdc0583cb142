//! The linear system of a step: assembled and factorised once, solved in every stage.
//!
//! Its walks take eight neighbours at a time, as those of `conduction` do; only the recurrence of the vertices goes one by one.

use super::Stepper;
use super::coefficients::GAMMA;
use crate::conduction::Field;
use crate::vector::{LANES, Vector};

impl Stepper {
    /// The matrix of temperature increments of the vertices; middles and lumped core eliminated.
    ///
    /// Row v: (m c/(gamma dt)) tau_v + sum_y K_vy kappa_y tau_y, and the film's slope at the surface.
    #[inline(always)]
    pub(super) fn assemble<V: Vector>(&mut self, dt: f64) {
        let (slice, field) = (&self.slice, &self.field);
        let (nv, nl) = (slice.vertices(), slice.links());
        let rate = 1.0 / (GAMMA * dt);
        let geometry = &field.geometry;
        let (matrix, between) = (&mut self.matrix, &mut self.right);
        let zero = V::all(0.0);
        self.passed[0] = 0.0;
        let mut i = 0;
        while i < nl {
            let (ab, ac, cb) = (V::read(&geometry.k_ab, i), V::read(&geometry.k_ac, i), V::read(&geometry.k_cb, i));
            let kappa = V::read(&self.kappa, i);
            let kappa_in = V::read(&self.kappa_in, i + 1);
            let pivot = storage::<V>(field, rate, nv + i).div(V::read(&self.kappa, nv + i)).sub(ac).sub(cb);
            let inverse = V::all(1.0).div(pivot);
            inverse.write(&mut self.inverse_middle, i);
            let off = ab.sub(ac.mul(cb).mul(inverse));
            off.mul(kappa_in).write(&mut matrix.upper, i);
            off.mul(kappa).write(&mut matrix.lower, i + 1);
            let own = zero.sub(ab);
            own.sub(ac).sub(ac.mul(ac).mul(inverse)).mul(kappa).write(between, i);
            own.sub(cb).sub(cb.mul(cb).mul(inverse)).mul(kappa_in).write(&mut self.passed, i + 1);
            i += LANES;
        }
        let mut i = 0;
        while i < nl {
            storage::<V>(field, rate, i)
                .add(V::read(&self.passed, i))
                .add(V::read(between, i))
                .write(&mut matrix.diagonal, i);
            i += LANES;
        }
        let pull = self.film_slope * (1.0 - self.water_slope / (rate + self.water_slope));
        matrix.diagonal[nl] = field.mass[nl] * field.capacity[nl] * rate + self.passed[nl] + pull;
        for &(link, conductance) in &slice.contacts {
            let conductance = field.vertex_radius(link) * conductance;
            matrix.diagonal[link] += conductance;
            matrix.upper[link] -= conductance;
            matrix.lower[link + 1] -= conductance;
            matrix.diagonal[link + 1] += conductance;
        }
        if let Some(core) = &slice.core {
            let g = field.core_conductance;
            matrix.diagonal[0] += g - g * g / (core.mass * field.core_capacity * rate + g);
        }
        matrix.factor(nv);
    }

    /// Solves for the increments of stage `i` with `rates` as the right-hand side.
    #[inline(always)]
    pub(super) fn solve<V: Vector>(&mut self, i: usize, dt: f64) {
        let (slice, field) = (&self.slice, &self.field);
        let (nv, nl) = (slice.vertices(), slice.links());
        let rate = 1.0 / (GAMMA * dt);
        let (k_ac, k_cb) = (&field.geometry.k_ac, &field.geometry.k_cb);
        let (rates, right) = (&self.rates, &mut self.right);
        self.passed[0] = 0.0;
        let mut l = 0;
        while l < nl {
            let scaled = V::read(rates, nv + l).mul(V::read(&self.inverse_middle, l));
            V::read(k_cb, l).mul(scaled).write(&mut self.passed, l + 1);
            l += LANES;
        }
        let mut l = 0;
        while l < nl {
            let scaled = V::read(rates, nv + l).mul(V::read(&self.inverse_middle, l));
            let own = V::read(rates, l).sub(V::read(&self.passed, l));
            own.sub(V::read(k_ac, l).mul(scaled)).write(right, l);
            l += LANES;
        }
        let heat_index = slice.heat_index();
        let heat_pivot = rate + self.water_slope;
        right[nl] = rates[nl] - self.passed[nl] + self.water_slope * rates[heat_index] / heat_pivot;
        let core_index = slice.core_index();
        let core_pivot = slice.core.map_or(1.0, |core| core.mass * field.core_capacity * rate + field.core_conductance);
        let core_right = rates[core_index];
        if slice.core.is_some() {
            right[0] += field.core_conductance * core_right / core_pivot;
        }
        self.matrix.solve(&mut right[..nv]);
        let u = &mut self.increments[i];
        // The last eight vertices reach into the middles' places, and these into those of core and heat.
        let mut v = 0;
        while v < nv {
            V::read(&field.capacity, v).mul(V::read(right, v)).write(u, v);
            v += LANES;
        }
        let mut l = 0;
        while l < nl {
            let of_a = V::read(k_ac, l).mul(V::read(&self.kappa, l)).mul(V::read(right, l));
            let of_b = V::read(k_cb, l).mul(V::read(&self.kappa_in, l + 1)).mul(V::read(right, l + 1));
            let w = V::read(rates, nv + l).sub(of_a.add(of_b)).mul(V::read(&self.inverse_middle, l));
            w.mul(V::read(&field.capacity, nv + l)).div(V::read(&self.kappa, nv + l)).write(u, nv + l);
            l += LANES;
        }
        u[core_index] = 0.0;
        if slice.core.is_some() {
            let tau = (core_right + field.core_conductance * right[0]) / core_pivot;
            u[core_index] = field.core_capacity * tau;
        }
        u[heat_index] = (rates[heat_index] + self.film_slope * right[nl]) / heat_pivot;
    }
}

/// m c/(gamma dt) of eight nodes.
#[inline(always)]
fn storage<V: Vector>(field: &Field, rate: f64, at: usize) -> V {
    V::read(&field.mass, at).mul(V::read(&field.capacity, at)).mul(V::all(rate))
}
