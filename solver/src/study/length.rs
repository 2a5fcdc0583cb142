//! How long must the trough be? The shortest one that meets every limit at every station, at the line speed of the case.
//!
//! The needed length is the one from which on all limits hold: a temperature behind a trough need not fall with its length
//! (a cold conductor first warms), so the length is scanned on a grid of factors sqrt(2) from a trough too short to one that
//! cools no further, and for each limit the last crossing is enclosed and refined. What is found by the rule is marched again
//! with care and confirmed. Sections that may grow share the growth in proportion to their lengths.

mod error;

use super::ceilings::{Ceiling, limits, of_plant};
use super::design::Range;
use super::growing::{Confirmed, Growing, longest};
use super::trough::{growing, on_modules, scaled};
use crate::case::Case;
use crate::error::Error;
use crate::march::march;
use crate::solution::Solution;

pub use error::LengthError;

pub use super::trough::{displaced, growing as growing_sections, longest_in_hall, trough_length, with_length};

/// Modules added where whole ones do not meet the limits.
const MORE_MODULES: usize = 20;

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
    /// Index of the limit that decides; none where the shortest trough that was looked at meets all.
    pub deciding: Option<usize>,
    /// What each limit alone needs, in the order of the case.
    pub limits: Vec<LimitNeed>,
    /// The trough as it is built.
    pub built: Built,
    /// How far the uncertainty of the inputs moves the length, where it was asked for.
    pub range: Option<Range>,
    /// How many cases were solved, without those of `range`.
    pub solves: usize,
}

/// A trough of whole modules, carefully marched.
#[derive(Clone, Debug)]
pub struct Built {
    /// Length of each section that grows, m, in the order of `sections`.
    pub lengths: Vec<f64>,
    /// Their sum, m.
    pub trough: f64,
    /// The case with them.
    pub case: Case,
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
    /// The value that the longest trough leaves, degC.
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
    /// What the plant allows and this trough exceeds.
    pub fn over(&self) -> Vec<&(Ceiling, f64)> {
        self.plant.iter().filter(|(ceiling, value)| *value > ceiling.max).collect()
    }
}

/// The shortest trough that meets every limit of a case at its line speed.
///
/// Errors: nothing may grow, no limit, no length meets them, the plant does not allow the length, a case on the way has no
/// answer.
///
/// ```
/// let text = include_str!("../../../cases/house-wire.toml");
/// let case = quenchway::input::read(text).unwrap();
/// let needed = quenchway::study::length::needed(&case).unwrap();
/// // At 150 m/min the core decides: 63.8 degC behind 18 m, 60 degC are allowed.
/// assert_eq!(needed.limits[needed.deciding.unwrap()].ceiling.name, "capstan.core");
/// assert!(needed.length > 18.0 && needed.length < 24.0);
/// assert!(needed.built.solution.stations[2].point.core <= 60.0);
/// ```
pub fn needed(case: &Case) -> Result<Needed, LengthError> {
    search(case, false)
}

/// The same with the lengths that the ends of the inputs' uncertainty need: some hundred solves more.
///
/// The unfavourable end is the length from which on every limit holds with the half width of its band to spare, the band taken
/// at that length; the favourable end the same with the other half width added to the limit. Errors as [`needed`].
pub fn needed_with_range(case: &Case) -> Result<Needed, LengthError> {
    search(case, true)
}

fn search(case: &Case, with_range: bool) -> Result<Needed, LengthError> {
    let (sections, limits) = asked(case)?;
    let mut search = Growing::new(case, &sections, &limits);
    search.explore(sections.iter().map(|&index| case.sections[index].length).sum())?;
    let ranged = |mut needed: Needed, search: &mut Growing<'_>| {
        if with_range {
            needed.range = Some(search.range(needed.length)?);
        }
        Ok(needed)
    };
    match found(case, &sections, &mut search) {
        Ok(needed) => ranged(needed, &mut search),
        Err(LengthError::OverCeiling(needed)) => Err(LengthError::OverCeiling(Box::new(ranged(*needed, &mut search)?))),
        Err(error) => Err(error),
    }
}

/// The same where a neighbouring case needs `guess` m: fewer solves, for maps and tables.
///
/// Only a neighbourhood of the guess and some much longer troughs are looked at, and the whole range where that does not tell:
/// what a limit that does not decide needs may then read 0. Errors as [`needed`].
pub fn needed_near(case: &Case, guess: f64) -> Result<Needed, LengthError> {
    let (sections, limits) = asked(case)?;
    let mut search = Growing::new(case, &sections, &limits);
    if !(guess > 0.0 && guess.is_finite() && search.explore_near(guess)) {
        return needed(case);
    }
    found(case, &sections, &mut search)
}

/// The sections that grow, and the limits.
fn asked(case: &Case) -> Result<(Vec<usize>, Vec<Ceiling>), LengthError> {
    let sections = growing(case)?;
    let limits = limits(case);
    if limits.is_empty() { Err(LengthError::NoLimits) } else { Ok((sections, limits)) }
}

/// The answer of a search that has looked far enough.
fn found(case: &Case, sections: &[usize], search: &mut Growing<'_>) -> Result<Needed, LengthError> {
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
    let built = build(case, sections, length, solution)?;
    let given = sections.iter().map(|&index| case.sections[index].length).sum();
    let sections = sections.to_vec();
    let speed = case.line_speed;
    let needed =
        Needed { speed, sections, given, length, deciding, limits, built, range: None, solves: search.solves() };
    if needed.built.over().is_empty() { Ok(needed) } else { Err(LengthError::OverCeiling(Box::new(needed))) }
}

/// The trough of whole modules that is no shorter than `length`, with its solution; `solution` is that of `length`.
fn build(case: &Case, sections: &[usize], length: f64, solution: Solution) -> Result<Built, LengthError> {
    let bare = scaled(case, sections, length);
    let temperatures = limits(case);
    let (mut built, mut solution) = (bare.clone(), solution);
    // Rounding up cools more, but for limits that a longer trough violates again: then more modules are tried.
    for more in 0..=MORE_MODULES {
        if case.plant.module.is_some() {
            built = on_modules(&bare, sections, more);
            solution = march(&built).map_err(LengthError::March)?;
        }
        if temperatures.iter().all(|limit| limit.excess(&built, &solution) <= 0.0) {
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
