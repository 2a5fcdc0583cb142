//! What a case needs before it enters a lane, and which cases do.

use super::bundle::Structure;
use crate::case::{Case, Direction};
use crate::conduction::Slice;
use crate::discretise;
use crate::error::Error;
use crate::line::{Itinerary, Settings};
use crate::march::checked_radii;
use crate::observe::{self, Point};
use crate::shrink::Radii;

/// Slices with more nodes march alone: eight of them would not stay near the processor.
const MOST_NODES: usize = 400;

/// A case ready for a lane.
pub struct Prepared<'a> {
    pub(super) index: usize,
    pub(super) case: &'a Case,
    pub(super) structure: Structure,
    pub(super) slice: Slice,
    pub(super) state: Vec<f64>,
    pub(super) radii: Radii,
    pub(super) itinerary: Itinerary,
    pub(super) settings: Settings,
    /// Enthalpy per radian at the die.
    pub(super) content: f64,
    /// What a station at the die sees.
    pub(super) entering: Option<Point>,
}

impl Prepared<'_> {
    /// What it shares with the cases that can march beside it.
    pub fn structure(&self) -> &Structure {
        &self.structure
    }
}

/// Whether the line's water lets a case march in lanes: water against the product, stirred, or fed from behind needs a
/// root, for which sections are marched again and again.
pub fn fits(case: &Case) -> bool {
    case.sections.iter().enumerate().all(|(index, section)| {
        section.supply.is_none_or(|supply| supply < index)
            && section.circulation.is_none_or(|water| water.direction == Direction::Along)
    })
}

/// Makes a case ready; none where it must march alone. `ratio` is how much tighter than the
/// rule it marches. An error is that of `march_by_rule`.
pub fn prepare<'a>(
    index: usize,
    case: &'a Case,
    ratio: f64,
    fixed_step: Option<f64>,
) -> Result<Option<Box<Prepared<'a>>>, Error> {
    let radii = checked_radii(case)?;
    if !fits(case) {
        return Ok(None);
    }
    let settings = Settings { fixed_step, ..Settings::tightened(case.tolerance, ratio) };
    let itinerary = Itinerary::of(case);
    let (slice, state) = discretise::slice(case, &radii, itinerary.times(case), settings.fineness)?;
    if slice.nodes() > MOST_NODES || slice.links() == 0 {
        return Ok(None);
    }
    let entering = itinerary.starts_at_a_station().then(|| observe::entering(case, &slice, &radii, &state));
    let content = slice.content(&state);
    let structure = Structure::of(&slice);
    let prepared = Prepared { index, case, structure, slice, state, radii, itinerary, settings, content, entering };
    Ok(Some(Box::new(prepared)))
}
