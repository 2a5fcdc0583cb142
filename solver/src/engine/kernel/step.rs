//! A step of every lane: factors, six stages of Rodas4P2, error, and the new states.

use super::{
    At, core_conductance, films, flows, flux, interval, inverted, moment, peak, properties, temperature, within,
};
use crate::engine::bundle::Bundle;
use crate::engine::coefficients::{A, C, D, GAMMA, H1, H2};
use crate::engine::rows::{Ends, Forecast, Node, Sides, Unknown, Vertex};
use crate::maths::vector::Vector;

/// Links that a sweep looks ahead.
const AHEAD: usize = 2;
/// Share of the step that the error allows which the next one takes, and the least and the largest factor from one to the next.
const SAFETY: f64 = 0.9;
const SHORTER: f64 = 0.15;
const LONGER: f64 = 6.0;

/// Tries the step of each lane: factors, six stages, error and the factor of the next step.
#[inline(always)]
pub fn attempt<V: Vector>(b: &mut Bundle<V::Row>) {
    if b.structure.steep {
        peak::foresee::<V>(b);
    }
    b.lanes.settled = false;
    factorise::<V>(b);
    sweep::<V, 0, 1>(b);
    sweep::<V, 1, 2>(b);
    sweep::<V, 2, 3>(b);
    sweep::<V, 3, 4>(b);
    sweep::<V, 4, 5>(b);
    sweep::<V, 5, 6>(b);
    if b.lanes.reporting != 0 {
        let error = peak::weigh::<V>(b);
        judged(&mut b.ends, error);
    }
    if b.lanes.dry != 0 {
        highest::<V>(b);
    }
}

/// m c/(gamma dt) of a node; its mass over the step is kept.
#[inline(always)]
fn storage<V: Vector>(node: &mut Node<V::Row>, per_step: V) -> V {
    let mass = V::load(&node.unknown.mass).mul(per_step);
    mass.store(&mut node.unknown.mass_per_step);
    V::all(1.0 / GAMMA).mul(mass).mul(V::load(&node.capacity))
}

/// The matrix of the vertices' temperature increments, factorised; middles, core and heat eliminated.
#[inline(always)]
fn factorise<V: Vector>(b: &mut Bundle<V::Row>) {
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
    let mut cells = b.cells.iter_mut();
    for [middle, outer] in rest.as_chunks_mut::<2>().0 {
        let Some(cell) = cells.next() else { return };
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
fn eliminated<V: Vector>(row: &mut Vertex<V::Row>, diagonal: V, above: [V; 3], [right, below]: [V; 2]) -> [V; 3] {
    let [inverse_above, upper_above, lower] = above;
    let inverse = V::all(1.0).div(lower.mul_sub_from(upper_above, diagonal));
    let upper = right.mul(inverse);
    lower.mul(inverse_above).store(&mut row.lower);
    inverse.store(&mut row.inverse);
    upper.store(&mut row.upper);
    [inverse, upper, below]
}

/// m sum C_ij u_j/dt + d_i dt drift.
#[inline(always)]
fn side<V: Vector, const I: usize>(unknown: &Unknown<V::Row>, drift: V, history: V) -> V {
    let moved = if D[I] == 0.0 { V::all(0.0) } else { drift.mul(V::load(&unknown.drift)) };
    V::load(&unknown.mass_per_step).mul_add(history, moved)
}

/// The part of a right side that its sweep does not make: in stage 0 d_0 dt drift and the rate at y_n.
#[inline(always)]
fn given<V: Vector, const I: usize>(node: &Node<V::Row>, drift: V) -> V {
    if I == 0 {
        return drift.mul_add(V::load(&node.unknown.drift), V::load(&node.unknown.rate));
    }
    V::load(&node.side)
}

/// Replaces the enthalpy of a node in a stage by its delta: some nodes ahead, so that the sweep need not wait for the root and the
/// quotient.
#[inline(always)]
fn invert<V: Vector, const I: usize>(node: &mut Node<V::Row>, curved: bool) {
    if I > 0 {
        let (delta, _) = inverted(&node.segment, curved, V::load(&node.h));
        delta.store(&mut node.h);
    }
}

/// A node in a stage; stage 0 takes the rates of y_n and looks at no property.
#[inline(always)]
fn stage<V: Vector, const I: usize>(node: &Node<V::Row>, inside: Option<&Sides<V::Row>>, curved: bool) -> At<V> {
    if I == 0 {
        let zero = V::all(0.0);
        return At { delta: zero, phi: zero, area: zero, phi_in: zero, area_in: zero };
    }
    properties(&node.segment, inside, curved, V::load(&node.h))
}

/// A stage: outward through properties, flows and elimination, inward through the increments to the states of the next.
#[inline(always)]
fn sweep<V: Vector, const I: usize, const NEXT: usize>(b: &mut Bundle<V::Row>) {
    if I > 0 {
        b.settle();
    }
    let zero = V::all(0.0);
    let dt = V::load(&b.ends.step);
    let drift = V::all(D[I]).mul(dt);
    let mut leaving = zero;
    let mut s = V::load(&b.ends.inner);
    // What the middle inside a vertex, or the core, adds to its right side; the eliminated right side above it.
    let (mut pull, mut above) = (zero, zero);
    let mut core_right = zero;
    let (nodes, core) = b.nodes.split_at_mut(b.structure.nodes());
    let Some((first, rest)) = nodes.split_first_mut() else { return };
    let pairs = rest.as_chunks_mut::<2>().0;
    let cells = &mut b.cells[..pairs.len()];
    let active = b.lanes.active;
    let [first_curved, core_curved] = b.lanes.curved;
    let (first_curved, core_curved) = (first_curved & active != 0, core_curved & active != 0);
    invert::<V, I>(first, first_curved);
    for i in 0..AHEAD.min(pairs.len()) {
        invert::<V, I>(&mut pairs[i][0], cells[i].curved[0] & active != 0);
        invert::<V, I>(&mut pairs[i][1], cells[i].curved[1] & active != 0);
    }
    let mut a;
    if b.structure.core {
        invert::<V, I>(&mut core[0], core_curved);
        let at = stage::<V, I>(&core[0], None, core_curved);
        s = V::load(&b.ends.core_square).mul_add(at.area, s);
        a = stage::<V, I>(first, None, first_curved);
        if I > 0 {
            let (conductance, _) = core_conductance(&b.ends, &core[0], &at, s);
            leaving = zero.sub(conductance.mul(temperature(&core[0], &at).sub(temperature(first, &a))));
        }
        core_right = leaving.add(given::<V, I>(&core[0], drift));
        pull = V::load(&b.ends.core_conductance).mul(core_right).mul(V::load(&b.ends.core_inverse));
    } else {
        a = stage::<V, I>(first, None, first_curved);
    }
    let mut side_of_a = given::<V, I>(first, drift);
    for i in 0..pairs.len() {
        if let (Some([middle, outer]), Some(cell)) = (pairs.get_mut(i + AHEAD), cells.get(i + AHEAD)) {
            invert::<V, I>(middle, cell.curved[0] & active != 0);
            invert::<V, I>(outer, cell.curved[1] & active != 0);
        }
        let (cell, [middle, outer]) = (&mut cells[i], &pairs[i]);
        let [middle_curved, outer_curved] = cell.curved;
        let (middle_curved, outer_curved) = (middle_curved & active != 0, outer_curved & active != 0);
        let mut right = side_of_a.add(pull);
        let next;
        if cell.contact {
            next = stage::<V, I>(outer, None, outer_curved);
            if I > 0 {
                let inner = if i == 0 { &*first } else { &pairs[i - 1][1] };
                let warmer = temperature(inner, &a).sub(temperature(outer, &next));
                let flow = s.sqrt().mul(V::load(&cell.conductance)).mul(warmer);
                right = right.sub(leaving).sub(flow);
                leaving = zero.sub(flow);
            }
            pull = zero;
        } else {
            let c = stage::<V, I>(middle, None, middle_curved);
            next = stage::<V, I>(outer, cell.joint.then_some(&cell.inside), outer_curved);
            let mut of_middle = given::<V, I>(middle, drift);
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
        side_of_a = given::<V, I>(outer, drift);
    }
    // The surface and the heat given off.
    let ends = &b.ends;
    let (mut right, mut heat_right) = (side_of_a.add(pull), V::load(&b.heat.rate));
    if I == 0 {
        heat_right = drift.mul_add(V::load(&b.heat.drift), heat_right);
    } else {
        let (q, history) = combined::<V, I>(&mut b.heat);
        let outer = if let Some([_, outer]) = pairs.last() { outer } else { &*first };
        let t = temperature(outer, &a);
        let (given, x, speed, entry) = moment::<V, I>(ends, b.lanes.ramps, dt);
        let film = films(given, &b.lanes, [t, q, x, speed]);
        let given = s.sqrt().mul(flux(ends, [entry, film], t, q));
        right = right.sub(leaving).sub(given);
        heat_right = side::<V, I>(&b.heat, drift, history).add(given);
    }
    let heat_inverse = V::load(&ends.heat_inverse);
    right = V::load(&ends.water_slope).mul(heat_inverse).mul_add(heat_right, right);
    let mut tau = V::load(&ends.row.lower).mul_sub_from(above, right).mul(V::load(&ends.row.inverse));
    let heat = V::load(&ends.film_slope).mul_add(tau, heat_right).mul(heat_inverse);
    keep::<V, I>(&mut b.heat, heat);
    let mut error = [heat.mul(V::load(&ends.warming)).abs(), heat.mul(zero)];
    let drift = if NEXT < 6 { V::all(D[NEXT]).mul(dt) } else { zero };
    let forecasts = &b.forecasts[..];
    let middles = 2 * pairs.len() + 1;
    let outside = &mut b.lanes.outside.lanes()[..middles + 1];
    for i in (0..pairs.len()).rev() {
        let (cell, [middle, outer]) = (&cells[i], &mut pairs[i]);
        let outer_tau = tau;
        let here = (outer, forecasts.get(2 * i + 2));
        outside[2 * i + 2] = warmed::<V, I, NEXT>(here, [outer_tau, drift], active, &mut error);
        let row = &cell.row;
        tau = V::load(&row.upper).mul_sub_from(outer_tau, V::load(&row.right).mul(V::load(&row.inverse)));
        if !cell.contact {
            let own = V::load(&cell.own).mul(V::load(&cell.right));
            let between = V::load(&cell.from_a).mul_add(tau, V::load(&cell.from_b).mul_add(outer_tau, own));
            let here = (middle, forecasts.get(2 * i + 1));
            outside[2 * i + 1] = warmed::<V, I, NEXT>(here, [between, drift], active, &mut error);
        }
    }
    let here = (first, forecasts.first());
    outside[0] = warmed::<V, I, NEXT>(here, [tau, drift], active, &mut error);
    if b.structure.core {
        let ends = &b.ends;
        let increment = V::load(&ends.core_conductance).mul_add(tau, core_right).mul(V::load(&ends.core_inverse));
        let here = (&mut core[0], forecasts.get(middles));
        outside[middles] = warmed::<V, I, NEXT>(here, [increment, drift], active, &mut error);
    }
    if I == 5 {
        let ends = &b.ends;
        let allowed = V::load(if b.structure.steep { &ends.ordinary } else { &ends.allowed });
        let error = error[0].add(error[1]).div(allowed);
        judged(&mut b.ends, error);
    }
}

/// Keeps the error over what is allowed, and the factor of the next step.
#[inline(always)]
fn judged<V: Vector>(ends: &mut Ends<V::Row>, error: V) {
    error.store(&mut ends.error);
    let factor = V::all(SAFETY).div(error.sqrt().sqrt());
    factor.max(V::all(SHORTER)).min(V::all(LONGER)).store(&mut ends.factor);
}

/// Keeps a node's increment of temperature and takes the node to the next stage: its enthalpy, and the part of its right side
/// that the sweep does not make. Returns the active lanes in which the enthalpy left its segment.
///
/// In stage 5 it is the error: the largest so far, and zero times every one, which is no number where one of them is none.
#[inline(always)]
fn warmed<V: Vector, const I: usize, const NEXT: usize>(
    (node, forecast): (&mut Node<V::Row>, Option<&Forecast<V::Row>>),
    [increment, drift]: [V; 2],
    active: u8,
    [worst, sound]: &mut [V; 2],
) -> u8 {
    let step = V::load(&node.capacity).mul(increment);
    keep::<V, I>(&mut node.unknown, step);
    if I == 5 {
        // Of the capacity at y_n, whichever the matrix took.
        let error = match forecast {
            Some(forecast) if forecast.any => V::load(&forecast.share).mul(increment),
            _ => increment,
        };
        (*worst, *sound) = (error.abs().max(*worst), error.mul_add(V::all(0.0), *sound));
        return 0;
    }
    let (h, history) = combined::<V, NEXT>(&mut node.unknown);
    side::<V, NEXT>(&node.unknown, drift, history).store(&mut node.side);
    h.store(&mut node.h);
    !within(&node.segment, h) & active
}

/// Keeps an increment; of the sixth stage the state that it reaches.
#[inline(always)]
fn keep<V: Vector, const I: usize>(unknown: &mut Unknown<V::Row>, step: V) {
    if I == 5 {
        V::load(&unknown.stage).add(step).store(&mut unknown.fresh);
    } else {
        step.store(&mut unknown.u[I]);
    }
}

/// Highest enthalpy of the surface inside the attempt, at eighths of it and its end, by the dense output.
#[inline(always)]
fn highest<V: Vector>(b: &mut Bundle<V::Row>) {
    let unknown = &b.surface().unknown;
    let (mut g1, mut g2) = (V::all(0.0), V::all(0.0));
    for j in 0..5 {
        let u = V::load(&unknown.u[j]);
        g1 = V::all(H1[j]).mul_add(u, g1);
        g2 = V::all(H2[j]).mul_add(u, g2);
    }
    let (before, now) = (V::load(&unknown.state), V::load(&unknown.fresh));
    let mut found = now;
    for i in 1..8 {
        let theta = i as f64 / 8.0;
        let back = 1.0 - theta;
        let ahead = V::all(back).mul_add(V::all(theta).mul_add(g2, g1), now);
        found = V::all(theta).mul_add(ahead, V::all(back).mul(before)).max(found);
    }
    found.store(&mut b.ends.peak);
}

/// Takes the attempt of the lanes where `taken` is one as their new state.
#[inline(always)]
pub fn accept<V: Vector>(b: &mut Bundle<V::Row>, taken: &V::Row) {
    let taken = V::load(taken);
    if b.structure.steep {
        peak::learn(b, taken);
    }
    take(&mut b.heat, taken);
    for node in &mut b.nodes {
        take(&mut node.unknown, taken);
    }
}

#[inline(always)]
fn take<V: Vector>(unknown: &mut Unknown<V::Row>, taken: V) {
    let mask = V::all(0.5).less(taken);
    let (state, fresh) = (V::load(&unknown.state), V::load(&unknown.fresh));
    V::select(mask, fresh, state).store(&mut unknown.state);
    // Where the step began is kept for the dense output.
    V::select(mask, state, fresh).store(&mut unknown.fresh);
}

/// y + sum A_ij u_j and sum C_ij u_j of stage I.
#[inline(always)]
fn combined<V: Vector, const I: usize>(unknown: &mut Unknown<V::Row>) -> (V, V) {
    let first = V::load(&unknown.u[0]);
    let (a, c) = (A[I], C[I]);
    let mut history = V::all(c[0]).mul(first);
    if I == 5 {
        // The new state's row of A is that of the fifth stage, and its own u with the weight 1.
        for j in 1..5 {
            history = V::all(c[j]).mul_add(V::load(&unknown.u[j]), history);
        }
        let state = V::load(&unknown.stage).add(V::load(&unknown.u[4]));
        state.store(&mut unknown.stage);
        return (state, history);
    }
    let mut state = V::all(a[0]).mul_add(first, V::load(&unknown.state));
    for j in 1..I {
        let u = V::load(&unknown.u[j]);
        state = V::all(a[j]).mul_add(u, state);
        history = V::all(c[j]).mul_add(u, history);
    }
    if I == 4 {
        state.store(&mut unknown.stage);
    }
    (state, history)
}
