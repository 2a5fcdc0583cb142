//! The start of a step: properties, conductances, rates, film and drift at y_n.

use super::{At, core_conductance, flows, flux, interval, inverted, properties, slope, temperature, within};
use crate::engine::bundle::{Bundle, Lanes};
use crate::engine::rows::{Ends, Node, Sides};
use crate::film::layers::{self, Places};
use crate::film::surface::Slopes;
use crate::maths::vector::{Row, Vector};
use crate::units::ZERO_CELSIUS;

/// Loads the segments of y_n.
#[inline(always)]
pub(super) fn settle<V: Vector>(b: &mut Bundle<V::Row>) {
    let used = b.structure.nodes() + usize::from(b.structure.core);
    let active = b.lanes.active;
    let outside = &mut b.lanes.outside.lanes()[..used];
    for number in 0..used {
        let node = &mut b.nodes[number];
        let h = V::load(&node.unknown.state);
        h.store(&mut node.h);
        outside[number] = !within(&node.segment, h) & active;
    }
    b.settle();
    b.lanes.settled = true;
}

/// Brings every node to y_n: segments, temperature, capacity, kappa, potential, conductances, rates by conduction.
#[inline(always)]
pub fn fields<V: Vector>(b: &mut Bundle<V::Row>) {
    settle::<V>(b);
    let zero = V::all(0.0);
    let mut s = V::load(&b.ends.inner);
    let mut leaving = zero;
    let (nodes, core) = b.nodes.split_at_mut(b.structure.nodes());
    let Some((mut inner, rest)) = nodes.split_first_mut() else { return };
    let core_at = if b.structure.core { Some(at_start::<V>(&mut core[0], None)) } else { None };
    if let Some(at) = &core_at {
        s = V::load(&b.ends.core_square).mul_add(at.area, s);
    }
    s.store(&mut b.ends.square);
    let mut a = at_start::<V>(inner, None);
    if let Some(at) = core_at {
        let (conductance, inside) = core_conductance(&b.ends, &core[0], &at, s);
        conductance.store(&mut b.ends.core_conductance);
        inside.store(&mut b.ends.core_inside);
        leaving = zero.sub(conductance.mul(temperature(&core[0], &at).sub(temperature(inner, &a))));
        leaving.store(&mut core[0].unknown.rate);
    }
    let mut cells = b.cells.iter_mut();
    for [middle, outer] in rest.as_chunks_mut::<2>().0 {
        let Some(cell) = cells.next() else { return };
        let (rate, next);
        if cell.contact {
            next = at_start::<V>(outer, None);
            let flow =
                s.sqrt().mul(V::load(&cell.conductance)).mul(temperature(inner, &a).sub(temperature(outer, &next)));
            rate = zero.sub(leaving).sub(flow);
            leaving = zero.sub(flow);
        } else {
            let c = at_start::<V>(middle, None);
            next = at_start::<V>(outer, cell.joint.then_some(&cell.inside));
            let (k, outside) = interval(cell, s, a.area, c.area, next.area_in);
            k.ab.store(&mut cell.k_ab);
            k.ac.store(&mut cell.k_ac);
            k.cb.store(&mut cell.k_cb);
            let (of_a, of_c, left) = flows(k, leaving, a.phi, c.phi, next.phi_in);
            of_c.store(&mut middle.unknown.rate);
            (rate, leaving, s) = (of_a, left, outside);
        }
        rate.store(&mut inner.unknown.rate);
        s.store(&mut cell.square);
        next.phi_in.store(&mut cell.phi_in);
        let kappa_in = if cell.joint { slope(&cell.inside, next.delta) } else { V::load(&outer.kappa) };
        kappa_in.store(&mut cell.kappa_in);
        (a, inner) = (next, outer);
    }
    zero.sub(leaving).store(&mut inner.unknown.rate);
}

/// One node at y_n, with all that is kept of it.
#[inline(always)]
fn at_start<V: Vector>(node: &mut Node<V::Row>, inside: Option<&Sides<V::Row>>) -> At<V> {
    let (delta, half_capacity) = inverted(&node.segment, true, V::load(&node.unknown.state));
    let at = properties(&node.segment, inside, true, delta);
    delta.store(&mut node.delta);
    let warm = temperature(node, &at);
    warm.store(&mut node.temperature);
    half_capacity.add(half_capacity).store(&mut node.capacity);
    at.phi.store(&mut node.phi);
    slope(&node.segment.side, at.delta).store(&mut node.kappa);
    at
}

/// Adds the surface to the rates at y_n, and what the step needs of it; the drift.
#[inline(always)]
pub fn surround<V: Vector>(b: &mut Bundle<V::Row>) {
    let zero = V::all(0.0);
    let nodes = b.structure.nodes();
    let Some(outer) = b.nodes[..nodes].last_mut() else { return };
    let ends = &mut b.ends;
    let (t, q) = (V::load(&outer.temperature), V::load(&b.heat.state));
    let (speed, x) = (V::load(&ends.speed), V::load(&ends.distance));
    let mut film = V::load(&ends.film);
    let ts = t.add(V::all(ZERO_CELSIUS));
    // Of a given film; a law's own are put in by lane.
    let mut per_kelvin = film.add(V::all(4.0).mul(V::load(&ends.radiance)).mul(ts.mul(ts).mul(ts)));
    let mut per_metre = zero;
    let mut per_heat = zero.sub(film.mul(V::load(&ends.warming)));
    film.store(&mut ends.film_now);
    let mut per_speed = if b.lanes.ramps == 0 { zero } else { of_given_film(ends, film, [t, q, speed]) };
    if b.lanes.laws != 0 {
        let places = stored([t, q, x, speed]);
        let mut slopes = stored([per_kelvin, per_metre, per_heat, per_speed]);
        slopes_by_law(&b.lanes, &places, &mut ends.film_now, &mut slopes);
        let [kelvin, metre, heat, with_speed] = &slopes;
        film = V::load(&ends.film_now);
        [per_kelvin, per_metre] = [V::load(kelvin), V::load(metre)];
        [per_heat, per_speed] = [V::load(heat), V::load(with_speed)];
    }
    // A product of one node conducts nothing.
    let (square, conductance) = match b.cells.last() {
        Some(cell) if !cell.contact => {
            let conductance = V::load(&cell.k_cb).sub(V::load(&cell.k_ab));
            (V::load(&cell.square), conductance.mul(V::load(&cell.kappa_in)))
        }
        Some(cell) => (V::load(&cell.square), zero),
        None => (V::load(&ends.square), zero),
    };
    let radius = square.sqrt();
    let flux = flux(ends, [V::load(&ends.entry), film], t, q);
    let heat = radius.mul(flux);
    let film_slope = radius.mul(per_kelvin);
    film_slope.store(&mut ends.film_slope);
    zero.sub(radius.mul(per_heat)).store(&mut ends.water_slope);
    let rate = V::load(&outer.unknown.rate).sub(heat);
    rate.store(&mut outer.unknown.rate);
    heat.store(&mut b.heat.rate);
    let capacity = V::load(&outer.unknown.mass).mul(V::load(&outer.capacity));
    rate.div(capacity).store(&mut ends.surface_rate);
    conductance.add(film_slope.abs()).div(capacity).store(&mut ends.stiffness);
    let mut changing = radius.mul(per_metre).mul(speed);
    if b.lanes.ramps != 0 {
        let ramp = V::all(0.5).less(V::load(&ends.ramp));
        let faster = radius.mul(per_speed).mul_add(V::load(&ends.acceleration), changing);
        // The flux falls as the medium warms.
        let faster = radius.mul(film).mul_sub_from(V::load(&ends.medium_rate), faster);
        changing = V::select(ramp, faster, changing);
    }
    drift(b, [radius, flux, changing]);
}

/// Derivative of the flux with the line speed where the film is a given number that follows it: n h/v above its floor.
#[inline(always)]
fn of_given_film<V: Vector>(ends: &Ends<V::Row>, film: V, [t, q, speed]: [V; 3]) -> V {
    let [_, _, exponent, floor] = &ends.given;
    let medium = V::load(&ends.warming).mul_add(q.sub(V::load(&ends.entry_heat)), V::load(&ends.entry));
    let (zero, floor) = (V::all(0.0), V::load(floor));
    let per_speed = V::load(exponent).mul(film).div(speed).mul(t.sub(medium));
    let moving = V::select(zero.less(speed), per_speed, zero);
    V::select(floor.less(film), moving, zero)
}

/// Four vectors in memory.
#[inline(always)]
pub(super) fn stored<V: Vector>([a, b, c, d]: [V; 4]) -> [V::Row; 4] {
    let mut rows = [V::Row::all(0.0); 4];
    a.store(&mut rows[0]);
    b.store(&mut rows[1]);
    c.store(&mut rows[2]);
    d.store(&mut rows[3]);
    rows
}

/// Change of the rates by the moving geometry along them, and by the film's own (`film`, W/(m s) of the surface).
#[inline(always)]
fn drift<V: Vector>(b: &mut Bundle<V::Row>, [radius, flux, film]: [V; 3]) {
    let zero = V::all(0.0);
    let mut heat = film;
    let mut leaving = zero;
    let nodes = &mut b.nodes[..b.structure.nodes()];
    let last;
    if b.structure.moving {
        let Some((mut inner, rest)) = nodes.split_first_mut() else { return };
        // A lumped core's own shrink is thousands of times smaller than the plastic's.
        let mut s = zero;
        let mut square = V::load(&b.ends.square);
        let mut a = area_rate::<V>(inner, &inner.segment.side);
        let mut cells = b.cells.iter_mut();
        for [middle, outer] in rest.as_chunks_mut::<2>().0 {
            let Some(cell) = cells.next() else { return };
            let next = area_rate::<V>(outer, &outer.segment.side);
            let drift;
            if cell.contact {
                let warmer = V::load(&inner.temperature).sub(V::load(&outer.temperature));
                let r = square.sqrt();
                let flow = s.div(r.add(r)).mul(V::load(&cell.conductance)).mul(warmer);
                drift = zero.sub(leaving).sub(flow);
                leaving = zero.sub(flow);
            } else {
                let c = area_rate::<V>(middle, &middle.segment.side);
                let next_in = if cell.joint { area_rate::<V>(outer, &cell.inside) } else { next };
                let (k, outside) = interval(cell, s, a, c, next_in);
                let (phi_a, phi_c) = (V::load(&inner.phi), V::load(&middle.phi));
                let (of_a, of_c, left) = flows(k, leaving, phi_a, phi_c, V::load(&cell.phi_in));
                of_c.store(&mut middle.unknown.drift);
                (drift, leaving, s) = (of_a, left, outside);
            }
            drift.store(&mut inner.unknown.drift);
            square = V::load(&cell.square);
            (a, inner) = (next, outer);
        }
        heat = s.div(radius.add(radius)).mul_add(flux, heat);
        last = inner;
    } else {
        let Some(inner) = nodes.last_mut() else { return };
        last = inner;
    }
    zero.sub(leaving).sub(heat).store(&mut last.unknown.drift);
    heat.store(&mut b.heat.drift);
}

/// The film, and derivatives of the flux by surface temperature, distance, heat and speed, of the lanes whose film is not given.
#[inline(never)]
fn slopes_by_law<R: Row>(lanes: &Lanes<R>, places: &Places<R>, film: &mut R, rows: &mut [R; 4]) {
    let layers = lanes.layers.lanes;
    let of_layers = (layers != 0).then(|| layers::slopes(lanes.instructions, &lanes.layers, places));
    let [t, q, x, v] = places;
    for lane in (0..R::LANES).filter(|lane| lanes.laws >> lane & 1 == 1) {
        let Some(surface) = &lanes.surfaces[lane] else { continue };
        let slopes = match &of_layers {
            Some(of_layers) if layers >> lane & 1 == 1 => {
                film[lane] = of_layers.film[lane];
                Slopes {
                    per_kelvin: of_layers.per_kelvin[lane] + surface.radiation_slope(t[lane]),
                    per_metre: of_layers.per_metre[lane],
                    per_heat: of_layers.per_heat[lane],
                    per_speed: of_layers.per_speed[lane],
                }
            }
            _ => {
                film[lane] = surface.at_speed(v[lane]).film(t[lane], q[lane], x[lane]);
                surface.slopes(t[lane], q[lane], x[lane])
            }
        };
        rows[0][lane] = slopes.per_kelvin;
        rows[1][lane] = slopes.per_metre;
        rows[2][lane] = slopes.per_heat;
        rows[3][lane] = slopes.per_speed;
    }
}

/// da/dT of a node along its rate.
#[inline(always)]
fn area_rate<V: Vector>(node: &Node<V::Row>, side: &Sides<V::Row>) -> V {
    let (a, delta) = (&side.area, V::load(&node.delta));
    let high = V::all(3.0).mul(V::load(&a[3])).mul_add(delta, V::load(&a[2]).add(V::load(&a[2])));
    let slope = high.mul_add(delta, V::load(&a[1]));
    slope.mul(V::load(&node.unknown.rate)).div(V::load(&node.unknown.mass).mul(V::load(&node.capacity)))
}
