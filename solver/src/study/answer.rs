//! Everything that `quenchway run` answers.

use super::band::add_band;
use super::cooling::add_cooling;
use crate::case::CaseFile;
use crate::case::error::Error;
use crate::march::march;
use crate::march::solution::Solution;

/// The march of a case, and what limits its cooling; with `band` what the uncertainty of the inputs does to both.
///
/// ```
/// let case = quenchway::read(quenchway::file::EXAMPLE).map_err(|problems| problems[0].message.clone())?;
/// let solution = quenchway::study::answer::answered(&case, true)?;
/// let core = solution.band.iter().find(|band| band.station == "capstan" && band.quantity == "core").ok_or("no band")?;
/// assert!(core.low < 60.0 && core.high > 60.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
///
/// As [`march`](march()).
pub fn answered(case: &CaseFile, band: bool) -> Result<Solution, Error> {
    let mut solution = march(case)?;
    add_cooling(case, &mut solution, band);
    if band {
        add_band(case, &mut solution)?;
    }
    Ok(solution)
}
