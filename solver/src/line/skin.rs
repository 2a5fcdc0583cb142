//! The set skin of a layer: where it closes over melt, what that melt has still to lose, how fast the layer sets.

use super::leg::{Line, crossing};
use super::stops::Leg;
use crate::case::{Case, Shape};
use crate::conduction::{Field, Slice};
use crate::material::{Curve, Kind};
use crate::shrink::Radii;
use crate::step::Stepper;
use crate::units::Celsius;

/// Share of the wall that must be set for the skin to bear load.
pub const SKIN: f64 = 0.1;
/// A cooling rate is the mean from so much above the set temperature to so much below it, K: at one temperature a peak of the
/// heat capacity makes it a matter of the mesh.
pub const ASIDE: f64 = 5.0;
/// Pieces of an interval over which the melt's shrink is summed: it has a kink where the melt ends.
const PIECES: usize = 16;

/// What is known of a layer's set skin.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Skin {
    /// Where the outer tenth of the wall had set for the first time, m from the die.
    pub set: Option<f64>,
    /// Volume that the melt inside had then still to lose down to its set temperature, over the layer's volume then.
    pub melt_shrink: f64,
    /// Mean cooling rate of the outer face about the set temperature, K/s; none where it passed that at an entry.
    pub surface_rate: Option<f64>,
    /// The section at whose entry the outer face passed it: sooner after the plunge than a run resolves.
    pub set_at_entry: Option<usize>,
    /// Mean cooling rate of the middle of the wall about the set temperature, K/s.
    pub mid_wall_rate: Option<f64>,
}

/// When a place came within `ASIDE` of its set temperature from above.
#[derive(Clone, Copy, Debug)]
struct Begun {
    /// Since the die, s.
    time: f64,
    /// The section, where that was within the instant of its entry.
    entered: Option<usize>,
}

/// A place that moves with the material: the polynomial in mass through the five nodes about it.
#[derive(Clone, Copy, Debug)]
struct Spot {
    nodes: [usize; 5],
    weights: [f64; 5],
}

impl Spot {
    /// The place of a layer with so much mass outside it.
    fn new(slice: &Slice, first: usize, last: usize, outside: f64) -> Spot {
        let vertices = slice.vertices();
        // Nodes of the layer in order: even places are vertices, odd ones middles.
        let node =
            |place: usize| if place.is_multiple_of(2) { first + place / 2 } else { vertices + first + place / 2 };
        let count = 2 * (last - first) + 1;
        let at = slice.coordinate[last] - outside;
        let above = (0..count).find(|&place| slice.coordinate[node(place)] >= at).unwrap_or(count - 1);
        let used = count.min(5);
        let start = above.saturating_sub(2).min(count - used);
        let mut spot = Spot { nodes: [node(start); 5], weights: [0.0; 5] };
        for i in 0..used {
            spot.nodes[i] = node(start + i);
            let others = (0..used).filter(|&j| j != i).map(|j| slice.coordinate[node(start + j)]);
            let own = slice.coordinate[node(start + i)];
            spot.weights[i] = others.map(|other| (at - other) / (own - other)).product();
        }
        spot
    }

    /// Its temperature where `of` gives that of a node.
    fn temperature(&self, of: impl Fn(usize) -> f64) -> f64 {
        self.nodes.iter().zip(&self.weights).map(|(&node, weight)| weight * of(node)).sum()
    }

    /// Its temperature inside the last step.
    fn inside(&self, stepper: &Stepper, theta: f64) -> f64 {
        let slice = &stepper.slice;
        self.temperature(|node| {
            let table = &slice.tables[slice.table_of[node]];
            table.temperature(stepper.inside_one(theta, node)).0.0
        })
    }
}

/// What is watched of a layer: outer face, inner side of the skin, middle of the wall, each with its last temperature.
#[derive(Clone, Copy, Debug)]
pub(super) struct Watch {
    layer: usize,
    set: f64,
    spots: [Spot; 3],
    last: [f64; 3],
    /// Of the outer face and of the middle.
    begun: [Option<Begun>; 2],
}

/// The watches of a case: one for each plastic layer that has a set temperature.
pub(super) fn watches(case: &Case, radii: &Radii, stepper: &Stepper) -> Vec<Watch> {
    let mut watches = Vec::new();
    for (index, layer) in case.layers.iter().enumerate() {
        let set = layer.material.set_temperature.filter(|_| layer.material.kind == Kind::Plastic);
        let (Some(set), Some((first, last))) = (set, stepper.slice.layers[index]) else { continue };
        let outer = radii.hot[index];
        let inner = if index == 0 { case.bore / 2.0 } else { radii.hot[index - 1] };
        let density = layer.material.density.at(case.die_temperature(index));
        let spots = [0.0, SKIN, 0.5].map(|depth| {
            let deep = depth * (outer - inner);
            let outside = match case.shape {
                Shape::Round => density * deep * (outer - 0.5 * deep),
                Shape::Flat => density * deep,
            };
            Spot::new(&stepper.slice, first, last, outside)
        });
        let now = spots.map(|spot| spot.temperature(|node| stepper.field.temperature[node]));
        watches.push(Watch { layer: index, set: set.0, spots, last: now, begun: [None; 2] });
    }
    watches
}

impl Line<'_> {
    /// Looks whether a skin closed, or a face or middle came past its set temperature, in the accepted step from `before`.
    pub(super) fn watch_skins(&mut self, leg: &Leg, before: f64, dt: f64) {
        for index in 0..self.watches.len() {
            let watch = self.watches[index];
            let [face, skin, _] = watch.spots;
            let Line { run, look, spare, case, instant, watches, .. } = self;
            let (stepper, found) = (&run.stepper, &mut run.skins[watch.layer]);
            let now = watch.spots.map(|spot| spot.temperature(|node| stepper.field.temperature[node]));
            watches[index].last = now;
            // Where in the step a place came down to a level; none where it did not.
            let down_to = |place: usize, level: f64| {
                let (was, is) = (watch.last[place] - level, now[place] - level);
                let spot = watch.spots[place];
                (was > 0.0 && is <= 0.0).then(|| crossing(|theta| spot.inside(stepper, theta) - level, was, is))
            };
            for (which, place) in [0, 2].into_iter().enumerate() {
                let known = [found.surface_rate, found.mid_wall_rate][which].is_some();
                if known || (which == 0 && found.set_at_entry.is_some()) {
                    continue;
                }
                let since_entry = |theta: f64| before + theta * dt;
                let since_die = |theta: f64| leg.start / case.line_speed + since_entry(theta);
                if let Some(theta) = down_to(place, watch.set + ASIDE) {
                    let entered = Some(leg.section).filter(|_| since_entry(theta) < *instant);
                    watches[index].begun[which] = Some(Begun { time: since_die(theta), entered });
                }
                let Some((begun, theta)) = watches[index].begun[which].zip(down_to(place, watch.set - ASIDE)) else {
                    continue;
                };
                let lasted = since_die(theta) - begun.time;
                match which {
                    0 if begun.entered.is_some() && lasted < *instant => found.set_at_entry = begun.entered,
                    0 => found.surface_rate = Some(2.0 * ASIDE / lasted),
                    _ => found.mid_wall_rate = Some(2.0 * ASIDE / lasted),
                }
            }
            // The skin is closed when its inner side and the face are both below.
            let warmest = |at: [f64; 3]| at[0].max(at[1]);
            if found.set.is_none() && warmest(watch.last) > watch.set && warmest(now) <= watch.set {
                let above = |theta: f64| face.inside(stepper, theta).max(skin.inside(stepper, theta)) - watch.set;
                let theta = crossing(above, warmest(watch.last) - watch.set, warmest(now) - watch.set);
                stepper.inside(theta, spare);
                look.update(&stepper.slice, spare);
                let density = &case.layers[watch.layer].material.density;
                found.melt_shrink = melt_shrink(&stepper.slice, look, watch.layer, density, Celsius(watch.set));
                found.set = Some(leg.start + (before + theta * dt) * case.line_speed);
            }
        }
    }
}

/// Volume that what is above `set` in a layer loses down to it, over the volume of the layer:
/// integral of (1/rho(T) - 1/rho(T_set)) dm over T > T_set, over the integral of dm/rho(T).
fn melt_shrink(slice: &Slice, field: &Field, layer: usize, density: &Curve, set: Celsius) -> f64 {
    let Some((first, last)) = slice.layers[layer] else { return 0.0 };
    let (vertices, t) = (slice.vertices(), &field.temperature);
    let at_set = 1.0 / density.at(set);
    let (mut lost, mut volume) = (0.0, 0.0);
    for link in first..last {
        let (inner, middle, outer) = (t[link], t[vertices + link], t[link + 1]);
        for piece in 0..PIECES {
            // The parabola through the three nodes, at the middle of each piece.
            let x = (piece as f64 + 0.5) / PIECES as f64;
            let here =
                inner + x * (4.0 * middle - 3.0 * inner - outer + x * (2.0 * inner + 2.0 * outer - 4.0 * middle));
            let specific = 1.0 / density.at(Celsius(here));
            volume += slice.link_mass[link] * specific;
            if here > set.0 {
                lost += slice.link_mass[link] * (specific - at_set);
            }
        }
    }
    lost / volume
}
