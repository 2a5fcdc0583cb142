//! How one run is made.

use crate::slice::build::Fineness;

/// What a time step may err by over the accuracy: its error diffuses away before the next report.
const OF_ACCURACY: f64 = 20.0;
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
    /// A time after the entry of a section for which the mesh must be right too, besides those of stations and ends, s: what only a
    /// run tells. Infinite by the rule.
    pub sooner: f64,
    /// Whether to keep states along the line for fields and pictures.
    pub fields: bool,
}

impl Settings {
    /// The rule of the studies at an accuracy in K: mesh by `slice::build`, step tolerance 20 times the accuracy. Its runs stand
    /// alone: no finer one measures their error.
    pub fn rule(accuracy: f64) -> Settings {
        Settings {
            fineness: Fineness { accuracy, factor: 1.0, alone: true },
            step_tolerance: OF_ACCURACY * accuracy,
            fixed_step: None,
            sooner: f64::INFINITY,
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
