//! An accepted step, and where inside it something happens.

use super::itinerary::Leg;
use crate::maths::root::FalsePosition;

/// An accepted step.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Step {
    /// Its leg, and which of the line's it is.
    pub(crate) leg: Leg,
    /// See `leg`.
    pub(crate) number: usize,
    /// Time from the leg's entry at which it began, s, and how long it is.
    pub(crate) before: f64,
    /// See `before`.
    pub(crate) size: f64,
    /// Surface temperature at which it began, degC.
    pub(crate) surface: f64,
}

impl Step {
    /// Time from the leg's entry at a place inside it, `theta` from 0 to 1, s.
    pub(crate) fn time(&self, theta: f64) -> f64 {
        self.before + theta * self.size
    }

    /// Distance from the die there, m.
    pub(crate) fn distance(&self, theta: f64, speed: f64) -> f64 {
        self.leg.start + self.time(theta) * speed
    }
}

/// Where in 0..1 a function changes sign, by false position; `start` and `end` are its values at 0 and 1.
pub(super) fn crossing(mut f: impl FnMut(f64) -> f64, start: f64, end: f64) -> f64 {
    let mut ends = FalsePosition { far: [0.0, start], newest: [1.0, end] };
    if ends.encloses() {
        for _ in 0..60 {
            let x = ends.guess();
            if ends.take([x, f(x)]) < 1e-9 || ends.newest[1] == 0.0 {
                break;
            }
        }
    }
    ends.newest[0]
}
