//! Who looks at a march between its steps.

use super::Prepared;
use super::itinerary::Leg;
use super::trip::Trip;
use crate::case::error::Error;
use crate::engine::{Row, View};

/// An accepted step.
#[derive(Clone, Copy, Debug)]
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

/// What looks at a march: nothing by default. `()` looks at nothing, and costs nothing.
pub(crate) trait Watch {
    /// Whether it looks at anything.
    const ANY: bool = true;
    /// After each accepted step.
    fn step<R: Row>(&mut self, _of: &Prepared, _view: View<R>, _step: &Step) {}
    /// At a station.
    fn station<R: Row>(&mut self, _trip: &Trip, _index: usize, _view: View<R>) {}
    /// At the end of a section.
    fn section_end<R: Row>(&mut self, _trip: &Trip, _index: usize, _view: View<R>) {}
    /// At a moment for which a look was asked.
    fn look<R: Row>(&mut self, _trip: &Trip, _index: usize, _view: View<R>) {}
}

impl Watch for () {
    const ANY: bool = false;
}

/// What a batch notes of its cases: a watch for each lane, used for one case after the other.
pub(crate) trait Notes: Watch {
    /// What it makes of a case.
    type Answer;
    /// Makes room for the next case.
    fn begin(&mut self, of: &Prepared);
    /// At the die, before the first step.
    fn start<R: Row>(&mut self, _of: &Prepared, _view: View<R>) {}
    /// The answer at the end of the line.
    fn end<R: Row>(&mut self, trip: &Trip, view: View<R>) -> Result<Self::Answer, Error>;
}
