//! The books of a trip: heat given off, section by section and leg by leg, and the means of the film.

use super::itinerary::Leg;
use super::step::{Step, crossing};
use super::{Passage, WaterRun};
use crate::case::Case;
use crate::engine::{Row, View};
use crate::film::ENTRY_OFFSET;

/// Boiling point of water at 0.101325 MPa, degC (IAPWS R7-97: 99.974; the trade says 100).
const BOILING: f64 = 100.0;

/// The books of a trip.
#[derive(Clone, Debug)]
pub(crate) struct Books {
    /// Of the sections that it has entered.
    pub(crate) passages: Vec<Passage>,
    /// Heat given off per radian at the entry of the section and of the leg, J/m, and in the section's passes by now.
    heat_of_section: f64,
    heat_of_leg: f64,
    heat_of_passes: f64,
    /// Weight with which the film at the end of the last step enters the mean, s.
    open: f64,
}

impl Books {
    /// Of a line with so many sections.
    pub(super) fn new(sections: usize) -> Books {
        let passages = Vec::with_capacity(sections);
        Books { passages, heat_of_section: 0.0, heat_of_leg: 0.0, heat_of_passes: 0.0, open: 0.0 }
    }

    /// Opens the books of the next section, at the heat given off until then.
    pub(super) fn enter_section(&mut self, heat: f64, water: Option<WaterRun>) {
        (self.heat_of_section, self.heat_of_passes) = (heat, 0.0);
        self.passages.push(Passage { water, ..Passage::default() });
    }

    /// Opens those of the next leg.
    pub(super) fn enter_leg(&mut self, heat: f64) {
        self.heat_of_leg = heat;
    }

    /// Closes the books of a leg that took so many s, and of its section with its last.
    pub(super) fn leave<R: Row>(&mut self, case: &Case, leg: &Leg, view: View<R>, time: f64) {
        if let Some(medium) = view.medium().filter(|_| self.open > 0.0) {
            self.close_mean(medium.film(view.surface(), view.heat(), time * case.line_speed));
        }
        let heat = view.heat();
        if !leg.turn {
            self.heat_of_passes += heat - self.heat_of_leg;
        }
        if leg.last {
            let section = &case.sections[leg.section];
            let duration = section.passes as f64 * section.length / case.line_speed;
            let passage = &mut self.passages[leg.section];
            passage.heat = heat - self.heat_of_section;
            passage.heat_of_passes = self.heat_of_passes;
            passage.film /= duration;
            passage.radiation /= duration;
            if let Some(water) = &mut passage.water {
                water.outlet = water.inlet + water.rise(case) * passage.heat_of_passes;
            }
        }
    }

    /// Adds what is open of the film's mean.
    pub(super) fn close_mean(&mut self, film: f64) {
        if let Some(passage) = self.passages.last_mut().filter(|_| self.open > 0.0) {
            passage.film += std::mem::take(&mut self.open) * film;
        }
    }

    /// Adds a step to the means of its section; the film at its end is asked for by the next step.
    ///
    /// Simpson's rule in the root of the distance from a layer's virtual entry: exact for what falls with that root, as a film
    /// behind an entry does, and for what is straight in time.
    pub(super) fn add_means<R: Row>(&mut self, case: &Case, view: View<R>, step: &Step) {
        let (Some(medium), Some(passage)) = (view.medium(), self.passages.last_mut()) else { return };
        let since = step.before + ENTRY_OFFSET / case.line_speed;
        let [first, last] = [since, since + step.size].map(f64::sqrt);
        let half = 0.5 * (first + last);
        let theta = 0.25 * (1.0 + first / half);
        let (start, middle, end) = (step.surface, view.surface_inside(theta), view.surface());
        let film = medium.film(middle, view.heat_inside(theta), step.time(theta) * case.line_speed);
        let [at_start, at_middle, at_end] = [first / half, 4.0, last / half].map(|share| share * step.size / 6.0);
        passage.film += at_start * view.film_before() + at_middle * film;
        self.open = at_end;
        let of_middle = at_middle * medium.radiation(middle);
        passage.radiation += at_start * medium.radiation(start) + of_middle + at_end * medium.radiation(end);
        if case.sections[step.leg.section].medium.is_water() && start.max(end) > BOILING {
            passage.boiling += time_above(view, start, end, step.size);
        }
    }
}

/// How long the surface was above the boiling point in a step that crossed or stayed above it.
fn time_above<R: Row>(view: View<R>, start: f64, end: f64, size: f64) -> f64 {
    if start > BOILING && end > BOILING {
        return size;
    }
    let theta = crossing(|theta| view.surface_inside(theta) - BOILING, start - BOILING, end - BOILING);
    if start > BOILING { theta * size } else { (1.0 - theta) * size }
}
