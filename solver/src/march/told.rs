//! A solution as `quenchway run --json` tells it, without what only a program knows of itself.

use serde::Serialize;

use super::diameters::{DiameterLimit, diameter_limits};
use super::solution::{LimitedBy, Solution};
use crate::case::Case;

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
