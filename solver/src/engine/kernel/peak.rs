//! Sharp latent peaks: the heat capacity that the matrix takes, and the error of what is reported.
//!
//! The method's matrix is linear about y_n. A node that leaves a peak becomes lighter in the step; taken for as heavy as at y_n,
//! it is cooled too far, and the step refused. So the matrix takes the secant (h* - h)/(T(h*) - T) to a forecast h* of the node
//! where that is smaller. Stages and fluxes are what they were, and what one node loses another gains: the books close as before.

use super::{inverted, start, within};
use crate::engine::bundle::{Bundle, Tables};
use crate::engine::rows::{Forecast, Node};
use crate::maths::vector::{Row, Vector};

/// What twice the secant is reduced by: one above 0.9 c changes nothing then.
const REDUCED: f64 = 0.8;

/// Keeps how far the lanes where `taken` is one come in their step.
#[inline(always)]
pub(super) fn learn<V: Vector>(b: &mut Bundle<V::Row>, taken: V) {
    let mask = V::all(0.5).less(taken);
    for (forecast, node) in b.forecasts.iter_mut().zip(&b.nodes) {
        if forecast.any {
            let change = V::load(&node.unknown.fresh).sub(V::load(&node.unknown.state));
            V::select(mask, change, V::load(&forecast.change)).store(&mut forecast.change);
        }
    }
}

/// Puts into every node the heat capacity that the matrix takes: c min(1, max(s, 2 s - 0.8)), s the secant to the forecast
/// over c, so that a secant above 0.9 c changes nothing and none makes a jump.
#[inline(always)]
pub(super) fn foresee<V: Vector>(b: &mut Bundle<V::Row>) {
    let (half, one, two) = (V::all(0.5), V::all(1.0), V::all(2.0));
    let reach = V::load(&b.ends.reach);
    // An attempt before this one may have left segments of its own.
    let first = b.lanes.settled;
    if !first {
        start::settle::<V>(b);
    }
    let (active, tables) = (b.lanes.active, &b.lanes.tables[..]);
    for (number, (node, forecast)) in b.nodes.iter_mut().zip(&mut b.forecasts).enumerate() {
        if !forecast.any {
            continue;
        }
        // Of y_n; an attempt before this one left the secant in the node.
        if first {
            V::load(&node.capacity).store(&mut forecast.capacity);
        }
        let capacity = V::load(&forecast.capacity);
        let ahead = V::load(&forecast.change).mul_add(reach, V::load(&node.unknown.state));
        let beyond = !within(&node.segment, ahead) & active;
        // Within a calm segment no secant is below 0.9 c.
        if beyond | active & !forecast.calm == 0 {
            one.store(&mut forecast.share);
            capacity.store(&mut node.capacity);
            continue;
        }
        // Within a segment c_p is linear in T: the mean of both ends is the secant.
        let (_, end) = inverted(&node.segment, true, ahead);
        let mut share = end.div(capacity).add(half);
        if beyond != 0 {
            let mut rows = [V::Row::all(0.0); 2];
            share.store(&mut rows[0]);
            ahead.store(&mut rows[1]);
            secants(tables, number, (node, forecast), beyond, &mut rows);
            share = V::load(&rows[0]);
        }
        let share = share.max(two.mul_sub(share, V::all(REDUCED))).min(one).max(V::load(&forecast.least));
        share.store(&mut forecast.share);
        capacity.mul(share).store(&mut node.capacity);
    }
}

/// Shares of the lanes whose forecast is beyond the segment of their node; `rows`: shares, forecasts.
#[inline(never)]
fn secants<R: Row>(
    tables: &[Tables],
    number: usize,
    (node, forecast): (&Node<R>, &Forecast<R>),
    lanes: u8,
    [shares, ahead]: &mut [R; 2],
) {
    for lane in (0..R::LANES).filter(|lane| lanes >> lane & 1 == 1 && forecast.least[*lane] < 1.0) {
        let table = tables[lane].of(number);
        let segment = &table.segments[table.find_near(node.segment.index[lane], ahead[lane])];
        let warmer = segment.temperature + segment.inverted(ahead[lane]).0 - node.temperature[lane];
        shares[lane] = (ahead[lane] - node.unknown.state[lane]) / warmer / forecast.capacity[lane];
    }
}

/// The error of the attempt in the lanes of which something is reported: that of what is (both faces of every layer, the core, the
/// layers' means, the water) over what it may have, that of every node over the ordinary.
#[inline(always)]
pub(super) fn weigh<V: Vector>(b: &mut Bundle<V::Row>) -> V {
    let heat = &b.heat;
    let water = V::load(&heat.fresh).sub(V::load(&heat.stage)).mul(V::load(&b.ends.warming));
    let mut reported = water.abs();
    if b.structure.core {
        reported = estimate::<V>(b, b.structure.nodes()).abs().max(reported);
    }
    let mut face = estimate::<V>(b, 0);
    let (mut sum, mut mass) = started(b, 0, face);
    reported = face.abs().max(reported);
    for i in 0..b.cells.len() {
        let outer = estimate::<V>(b, 2 * i + 2);
        if b.cells[i].contact {
            reported = sum.div(mass).abs().max(face.abs().max(outer.abs().max(reported)));
            (sum, mass) = started(b, 2 * i + 2, outer);
        } else {
            let middle = estimate::<V>(b, 2 * i + 1);
            for (number, error) in [(2 * i + 1, middle), (2 * i + 2, outer)] {
                let own = V::load(&b.nodes[number].unknown.mass);
                (sum, mass) = (own.mul_add(error, sum), mass.add(own));
            }
            if b.cells[i].joint {
                reported = sum.div(mass).abs().max(outer.abs().max(reported));
                (sum, mass) = started(b, 2 * i + 2, outer);
            }
        }
        face = outer;
    }
    reported = sum.div(mass).abs().max(face.abs().max(reported));
    // The sweep has every node's over the ordinary; zero times it is no number where one of them is none.
    let (allowed, ordinary, every) = (V::load(&b.ends.allowed), V::load(&b.ends.ordinary), V::load(&b.ends.error));
    let both = reported.div(allowed).max(every).add(every.mul(V::all(0.0)));
    V::select(allowed.less(ordinary), both, every)
}

/// The error estimate of a node, K.
#[inline(always)]
fn estimate<V: Vector>(b: &Bundle<V::Row>, number: usize) -> V {
    let unknown = &b.nodes[number].unknown;
    let capacity = if b.forecasts[number].any { &b.forecasts[number].capacity } else { &b.nodes[number].capacity };
    V::load(&unknown.fresh).sub(V::load(&unknown.stage)).div(V::load(capacity))
}

/// Sums of a layer that begins with a vertex: mass times error, mass.
#[inline(always)]
fn started<V: Vector>(b: &Bundle<V::Row>, number: usize, error: V) -> (V, V) {
    let mass = V::load(&b.nodes[number].unknown.mass);
    (mass.mul(error), mass)
}
