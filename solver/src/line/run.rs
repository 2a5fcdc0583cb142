//! How a run is made and what it leaves behind.

use crate::engine::Field;
use crate::line::{HotSide, Passage, Place, Skin};
use crate::slice::Slice;
use crate::slice::build::Fineness;

/// What a run by the rule alone lets its steps err by in a slice with a steep table, relative to other slices.
const THROUGH_PEAKS: f64 = 1.5;

/// How one run is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// How fine the mesh is.
    pub fineness: Fineness,
    /// Error allowed in a time step, K.
    pub step_tolerance: f64,
    /// Equal steps of this size without error control, s, for order tests; none by the rule.
    pub fixed_step: Option<f64>,
    /// Whether to keep states along the line for fields and pictures.
    pub fields: bool,
}

impl Settings {
    /// The rule of the studies at an accuracy in K: mesh by `slice::build`, step tolerance 20 times the accuracy. Its runs stand
    /// alone: no finer one measures their error.
    pub fn rule(accuracy: f64) -> Settings {
        Settings {
            fineness: Fineness { accuracy, factor: 1.0, alone: true },
            step_tolerance: 20.0 * accuracy,
            fixed_step: None,
            fields: false,
        }
    }

    /// The rule at an accuracy in K as runs take it whose error is measured, then tightened `ratio` times: step tolerance divided by it, every layer divided into
    /// ratio^(1/4) times more intervals.
    pub fn tightened(accuracy: f64, ratio: f64) -> Settings {
        Settings {
            fineness: Fineness { accuracy, factor: libm::pow(ratio, -0.25), alone: false },
            ..Settings::rule(accuracy / ratio)
        }
    }

    /// The error that a step may have where nothing is reported, K; `steep`: in a slice with a steep table.
    pub(crate) fn ordinary(&self, steep: bool) -> f64 {
        if steep && self.fineness.alone { THROUGH_PEAKS * self.step_tolerance } else { self.step_tolerance }
    }
}

/// The run of one slice: states kept at every landing, events, books.
#[derive(Clone, Debug)]
pub struct Run {
    /// The slice that marched.
    pub slice: Slice,
    /// State at the die.
    pub start: Vec<f64>,
    /// State at the end of the line.
    pub state: Vec<f64>,
    /// State at each station, in the order of the case.
    pub stations: Vec<Vec<f64>>,
    /// State at each section's end.
    pub ends: Vec<Vec<f64>>,
    /// What each section left behind.
    pub passages: Vec<Passage>,
    /// States along the line with their distance and section, when asked for.
    pub track: Vec<Place>,
    /// Where each layer's hottest point last fell below its set temperature, m; `None` where it is above at the end.
    pub set_through: Vec<Option<f64>>,
    /// Where the insulation of laid-up cores first came above its set temperature, m; `None` where it did not.
    pub softened: Vec<Option<f64>>,
    /// The set skin of each layer; of metals and of plastics without a set temperature nothing is known.
    pub skins: Vec<Skin>,
    /// Highest and lowest temperature that each layer met, degC.
    pub extremes: Vec<[f64; 2]>,
    /// Highest surface temperature after the last water, degC.
    pub dry_peak: Option<f64>,
    /// The hot side, where water does not touch all round.
    pub hot_side: Option<HotSide>,
    /// Steps accepted and rejected.
    pub steps: [usize; 2],
}

impl Run {
    /// The fields at the end of the line.
    pub fn field(&self) -> Field {
        Field::of(&self.slice, &self.state)
    }
}
