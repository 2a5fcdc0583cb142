//! How the residual changes in time by itself: through the moving geometry and through the film along the line.
//!
//! The Jacobian of a step leaves the geometry out, so that it stays tridiagonal. Its effect along f(y_n) enters as an
//! explicit time derivative instead: da/dt = a'(T) dT/dt gives ds/dt by the recursion of s, dK/dt by the formulas of K.

use super::{Field, Slice};
use crate::surface::Surface;
use crate::table::Side;

impl Field {
    /// The part of d(rates)/dt that comes from the moving geometry along the given rates, and from the film's change
    /// with distance.
    pub fn drift(
        &self,
        slice: &Slice,
        surface: &Surface,
        distance: f64,
        rates: &[f64],
        scratch: &mut Drift,
        out: &mut [f64],
    ) {
        out.fill(0.0);
        let (nv, last) = (slice.vertices(), slice.vertices() - 1);
        let surface_temperature = self.temperature[last];
        let per_metre = surface.slopes(surface_temperature, self.heat, distance).per_metre;
        let mut heat = self.surface_radius() * per_metre * surface.speed();
        if slice.moving && !slice.flat {
            let area_rate = |j: usize, side: Option<&Side>| {
                let d = self.delta[j];
                let slope = match side {
                    Some(side) => side.area[1] + d * (2.0 * side.area[2] + d * 3.0 * side.area[3]),
                    None => {
                        let a = &self.loaded.area;
                        a[1][j] + d * (2.0 * a[2][j] + d * 3.0 * a[3][j])
                    }
                };
                slope * rates[j] / (slice.mass[j] * self.capacity[j])
            };
            for v in 0..nv {
                scratch.outer[v] = area_rate(v, None);
                scratch.inner[v] = scratch.outer[v];
            }
            for (side, &vertex) in self.loaded.joint_side.iter().zip(&slice.joints) {
                scratch.inner[vertex] = area_rate(vertex, Some(side));
            }
            // A lumped core's own shrink is thousands of times smaller than the plastic's.
            let mut s = 0.0;
            for i in 0..slice.links() {
                let (a, c, b) = (scratch.outer[i], area_rate(nv + i, None), scratch.inner[i + 1]);
                let volume = self.double_volume[i];
                let middle = s + volume * (5.0 * a + 8.0 * c - b) / 24.0;
                let end = s + volume * (a + 4.0 * c + b) / 6.0;
                let inverse = self.inverse_mass[i];
                scratch.k_ab[i] = (3.0 * s - 4.0 * middle + 3.0 * end) * inverse;
                scratch.k_ac[i] = -(12.0 * s + 4.0 * end) * inverse;
                scratch.k_cb[i] = -(4.0 * s + 12.0 * end) * inverse;
                scratch.square[i + 1] = end;
                s = end;
            }
            self.conduct(slice, &scratch.k_ab, &scratch.k_ac, &scratch.k_cb, out);
            for &(link, conductance) in &slice.contacts {
                let rate = scratch.square[link] / (2.0 * self.vertex_radius(link));
                let flow = rate * conductance * (self.temperature[link] - self.temperature[link + 1]);
                out[link] -= flow;
                out[link + 1] += flow;
            }
            let radius_rate = scratch.square[last] / (2.0 * self.surface_radius());
            heat += radius_rate * surface.flux(surface_temperature, self.heat, distance);
        }
        out[last] -= heat;
        out[slice.heat_index()] = heat;
    }
}

/// Room for `Field::drift`.
#[derive(Clone, Debug)]
pub struct Drift {
    outer: Vec<f64>,
    inner: Vec<f64>,
    square: Vec<f64>,
    k_ab: Vec<f64>,
    k_ac: Vec<f64>,
    k_cb: Vec<f64>,
}

impl Drift {
    /// Room for a slice.
    pub fn new(slice: &Slice) -> Drift {
        let (nv, nl) = (slice.vertices(), slice.links());
        let zeros = |n: usize| vec![0.0; n];
        Drift {
            outer: zeros(nv),
            inner: zeros(nv),
            square: zeros(nv),
            k_ab: zeros(nl),
            k_ac: zeros(nl),
            k_cb: zeros(nl),
        }
    }
}
