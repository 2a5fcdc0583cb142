//! One time step of every lane at once: the scheme of `slice` and of Rodas4P2, arranged for registers.
//!
//! A step is three calls. `fields` (in `start.rs`) brings properties, conductances and conduction to y_n; `surround` adds the film,
//! its slopes and the drift; `attempt` (in `step.rs`) factorises and does the six stages; what sharp latent peaks ask for
//! beside that is in `peak.rs`. A stage is one sweep outward, in which state,
//! properties, geometry, flows and elimination of each node follow each other in registers, and one sweep inward.
//! The derivation of the rearranged formulas is in the book's chapter on numerics.
//!
//! Everything here is inlined into the functions that `engine` compiles for an instruction set. Adaptors of iterators and
//! closures are functions of their own, which would be compiled without those instructions: the kernel does without them.
#![allow(clippy::needless_range_loop)]

mod peak;
mod start;
mod step;

pub use start::{fields, surround};
pub use step::{accept, attempt};

use super::bundle::Lanes;
use super::rows::{Cell, Ends, Node, Segment, Sides};
use crate::engine::coefficients::ABSCISSAE;
use crate::film::layers::{self, Places};
use crate::film::surface::of_speed;
use crate::maths::vector::{Row, Vector};
use crate::units::ZERO_CELSIUS;

/// What a node is at an enthalpy.
#[derive(Clone, Copy)]
struct At<V> {
    /// T - T_segment.
    delta: V,
    /// Potential and area ratio on the outer side.
    phi: V,
    area: V,
    /// The same on the inner side, which differs at joints.
    phi_in: V,
    area_in: V,
}

/// K_AB, -K_AC and -K_CB of a link, or their rates of change: they are linear in s and in the areas.
#[derive(Clone, Copy)]
struct Conductances<V> {
    ab: V,
    ac: V,
    cb: V,
}

#[inline(always)]
fn horner<V: Vector, const N: usize>(coefficients: &[V::Row; N], x: V) -> V {
    let mut sum = V::load(&coefficients[N - 1]);
    for i in (0..N - 1).rev() {
        sum = sum.mul_add(x, V::load(&coefficients[i]));
    }
    sum
}

/// Lanes of an enthalpy that is in the segment of its node.
#[inline(always)]
fn within<V: Vector>(segment: &Segment<V::Row>, h: V) -> u8 {
    h.within(V::load(&segment.low), V::load(&segment.high))
}

/// Temperature above its segment's, and half of the heat capacity: with c = sqrt(c0^2 + 2 c' dh), delta = 2 dh/(c0 + c), all of
/// it halved. Where the segments of all lanes are constant, `curved` is false, and the same bits come without a root.
#[inline(always)]
fn inverted<V: Vector>(segment: &Segment<V::Row>, curved: bool, h: V) -> (V, V) {
    let (dh, half) = (h.sub(V::load(&segment.enthalpy)), V::load(&segment.half_capacity));
    if !curved {
        return (dh.div(half.add(half)), half);
    }
    let half_capacity = V::load(&segment.half_slope).mul_add(dh, half.mul(half)).sqrt();
    (dh.div(half.add(half_capacity)), half_capacity)
}

/// Properties at a temperature above the loaded segment's; `curved` as in `inverted`.
#[inline(always)]
fn properties<V: Vector>(segment: &Segment<V::Row>, inside: Option<&Sides<V::Row>>, curved: bool, delta: V) -> At<V> {
    let (phi, area) = of_side(&segment.side, curved, delta);
    let (mut phi_in, mut area_in) = (phi, area);
    if let Some(side) = inside {
        (phi_in, area_in) = of_side(side, curved, delta);
    }
    At { delta, phi, area, phi_in, area_in }
}

/// Potential and area ratio.
#[inline(always)]
fn of_side<V: Vector>(side: &Sides<V::Row>, curved: bool, delta: V) -> (V, V) {
    if curved {
        return (horner(&side.potential, delta), horner(&side.area, delta));
    }
    let [phi, kappa, ..] = &side.potential;
    (V::load(kappa).mul_add(delta, V::load(phi)), V::load(&side.area[0]))
}

/// Temperature of a node.
#[inline(always)]
fn temperature<V: Vector>(node: &Node<V::Row>, at: &At<V>) -> V {
    at.delta.add(V::load(&node.segment.temperature))
}

/// kappa = dPhi/dT.
#[inline(always)]
fn slope<V: Vector>(side: &Sides<V::Row>, delta: V) -> V {
    let p = &side.potential;
    let high = V::all(4.0).mul(V::load(&p[4])).mul_add(delta, V::all(3.0).mul(V::load(&p[3])));
    high.mul_add(delta, V::load(&p[2]).add(V::load(&p[2]))).mul_add(delta, V::load(&p[1]))
}

/// Conductances of an interval, and s at its outer end, from s at its inner end and the areas of A, C and B.
///
/// With t = s_A/(3L) and P = a_A + 4 a_C + a_B: s_B = s_A + L/(3 rho0) P, K_AB = t + (2 (a_C + a_B) - a_A)/(9 rho0),
/// -K_AC = 8 t + 2 P/(9 rho0), -K_CB = 8 t + 6 P/(9 rho0).
#[inline(always)]
fn interval<V: Vector>(cell: &Cell<V::Row>, s: V, a: V, c: V, b: V) -> (Conductances<V>, V) {
    let (j, t) = (V::load(&cell.j), V::load(&cell.i3).mul(s));
    let cb = c.add(b);
    let p = V::all(4.0).mul_add(c, a.add(b));
    let jp = j.mul(p);
    let eight = V::all(8.0).mul(t);
    let ab = j.mul_add(V::all(2.0).mul_sub(cb, a), t);
    let ac = V::all(2.0).mul_add(jp, eight);
    let cb = V::all(6.0).mul_add(jp, eight);
    (Conductances { ab, ac, cb }, V::load(&cell.w).mul_add(p, s))
}

/// Rates of A and of the middle by conduction, and what leaves A and C for B; `leaving` enters A from inside.
#[inline(always)]
fn flows<V: Vector>(k: Conductances<V>, leaving: V, a: V, c: V, b: V) -> (V, V, V) {
    let (end, inner, outer) = (a.sub(b), a.sub(c), b.sub(c));
    let from_c = k.cb.mul(outer);
    let rate = k.ac.mul_sub_from(inner, k.ab.mul_sub(end, leaving));
    (rate, k.ac.mul_add(inner, from_c), k.ab.mul_add(end, from_c))
}

/// Film coefficients; where a lane's is not given, by its law or table.
#[inline(always)]
fn films<V: Vector>(given: V, lanes: &Lanes<V::Row>, place: [V; 4]) -> V {
    if lanes.laws == 0 {
        return given;
    }
    let mut row = V::Row::all(0.0);
    given.store(&mut row);
    V::load(&films_by_law(&row, lanes, &start::stored(place)))
}

/// Given films, distance, line speed and the medium where the product enters in stage I.
#[inline(always)]
fn moment<V: Vector, const I: usize>(ends: &Ends<V::Row>, ramps: u8, dt: V) -> (V, V, V, V) {
    let (given, speed) = (V::load(&ends.film), V::load(&ends.speed));
    let x = V::all(ABSCISSAE[I]).mul(dt).mul_add(speed, V::load(&ends.distance));
    let entry = V::load(&ends.entry);
    if ramps == 0 {
        return (given, x, speed, entry);
    }
    let ramp = V::all(0.5).less(V::load(&ends.ramp));
    let [film, rated, exponent, floor] = &ends.given;
    let now = V::load(&ends.speeds[I]);
    let followed = of_speed(V::load(film), [now, V::load(rated), V::load(exponent), V::load(floor)]);
    let (x, speed) = (V::select(ramp, V::load(&ends.distances[I]), x), V::select(ramp, now, speed));
    (V::select(ramp, followed, given), x, speed, V::select(ramp, V::load(&ends.media[I]), entry))
}

#[inline(never)]
fn films_by_law<R: Row>(given: &R, lanes: &Lanes<R>, places: &Places<R>) -> R {
    let layers = lanes.layers.lanes;
    let of_layers = if layers == 0 { *given } else { layers::films(lanes.instructions, &lanes.layers, places) };
    let [t, q, x, v] = places;
    let mut film = *given;
    for lane in (0..R::LANES).filter(|lane| lanes.laws >> lane & 1 == 1) {
        if layers >> lane & 1 == 1 {
            film[lane] = of_layers[lane];
        } else if let Some(surface) = &lanes.surfaces[lane] {
            film[lane] = surface.at_speed(v[lane]).film(t[lane], q[lane], x[lane]);
        }
    }
    film
}

/// Heat flux: q'' = (h + eps sigma (T_s + T_m)(T_s^2 + T_m^2)) (T_s - T_m); `entry` is the medium where the product enters.
#[inline(always)]
fn flux<V: Vector>(ends: &Ends<V::Row>, [entry, film]: [V; 2], t: V, q: V) -> V {
    let medium = V::load(&ends.warming).mul_add(q.sub(V::load(&ends.entry_heat)), entry);
    let (ts, tm) = (t.add(V::all(ZERO_CELSIUS)), V::load(&ends.entry_kelvin));
    let radiation = V::load(&ends.radiance).mul(ts.add(tm)).mul(ts.mul_add(ts, tm.mul(tm)));
    film.add(radiation).mul(t.sub(medium))
}

/// Conductance from the lumped core to the first vertex, 1/(1/G_i + 1/(r h_c)), and G_i.
#[inline(always)]
fn core_conductance<V: Vector>(ends: &Ends<V::Row>, core: &Node<V::Row>, at: &At<V>, s: V) -> (V, V) {
    let kappa = slope(&core.segment.side, at.delta);
    let inside = V::load(&ends.core_shape).mul(kappa).mul(at.area).mul(V::load(&ends.core_per_density));
    let r = s.sqrt();
    (inside.mul(r).div(V::load(&ends.core_resistance).mul_add(inside, r)), inside)
}
