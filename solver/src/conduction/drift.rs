//! How the residual changes in time by itself: through the moving geometry and through the film along the line.
//!
//! The Jacobian of a step leaves the geometry out, so that it stays tridiagonal. Its effect along f(y_n) enters as an
//! explicit time derivative instead: da/dt = a'(T) dT/dt gives ds/dt by the recursion of s, dK/dt by the formulas of K.

use super::wide::conduct;
use super::{Field, Geometry, Slice};
use crate::surface::Surface;
use crate::vector::Vector;

impl Field {
    /// The part of d(rates)/dt that comes from the moving geometry along the given rates, and from the film's change
    /// with distance.
    ///
    /// `rates` and `out` have room for `Slice::room` numbers.
    #[inline(always)]
    pub(crate) fn drift<V: Vector>(
        &self,
        slice: &Slice,
        surface: &Surface,
        distance: f64,
        rates: &[f64],
        room: &mut Drift,
        out: &mut [f64],
    ) {
        out.fill(0.0);
        let (nv, last) = (slice.vertices(), slice.vertices() - 1);
        let surface_temperature = self.temperature[last];
        let per_metre = surface.slopes(surface_temperature, self.heat, distance).per_metre;
        let mut heat = self.surface_radius() * per_metre * surface.speed();
        if slice.moving && !slice.flat {
            self.area_rates::<V>(slice, rates, &mut room.outer);
            room.inner[..nv].copy_from_slice(&room.outer[..nv]);
            for (side, &vertex) in self.loaded.joint_side.iter().zip(&slice.joints) {
                let (d, a) = (self.delta[vertex], &side.area);
                let slope = a[1] + d * (2.0 * a[2] + d * 3.0 * a[3]);
                room.inner[vertex] = slope * rates[vertex] / (slice.mass[vertex] * self.capacity[vertex]);
            }
            // A lumped core's own shrink is thousands of times smaller than the plastic's.
            let of_links: [&[f64]; 2] = [&self.double_volume, &self.inverse_mass];
            room.geometry.follow::<V>(slice, 0.0, [&room.outer, &room.inner], of_links);
            conduct::<V>(slice, [&self.potential, &self.potential_in], &room.geometry, &mut room.passed, out);
            let square = &room.geometry.square;
            for &(link, conductance) in &slice.contacts {
                let rate = square[link] / (2.0 * self.vertex_radius(link));
                let flow = rate * conductance * (self.temperature[link] - self.temperature[link + 1]);
                out[link] -= flow;
                out[link + 1] += flow;
            }
            let radius_rate = square[last] / (2.0 * self.surface_radius());
            heat += radius_rate * surface.flux(surface_temperature, self.heat, distance);
            out[slice.core_index()] = 0.0;
        }
        out[last] -= heat;
        out[slice.heat_index()] = heat;
    }
}

/// Room for `Field::drift`.
#[derive(Clone, Debug)]
pub(crate) struct Drift {
    /// da/dt of nodes on their outer side, and of vertices on their inner side.
    outer: Vec<f64>,
    inner: Vec<f64>,
    geometry: Geometry,
    passed: Vec<f64>,
}

impl Drift {
    /// Room for a slice.
    pub(crate) fn new(slice: &Slice) -> Drift {
        let (nodes, links) = (slice.room(), slice.link_room());
        Drift {
            outer: vec![0.0; nodes],
            inner: vec![0.0; links],
            geometry: Geometry::new(links),
            passed: vec![0.0; links],
        }
    }
}
