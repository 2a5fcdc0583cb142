//! The trough that a length question varies: which sections it is, how they share a length, whole modules.

use super::LengthError;
use crate::case::CaseFile;
use crate::units::{Dimension, System, Toward, printed};

/// Shortest and longest section that a case may have, m.
pub(crate) const BOUNDS: [f64; 2] = [1e-3, 1e4];

/// Indices of the sections that may grow: those that the case names, or its only section with water.
///
/// # Errors
///
/// The case names none and has no section with water, or several.
pub fn sections(case: &CaseFile) -> Result<Vec<usize>, LengthError> {
    if !case.plant.adjustable.is_empty() {
        return Ok(case.plant.adjustable.clone());
    }
    let wet = case.sections.iter().enumerate().filter(|(_, section)| section.medium.is_water());
    let wet: Vec<usize> = wet.map(|(index, _)| index).collect();
    match wet.len() {
        1 => Ok(wet),
        _ => {
            let known = if wet.is_empty() { (0..case.sections.len()).collect() } else { wet };
            Err(LengthError::NothingGrows {
                known: known.into_iter().map(|index| case.sections[index].name.clone()).collect(),
            })
        }
    }
}

/// Length of the trough, m: all sections that may grow, one pass of each.
///
/// # Errors
///
/// As [`sections`].
///
/// ```
/// use quenchway::study::length::{trough_length, with_length};
/// let text = quenchway::file::EXAMPLE;
/// let case = quenchway::file::read(text).unwrap();
/// assert_eq!(trough_length(&case).unwrap(), 18.0);
/// assert_eq!(with_length(&case, 24.0).unwrap().sections[1].length, 24.0);
/// ```
pub fn trough_length(case: &CaseFile) -> Result<f64, LengthError> {
    Ok(sections(case)?.into_iter().map(|index| case.sections[index].length).sum())
}

/// The case with a trough of this length, m, shared by its sections in proportion to the lengths that they have.
///
/// Stations keep their distance from the end of their section. Whether the case can still be marched is not looked at.
///
/// # Errors
///
/// As [`sections`].
pub fn with_length(case: &CaseFile, length: f64) -> Result<CaseFile, LengthError> {
    let growing = sections(case)?;
    Ok(scaled(case, &growing, length))
}

/// As [`with_length`], with the sections known.
pub(crate) fn scaled(case: &CaseFile, growing: &[usize], length: f64) -> CaseFile {
    let given: f64 = growing.iter().map(|&index| case.sections[index].length).sum();
    let mut case = case.clone();
    for &index in growing {
        // The only one that grows becomes as long as that, to the last bit.
        case.sections[index].length = length * (case.sections[index].length / given);
    }
    at_the_die(&mut case);
    case
}

/// Puts stations without limits that would stand before the die at the die: they are no part of the question.
pub(crate) fn at_the_die(case: &mut CaseFile) {
    for index in 0..case.stations.len() {
        let station = &case.stations[index];
        if station.limits.is_empty() && case.station_distance(station) < 0.0 {
            case.stations[index].offset = -case.section_start(station.after + 1);
        }
    }
}

/// Names of stations that a trough leaves no place for: they are reported at the die.
pub fn displaced<'a>(case: &'a CaseFile, built: &CaseFile) -> Vec<&'a str> {
    let stations = case.stations.iter().zip(&built.stations);
    stations.filter(|(given, built)| given.offset != built.offset).map(|(given, _)| given.name.as_str()).collect()
}

/// Shortest and longest trough whose sections the case file allows and with which every limited station stands on the line, m.
pub(crate) fn bounds(case: &CaseFile, growing: &[usize]) -> [f64; 2] {
    let lengths = || growing.iter().map(|&index| case.sections[index].length);
    let given: f64 = lengths().sum();
    let shortest = lengths().fold(f64::INFINITY, f64::min);
    let longest = lengths().fold(0.0, f64::max);
    let twice = scaled(case, growing, 2.0 * given);
    // A station moves in proportion to the growth: `place` and `twice` are two points of a straight line.
    let limited = case.stations.iter().filter(|station| !station.limits.is_empty());
    let at_the_die = limited.map(|station| {
        let (place, moved) = (case.station_distance(station), twice.station_distance(station));
        if moved > place { given * (1.0 - place / (moved - place)) } else { 0.0 }
    });
    let lowest = at_the_die.fold(given * BOUNDS[0] / shortest, f64::max);
    [lowest.min(given), given * BOUNDS[1] / longest]
}

/// The longest trough that the hall of the plant holds, m, of whole modules where the plant has them; none without a hall, or
/// where none fits.
///
/// ```
/// use quenchway::study::length::longest_in_hall;
/// let mut case = quenchway::file::read(quenchway::file::EXAMPLE).unwrap();
/// assert_eq!(longest_in_hall(&case), None);
/// // A hall of 60 m, 1.9 m of the line in air, modules of 3 m.
/// (case.plant.hall_max, case.plant.module) = (Some(60.0), Some(3.0));
/// assert_eq!(longest_in_hall(&case), Some(57.0));
/// ```
pub fn longest_in_hall(case: &CaseFile) -> Option<f64> {
    let (hall, growing) = (case.plant.hall_max?, sections(case).ok()?);
    let given: f64 = growing.iter().map(|&index| case.sections[index].length).sum();
    // The floor grows by as many metres as one pass of the trough.
    let length = given + hall - case.floor_length();
    let Some(module) = case.plant.module else { return Some(length).filter(|&length| length > 0.0) };
    let share = |index: usize| case.sections[index].length * length / given;
    let whole = |index: usize| module * (share(index) / module + 1e-6).floor();
    let lengths: Vec<f64> = growing.iter().map(|&index| whole(index)).collect();
    lengths.iter().all(|&length| length > 0.0).then(|| lengths.iter().sum())
}

/// The case with every section of the trough lengthened to whole modules where the plant has them, or else to a length as it is
/// printed; `more` modules or last digits beyond. As it is where there are neither.
pub(crate) fn lengthened(case: &CaseFile, growing: &[usize], print: Option<System>, more: usize) -> CaseFile {
    let mut case = case.clone();
    let module = case.plant.module;
    for &index in growing {
        let length = &mut case.sections[index].length;
        *length = match (module, print) {
            // A millionth of a module over a whole number of them is that number, but for rounding.
            (Some(module), _) => module * ((*length / module - 1e-6).ceil().max(1.0) + more as f64),
            (None, Some(system)) => printed(*length, Dimension::Length, system, Toward::More, more).si,
            (None, None) => *length,
        };
    }
    case
}
