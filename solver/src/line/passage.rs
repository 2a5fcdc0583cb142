//! What a trip leaves behind: of each section, of its water, of places along the line.

use crate::case::{Case, Direction};
use crate::film::surface::Apart;

/// What a section leaves behind.
#[derive(Clone, Debug, Default)]
pub struct Passage {
    /// Heat given off in it per radian, J/m.
    pub heat: f64,
    /// The part of it that its passes took, without the turn-rounds between them.
    pub heat_of_passes: f64,
    /// Water with a circulation: its flow and both ends.
    pub water: Option<WaterRun>,
    /// Time mean of the convective film coefficient, W/(m2 K).
    pub film: f64,
    /// Time mean of the radiative one, W/(m2 K).
    pub radiation: f64,
    /// Time that the surface was above 100 degC, s.
    pub boiling: f64,
}

/// Water that flowed through a section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WaterRun {
    /// kg/s.
    pub flow: f64,
    /// Heat capacity of the flow, W/K.
    pub capacity: f64,
    /// Temperature of its supply, degC.
    pub inlet: f64,
    /// Temperature at its outlet, degC.
    pub outlet: f64,
}

impl WaterRun {
    /// The water of a section with a circulation, supplied at `supply` degC.
    pub(super) fn of(case: &Case, section: usize, supply: f64) -> Option<WaterRun> {
        let own = case.sections[section].circulation?;
        let head = &case.sections[case.water_head(section)];
        let flow = head.circulation.unwrap_or(own).flow.mass(head.temperature);
        let capacity = flow * crate::material::water::at(head.temperature.0).heat_capacity;
        Some(WaterRun { flow, capacity, inlet: supply, outlet: supply })
    }

    /// Rise of the whole water per heat given off per radian, K per J/m.
    pub(super) fn rise(&self, case: &Case) -> f64 {
        case.shape.around() * case.line_speed / self.capacity
    }

    /// What it warms by along the product in a section, K per J/m.
    pub(super) fn warming(&self, case: &Case, section: usize) -> f64 {
        match case.sections[section].circulation.map(|water| water.direction) {
            Some(Direction::Along) => self.rise(case),
            Some(Direction::Counter) => -self.rise(case),
            Some(Direction::Mixed) | None => 0.0,
        }
    }

    /// Whether it leaves as water; it warms or cools all the way, so that it is water before, too.
    pub(crate) fn is_liquid(&self) -> bool {
        (0.0..=100.0).contains(&self.outlet)
    }
}

/// A state along the line.
#[derive(Clone, Debug)]
pub struct Place {
    /// From the die, m.
    pub distance: f64,
    /// Index of its section.
    pub section: usize,
    /// Temperature of the medium, degC.
    pub medium: f64,
    /// Convective film coefficient, W/(m2 K).
    pub film: f64,
    /// Heat flux to the medium, radiation included, W/m2.
    pub heat_flux: f64,
    /// What keeps the hot side apart, where the water does not touch all round.
    pub apart: Option<Apart>,
    /// The state there.
    pub state: Vec<f64>,
}
