//! What a case needs before it marches.

use std::sync::Arc;

use super::clock::Clock;
use super::column::Column;
use super::front;
use super::itinerary::Metre;
use super::waters::Waters;
use super::{Itinerary, Settings};
use crate::case::error::Error;
use crate::case::shrink::Radii;
use crate::case::{Case, Contact, Direction, Section};
use crate::film::surface::Surface;
use crate::film::{Inward, Ring};
use crate::material::Curve;
use crate::slice::Slice;
use crate::slice::build::{self, Times};

/// Slices with more nodes march alone: eight of them would not stay near the processor.
const MOST_NODES: usize = 400;

/// A case ready to march.
#[derive(Debug)]
pub(crate) struct Prepared<'a> {
    pub(crate) case: &'a Case,
    pub(crate) radii: Radii,
    pub(crate) settings: Settings,
    pub(crate) itinerary: Itinerary,
    pub(crate) slice: Slice,
    /// The state at the die.
    pub(crate) start: Vec<f64>,
    /// Whether anybody asks for the means of its sections.
    pub(crate) means: bool,
    /// On a line whose speed changes: which metre of the product it is.
    pub(crate) metre: Option<Metre>,
    /// Water that changes over time; none where every medium is held.
    pub(crate) waters: Option<&'a Waters>,
    /// How it conducts around, and the way from the die to the first water that does not touch all round, m; none without.
    pub(crate) inward: Option<(Inward, f64)>,
    /// What holds in the march of its hot side; none in its own.
    pub(super) column: Option<Column>,
}

impl<'a> Prepared<'a> {
    /// The slice of a case and its way down the line.
    pub(crate) fn new(case: &'a Case, radii: Radii, settings: Settings, means: bool) -> Result<Arc<Self>, Error> {
        let itinerary = Itinerary::of(case);
        let times = itinerary.times(case.line_speed);
        let diameter = 2.0 * radii.hot[case.layers.len() - 1];
        let front = if settings.fineness.alone { f64::INFINITY } else { front::shallowest(case, diameter, &itinerary) };
        let times = Times { earliest: times.earliest.min(settings.sooner), front, ..times };
        let (slice, start) = build::slice(case, &radii, times, settings.fineness)?;
        let inward = inward(case, &radii);
        let (metre, waters, column) = (None, None, None);
        Ok(Arc::new(Prepared { case, radii, settings, itinerary, slice, start, means, metre, waters, inward, column }))
    }

    /// A metre of the product on a line whose speed changes, with sizes of its own on the mesh of the sizes `model`; looked at at
    /// these moments, and followed until the first of `ends` where it never leaves the line, and everywhere until the second.
    ///
    /// Every metre has the same mesh: that of the speed for which the case is, or of the highest that the metre sees where that is
    /// higher, in steps of the root of two.
    pub(crate) fn driven(
        case: &'a Case,
        (clock, waters): (&Clock, Option<&'a Waters>),
        metre: Metre,
        looks: &[f64],
        ends: [f64; 2],
        [radii, model]: [&Radii; 2],
        settings: Settings,
    ) -> Result<Arc<Self>, Error> {
        let itinerary = Itinerary::on(case, clock, metre, looks, ends);
        let span = [metre.length, metre.length + case.line_length()].map(|length| clock.leaves(length, metre.side));
        let faster = clock.highest_speed_within(span[0], span[1]) / case.line_speed;
        let steps = (2.0 * libm::log2(faster)).ceil().max(0.0);
        let speed = if faster > 1.0 { case.line_speed * libm::exp2(0.5 * steps) } else { case.line_speed };
        let (slice, start) = build::slice_like(case, radii, model, itinerary.times(speed), settings.fineness)?;
        let (radii, metre) = (radii.clone(), Some(metre));
        let (means, inward, column) = (false, inward(case, &radii), None);
        Ok(Arc::new(Prepared { case, radii, settings, itinerary, slice, start, means, metre, waters, inward, column }))
    }

    /// Diameter at the die, m.
    pub(crate) fn diameter(&self) -> f64 {
        2.0 * self.radii.hot[self.case.layers.len() - 1]
    }

    /// The surface of a pass through a section whose entry is `start` m from the die.
    pub(super) fn surface(&self, section: &'a Section, start: f64) -> Surface<'a> {
        let case = self.case;
        let surface = section.surface(case.shape, case.line_speed, self.diameter());
        match &self.inward {
            Some((inward, first)) => surface.around(section.wetting, *inward, start - first, self.column.is_some()),
            None => surface,
        }
    }

    /// Whether cases may march beside it.
    pub(crate) fn has_room_beside(&self) -> bool {
        self.slice.nodes() <= MOST_NODES
    }
}

/// How a product conducts around, and the way from the die to the first water that does not touch all round, m; none where
/// water touches it all round everywhere.
///
/// Radii at the die; conductivity and heat capacity of each layer as means between its temperature at the die and that of
/// this water, so that latent heat counts.
fn inward(case: &Case, radii: &Radii) -> Option<(Inward, f64)> {
    let touched = |section: &Section| !section.wetting.pattern.is_even();
    let first = case.sections.iter().position(|section| section.wetting.is_uneven());
    // A product that turns has a mean film, and needs no more than a place where that begins.
    let first = first.or_else(|| case.sections.iter().position(touched))?;
    let water = case.sections[case.water_head(first)].temperature;
    let ring = |(index, layer): (usize, &crate::case::Layer)| {
        let die = case.die_temperature(index);
        let mean = |curve: &Curve| match die.0 - water.0 {
            span if span.abs() < 1.0 => curve.at(die),
            span => curve.integral(water, die) / span,
        };
        let material = &layer.material;
        Ring {
            outer: radii.hot[index],
            conductivity: layer.conductivity_factor * mean(&material.conductivity),
            capacity: material.density.at(die) * layer.heat_capacity_factor * mean(&material.heat_capacity),
            contact: match layer.contact {
                Contact::Conductance(conductance) => Some(conductance),
                Contact::Perfect => None,
            },
        }
    };
    let inward = Inward::of(case.layers.iter().enumerate().map(ring), case.bore / 2.0);
    Some((inward, case.section_start(first)))
}

/// Whether the line's water needs a search, for which sections are marched again and again: water against the product,
/// stirred, or fed from behind.
pub fn is_searched(case: &Case) -> bool {
    case.sections.iter().enumerate().any(|(index, section)| {
        section.supply.is_some_and(|supply| supply > index)
            || section.circulation.is_some_and(|water| water.direction != Direction::Along)
    })
}
