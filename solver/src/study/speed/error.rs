//! Why there is no fastest speed, in words.

use std::fmt;

use super::CeilingSpeed;
use crate::case::error::Error;
use crate::study::length::LengthError;
use crate::units::{Dimension, System, Toward, printed};

/// Why there is no fastest speed.
#[derive(Clone, Debug)]
pub enum SpeedError {
    /// The case has no limit and no ceiling, so that any speed would do.
    NoCeilings,
    /// No speed meets all ceilings.
    NoSpeed {
        /// Index of the ceiling that is worst at the slowest speed.
        worst: usize,
        /// Every ceiling with its speed, the lowest first.
        ceilings: Vec<CeilingSpeed>,
        /// The slowest and the fastest speed that were looked at, m/s.
        looked_at: [f64; 2],
        /// The speed at which the worst ceiling is exceeded least, m/s.
        nearest: f64,
    },
    /// Every ceiling is met up to the fastest speed that has an answer.
    NoCeilingReached {
        /// That speed, m/s.
        speed: f64,
        /// Why there is none beyond, where it is not the end of the search.
        error: Option<Error>,
    },
    /// Passes were asked of a case whose trough is not one section.
    Passes(LengthError),
    /// A section passed several times needs the length of product in its turns.
    NoTurn {
        /// The section.
        section: String,
    },
    /// A case on the way has no answer.
    March(Error),
    /// The temperatures jump about with the speed, so that no speed could be enclosed and confirmed.
    Unsteady {
        /// Where, m/s.
        speed: f64,
    },
}

impl SpeedError {
    /// The message in the units of a system.
    pub fn message(&self, system: System) -> String {
        let shown = |speed: &f64| printed(*speed, Dimension::Speed, system, Toward::Less, 0);
        match self {
            SpeedError::NoCeilings => {
                "no station has a limit and the plant no ceiling, so that any speed would do. Give one, for \
                                       example core_max = \"60 degC\" at the capstan"
                    .to_string()
            }
            SpeedError::NoSpeed { worst, ceilings, looked_at: [slowest, _], .. } => {
                let name = &ceilings[*worst].ceiling.name;
                match ceilings[*worst].speed {
                    None => format!("no speed meets {name}: it is exceeded even at {}", shown(slowest)),
                    Some(speed) => format!(
                        "no speed meets all ceilings: {name} allows no more than {}, where another is exceeded that is met only \
                         at faster speeds",
                        shown(&speed)
                    ),
                }
            }
            SpeedError::NoCeilingReached { speed, error: None } => {
                format!("every ceiling is met up to {}, no faster line was tried", shown(speed))
            }
            SpeedError::NoCeilingReached { speed, error: Some(error) } => {
                format!("every ceiling is met up to {}; a faster line has no answer: {error}", shown(speed))
            }
            SpeedError::Passes(LengthError::NothingGrows { known }) => format!(
                "which section is passed several times? Name it, [plant] adjustable = [{:?}]",
                known.first().map_or("trough", String::as_str)
            ),
            SpeedError::Passes(error) => error.message(system),
            SpeedError::NoTurn { section } => format!(
                "section {section:?} gives no turn, the length of product in the air between two passes; give it one: turn = \
                 \"0.8 m\""
            ),
            SpeedError::March(error) => error.to_string(),
            SpeedError::Unsteady { speed } => format!(
                "near {} the temperatures jump about with the speed, no fastest speed could be confirmed. A tighter \
                 solver.tolerance would show whether it is the case or the search",
                shown(speed)
            ),
        }
    }
}

impl fmt::Display for SpeedError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.message(System::Si))
    }
}

impl std::error::Error for SpeedError {}
