//! The second column of a product whose hot side is marched: what its metal core and its media are held at.

use crate::case::Case;
use crate::engine::{Bundle, Row};
use crate::material::Kind;
use crate::slice::Slice;

/// What holds in the march of a hot side.
#[derive(Clone, Debug)]
pub(super) struct Column {
    /// Temperature of the medium in each section, degC.
    pub(super) media: Vec<f64>,
    /// Indices of the metal core's nodes in a state.
    pub(super) metal: Vec<usize>,
    /// Their states in the product's own run, each with its distance from the die, m.
    pub(super) history: Vec<(f64, Vec<f64>)>,
    /// Temperature of the first of them there, degC; 0 where there is none.
    pub(super) temperatures: Vec<f64>,
}

impl Column {
    /// Temperature of a section's medium, degC.
    pub(super) fn medium(&self, section: usize) -> f64 {
        self.media[section]
    }

    /// By how much the metal core changes between two places, m from the die, K.
    pub(super) fn changes(&self, between: [f64; 2]) -> f64 {
        let [before, after] = between.map(|distance| {
            let (low, high, share) = self.around(distance);
            self.temperatures[low] + share * (self.temperatures[high] - self.temperatures[low])
        });
        (after - before).abs()
    }

    /// The states of the history on both sides of a place, and how far it is from the first to the second.
    fn around(&self, distance: f64) -> (usize, usize, f64) {
        let after = self.history.partition_point(|(there, _)| *there < distance).min(self.history.len() - 1);
        let before = after.saturating_sub(1);
        let (x0, x1) = (self.history[before].0, self.history[after].0);
        let share = if x1 > x0 { ((distance - x0) / (x1 - x0)).clamp(0.0, 1.0) } else { 0.0 };
        (before, after, share)
    }

    /// Puts the metal core into the state that the product's own has there, m from the die.
    pub(super) fn hold<R: Row>(&self, bundle: &mut Bundle<R>, lane: usize, distance: f64) {
        let (before, after, share) = self.around(distance);
        let (low, high) = (&self.history[before].1, &self.history[after].1);
        for ((&node, low), high) in self.metal.iter().zip(low).zip(high) {
            bundle.put(lane, node, low + share * (high - low));
        }
    }
}

/// Indices of the metal core's nodes in a state: those of the metal layers from the axis outward, without the joint.
pub(super) fn metal(case: &Case, slice: &Slice) -> Vec<usize> {
    let is_metal = |index: &usize| case.layers[*index].material.kind == Kind::Metal;
    let mut nodes = Vec::new();
    for layer in (0..case.layers.len() - 1).take_while(is_metal) {
        match slice.layers[layer] {
            None => nodes.push(slice.core_index()),
            Some((first, last)) => nodes.extend((first..last).flat_map(|link| [link, slice.vertices() + link])),
        }
    }
    nodes
}
