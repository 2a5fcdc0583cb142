//! One time step of eight cases at once: the scheme of `conduction` and `step`, arranged for registers.
//!
//! A step is three calls. `fields` brings properties, conductances and conduction to y_n; `surround` adds the film, its
//! slopes and the drift; `attempt` factorises and does the six stages. A stage is one sweep outward, in which state,
//! properties, geometry, flows and elimination of each node follow each other in registers, and one sweep inward.
//! The derivation of the rearranged formulas is in the book's chapter on numerics.

use super::bundle::{Bundle, Cell, Ends, Lanes, Node, Segment, Sides, Unknown, Vertex};
use super::vector::{LANES, Row, Vector};
use crate::step::{A, ABSCISSAE, C, D, GAMMA, H1, H2};
use crate::surface::Surface;
use crate::units::ZERO_CELSIUS;

/// What a node is at an enthalpy.
#[derive(Clone, Copy)]
struct At<V> {
    /// T - T_segment, and T.
    delta: V,
    temperature: V,
    capacity: V,
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
fn horner<V: Vector, const N: usize>(coefficients: &[Row; N], x: V) -> V {
    let mut sum = V::load(&coefficients[N - 1]);
    for row in coefficients[..N - 1].iter().rev() {
        sum = sum.mul_add(x, V::load(row));
    }
    sum
}

/// Lanes of an enthalpy that left the segment of its node.
#[inline(always)]
fn outside<V: Vector>(segment: &Segment, h: V, active: u8) -> u8 {
    !(V::bits(V::load(&segment.low).at_most(h)) & V::bits(h.less(V::load(&segment.high)))) & active
}

/// Properties at an enthalpy inside the loaded segment: c = sqrt(c0^2 + 2 c' dh), delta = 2 dh/(c0 + c).
#[inline(always)]
fn properties<V: Vector>(segment: &Segment, inside: Option<&Sides>, h: V, moving: bool) -> At<V> {
    let dh = h.sub(V::load(&segment.enthalpy));
    let capacity = V::load(&segment.twice_slope).mul_add(dh, V::load(&segment.capacity_squared)).sqrt();
    let delta = dh.add(dh).div(V::load(&segment.capacity).add(capacity));
    let temperature = delta.add(V::load(&segment.temperature));
    let phi = horner(&segment.side.potential, delta);
    let area = if moving { horner(&segment.side.area, delta) } else { V::all(1.0) };
    let (mut phi_in, mut area_in) = (phi, area);
    if let Some(side) = inside {
        phi_in = horner(&side.potential, delta);
        if moving {
            area_in = horner(&side.area, delta);
        }
    }
    At { delta, temperature, capacity, phi, area, phi_in, area_in }
}

/// kappa = dPhi/dT.
#[inline(always)]
fn slope<V: Vector>(side: &Sides, delta: V) -> V {
    let p = &side.potential;
    let high = V::all(4.0).mul(V::load(&p[4])).mul_add(delta, V::all(3.0).mul(V::load(&p[3])));
    high.mul_add(delta, V::load(&p[2]).add(V::load(&p[2]))).mul_add(delta, V::load(&p[1]))
}

/// da/dT of a node along its rate.
#[inline(always)]
fn area_rate<V: Vector>(node: &Node, side: &Sides) -> V {
    let (a, delta) = (&side.area, V::load(&node.delta));
    let high = V::all(3.0).mul(V::load(&a[3])).mul_add(delta, V::load(&a[2]).add(V::load(&a[2])));
    let slope = high.mul_add(delta, V::load(&a[1]));
    slope.mul(V::load(&node.unknown.rate)).div(V::load(&node.unknown.mass).mul(V::load(&node.capacity)))
}

/// Conductances of an interval, and s at its outer end, from s at its inner end and the areas of A, C and B.
///
/// With t = s_A/(3L) and P = a_A + 4 a_C + a_B: s_B = s_A + L/(3 rho0) P, K_AB = t + (2 (a_C + a_B) - a_A)/(9 rho0),
/// -K_AC = 8 t + 2 P/(9 rho0), -K_CB = 8 t + 6 P/(9 rho0).
#[inline(always)]
fn interval<V: Vector>(cell: &Cell, s: V, a: V, c: V, b: V) -> (Conductances<V>, V) {
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

/// y + sum A_ij u_j and sum C_ij u_j of stage I.
#[inline(always)]
fn combined<V: Vector, const I: usize>(unknown: &mut Unknown) -> (V, V) {
    let first = V::load(&unknown.u[0]);
    let (a, c) = (A[I], C[I]);
    let mut history = V::all(c[0]).mul(first);
    if I == 5 {
        // The new state's row of A is that of the fifth stage, and its own u with the weight 1.
        for (c, u) in c.iter().zip(&unknown.u).skip(1) {
            history = V::all(*c).mul_add(V::load(u), history);
        }
        let state = V::load(&unknown.stage).add(V::load(&unknown.u[4]));
        state.store(&mut unknown.stage);
        return (state, history);
    }
    let mut state = V::all(a[0]).mul_add(first, V::load(&unknown.state));
    for ((a, c), u) in a.iter().zip(&c).zip(&unknown.u).take(I).skip(1) {
        let u = V::load(u);
        state = V::all(*a).mul_add(u, state);
        history = V::all(*c).mul_add(u, history);
    }
    if I == 4 {
        state.store(&mut unknown.stage);
    }
    (state, history)
}

/// Film coefficients; where a lane's is not given, by its law or table.
#[inline(always)]
fn films<V: Vector>(given: &Row, lanes: &Lanes, [t, q, x]: [V; 3]) -> V {
    if lanes.laws == 0 {
        return V::load(given);
    }
    let mut places = [Row::all(0.0); 3];
    t.store(&mut places[0]);
    q.store(&mut places[1]);
    x.store(&mut places[2]);
    V::load(&films_by_law(given, &lanes.surfaces, lanes.laws, &places))
}

#[inline(never)]
fn films_by_law(given: &Row, surfaces: &[Option<Surface>; LANES], laws: u8, [t, q, x]: &[Row; 3]) -> Row {
    let mut film = *given;
    for lane in (0..LANES).filter(|lane| laws >> lane & 1 == 1) {
        if let Some(surface) = &surfaces[lane] {
            film.0[lane] = surface.film(t.0[lane], q.0[lane], x.0[lane]);
        }
    }
    film
}

#[inline(never)]
fn slopes_by_law(surfaces: &[Option<Surface>; LANES], laws: u8, rows: &mut [Row; 6]) {
    for lane in (0..LANES).filter(|lane| laws >> lane & 1 == 1) {
        if let Some(surface) = &surfaces[lane] {
            let slopes = surface.slopes(rows[3].0[lane], rows[4].0[lane], rows[5].0[lane]);
            rows[0].0[lane] = slopes.per_kelvin;
            rows[1].0[lane] = slopes.per_metre;
            rows[2].0[lane] = slopes.per_heat;
        }
    }
}

/// Heat flux: q'' = (h + eps sigma (T_s + T_m)(T_s^2 + T_m^2)) (T_s - T_m).
#[inline(always)]
fn flux<V: Vector>(ends: &Ends, film: V, t: V, q: V) -> V {
    let medium = V::load(&ends.warming).mul_add(q.sub(V::load(&ends.entry_heat)), V::load(&ends.entry));
    let (ts, tm) = (t.add(V::all(ZERO_CELSIUS)), V::load(&ends.entry_kelvin));
    let radiation = V::load(&ends.radiance).mul(ts.add(tm)).mul(ts.mul_add(ts, tm.mul(tm)));
    film.add(radiation).mul(t.sub(medium))
}

/// Conductance from the lumped core to the first vertex, 1/(1/G_i + 1/(r h_c)), and G_i.
#[inline(always)]
fn core_conductance<V: Vector>(ends: &Ends, core: &Node, at: &At<V>, s: V) -> (V, V) {
    let kappa = slope(&core.segment.side, at.delta);
    let inside = V::load(&ends.core_shape).mul(kappa).mul(at.area).mul(V::load(&ends.core_per_density));
    let r = s.sqrt();
    (inside.mul(r).div(V::load(&ends.core_resistance).mul_add(inside, r)), inside)
}

/// Brings every node to y_n: segments, temperature, capacity, kappa, potential, conductances, rates by conduction.
#[inline(always)]
pub fn fields<V: Vector>(b: &mut Bundle) {
    let used = b.structure.nodes() + usize::from(b.structure.core);
    for (node, outside_of) in b.nodes[..used].iter_mut().zip(&mut b.lanes.outside) {
        let h = V::load(&node.unknown.state);
        h.store(&mut node.h);
        *outside_of = outside(&node.segment, h, b.lanes.active);
    }
    b.settle();
    let moving = b.structure.moving;
    let zero = V::all(0.0);
    let mut s = V::load(&b.ends.inner);
    let mut leaving = zero;
    let (nodes, core) = b.nodes.split_at_mut(b.structure.nodes());
    let Some((mut inner, rest)) = nodes.split_first_mut() else { return };
    let core_at = if b.structure.core { Some(at_start::<V>(&mut core[0], None, moving)) } else { None };
    if let Some(at) = &core_at {
        s = V::load(&b.ends.core_square).mul_add(at.area, s);
    }
    s.store(&mut b.ends.square);
    let mut a = at_start::<V>(inner, None, moving);
    if let Some(at) = core_at {
        let (conductance, inside) = core_conductance(&b.ends, &core[0], &at, s);
        conductance.store(&mut b.ends.core_conductance);
        inside.store(&mut b.ends.core_inside);
        leaving = zero.sub(conductance.mul(at.temperature.sub(a.temperature)));
        leaving.store(&mut core[0].unknown.rate);
    }
    for (cell, pair) in b.cells.iter_mut().zip(rest.chunks_exact_mut(2)) {
        let [middle, outer] = pair else { return };
        let (rate, next);
        if cell.contact {
            next = at_start::<V>(outer, None, moving);
            let flow = s.sqrt().mul(V::load(&cell.conductance)).mul(a.temperature.sub(next.temperature));
            rate = zero.sub(leaving).sub(flow);
            leaving = zero.sub(flow);
        } else {
            let c = at_start::<V>(middle, None, moving);
            next = at_start::<V>(outer, cell.joint.then_some(&cell.inside), moving);
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
fn at_start<V: Vector>(node: &mut Node, inside: Option<&Sides>, moving: bool) -> At<V> {
    let at = properties(&node.segment, inside, V::load(&node.h), moving);
    at.delta.store(&mut node.delta);
    at.temperature.store(&mut node.temperature);
    at.capacity.store(&mut node.capacity);
    at.phi.store(&mut node.phi);
    slope(&node.segment.side, at.delta).store(&mut node.kappa);
    at
}

/// Adds the surface to the rates at y_n, and what the step needs of it; the drift.
#[inline(always)]
pub fn surround<V: Vector>(b: &mut Bundle) {
    let zero = V::all(0.0);
    let nodes = b.structure.nodes();
    let (Some(cell), Some(outer)) = (b.cells.last_mut(), b.nodes[..nodes].last_mut()) else { return };
    let ends = &mut b.ends;
    let (t, q) = (V::load(&outer.temperature), V::load(&b.heat.state));
    let (speed, x) = (V::load(&ends.speed), V::load(&ends.distance));
    let film = films(&ends.film, &b.lanes, [t, q, x]);
    let ts = t.add(V::all(ZERO_CELSIUS));
    // Of a given film; a law's own are put in by lane.
    let mut per_kelvin = film.add(V::all(4.0).mul(V::load(&ends.radiance)).mul(ts.mul(ts).mul(ts)));
    let mut per_metre = zero;
    let mut per_heat = zero.sub(film.mul(V::load(&ends.warming)));
    if b.lanes.laws != 0 {
        let mut rows = [Row::all(0.0); 6];
        per_kelvin.store(&mut rows[0]);
        per_metre.store(&mut rows[1]);
        per_heat.store(&mut rows[2]);
        t.store(&mut rows[3]);
        q.store(&mut rows[4]);
        x.store(&mut rows[5]);
        slopes_by_law(&b.lanes.surfaces, b.lanes.laws, &mut rows);
        (per_kelvin, per_metre, per_heat) = (V::load(&rows[0]), V::load(&rows[1]), V::load(&rows[2]));
    }
    let radius = V::load(&cell.square).sqrt();
    let flux = flux(ends, film, t, q);
    let heat = radius.mul(flux);
    let film_slope = radius.mul(per_kelvin);
    film_slope.store(&mut ends.film_slope);
    zero.sub(radius.mul(per_heat)).store(&mut ends.water_slope);
    let rate = V::load(&outer.unknown.rate).sub(heat);
    rate.store(&mut outer.unknown.rate);
    heat.store(&mut b.heat.rate);
    let stored = V::load(&outer.unknown.mass).mul(V::load(&outer.capacity));
    rate.div(stored).store(&mut ends.surface_rate);
    let conductance = V::load(&cell.k_cb).sub(V::load(&cell.k_ab));
    let stiffness = conductance.mul_add(V::load(&cell.kappa_in), film_slope.abs()).div(stored);
    stiffness.store(&mut ends.stiffness);
    drift(b, [radius, flux, radius.mul(per_metre).mul(speed)]);
}

/// Change of the rates by the moving geometry along them, and by the film's own (`film`, W/(m s) of the surface).
#[inline(always)]
fn drift<V: Vector>(b: &mut Bundle, [radius, flux, film]: [V; 3]) {
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
        for (cell, pair) in b.cells.iter_mut().zip(rest.chunks_exact_mut(2)) {
            let [middle, outer] = pair else { return };
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

/// Tries the step of each lane: factors, six stages, error and the factor of the next step.
#[inline(always)]
pub fn attempt<V: Vector>(b: &mut Bundle) {
    factorise::<V>(b);
    sweep::<V, 0>(b);
    sweep::<V, 1>(b);
    sweep::<V, 2>(b);
    sweep::<V, 3>(b);
    sweep::<V, 4>(b);
    sweep::<V, 5>(b);
    if b.lanes.dry != 0 {
        peak::<V>(b);
    }
}

/// m c/(gamma dt) of a node; its mass over the step is kept.
#[inline(always)]
fn storage<V: Vector>(node: &mut Node, per_step: V) -> V {
    let mass = V::load(&node.unknown.mass).mul(per_step);
    mass.store(&mut node.unknown.mass_per_step);
    V::all(1.0 / GAMMA).mul(mass).mul(V::load(&node.capacity))
}

/// The matrix of the vertices' temperature increments, factorised; middles, core and heat eliminated.
#[inline(always)]
fn factorise<V: Vector>(b: &mut Bundle) {
    let (one, zero) = (V::all(1.0), V::all(0.0));
    let per_step = one.div(V::load(&b.ends.step));
    let mut carry = zero;
    if b.structure.core {
        let conductance = V::load(&b.ends.core_conductance);
        let core = &mut b.nodes[b.structure.nodes()];
        let inverse = one.div(storage(core, per_step).add(conductance));
        inverse.store(&mut b.ends.core_inverse);
        carry = conductance.mul_sub_from(conductance.mul(inverse), conductance);
    }
    let mut square = V::load(&b.ends.square);
    let Some((first, rest)) = b.nodes[..b.structure.nodes()].split_first_mut() else { return };
    let (mut stored, mut kappa) = (storage(first, per_step), V::load(&first.kappa));
    // Of the row above: its inverse pivot, its upper entry over the pivot, and the entry below the pivot.
    let mut above = [zero; 3];
    for (cell, pair) in b.cells.iter_mut().zip(rest.chunks_exact_mut(2)) {
        let [middle, outer] = pair else { return };
        let kappa_in = V::load(&cell.kappa_in);
        let (own, right, below, next);
        if cell.contact {
            let pull = square.sqrt().mul(V::load(&cell.conductance));
            (own, right, below, next) = (pull, zero.sub(pull), zero.sub(pull), pull);
        } else {
            let kappa_c = V::load(&middle.kappa);
            let (ab, ac, cb) = (V::load(&cell.k_ab), V::load(&cell.k_ac), V::load(&cell.k_cb));
            let pivot = one.div(kappa_c.mul_add(ac.add(cb), storage(middle, per_step)));
            let by_pivot = kappa_c.mul(pivot);
            let (into_a, into_b) = (ac.mul(by_pivot), cb.mul(by_pivot));
            pivot.store(&mut cell.own);
            into_a.store(&mut cell.into_a);
            into_b.store(&mut cell.into_b);
            ac.mul(kappa).mul(pivot).store(&mut cell.from_a);
            cb.mul(kappa_in).mul(pivot).store(&mut cell.from_b);
            let off = ac.mul_sub_from(into_b, ab);
            own = ac.mul_sub_from(into_a, ac.sub(ab)).mul(kappa);
            next = cb.mul_sub_from(into_b, cb.sub(ab)).mul(kappa_in);
            (right, below) = (off.mul(kappa_in), off.mul(kappa));
        }
        above = eliminated(&mut cell.row, stored.add(carry).add(own), above, [right, below]);
        square = V::load(&cell.square);
        (stored, kappa, carry) = (storage(outer, per_step), V::load(&outer.kappa), next);
    }
    let water = V::load(&b.ends.water_slope);
    let heat = one.div(V::all(1.0 / GAMMA).mul_add(per_step, water));
    heat.store(&mut b.ends.heat_inverse);
    per_step.store(&mut b.heat.mass_per_step);
    let film = V::load(&b.ends.film_slope);
    let pull = film.mul_sub_from(water.mul(heat), film);
    eliminated(&mut b.ends.row, stored.add(carry).add(pull), above, [zero, zero]);
}

/// A row of the factors; returns its inverse pivot, its upper entry over the pivot and the entry below its pivot.
#[inline(always)]
fn eliminated<V: Vector>(row: &mut Vertex, diagonal: V, above: [V; 3], [right, below]: [V; 2]) -> [V; 3] {
    let [inverse_above, upper_above, lower] = above;
    let inverse = V::all(1.0).div(lower.mul_sub_from(upper_above, diagonal));
    let upper = right.mul(inverse);
    lower.mul(inverse_above).store(&mut row.lower);
    inverse.store(&mut row.inverse);
    upper.store(&mut row.upper);
    [inverse, upper, below]
}

/// m sum C_ij u_j/dt + d_i dt drift, and in stage 0 the rate at y_n.
#[inline(always)]
fn side<V: Vector, const I: usize>(unknown: &Unknown, drift: V, history: V) -> V {
    if I == 0 {
        return drift.mul_add(V::load(&unknown.drift), V::load(&unknown.rate));
    }
    let moved = if D[I] == 0.0 { V::all(0.0) } else { drift.mul(V::load(&unknown.drift)) };
    V::load(&unknown.mass_per_step).mul_add(history, moved)
}

/// The enthalpy of every node in a stage, and the part of its right side that the sweep does not make.
///
/// Apart from the sweep, so that this need not wait where a lane's segment must be loaded.
#[inline(always)]
fn states<V: Vector, const I: usize>(b: &mut Bundle) {
    let drift = V::all(D[I]).mul(V::load(&b.ends.step));
    let used = b.structure.nodes() + usize::from(b.structure.core);
    for (node, outside_of) in b.nodes[..used].iter_mut().zip(&mut b.lanes.outside) {
        let mut history = V::all(0.0);
        if I > 0 {
            let h;
            (h, history) = combined::<V, I>(&mut node.unknown);
            h.store(&mut node.h);
            *outside_of = outside(&node.segment, h, b.lanes.active);
        }
        side::<V, I>(&node.unknown, drift, history).store(&mut node.side);
    }
    if I > 0 {
        b.settle();
    }
}

/// A node in a stage; stage 0 takes the rates of y_n and looks at no property.
#[inline(always)]
fn stage<V: Vector, const I: usize>(node: &Node, inside: Option<&Sides>, moving: bool) -> At<V> {
    if I == 0 {
        let zero = V::all(0.0);
        let (delta, temperature, capacity) = (zero, zero, zero);
        return At { delta, temperature, capacity, phi: zero, area: zero, phi_in: zero, area_in: zero };
    }
    properties(&node.segment, inside, V::load(&node.h), moving)
}

/// A stage: outward through states, flows and elimination, inward through the increments.
#[inline(always)]
fn sweep<V: Vector, const I: usize>(b: &mut Bundle) {
    states::<V, I>(b);
    let zero = V::all(0.0);
    let moving = b.structure.moving;
    let mut leaving = zero;
    let mut s = V::load(&b.ends.inner);
    // What the middle inside a vertex, or the core, adds to its right side; the eliminated right side above it.
    let (mut pull, mut above) = (zero, zero);
    let mut core_right = zero;
    let (nodes, core) = b.nodes.split_at_mut(b.structure.nodes());
    let Some((first, rest)) = nodes.split_first_mut() else { return };
    let mut a;
    if b.structure.core {
        let at = stage::<V, I>(&core[0], None, moving);
        s = V::load(&b.ends.core_square).mul_add(at.area, s);
        a = stage::<V, I>(first, None, moving);
        if I > 0 {
            let (conductance, _) = core_conductance(&b.ends, &core[0], &at, s);
            leaving = zero.sub(conductance.mul(at.temperature.sub(a.temperature)));
        }
        core_right = leaving.add(V::load(&core[0].side));
        pull = V::load(&b.ends.core_conductance).mul(core_right).mul(V::load(&b.ends.core_inverse));
    } else {
        a = stage::<V, I>(first, None, moving);
    }
    let mut side_of_a = V::load(&first.side);
    for (cell, pair) in b.cells.iter_mut().zip(rest.chunks_exact(2)) {
        let [middle, outer] = pair else { return };
        let mut right = side_of_a.add(pull);
        let next;
        if cell.contact {
            next = stage::<V, I>(outer, None, moving);
            if I > 0 {
                let warmer = a.temperature.sub(next.temperature);
                let flow = s.sqrt().mul(V::load(&cell.conductance)).mul(warmer);
                right = right.sub(leaving).sub(flow);
                leaving = zero.sub(flow);
            }
            pull = zero;
        } else {
            let c = stage::<V, I>(middle, None, moving);
            next = stage::<V, I>(outer, cell.joint.then_some(&cell.inside), moving);
            let mut of_middle = V::load(&middle.side);
            if I > 0 {
                let (k, outside) = interval(cell, s, a.area, c.area, next.area_in);
                let (of_a, of_c, left) = flows(k, leaving, a.phi, c.phi, next.phi_in);
                (right, of_middle) = (right.add(of_a), of_middle.add(of_c));
                (leaving, s) = (left, outside);
            }
            of_middle.store(&mut cell.right);
            right = V::load(&cell.into_a).mul_add(of_middle, right);
            pull = V::load(&cell.into_b).mul(of_middle);
        }
        above = V::load(&cell.row.lower).mul_sub_from(above, right);
        above.store(&mut cell.row.right);
        a = next;
        side_of_a = V::load(&outer.side);
    }
    // The surface and the heat given off.
    let ends = &b.ends;
    let dt = V::load(&ends.step);
    let drift = V::all(D[I]).mul(dt);
    let (mut right, mut heat_right) = (side_of_a.add(pull), side::<V, I>(&b.heat, drift, zero));
    if I > 0 {
        let (q, history) = combined::<V, I>(&mut b.heat);
        let t = a.temperature;
        let x = V::all(ABSCISSAE[I]).mul(dt).mul_add(V::load(&ends.speed), V::load(&ends.distance));
        let film = films(&ends.film, &b.lanes, [t, q, x]);
        let given = s.sqrt().mul(flux(ends, film, t, q));
        right = right.sub(leaving).sub(given);
        heat_right = side::<V, I>(&b.heat, drift, history).add(given);
    }
    let heat_inverse = V::load(&ends.heat_inverse);
    right = V::load(&ends.water_slope).mul(heat_inverse).mul_add(heat_right, right);
    let mut tau = V::load(&ends.row.lower).mul_sub_from(above, right).mul(V::load(&ends.row.inverse));
    let heat = V::load(&ends.film_slope).mul_add(tau, heat_right).mul(heat_inverse);
    keep::<V, I>(&mut b.heat, heat);
    let mut error = [heat.mul(V::load(&ends.warming)).abs(), heat.mul(zero)];
    for (cell, pair) in b.cells.iter().zip(rest.chunks_exact_mut(2)).rev() {
        let [middle, outer] = pair else { return };
        let outside = tau;
        error = warmed::<V, I>(outer, outside, error);
        let row = &cell.row;
        tau = V::load(&row.upper).mul_sub_from(outside, V::load(&row.right).mul(V::load(&row.inverse)));
        if !cell.contact {
            let own = V::load(&cell.own).mul(V::load(&cell.right));
            let between = V::load(&cell.from_a).mul_add(tau, V::load(&cell.from_b).mul_add(outside, own));
            error = warmed::<V, I>(middle, between, error);
        }
    }
    error = warmed::<V, I>(first, tau, error);
    if b.structure.core {
        let ends = &b.ends;
        let increment = V::load(&ends.core_conductance).mul_add(tau, core_right).mul(V::load(&ends.core_inverse));
        error = warmed::<V, I>(&mut core[0], increment, error);
    }
    if I == 5 {
        let error = error[0].add(error[1]).div(V::load(&b.ends.allowed));
        error.store(&mut b.ends.error);
        let factor = V::all(0.9).div(error.sqrt().sqrt());
        factor.max(V::all(0.15)).min(V::all(6.0)).store(&mut b.ends.factor);
    }
}

/// Keeps a node's increment of temperature. In stage 5 it is the error: the largest so far, and zero times every one, which
/// is no number where one of them is none.
#[inline(always)]
fn warmed<V: Vector, const I: usize>(node: &mut Node, increment: V, [worst, sound]: [V; 2]) -> [V; 2] {
    let step = V::load(&node.capacity).mul(increment);
    keep::<V, I>(&mut node.unknown, step);
    if I == 5 { [increment.abs().max(worst), increment.mul_add(V::all(0.0), sound)] } else { [worst, sound] }
}

/// Keeps an increment; of the sixth stage the state that it reaches.
#[inline(always)]
fn keep<V: Vector, const I: usize>(unknown: &mut Unknown, step: V) {
    if I == 5 {
        V::load(&unknown.stage).add(step).store(&mut unknown.fresh);
    } else {
        step.store(&mut unknown.u[I]);
    }
}

/// Highest enthalpy of the surface inside the attempt, at eighths of it and its end, by the dense output.
#[inline(always)]
fn peak<V: Vector>(b: &mut Bundle) {
    let unknown = &b.surface().unknown;
    let (mut g1, mut g2) = (V::all(0.0), V::all(0.0));
    for ((h1, h2), u) in H1.iter().zip(&H2).zip(&unknown.u) {
        let u = V::load(u);
        g1 = V::all(*h1).mul_add(u, g1);
        g2 = V::all(*h2).mul_add(u, g2);
    }
    let (before, now) = (V::load(&unknown.state), V::load(&unknown.fresh));
    let mut highest = now;
    for i in 1..8 {
        let theta = i as f64 / 8.0;
        let back = 1.0 - theta;
        let ahead = V::all(back).mul_add(V::all(theta).mul_add(g2, g1), now);
        highest = V::all(theta).mul_add(ahead, V::all(back).mul(before)).max(highest);
    }
    highest.store(&mut b.ends.peak);
}

/// Takes the attempt of the lanes where `taken` is one as their new state.
#[inline(always)]
pub fn accept<V: Vector>(b: &mut Bundle, taken: &Row) {
    let taken = V::load(taken);
    take(&mut b.heat, taken);
    for node in &mut b.nodes {
        take(&mut node.unknown, taken);
    }
}

#[inline(always)]
fn take<V: Vector>(unknown: &mut Unknown, taken: V) {
    let mask = V::all(0.5).less(taken);
    V::select(mask, V::load(&unknown.fresh), V::load(&unknown.state)).store(&mut unknown.state);
}
