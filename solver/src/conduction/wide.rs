//! The walks over the nodes of one slice, eight neighbours at a time.
//!
//! Every operation is one that IEEE 754 fixes, in an order that does not depend on the width, so that AVX-512, AVX2 and
//! plain code give the same bits. Numbers behind the last node or link are harmless ones (see `Field::new`), so that no walk
//! has a remainder. Sums from node to node are taken in plain loops between two walks: additions alone stand in their chain.

use super::{Field, Slice};
use crate::table::polynomial;
use crate::vector::{LANES, Vector};

/// Radii and conductances of a slice, or their rates of change: K is linear in s.
#[derive(Clone, Debug)]
pub struct Geometry {
    /// s of vertices.
    pub square: Vec<f64>,
    /// s of middles (links).
    pub middle: Vec<f64>,
    /// K_AB of links.
    pub k_ab: Vec<f64>,
    /// K_AC of links.
    pub k_ac: Vec<f64>,
    /// K_CB of links.
    pub k_cb: Vec<f64>,
    /// What s grows by over each link.
    growth: Vec<f64>,
}

impl Geometry {
    /// Room for `links` links; s = 1 everywhere.
    pub(super) fn new(links: usize) -> Geometry {
        let all = |value: f64| vec![value; links];
        Geometry {
            square: all(1.0),
            middle: all(1.0),
            k_ab: all(0.0),
            k_ac: all(0.0),
            k_cb: all(0.0),
            growth: all(0.0),
        }
    }

    /// s from the innermost one and the area ratios (nodes on their outer side, vertices on their inner side), then K.
    #[inline(always)]
    pub(super) fn follow<V: Vector>(
        &mut self,
        slice: &Slice,
        start: f64,
        [area, area_in]: [&[f64]; 2],
        [double_volume, inverse_mass]: [&[f64]; 2],
    ) {
        let (nv, nl) = (slice.vertices(), slice.links());
        let mut i = 0;
        while i < nl {
            let (a, c, b) = (V::read(area, i), V::read(area, nv + i), V::read(area_in, i + 1));
            let volume = V::read(double_volume, i);
            let to_middle = V::all(5.0).mul(a).add(V::all(8.0).mul(c)).sub(b);
            volume.mul(to_middle).div(V::all(24.0)).write(&mut self.middle, i);
            let across = a.add(V::all(4.0).mul(c)).add(b);
            volume.mul(across).div(V::all(6.0)).write(&mut self.growth, i);
            i += LANES;
        }
        let (square, growth) = (&mut self.square[..nv], &self.growth[..nl]);
        let mut s = start;
        square[0] = s;
        for i in 0..nl {
            s += growth[i];
            square[i + 1] = s;
        }
        let mut i = 0;
        while i < nl {
            V::read(&self.square, i).add(V::read(&self.middle, i)).write(&mut self.middle, i);
            i += LANES;
        }
        self.conductances::<V>(inverse_mass, nl);
    }

    /// K of the links from s.
    #[inline(always)]
    pub(super) fn conductances<V: Vector>(&mut self, inverse_mass: &[f64], links: usize) {
        let mut i = 0;
        while i < links {
            let (a, c, b) = (V::read(&self.square, i), V::read(&self.middle, i), V::read(&self.square, i + 1));
            let inverse = V::read(inverse_mass, i);
            let ends = V::all(3.0).mul(a).sub(V::all(4.0).mul(c)).add(V::all(3.0).mul(b));
            ends.mul(inverse).write(&mut self.k_ab, i);
            V::all(-12.0).mul(a).sub(V::all(4.0).mul(b)).mul(inverse).write(&mut self.k_ac, i);
            V::all(-4.0).mul(a).sub(V::all(12.0).mul(b)).mul(inverse).write(&mut self.k_cb, i);
            i += LANES;
        }
    }
}

impl Field {
    /// Temperature, heat capacity, potential and area of every node.
    #[inline(always)]
    pub(super) fn properties<V: Vector>(&mut self, slice: &Slice, state: &[f64]) {
        let n = slice.nodes();
        let mut j = 0;
        while j < n {
            let h = V::read(state, j);
            let within = h.within(V::read(&self.loaded.low, j), V::read(&self.loaded.high, j));
            if within != u8::MAX {
                self.reload_eight(slice, state, j, !within);
            }
            let l = &self.loaded;
            let dh = h.sub(V::read(&l.enthalpy, j));
            let c = V::read(&l.capacity_squared, j).add(V::read(&l.twice_slope, j).mul(dh)).sqrt();
            let d = V::all(2.0).mul(dh).div(V::read(&l.capacity, j).add(c));
            d.write(&mut self.delta, j);
            V::read(&l.temperature, j).add(d).write(&mut self.temperature, j);
            c.write(&mut self.capacity, j);
            horner::<V, 5>(&l.potential, d, j).write(&mut self.potential, j);
            if slice.moving {
                horner::<V, 4>(&l.area, d, j).write(&mut self.area, j);
            }
            j += LANES;
        }
        let nv = slice.vertices();
        self.potential_in[..nv].copy_from_slice(&self.potential[..nv]);
        self.area_in[..nv].copy_from_slice(&self.area[..nv]);
        for (side, &vertex) in self.loaded.joint_side.iter().zip(&slice.joints) {
            let d = self.delta[vertex];
            self.potential_in[vertex] = polynomial(&side.potential, d);
            if slice.moving {
                self.area_in[vertex] = polynomial(&side.area, d);
            }
        }
    }

    /// Loads the segments of those of eight nodes, the first of them `start`, whose bit says that they left theirs.
    #[inline(never)]
    fn reload_eight(&mut self, slice: &Slice, state: &[f64], start: usize, mut left: u8) {
        while left != 0 {
            let node = start + left.trailing_zeros() as usize;
            left &= left - 1;
            // An idle number behind the nodes that is none has no segment.
            if node < slice.nodes() {
                self.reload(slice, node, state[node]);
            }
        }
    }

    /// s and K from the area ratios.
    #[inline(always)]
    pub(super) fn follow_areas<V: Vector>(&mut self, slice: &Slice) {
        let start = slice.inner + slice.core.map_or(0.0, |core| core.area * self.core_area);
        let of_links: [&[f64]; 2] = [&self.double_volume, &self.inverse_mass];
        self.geometry.follow::<V>(slice, start, [&self.area, &self.area_in], of_links);
    }

    /// kappa of every node on its outer side and of every vertex on its inner side.
    #[inline(always)]
    pub(crate) fn kappas<V: Vector>(&self, slice: &Slice, outer: &mut [f64], inner: &mut [f64]) {
        let p = &self.loaded.potential;
        let mut j = 0;
        while j < slice.nodes() {
            let d = V::read(&self.delta, j);
            let (p1, p2, p3, p4) = (V::read(&p[1], j), V::read(&p[2], j), V::read(&p[3], j), V::read(&p[4], j));
            let third = V::all(3.0).mul(p3).add(d.mul(V::all(4.0)).mul(p4));
            p1.add(d.mul(V::all(2.0).mul(p2).add(d.mul(third)))).write(outer, j);
            j += LANES;
        }
        let nv = slice.vertices();
        inner[..nv].copy_from_slice(&outer[..nv]);
        for (side, &vertex) in self.loaded.joint_side.iter().zip(&slice.joints) {
            inner[vertex] = side.kappa(self.delta[vertex]);
        }
    }

    /// da/dt of every node on its outer side, where m dh/dt is `rates`.
    #[inline(always)]
    pub(super) fn area_rates<V: Vector>(&self, slice: &Slice, rates: &[f64], out: &mut [f64]) {
        let a = &self.loaded.area;
        let mut j = 0;
        while j < slice.nodes() {
            let d = V::read(&self.delta, j);
            let (a1, a2, a3) = (V::read(&a[1], j), V::read(&a[2], j), V::read(&a[3], j));
            let slope = a1.add(d.mul(V::all(2.0).mul(a2).add(d.mul(V::all(3.0)).mul(a3))));
            let content = V::read(&self.mass, j).mul(V::read(&self.capacity, j));
            slope.mul(V::read(rates, j)).div(content).write(out, j);
            j += LANES;
        }
    }
}

/// A polynomial of each of eight nodes, lowest order first.
#[inline(always)]
fn horner<V: Vector, const N: usize>(coefficients: &[Vec<f64>; N], x: V, at: usize) -> V {
    let mut sum = V::read(&coefficients[N - 1], at);
    let mut order = N - 1;
    while order > 0 {
        order -= 1;
        sum = V::read(&coefficients[order], at).add(x.mul(sum));
    }
    sum
}

/// Conduction alone with given conductances and potentials (nodes on their outer side, vertices on their inner side);
/// overwrites the rates of all nodes. `passed` is room for one number a link, and one before the first.
#[inline(always)]
pub(super) fn conduct<V: Vector>(
    slice: &Slice,
    [phi, phi_in]: [&[f64]; 2],
    geometry: &Geometry,
    passed: &mut [f64],
    rates: &mut [f64],
) {
    let (nv, nl) = (slice.vertices(), slice.links());
    passed[0] = 0.0;
    let mut i = 0;
    while i < nl {
        let (a, c, b) = (V::read(phi, i), V::read(phi, nv + i), V::read(phi_in, i + 1));
        let ends = V::read(&geometry.k_ab, i).mul(a.sub(b));
        let outer = V::read(&geometry.k_cb, i).mul(b.sub(c));
        outer.sub(ends).write(passed, i + 1);
        i += LANES;
    }
    // The last eight vertices reach into the middles' places, so these come behind.
    let mut i = 0;
    while i < nl {
        let (a, c, b) = (V::read(phi, i), V::read(phi, nv + i), V::read(phi_in, i + 1));
        let ends = V::read(&geometry.k_ab, i).mul(a.sub(b));
        let inner = V::read(&geometry.k_ac, i).mul(a.sub(c));
        V::read(passed, i).add(ends).add(inner).write(rates, i);
        i += LANES;
    }
    rates[nl] = passed[nl];
    let mut i = 0;
    while i < nl {
        let (a, c, b) = (V::read(phi, i), V::read(phi, nv + i), V::read(phi_in, i + 1));
        let outer = V::read(&geometry.k_cb, i).mul(b.sub(c));
        let inner = V::read(&geometry.k_ac, i).mul(a.sub(c));
        V::all(0.0).sub(inner).sub(outer).write(rates, nv + i);
        i += LANES;
    }
}
