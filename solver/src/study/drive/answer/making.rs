//! How an answer is made: the programme of a case as a drive, its metres marched, and the field of a picture.

use super::band::{Deciding, deciding};
use super::judged::Judged;
use super::posed::{Posed, programme_of, sizes};
use super::{Answer, DriveError, MOST_ROWS, ROWS, StationOverTime};
use crate::case::{Case, CaseFile, Quantity, Station};
use crate::line::programme::Motions;
use crate::study::drive::{Driven, Measure, Method, Programme, load, tank};

/// Drives a case file; `every` is the step of the rows over clock time, s; `band` asks how far doubtful inputs move the metre that
/// decides.
///
/// `watch` is told how many metres are wanted by now.
///
/// # Errors
///
/// Nothing changes in the programme; a metre has no answer.
pub fn answer(
    case: &CaseFile,
    every: Option<f64>,
    band: bool,
    watch: &(dyn Fn(usize) + Sync),
) -> Result<Answer, DriveError> {
    if case.programme.is_empty() {
        return Err(DriveError::NothingChanges);
    }
    let posed = Posed::new(case, true, watch)?;
    let step = every.unwrap_or(posed.motions.ends / ROWS as f64);
    let count = posed.motions.ends / step;
    if count.is_nan() || count >= MOST_ROWS as f64 {
        return Err(DriveError::TooManyRows(count as usize));
    }
    let driven = posed.drive(posed.case.tolerance, Method::default(), watch)?;
    let mut found = posed.build(&driven).answer(step);
    found.water = posed.told(watch)?;
    (found.waters, found.numerics.waves) = (posed.waters.clone(), posed.waves);
    if band {
        found.band = of_deciding(&posed, &driven, &found.stations).into_iter().collect();
    }
    Ok(found)
}

/// How far the doubtful inputs of a case move the metre that decides in its programme; none without a limit.
///
/// # Errors
///
/// As of [`judged`].
pub(in crate::study) fn swayed(case: &CaseFile) -> Result<Option<Deciding>, DriveError> {
    let posed = Posed::new(case, false, &|_| {})?;
    let driven = posed.drive(posed.case.tolerance, Method::default(), &|_| {})?;
    let judged = posed.build(&driven).judged(false);
    Ok(of_deciding(&posed, &driven, &judged.stations))
}

fn of_deciding(posed: &Posed, driven: &Driven, stations: &[StationOverTime]) -> Option<Deciding> {
    let Posed { case, motions, extruders, sizes, .. } = posed;
    let programme = programme_of(case, motions, sizes, posed.waters.as_ref());
    deciding(case, programme, extruders, driven, stations)
}

/// What of a case is out of limits over its programme, without what is told beside; its motions; the temperatures' stated error, K.
///
/// A programme in which nothing changes is the steady line. With `care` the march is checked by a tighter one; without it states
/// what it aims at.
///
/// # Errors
///
/// A metre has no answer; a change of reel comes before the last one has recovered.
pub(in crate::study) fn judged(
    case: &CaseFile,
    care: bool,
    watch: &(dyn Fn(usize) + Sync),
) -> Result<(Judged, Motions, f64), DriveError> {
    let posed = Posed::new(case, care, watch)?;
    let driven = posed.drive(posed.case.tolerance, Method::of_verdict(care), watch)?;
    let judged = posed.build(&driven).judged(false);
    Ok((judged, posed.motions, driven.error))
}

/// Temperatures over clock time and distance, for pictures: no stated error; not a number where there is no product.
#[derive(Clone, Debug)]
pub struct OverPlaces {
    /// s.
    pub time: Vec<f64>,
    /// From the die, m.
    pub distance: Vec<f64>,
    /// Surface, degC, the distances of a time side by side.
    pub surface: Vec<f64>,
    /// Core.
    pub core: Vec<f64>,
}

/// The temperatures of a drive over the times of its rows and places along the line, closer behind the entry of each section.
///
/// # Errors
///
/// As of [`answer`].
pub fn over_places(case: &CaseFile, found: &Answer) -> Result<OverPlaces, DriveError> {
    const PLACES: usize = 60;
    let length = case.line_length();
    let mut distance: Vec<f64> = (0..=PLACES).map(|place| length * place as f64 / PLACES as f64).collect();
    for index in 0..case.sections.len() {
        let (start, span) = (case.section_start(index), case.sections[index].span());
        distance.extend([0.0, 0.02, 0.1, 0.3].map(|share| start + share * span));
    }
    distance.retain(|place| (0.0..=length).contains(place));
    distance.sort_by(f64::total_cmp);
    distance.dedup_by(|b, a| *b - *a < 1e-6 * length);
    let last = case.sections.len() - 1;
    let at = |place: &f64| Station { offset: (place - length).min(0.0), ..Station::behind(format!("{place} m"), last) };
    let stations = distance.iter().map(at).collect();
    let at_places = CaseFile { case: Case { stations, ..case.case.clone() }, ..case.clone() };
    // A shade of the picture.
    const TOLERANCE: f64 = 0.5;
    let method = Method { once: true, checked: false, ..Method::default() };
    let driven = seen_again(&at_places, found)?.drive(TOLERANCE, method, &|_| {})?;
    let (mut surface, mut core) = (Vec::new(), Vec::new());
    for &time in &found.rows.time {
        for place in 0..distance.len() {
            let seen = driven.seen(place, time);
            let of = |quantity| seen.as_ref().map_or(f64::NAN, |(_, sight)| sight.of(Measure::Temperature(quantity)));
            surface.push(of(Quantity::Surface));
            core.push(of(Quantity::Core));
        }
    }
    Ok(OverPlaces { time: found.rows.time.clone(), distance, surface, core })
}

/// A case as it was driven: in the water that was found.
fn seen_again(case: &CaseFile, found: &Answer) -> Result<Posed, DriveError> {
    Ok(Posed {
        sizes: sizes(case)?,
        case: tank::held(case),
        motions: found.motions.clone(),
        extruders: found.extruders.clone(),
        tanks: Vec::new(),
        before: Vec::new(),
        waters: found.waters.clone(),
        loads: Vec::new(),
        waves: 0,
        error: 0.0,
    })
}

/// Heat that each section takes at the moments of the rows, W, for pictures and results files: to some percent.
///
/// # Errors
///
/// As of [`answer`].
pub fn heat_over_time(case: &CaseFile, found: &Answer) -> Result<Vec<Vec<f64>>, DriveError> {
    const TOLERANCE: f64 = 0.5;
    let posed = seen_again(case, found)?;
    let of_section = |section: usize| {
        posed.with_programme(|programme| {
            let programme = Programme { tolerance: TOLERANCE, ..*programme };
            load::heat(&programme, section, &found.rows.time, (f64::INFINITY, false))
        })
    };
    (0..case.sections.len()).map(|section| of_section(section).map_err(DriveError::March)).collect()
}
