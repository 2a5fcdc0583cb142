//! How long must the trough be? The shortest one that meets every limit at every station, at the line speed of the case.
//!
//! The needed length is the one from which on all limits hold: a temperature behind a trough need not fall with its length
//! (a cold conductor first warms), so the length is scanned on a grid of factors sqrt(2) from a trough too short to one that
//! cools no further, and for each limit the last crossing is enclosed and refined. What is found by the rule is marched again
//! with care and confirmed. Sections that may grow share the growth in proportion to their lengths.

mod error;
pub(crate) mod search;
#[cfg(test)]
mod tests;
mod told;
pub mod trough;

use super::band::usual::with_low_films;
use super::search::ceilings::{Ceiling, of_plant, of_product};
use super::search::confirm::{Asked, FARTHER, Range};
use crate::case::CaseFile;
use crate::case::error::Error;
use crate::march::march;
use crate::march::solution::Solution;
use crate::units::{Dimension, Printed, System, Toward, printed};
use search::{Confirmed, Growing, longest};
use trough::{lengthened, scaled};

pub use error::LengthError;
pub use told::{Lengths, Told};

pub use trough::{displaced, longest_in_hall, trough_length, with_length};

/// The shortest trough that meets every limit.
#[derive(Clone, Debug)]
pub struct Needed {
    /// Line speed, m/s.
    pub speed: f64,
    /// Indices of the sections that grow.
    pub sections: Vec<usize>,
    /// Length of the trough that the case has, m.
    pub given: f64,
    /// The shortest trough, m: all sections that grow, one pass of each.
    pub length: f64,
    /// The same as it is printed, no shorter, and marched with care too; where that was asked for.
    pub printed: Option<Printed>,
    /// Index of the limit that decides; none where the shortest trough that was looked at meets all.
    pub deciding: Option<usize>,
    /// What each limit alone needs, in the order of the case.
    pub limits: Vec<LimitNeed>,
    /// The trough as it is built.
    pub built: Built,
    /// How far the uncertainty of the inputs moves the length, where it was asked for.
    pub range: Option<Range>,
    /// What the limits need where the films in water are at the low end of the band of their law; none where that was not asked
    /// for, or no film is so.
    pub low_film: Option<LowFilm>,
    /// How many cases were solved, without those of `range`.
    pub solves: usize,
}

/// What is needed where the films in water are at the low end of the band of their law.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LowFilm {
    /// The shortest trough that meets every limit then, m; none where no length does.
    pub length: Option<f64>,
}

/// A trough of whole modules, or of lengths as they are printed, carefully marched.
#[derive(Clone, Debug)]
pub struct Built {
    /// Length of each section that grows, m, in the order of `sections`.
    pub lengths: Vec<f64>,
    /// Their sum, m.
    pub trough: f64,
    /// The case with them.
    pub case: CaseFile,
    /// Its solution, in which every limit is met.
    pub solution: Solution,
    /// What the plant allows, and what this trough takes of it.
    pub plant: Vec<(Ceiling, f64)>,
}

/// What one limit needs of the trough.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitNeed {
    /// The limit.
    pub ceiling: Ceiling,
    /// Length of the trough from which on it is met, m; 0 where every length does, none where none does.
    pub length: Option<f64>,
    /// Why it is that.
    pub reason: Reason,
    /// The value that the longest trough leaves, SI (temperatures degC).
    pub asymptote: f64,
    /// The shortest trough that was looked at, m.
    pub shortest_seen: f64,
}

/// Why a limit needs what it needs.
#[derive(Clone, Debug, PartialEq)]
pub enum Reason {
    /// It is violated by shorter troughs and met by longer ones.
    Crossing,
    /// It is met by every trough, from the shortest that was looked at.
    Always,
    /// Its value does not change with the length: the station stands before the trough.
    Untouched,
    /// Even a trough that cools no further leaves it violated.
    Asymptote,
    /// It is violated by the longest trough that has an answer.
    Ended(Error),
}

impl Built {
    /// What the plant does not allow of this trough.
    pub fn over(&self) -> Vec<&(Ceiling, f64)> {
        self.plant.iter().filter(|(ceiling, value)| *value > ceiling.max).collect()
    }
}

/// The shortest trough that meets every limit of a case at its line speed.
///
/// # Errors
///
/// Nothing may grow, no limit, no length meets them, the plant does not allow the length, a case on the way has no
/// answer.
///
/// ```
/// let text = quenchway::file::EXAMPLE;
/// let case = quenchway::file::read(text).unwrap();
/// let needed = quenchway::study::length::needed(&case).unwrap();
/// // At 150 m/min the core decides: 61.9 degC behind 18 m, 60 degC are allowed.
/// assert_eq!(needed.limits[needed.deciding.unwrap()].ceiling.name, "capstan.core");
/// assert!(needed.length > 18.0 && needed.length < 24.0);
/// assert!(needed.built.solution.stations[2].point.core <= 60.0);
/// ```
pub fn needed(case: &CaseFile) -> Result<Needed, LengthError> {
    needed_as(case, Asked::default())
}

/// The same as it is printed, and with the lengths that the ends of the inputs' uncertainty need, where that is asked for.
///
/// The unfavourable end is the length from which on every limit holds with the half width of its band to spare, the band taken
/// at that length; the favourable end the same with the other half width added to the limit.
///
/// # Errors
///
/// As [`needed`].
///
/// ```
/// use quenchway::study::search::confirm::Asked;
/// use quenchway::study::length::{needed_as, with_length};
/// use quenchway::units::System;
/// let case = quenchway::file::read(quenchway::file::EXAMPLE).unwrap();
/// let needed = needed_as(&case, Asked { print: Some(System::Si), ..Asked::default() }).unwrap();
/// let printed = needed.printed.unwrap();
/// assert!(printed.si >= needed.length && printed.si < needed.length + 0.01);
/// let solution = quenchway::march::march(&with_length(&case, printed.si).unwrap()).unwrap();
/// assert!(solution.stations[2].limits.iter().all(|limit| limit.met));
/// ```
pub fn needed_as(case: &CaseFile, asked: Asked) -> Result<Needed, LengthError> {
    let (sections, limits) = question(case)?;
    let mut search = Growing::new(case, &sections, &limits);
    search.explore(sections.iter().map(|&index| case.sections[index].length).sum())?;
    let ranged = |mut needed: Needed, search: &mut Growing<'_>| {
        if asked.range {
            needed.range = Some(search.range(needed.length)?);
            needed.low_film = low_film(case, needed.length);
        }
        Ok(needed)
    };
    match found(case, &sections, &mut search, asked.print) {
        Ok(needed) => ranged(needed, &mut search),
        Err(LengthError::OverCeiling(needed)) => Err(LengthError::OverCeiling(Box::new(ranged(*needed, &mut search)?))),
        Err(error) => Err(error),
    }
}

/// The same where a neighbouring case needs `guess` m: fewer solves, for maps and tables.
///
/// Only a neighbourhood of the guess and some much longer troughs are looked at, and the whole range where that does not tell:
/// what a limit that does not decide needs may then read 0.
///
/// # Errors
///
/// As [`needed`].
pub fn needed_near(case: &CaseFile, guess: f64) -> Result<Needed, LengthError> {
    let (sections, limits) = question(case)?;
    let mut search = Growing::new(case, &sections, &limits);
    if !(guess > 0.0 && guess.is_finite() && search.explore_near(guess)) {
        return needed(case);
    }
    found(case, &sections, &mut search, None)
}

/// What the limits need with low films, looked for from `length` m on.
fn low_film(case: &CaseFile, length: f64) -> Option<LowFilm> {
    let low = with_low_films(case)?;
    let length = match needed_near(&low, length) {
        Ok(needed) => Some(needed.length),
        // A plant that does not bear it is told of for the case itself.
        Err(LengthError::OverCeiling(needed)) => Some(needed.length),
        Err(_) => None,
    };
    Some(LowFilm { length })
}

/// The sections that grow, and the limits.
fn question(case: &CaseFile) -> Result<(Vec<usize>, Vec<Ceiling>), LengthError> {
    let sections = trough::sections(case)?;
    let limits = of_product(case);
    if limits.is_empty() { Err(LengthError::NoLimits) } else { Ok((sections, limits)) }
}

/// The answer of a search that has looked far enough.
fn found(
    case: &CaseFile,
    sections: &[usize],
    search: &mut Growing<'_>,
    print: Option<System>,
) -> Result<Needed, LengthError> {
    let Confirmed { needs: limits, at } = search.confirmed()?;
    let Some((length, solution)) = at else {
        let above = |need: &LimitNeed| {
            if need.length.is_none() { need.asymptote - need.ceiling.max } else { f64::NEG_INFINITY }
        };
        let worst = (0..limits.len()).max_by(|&a, &b| above(&limits[a]).total_cmp(&above(&limits[b]))).unwrap_or(0);
        return Err(LengthError::NoLength { worst, limits, far_end: search.far_end(), solves: search.solves() });
    };
    let most = longest(&limits).unwrap_or(0.0);
    let deciding = limits.iter().position(|need| most > 0.0 && need.length == Some(most));
    let printed = print.map(|system| as_printed(case, sections, length, system)).transpose()?;
    // Whole modules are no shorter than the length itself, whatever digits it is printed with.
    let (printed, at, solution) = match printed {
        Some((printed, as_printed)) if case.plant.module.is_none() => (Some(printed.clone()), printed.si, as_printed),
        Some((printed, _)) => (Some(printed), length, solution),
        None => (None, length, solution),
    };
    let built = build(case, sections, at, solution, print)?;
    let given = sections.iter().map(|&index| case.sections[index].length).sum();
    let sections = sections.to_vec();
    let speed = case.line_speed;
    let needed = Needed {
        speed,
        sections,
        given,
        length,
        printed,
        deciding,
        limits,
        built,
        range: None,
        low_film: None,
        solves: search.solves(),
    };
    if needed.built.over().is_empty() { Ok(needed) } else { Err(LengthError::OverCeiling(Box::new(needed))) }
}

/// The shortest trough no shorter than `length` that meets every limit as it is printed, with its solution.
fn as_printed(
    case: &CaseFile,
    sections: &[usize],
    length: f64,
    system: System,
) -> Result<(Printed, Solution), LengthError> {
    let limits = of_product(case);
    for further in 0..=FARTHER {
        let printed = printed(length, Dimension::Length, system, Toward::More, further);
        let trough = scaled(case, sections, printed.si);
        let solution = march(&trough).map_err(LengthError::March)?;
        if limits.iter().all(|limit| limit.excess(&trough, &solution) <= 0.0) {
            return Ok((printed, solution));
        }
    }
    Err(LengthError::Unsteady { length })
}

/// The trough as it is built, no shorter than `length`, with its solution; `solution` is that of `length`.
fn build(
    case: &CaseFile,
    sections: &[usize],
    length: f64,
    solution: Solution,
    print: Option<System>,
) -> Result<Built, LengthError> {
    let bare = scaled(case, sections, length);
    let limits = of_product(case);
    let mut solution = solution;
    // Rounding up cools more, but for limits that a longer trough violates again: then more is tried.
    for more in 0..=FARTHER {
        let built = lengthened(&bare, sections, print, more);
        if more > 0 || sections.iter().any(|&index| built.sections[index].length != bare.sections[index].length) {
            solution = march(&built).map_err(LengthError::March)?;
        }
        if limits.iter().all(|limit| limit.excess(&built, &solution) <= 0.0) {
            let lengths: Vec<f64> = sections.iter().map(|&index| built.sections[index].length).collect();
            let plant = of_plant(case).into_iter().map(|ceiling| {
                let value = ceiling.value(&built, &solution);
                (ceiling, value)
            });
            let plant = plant.collect();
            return Ok(Built { trough: lengths.iter().sum(), lengths, case: built, solution, plant });
        }
    }
    Err(LengthError::Unsteady { length })
}
