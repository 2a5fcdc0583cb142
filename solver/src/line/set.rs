//! Where layers set through, alone or in a lane: their hottest point falls below the set temperature and stays there.

use super::Prepared;
use super::observe;
use super::step::{Step, crossing};
use crate::engine::{Field, Row, View};
use crate::material::Kind;
use crate::slice::Slice;

/// Where layers set through, and where laid-up cores came above their set temperature, m from the die.
#[derive(Debug)]
pub(crate) struct Set {
    pub(crate) through: Vec<Option<f64>>,
    pub(crate) softened: Vec<Option<f64>>,
    /// For looking inside a step.
    look: Field,
    state: Vec<f64>,
}

impl Set {
    /// At the die.
    pub(crate) fn new<R: Row>(of: &Prepared, view: View<R>) -> Set {
        let layers = of.case.layers.len();
        let look = Field::of(&of.slice, &of.start);
        let mut set = Set { through: vec![None; layers], softened: vec![None; layers], look, state: of.start.clone() };
        for (index, layer) in of.case.layers.iter().enumerate() {
            let Some(temperature) = layer.material.set_temperature else { continue };
            let above = extremes(&of.slice, view, index)[0] > temperature.0;
            set.through[index] = (!above).then_some(0.0);
            set.softened[index] = (above && layer.material.kind == Kind::LaidUp).then_some(0.0);
        }
        set
    }

    /// Looks at a layer after the accepted step; `hottest` is its hottest node.
    pub(crate) fn look<R: Row>(&mut self, of: &Prepared, view: View<R>, step: &Step, layer: usize, hottest: f64) {
        let material = &of.case.layers[layer].material;
        let Some(set) = material.set_temperature.filter(|_| material.kind != Kind::Metal) else { return };
        if hottest > set.0 {
            if material.kind == Kind::LaidUp && self.softened[layer].is_none() {
                self.softened[layer] = Some(self.passes(of, view, layer, set.0, step));
            }
            self.through[layer] = None;
        } else if self.through[layer].is_none() && self.hottest(of, view, layer, 1.0) <= set.0 {
            self.through[layer] = Some(self.passes(of, view, layer, set.0, step));
        }
    }

    /// Where in the last step the hottest point of a layer passes `set`, m from the die.
    fn passes<R: Row>(&mut self, of: &Prepared, view: View<R>, layer: usize, set: f64, step: &Step) -> f64 {
        let mut above = |theta: f64| self.hottest(of, view, layer, theta) - set;
        let (start, end) = (above(0.0), above(1.0));
        step.distance(crossing(above, start, end), of.case.line_speed)
    }

    /// Hottest point of a layer inside the last step.
    fn hottest<R: Row>(&mut self, of: &Prepared, view: View<R>, layer: usize, theta: f64) -> f64 {
        view.state_inside(theta, &mut self.state);
        self.look.update(&of.slice, &self.state);
        observe::hottest(&of.slice, &self.look, layer)
    }
}

/// Hottest and coldest node of a layer; of a lumped core its mean, which hardly differs.
pub(crate) fn extremes<R: Row>(slice: &Slice, view: View<R>, layer: usize) -> [f64; 2] {
    let Some((first, last)) = slice.layers[layer] else { return [view.core(); 2] };
    let mut found = [f64::NEG_INFINITY, f64::INFINITY];
    // The layer's nodes stand side by side in the bundle, vertices and middles.
    for t in view.along(first, last) {
        found = [found[0].max(t), found[1].min(t)];
    }
    found
}
