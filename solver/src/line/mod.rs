//! One slice down the line at one accuracy: sections, landings, events, books.

mod leg;
mod run;
mod skin;
mod stops;
mod water;

#[cfg(test)]
mod tests;

pub(crate) use leg::{AFTER_KINK, BEFORE_REPORT, MAX_NODE_STEPS, fit};
pub use run::{Passage, Place, Run, Settings, WaterRun};
pub use skin::{ASIDE, SKIN, Skin};
pub use stops::times;
pub(crate) use stops::{Itinerary, SAME, Stop};

use leg::Line;
use stops::legs;

use crate::case::Case;
use crate::discretise;
use crate::error::Error;
use crate::shrink::Radii;
use crate::step::Stepper;
use crate::surface::Surface;

/// What happens sooner after an entry than this share of the earliest time asked for is not resolved: the outermost interval
/// is made for that time, 0.65 sqrt(alpha t), and the chill has not yet crossed it.
const INSTANT: f64 = 0.42;

/// Marches one slice from the die to the end of the line.
pub fn run(case: &Case, radii: &Radii, settings: &Settings) -> Result<Run, Error> {
    let times = times(case);
    let (slice, state) = discretise::slice(case, radii, times, settings.fineness)?;
    let layers = case.layers.len();
    let spare = vec![0.0; slice.unknowns()];
    let run = Run {
        start: state.clone(),
        stations: vec![state.clone(); case.stations.len()],
        ends: vec![state.clone(); case.sections.len()],
        passages: Vec::with_capacity(case.sections.len()),
        track: Vec::new(),
        set_through: vec![None; layers],
        softened: vec![None; layers],
        skins: vec![Skin::default(); layers],
        extremes: Vec::new(),
        dry_peak: None,
        steps: [0, 0],
        stepper: Stepper::new(slice, state),
    };
    let diameter = 2.0 * radii.hot[layers - 1];
    let mut line = Line {
        case,
        settings,
        diameter,
        look: run.stepper.field.clone(),
        spare,
        last_water: case.sections.iter().rposition(|section| section.medium.is_water()),
        instant: INSTANT * times.earliest,
        scripts: None,
        scripted: false,
        searching: false,
        watches: skin::watches(case, radii, &run.stepper),
        run,
    };
    line.begin(&Surface::new(&case.sections[0], case.shape, case.line_speed, diameter));
    water::march(&mut line)?;
    Ok(line.run)
}

impl Line<'_> {
    /// Marches section `index` in a medium of `entry` degC where the product enters, that warms by `warming` K per J/m given
    /// off per radian in the section.
    fn pass(&mut self, index: usize, entry: f64, warming: f64) -> Result<(), Error> {
        let case = self.case;
        let section = &case.sections[index];
        let heat_index = self.run.stepper.slice.heat_index();
        let heat_before = self.run.stepper.state[heat_index];
        self.run.passages.push(Passage::default());
        let mut heat_of_passes = 0.0;
        for (number, leg) in legs(case).enumerate().filter(|(_, leg)| leg.section == index) {
            let before = self.run.stepper.state[heat_index];
            let (shape, speed) = (case.shape, case.line_speed);
            let surface = if leg.turn {
                Surface::turning(&section.turn, shape, speed, self.diameter)
            } else {
                Surface::new(section, shape, speed, self.diameter).in_medium(entry, warming, before)
            };
            self.leg(number, &leg, &surface)?;
            if !leg.turn {
                heat_of_passes += self.run.stepper.state[heat_index] - before;
            }
        }
        let heat = self.run.stepper.state[heat_index] - heat_before;
        let duration = section.passes as f64 * section.length / case.line_speed;
        if let Some(passage) = self.run.passages.last_mut() {
            passage.heat = heat;
            passage.heat_of_passes = heat_of_passes;
            passage.film /= duration;
            passage.radiation /= duration;
        }
        Ok(())
    }
}
