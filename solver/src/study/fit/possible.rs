//! What a thermometer on the product can read at all: between the coldest and the hottest that the product met before.

use crate::case::CaseFile;
use crate::march::output::Output;

/// A reading outside by more than so many of its standard uncertainties is none of this product.
pub const TOO_FAR: f64 = 4.0;

/// Lowest and highest temperature, degC, that the die and the media allow where an output is measured, each with what has it:
/// a section or a layer. None of an output that is no temperature of the product.
///
/// ```
/// # let text = "line.speed = \"150 m/min\"\n[[layer]]\nname = \"wire\"\nmaterial = \"copper\"\ndiameter = \"2 mm\"\n\
/// # temperature = \"90 degC\"\n[[section]]\nname = \"trough\"\nmedium = \"water\"\nlength = \"5 m\"\n\
/// # temperature = \"20 degC\"\n[[station]]\nname = \"gauge\"\nafter = \"trough\"";
/// use quenchway::study::fit::possible;
/// use quenchway::march::output::Output;
/// let case = quenchway::file::read(text).unwrap();
/// let [low, high] = possible(&case, &Output::find(&case, "gauge.surface").unwrap()).unwrap();
/// assert_eq!((low.0, low.1.as_str(), high.0), (20.0, "section.trough", 90.0));
/// assert!(possible(&case, &Output::find(&case, "trough.heat").unwrap()).is_none());
/// ```
pub fn possible(case: &CaseFile, output: &Output) -> Option<[(f64, String); 2]> {
    let station = case.stations.get(output.temperature_at()?)?;
    let last = case.station_place(station).0;
    let layers = case.layers.iter().enumerate().map(|(index, layer)| {
        let place = format!("layer.{}", crate::units::words::key(&layer.name));
        (case.die_temperature(index).0, place)
    });
    let sections = case.sections.iter().enumerate().take(last + 1).flat_map(|(index, section)| {
        // A section that is fed by another has that one's water.
        let medium = case.sections[case.water_head(index)].temperature.0;
        let place = format!("section.{}", crate::units::words::key(&section.name));
        let turn = (section.passes > 1).then_some(section.turn.temperature.0);
        std::iter::once(medium).chain(turn).map(move |temperature| (temperature, place.clone()))
    });
    let met: Vec<(f64, String)> = layers.chain(sections).collect();
    let lowest = met.iter().min_by(|a, b| a.0.total_cmp(&b.0))?.clone();
    let highest = met.iter().max_by(|a, b| a.0.total_cmp(&b.0))?.clone();
    Some([lowest, highest])
}
