//! A solution as `quenchway run --json` tells it, without what only a program knows of itself.

use serde::{Serialize, Serializer};

use super::diameters::{DiameterLimit, diameter_limits};
use super::solution::{LimitedBy, Solution, warnings_as_objects};
use crate::case::Case;
use crate::case::warning::Warning;

/// A solution to be serialised: SI with the unit in the key; whether the tolerance was met stands before the numbers.
///
/// ```
/// use quenchway::{march, march::told::Told};
///
/// let file = quenchway::read(quenchway::file::EXAMPLE).map_err(|problems| problems[0].message.clone())?;
/// let solution = march(&file)?;
/// let told = serde_json::to_value(Told::of(&file, &solution))?;
/// assert_eq!(told["tolerance_met"], true);
/// assert_eq!(told["stations"][0]["core_degC"], solution.stations[0].point.core);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, Serialize)]
pub struct Told<'a> {
    tolerance_met: bool,
    limited_by: Option<LimitedBy>,
    diameter_limits: Vec<DiameterLimit>,
    #[serde(flatten)]
    solution: &'a Solution,
}

impl<'a> Told<'a> {
    /// What is told of a solution of the case.
    pub fn of(case: &Case, solution: &'a Solution) -> Told<'a> {
        Told {
            tolerance_met: solution.numerics.tolerance_met(),
            limited_by: solution.cooling.as_ref().map(|cooling| cooling.now.limited_by),
            diameter_limits: diameter_limits(case, solution),
            solution,
        }
    }
}

/// What an answer must be read with, where nothing else of the solution that it rests on is told.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct Notes<'a> {
    /// What was assumed and is doubtful.
    #[serde(serialize_with = "warnings_as_objects")]
    pub warnings: &'a [Warning],
    /// What to keep in mind on the plant floor.
    pub cautions: &'a [String],
}

impl Notes<'_> {
    /// Those of a solution.
    pub fn of(solution: &Solution) -> Notes<'_> {
        Notes { warnings: &solution.warnings, cautions: &solution.cautions }
    }
}

/// Serialises the notes of a solution in its place.
pub(crate) fn notes<S: Serializer>(solution: &Solution, serializer: S) -> Result<S::Ok, S::Error> {
    Notes::of(solution).serialize(serializer)
}

/// The same where there may be none.
pub(crate) fn notes_of_any<S: Serializer>(solution: &Option<Solution>, serializer: S) -> Result<S::Ok, S::Error> {
    solution.as_ref().map(Notes::of).unwrap_or_default().serialize(serializer)
}
