//! The set skin of a layer: where it closes over melt, what that melt has still to lose, how fast the layer sets.

use super::Prepared;
use super::step::{Step, crossing};
use crate::case::Shape;
use crate::engine::{Field, Row, View};
use crate::material::{Curve, Kind};
use crate::slice::Slice;
use crate::units::Celsius;

/// Share of the wall that must be set for the skin to bear load.
pub const SKIN: f64 = 0.1;
/// A cooling rate is the mean from so much above the set temperature to so much below it, K: at one temperature a peak of the
/// heat capacity makes it a matter of the mesh.
pub const ASIDE: f64 = 5.0;
/// Pieces of an interval over which the melt's shrink is summed: it has a kink where the melt ends.
const PIECES: usize = 16;
/// What happens sooner after an entry than this share of the earliest time asked for is not resolved: the outermost interval
/// is made for that time, 0.65 sqrt(alpha t), and the chill has not yet crossed it.
const INSTANT: f64 = 0.42;

/// What is known of a layer's set skin.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Skin {
    /// Where the outer tenth of the wall had set for the first time, m from the die.
    pub set: Option<f64>,
    /// Volume that the melt inside had then still to lose down to its set temperature, over the layer's volume then.
    pub melt_shrink: f64,
    /// Mean cooling rate of the outer face about the set temperature, K/s; no more than `resolved`.
    pub surface_rate: Option<f64>,
    /// The section in which the outer face passed it.
    pub set_in: Option<usize>,
    /// The rate of a face that a run still resolves behind a plunge, K/s: that of 10 K in an instant.
    pub resolved: f64,
    /// Mean cooling rate of the middle of the wall about the set temperature, K/s.
    pub mid_wall_rate: Option<f64>,
}

/// When a place came within `ASIDE` of its set temperature from above.
#[derive(Clone, Copy, Debug)]
struct Begun {
    /// Since the die, s.
    time: f64,
    /// Whether that was within the instant of an entry.
    entering: bool,
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
    fn inside<R: Row>(&self, view: View<R>, theta: f64) -> f64 {
        self.temperature(|node| view.temperature_inside(node, theta))
    }
}

/// What is watched of a layer: outer face, inner side of the skin, middle of the wall, each with its last temperature.
#[derive(Clone, Copy, Debug)]
struct Watch {
    layer: usize,
    set: f64,
    /// What happens sooner than this after an entry is not resolved, s.
    instant: f64,
    spots: [Spot; 3],
    last: [f64; 3],
    /// Of the outer face and of the middle.
    begun: [Option<Begun>; 2],
}

/// The set skins of a case on its way, alone or in a lane.
#[derive(Debug)]
pub(crate) struct Skins {
    /// Of every layer; of metals and of plastics without a set temperature nothing is known.
    pub(crate) found: Vec<Skin>,
    watches: Vec<Watch>,
    /// For looking inside a step.
    look: Field,
    state: Vec<f64>,
}

impl Skins {
    /// At the die.
    pub(crate) fn new<R: Row>(of: &Prepared, view: View<R>) -> Skins {
        let resolved = 2.0 * ASIDE / instant(of);
        let found = vec![Skin { resolved, ..Skin::default() }; of.case.layers.len()];
        Skins { found, watches: watches(of, view), look: Field::of(&of.slice, &of.start), state: of.start.clone() }
    }

    /// Looks whether a skin closed in the accepted step, or a face or middle passed its set temperature.
    pub(crate) fn look<R: Row>(&mut self, of: &Prepared, view: View<R>, step: &Step) {
        let speed = of.case.line_speed;
        for watch in &mut self.watches {
            let found = &mut self.found[watch.layer];
            if let Some(theta) = watch.look(view, step, speed, found) {
                view.state_inside(theta, &mut self.state);
                self.look.update(&of.slice, &self.state);
                watch.close(of, &self.look, step.distance(theta, speed), found);
            }
        }
    }
}

/// What happens sooner than this after an entry is not resolved, s.
fn instant(of: &Prepared) -> f64 {
    INSTANT * of.itinerary.times(of.case.line_speed).earliest
}

/// The watches of a case: one for each plastic layer that has a set temperature.
fn watches<R: Row>(of: &Prepared, view: View<R>) -> Vec<Watch> {
    let Prepared { case, radii, slice, .. } = of;
    let instant = instant(of);
    let mut watches = Vec::new();
    for (index, layer) in case.layers.iter().enumerate() {
        let set = layer.material.set_temperature.filter(|_| layer.material.kind == Kind::Plastic);
        let (Some(set), Some((first, last))) = (set, slice.layers[index]) else { continue };
        let outer = radii.hot[index];
        let inner = if index == 0 { case.bore / 2.0 } else { radii.hot[index - 1] };
        let density = layer.material.density.at(case.die_temperature(index));
        let spots = [0.0, SKIN, 0.5].map(|depth| {
            let deep = depth * (outer - inner);
            let outside = match case.shape {
                Shape::Round => density * deep * (outer - 0.5 * deep),
                Shape::Flat => density * deep,
            };
            Spot::new(slice, first, last, outside)
        });
        let now = spots.map(|spot| spot.temperature(|node| view.temperature(node)));
        watches.push(Watch { layer: index, set: set.0, instant, spots, last: now, begun: [None; 2] });
    }
    watches
}

impl Watch {
    /// Looks whether the face or the middle came past the set temperature in the accepted step, and where in it the skin
    /// closed, if it did.
    fn look<R: Row>(&mut self, view: View<R>, step: &Step, speed: f64, found: &mut Skin) -> Option<f64> {
        let now = self.spots.map(|spot| spot.temperature(|node| view.temperature(node)));
        let last = std::mem::replace(&mut self.last, now);
        // Where in the step a place came down to a level; none where it did not.
        let down_to = |place: usize, level: f64| {
            let (was, is, spot) = (last[place] - level, now[place] - level, self.spots[place]);
            (was > 0.0 && is <= 0.0).then(|| crossing(|theta| spot.inside(view, theta) - level, was, is))
        };
        for (which, place) in [0, 2].into_iter().enumerate() {
            let known = [found.surface_rate, found.mid_wall_rate][which].is_some();
            if known {
                continue;
            }
            let since_die = |theta: f64| step.leg.start / speed + step.time(theta);
            if let Some(theta) = down_to(place, self.set + ASIDE) {
                let entering = step.time(theta) < self.instant;
                self.begun[which] = Some(Begun { time: since_die(theta), entering });
            }
            let Some((begun, theta)) = self.begun[which].zip(down_to(place, self.set - ASIDE)) else { continue };
            let rate = 2.0 * ASIDE / (since_die(theta) - begun.time);
            if which == 0 {
                let seen = if begun.entering { rate.min(found.resolved) } else { rate };
                (found.surface_rate, found.set_in) = (Some(seen), Some(step.leg.section));
            } else {
                found.mid_wall_rate = Some(rate);
            }
        }
        // The skin is closed when its inner side and the face are both below.
        let (set, [face, skin, _]) = (self.set, self.spots);
        let warmest = |at: [f64; 3]| at[0].max(at[1]) - set;
        let closes = found.set.is_none() && warmest(last) > 0.0 && warmest(now) <= 0.0;
        let above = |theta: f64| face.inside(view, theta).max(skin.inside(view, theta)) - set;
        closes.then(|| crossing(above, warmest(last), warmest(now)))
    }

    /// Notes that the skin closed at a distance from the die, with the fields there.
    fn close(&self, of: &Prepared, field: &Field, distance: f64, found: &mut Skin) {
        let density = &of.case.layers[self.layer].material.density;
        found.melt_shrink = melt_shrink(&of.slice, field, self.layer, density, Celsius(self.set));
        found.set = Some(distance);
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
