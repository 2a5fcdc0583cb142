//! Who looks at a march between its steps.

use super::Prepared;
use super::step::Step;
use super::trip::Trip;
use crate::case::error::Error;
use crate::engine::{Row, View};

/// What looks at a march: nothing by default. `()` looks at nothing, and costs nothing.
pub(crate) trait Watch {
    /// After each accepted step.
    fn step<R: Row>(&mut self, _of: &Prepared, _view: View<R>, _step: &Step) {}
    /// At a station.
    fn station<R: Row>(&mut self, _trip: &Trip, _index: usize, _view: View<R>) {}
    /// At the end of a section.
    fn section_end<R: Row>(&mut self, _trip: &Trip, _index: usize, _view: View<R>) {}
    /// At a moment for which a look was asked.
    fn look<R: Row>(&mut self, _trip: &Trip, _index: usize, _view: View<R>) {}
}

impl Watch for () {}

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
