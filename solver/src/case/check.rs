//! Whether a march can start from a case.

use super::error::Error;
use super::preheat::HIGHEST;
use super::shrink::{self, Radii};
use super::{Case, DieTemperature, Shape};
use crate::units::{Dimension, System, show};

/// Sizes of a case, or the layer that has no wall.
pub(crate) fn checked_radii(case: &Case) -> Result<Radii, Error> {
    let bad = |place: String, reason: &str| Error::Unphysical { place, reason: reason.to_string() };
    if case.layers.is_empty() || case.sections.is_empty() {
        return Err(bad("case".into(), "needs at least one layer and one section"));
    }
    if !(case.line_speed > 0.0 && case.line_speed.is_finite()) {
        return Err(bad("line.speed".into(), "must be a positive speed"));
    }
    if !(case.tolerance > 0.0 && case.tolerance.is_finite()) {
        return Err(bad("solver.tolerance".into(), "must be a positive temperature difference"));
    }
    for section in &case.sections {
        if case.shape == Shape::Flat && !section.wetting.pattern.is_even() {
            return Err(bad(
                format!("section {:?}", section.name),
                "a flat product has no circumference to wet in part",
            ));
        }
        if !(section.length > 0.0 && section.length.is_finite()) {
            return Err(bad(format!("section {:?}", section.name), "its length must be positive"));
        }
    }
    let length = case.line_length();
    for station in &case.stations {
        let inside = station.after < case.sections.len()
            && (-1e-9..=length * (1.0 + 1e-9)).contains(&case.station_distance(station));
        if !inside {
            return Err(bad(format!("station {:?}", station.name), "lies off the line"));
        }
    }
    let first = &case.layers[0];
    preheat(case).map_err(|reason| bad(format!("layer {:?}", first.name), &reason))?;
    shrink::radii(case).map_err(|index| {
        bad(format!("layer {:?}", case.layers[index].name), "has no wall: it must be larger than the layer inside it")
    })
}

/// Whether the preheater of a case, where it has one, gives a temperature that can be meant; what is wrong if not.
///
/// # Errors
///
/// What is wrong, in words: a flat product has no width to heat; a temperature above [`preheat::HIGHEST`](HIGHEST).
pub fn preheat(case: &Case) -> Result<(), String> {
    let Some(layer) = case.layers.first() else { return Ok(()) };
    let DieTemperature::Preheated(preheat) = &layer.temperature else { return Ok(()) };
    if case.shape == Shape::Flat {
        return Err("a flat product has no width, so a power gives it no temperature".to_string());
    }
    let reached = case.die_temperature(0);
    if reached <= HIGHEST {
        return Ok(());
    }
    let shown = |value: f64, dimension: Dimension| {
        let (value, unit) = show(value, dimension, System::Si);
        // Five digits at most, without the zeros that rounding leaves.
        let value = format!("{value:.4e}").parse().unwrap_or(value);
        format!("{value} {unit}")
    };
    Err(format!(
        "{} would heat it from {} to {:.0} degC at {}, {:.0} degC are the most that is possible here",
        shown(preheat.power, Dimension::Power),
        shown(preheat.entry_temperature.0, Dimension::Temperature),
        reached.0,
        shown(case.line_speed, Dimension::Speed),
        HIGHEST.0
    ))
}
