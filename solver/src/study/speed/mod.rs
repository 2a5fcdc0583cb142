//! How fast may the line run? The fastest speed of the trough as it is: the lowest of all ceilings.
//!
//! A ceiling is a temperature limit at a station, the plastic that the extruders give, the chiller's power, the temperature of
//! the water that leaves a section. Die temperatures that follow the speed are followed. A temperature need not rise with the
//! speed (a cold conductor that has no time to warm), so the speed is scanned on a grid of factors sqrt(2) from one so slow that
//! all ceilings are met to one at which each is exceeded; for each the first crossing counts, as a line is speeded up in steps.
//! What is found by the rule is marched again with care and confirmed.

mod error;
pub(crate) mod search;
#[cfg(test)]
mod tests;
mod told;

use super::length::trough::{self, at_the_die};
use super::length::{LengthError, Lengths, needed_as};
use super::search::ceilings::Ceiling;
use super::search::confirm::{Asked, Range};
use super::search::scan::ScanError;
use crate::case::CaseFile;
use crate::march::solution::Solution;
use crate::maths::parallel::each;
use crate::units::Printed;
use search::search;

pub use error::SpeedError;
pub use told::{OfPasses, Told};

/// The fastest line speed of a trough.
#[derive(Clone, Debug)]
pub struct Speeds {
    /// Line speed of the case, m/s.
    pub given: f64,
    /// The fastest, m/s.
    pub top: f64,
    /// The same as it is printed, no faster, and marched with care too; where that was asked for.
    pub printed: Option<Printed>,
    /// Every ceiling with its speed, the lowest first; the first decides.
    pub ceilings: Vec<CeilingSpeed>,
    /// The case at the fastest speed, as it is printed where that was asked for.
    pub case: CaseFile,
    /// Its solution, in which every ceiling is met.
    pub solution: Solution,
    /// Layers whose temperature at the die is held constant there: their table against speed ends before it.
    pub beyond_table: Vec<String>,
    /// How far the uncertainty of the inputs moves the speed, where it was asked for.
    pub range: Option<Range>,
    /// How many cases were solved, without those of `range`.
    pub solves: usize,
}

/// The speed that one ceiling allows.
#[derive(Clone, Debug, PartialEq)]
pub struct CeilingSpeed {
    /// The ceiling.
    pub ceiling: Ceiling,
    /// The fastest speed up to which it is met, m/s; none where it is met at none of those looked at.
    pub speed: Option<f64>,
    /// It is met up to the fastest speed that was looked at, which is `speed`.
    pub open: bool,
    /// A faster speed at which it is met again: not counted.
    pub again: Option<f64>,
    /// Its value at the slowest speed that was looked at, SI.
    pub slowest: f64,
    /// Its value at the speed of the case that is told with it, SI; not a number where there is none.
    pub value: f64,
}

impl From<ScanError> for SpeedError {
    fn from(error: ScanError) -> SpeedError {
        match error {
            ScanError::March(error) => SpeedError::March(error),
            ScanError::Unsteady { at } => SpeedError::Unsteady { speed: at },
        }
    }
}

/// The case at another line speed, m/s; die temperatures that follow the speed follow it.
///
/// ```
/// let text = quenchway::file::EXAMPLE;
/// let case = quenchway::file::read(text).unwrap();
/// assert_eq!(quenchway::study::speed::with_speed(&case, 4.0).line_speed, 4.0);
/// ```
pub fn with_speed(case: &CaseFile, speed: f64) -> CaseFile {
    let mut case = case.clone();
    case.line_speed = speed;
    case
}

/// The case whose trough is passed so many times: its only section with water, or the only one that may grow.
///
/// Stations without limits that would stand before the die are put at the die.
///
/// # Errors
///
/// The trough is not one section; several passes without the length of a turn.
pub fn with_passes(case: &CaseFile, passes: usize) -> Result<CaseFile, SpeedError> {
    let sections = trough::sections(case).map_err(SpeedError::Passes)?;
    let &[index] = &sections[..] else {
        let known = sections.iter().map(|&index| case.sections[index].name.clone()).collect();
        return Err(SpeedError::Passes(LengthError::NothingGrows { known }));
    };
    let mut case = case.clone();
    let section = &mut case.sections[index];
    if passes > 1 && section.passes == 1 && section.turn.length == 0.0 {
        return Err(SpeedError::NoTurn { section: section.name.clone() });
    }
    section.passes = passes.max(1);
    at_the_die(&mut case);
    Ok(case)
}

/// The fastest line speed at which every limit and every ceiling of the plant is met.
///
/// # Errors
///
/// No limit and no ceiling; none is reached; no speed meets all; a case on the way has no answer.
///
/// ```
/// let text = quenchway::file::EXAMPLE;
/// let case = quenchway::file::read(text).unwrap();
/// let speeds = quenchway::study::speed::top_speed(&case).unwrap();
/// // The core decides: 61.9 degC at the 150 m/min of the case, 60 degC are allowed.
/// assert_eq!(speeds.ceilings[0].ceiling.name, "capstan.core");
/// assert!(speeds.top > 120.0 / 60.0 && speeds.top < 150.0 / 60.0);
/// assert!(speeds.solution.stations[2].point.core <= 60.0);
/// ```
pub fn top_speed(case: &CaseFile) -> Result<Speeds, SpeedError> {
    search(case, Asked::default())
}

/// The same as it is printed, and with the speeds that the ends of the inputs' uncertainty allow, where that is asked for.
///
/// # Errors
///
/// As [`top_speed`].
///
/// ```
/// use quenchway::study::search::confirm::Asked;
/// use quenchway::study::speed::{top_speed_as, with_speed};
/// use quenchway::units::System;
/// let case = quenchway::file::read(quenchway::file::EXAMPLE).unwrap();
/// let found = top_speed_as(&case, Asked { print: Some(System::Si), ..Asked::default() }).unwrap();
/// assert_eq!(found.printed.clone().unwrap().to_string(), "144 m/min");
/// assert!(found.case.line_speed <= found.top && found.solution.stations[2].limits.iter().all(|limit| limit.met));
/// ```
pub fn top_speed_as(case: &CaseFile, asked: Asked) -> Result<Speeds, SpeedError> {
    search(case, asked)
}

/// The shortest trough at each of several line speeds, side by side.
pub fn over_speeds(case: &CaseFile, speeds: &[f64], asked: Asked) -> Lengths {
    let answer = |&speed: &f64| needed_as(&with_speed(case, speed), asked);
    Lengths { speeds: speeds.to_vec(), answers: each(speeds, answer) }
}

/// The fastest speed with each of several numbers of passes, side by side.
///
/// # Errors
///
/// As [`top_speed`] and [`with_passes`], each at its number of passes.
pub fn over_passes(case: &CaseFile, passes: &[usize], asked: Asked) -> Vec<Result<Speeds, SpeedError>> {
    each(passes, |&passes| search(&with_passes(case, passes)?, asked))
}
