//! Boundary layers of one product or in every lane at once: the laws of a moving product, arranged for registers.

mod coefficient;
#[cfg(test)]
mod tests;

use super::Inputs;
use super::end::End;
use super::moving::BoundaryLayer;
use super::surface::Surface;
use crate::maths::shape::Shape;
use crate::maths::vector::Row;

pub use coefficient::{Places, films, slopes};
pub(super) use coefficient::{of_one, parts_of_one};

/// What the layers of the lanes are: rows of numbers that do not change along a leg.
#[derive(Clone, Debug)]
pub struct Films<R> {
    /// Lanes whose film is such a layer.
    pub lanes: u8,
    /// Lanes whose medium warms, whose water is stirred, whose film leans to an end of its band.
    warming_lanes: u8,
    stirred_lanes: u8,
    leaning_lanes: u8,
    /// Lanes on a line whose speed changes.
    driven_lanes: u8,
    /// Lanes of a flat product.
    flat_lanes: u8,
    /// 1 in water, 0 in air.
    wet: R,
    /// What the film is multiplied with.
    factor: R,
    /// Of the medium against the product's travel, m/s.
    velocity: R,
    diameter: R,
    /// 1 round, 0 flat.
    round: R,
    /// What the turbulent part is multiplied with.
    turbulent: R,
    /// Speed of the stirred water, m/s.
    stirred: R,
    /// Standard values towards the end, 0 or more.
    lean: R,
    /// That end, as `End`.
    end: Ends<R>,
    /// The medium, as in `Ends`.
    entry: R,
    warming: R,
    entry_heat: R,
}

/// [`End`] of every lane.
#[derive(Clone, Debug)]
struct Ends<R> {
    laminar: R,
    turbulent: R,
    free: R,
    stir: R,
    stirred: R,
    along: R,
    around: R,
}

impl<R: Row> Default for Films<R> {
    fn default() -> Films<R> {
        let (nothing, one) = (R::all(0.0), R::all(1.0));
        Films {
            lanes: 0,
            warming_lanes: 0,
            stirred_lanes: 0,
            leaning_lanes: 0,
            wet: one,
            factor: one,
            velocity: nothing,
            driven_lanes: 0,
            flat_lanes: 0,
            diameter: one,
            round: one,
            turbulent: one,
            stirred: nothing,
            lean: nothing,
            end: Ends { laminar: one, turbulent: one, free: one, stir: one, stirred: nothing, along: one, around: one },
            entry: one,
            warming: nothing,
            entry_heat: one,
        }
    }
}

impl<R: Row> Films<R> {
    /// Puts a lane into a medium.
    pub fn surround(&mut self, lane: usize, surface: &Surface) {
        self.leave(lane);
        let Some((layer, inputs)) = surface.layer() else { return };
        self.lanes |= 1 << lane;
        if surface.warming() != 0.0 {
            self.warming_lanes |= 1 << lane;
        }
        let (shape, diameter) = surface.product();
        self.set(lane, (layer, inputs), shape, [surface.speed(), diameter]);
        if surface.is_driven() {
            self.driven_lanes |= 1 << lane;
        }
        self.factor[lane] = surface.factor();
        self.entry[lane] = surface.entry();
        self.warming[lane] = surface.warming();
        self.entry_heat[lane] = surface.entry_heat();
    }

    /// Sets what a layer on a product is at a line speed, m/s, and a diameter, m.
    fn set(
        &mut self,
        lane: usize,
        (layer, inputs): (&BoundaryLayer, &Inputs),
        shape: Shape,
        [line, diameter]: [f64; 2],
    ) {
        let flag = |truth: bool| if truth { 1.0 } else { 0.0 };
        let speed = line + inputs.velocity;
        let end = End::of(layer, speed, inputs);
        if inputs.stirred > 0.0 {
            self.stirred_lanes |= 1 << lane;
        }
        if inputs.lean != 0.0 {
            self.leaning_lanes |= 1 << lane;
        }
        if shape == Shape::Flat {
            self.flat_lanes |= 1 << lane;
        }
        for (row, value) in [
            (&mut self.wet, flag(layer.medium.is_water())),
            (&mut self.velocity, inputs.velocity),
            (&mut self.diameter, diameter),
            (&mut self.round, flag(shape == Shape::Round)),
            (&mut self.turbulent, layer.turbulent),
            (&mut self.stirred, inputs.stirred),
            (&mut self.lean, inputs.lean.abs()),
            (&mut self.end.laminar, end.laminar),
            (&mut self.end.turbulent, end.turbulent),
            (&mut self.end.free, end.free),
            (&mut self.end.stir, end.stir),
            (&mut self.end.stirred, end.stirred),
            (&mut self.end.along, end.transition[0]),
            (&mut self.end.around, end.transition[1]),
        ] {
            row[lane] = value;
        }
    }

    /// Takes the medium of a lane to another temperature where the product enters, degC.
    pub(crate) fn set_entry(&mut self, lane: usize, entry: f64) {
        self.entry[lane] = entry;
    }

    /// Takes a lane out of its medium.
    pub fn leave(&mut self, lane: usize) {
        let bit = 1 << lane;
        let [lanes, warming, driven] = [&mut self.lanes, &mut self.warming_lanes, &mut self.driven_lanes];
        for lanes in [lanes, warming, driven, &mut self.flat_lanes, &mut self.stirred_lanes, &mut self.leaning_lanes] {
            *lanes &= !bit;
        }
    }
}
