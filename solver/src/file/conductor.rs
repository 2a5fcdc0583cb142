//! The first layer by its conductor, or as a laid-up core: `conductor` and `core`.

use super::Materials;
use super::entry::Entry;
use super::library::find_material;
use super::problem::{Problems, unit_label};
use super::table::Table;
use super::words::shown;
use crate::case::Size;
use crate::case::warning::Warning;
use crate::material::conductor::Conductor;
use crate::material::conductor::core::LaidUp;
use crate::material::conductor::iec::{self, Class};
use crate::material::{Kind, Material};
use crate::names::keys::Place;
use crate::units::words::{listed, quoted};
use crate::units::{self, Celsius, Dimension};

/// Most wires of a conductor.
const MOST_WIRES: usize = 20_000;
/// Wires from a hundredth of a millimetre to ten centimetres, m.
const WIRE: [f64; 2] = [1e-5, 0.1];
/// Shortest lay, in diameters over all: below, the insulated conductors do not fit beside each other.
const SHORTEST_LAY: f64 = 4.0;
/// The forms of a conductor, to paste.
const FORMS: &str = "conductor = \"2.5 mm2 class 1\", \"14 AWG solid\", \"12 AWG 19 strands\" or \"7 x 0.67 mm\"";

/// A first layer that is more than one material.
pub(super) struct Body {
    pub(super) size: Size,
    pub(super) material: Material,
    /// That its conductivity is an estimate.
    pub(super) estimate: Option<Warning>,
}

/// The body of `conductor = "..."`, of a metal.
pub(super) fn read_conductor(
    entry: &Entry<'_>,
    metal: Option<&Material>,
    layer: &str,
    problems: &mut Problems,
) -> Option<Body> {
    let conductor = conductor_of(entry, problems);
    let metal = metal?;
    let (conductor, ()) = (conductor?, check_metal(entry, metal, problems)?);
    let material = conductor.material(metal)?;
    let estimate = match &conductor {
        Conductor::Solid { .. } => None,
        Conductor::Stranded(strand) => Some(estimated(layer, &material, strand.bounds(metal, TYPICAL))),
    };
    Some(Body { size: Size::FinishedDiameter(conductor.diameter()), material, estimate })
}

/// Temperature at which a warning shows a conductivity.
const TYPICAL: Celsius = Celsius(20.0);

fn estimated(layer: &str, material: &Material, bounds: [f64; 2]) -> Warning {
    let conductivity = material.conductivity.at(TYPICAL);
    Warning::ConductivityEstimated { layer: layer.to_string(), conductivity, bounds }
}

/// The body of `core = { ... }`, its conductors of a metal.
pub(super) fn read_core(
    entry: Entry<'_>,
    metal: Option<&Material>,
    layer: &str,
    materials: &Materials,
    problems: &mut Problems,
) -> Option<Body> {
    let metal_fits = metal.and_then(|metal| check_metal(&entry, metal, problems));
    let table = Table::open(entry.value, Place::Core, entry.path, problems)?;
    let cores = table.need("cores", problems).and_then(|entry| whole(&entry, problems));
    let conductor = table.need("conductor", problems).and_then(|entry| {
        let conductor = conductor_of(&entry, problems)?;
        let fits = metal.is_none_or(|metal| metal.kind != Kind::Metal || copper_for_class(&entry, metal, problems));
        fits.then_some(conductor)
    });
    let insulation = table.need("insulation", problems).and_then(|entry| find_material(&entry, materials, problems));
    let diameter_entry = table.need("diameter", problems);
    let diameter = diameter_entry.as_ref().and_then(|entry| entry.value(problems));
    let lay_entry = table.need("lay", problems);
    let lay = lay_entry.as_ref().and_then(|entry| entry.value(problems));
    let filler = match table.get("filler") {
        Some(entry) if entry.value.get_ref().as_str() != Some("air") => {
            find_material(&entry, materials, problems).map(Some)
        }
        _ => Some(None),
    };
    let (conductor, diameter) = (conductor?, diameter?);
    if diameter < conductor.diameter() + 2e-6 {
        let inner = shown(conductor.diameter(), Dimension::Diameter);
        diameter_entry?.wrong(
            problems,
            format!(
                "{} leaves no insulation around the {inner} of the conductor",
                shown(diameter, Dimension::Diameter)
            ),
            format!("more than {inner}"),
            "diameter is that of one conductor over its insulation, lay-up comes by itself",
        );
        return None;
    }
    metal_fits?;
    let (metal, insulation) = (metal?.clone(), insulation?);
    let core = LaidUp { cores: cores?, conductor, metal, insulation, diameter, lay: lay?, filler: filler? };
    let overall = core.overall()?;
    if core.lay < SHORTEST_LAY * overall {
        let least = shown(SHORTEST_LAY * overall, Dimension::Diameter);
        lay_entry?.wrong(
            problems,
            format!(
                "a lay of {} is too short for a core of {} over all",
                shown(core.lay, Dimension::Diameter),
                shown(overall, Dimension::Diameter)
            ),
            format!("at least {least}"),
            "lay is the length of one turn, usually 10 to 30 times the diameter over all",
        );
        return None;
    }
    let material = core.material()?;
    let estimate = estimated(layer, &material, core.bounds(TYPICAL)?);
    Some(Body { size: Size::FinishedDiameter(overall), material, estimate: Some(estimate) })
}

/// A whole number within the key's bounds.
fn whole(entry: &Entry<'_>, problems: &mut Problems) -> Option<usize> {
    let number = entry.number(problems)?;
    if number.fract() != 0.0 {
        entry.wrong(problems, format!("{number} is not a whole number"), "not a whole number", entry.example());
        return None;
    }
    Some(number as usize)
}

/// Notes a material that no conductor is of, or one that the class written here does not know.
fn check_metal(entry: &Entry<'_>, metal: &Material, problems: &mut Problems) -> Option<()> {
    if metal.kind != Kind::Metal {
        entry.wrong(
            problems,
            format!("a conductor is of a metal, and {} is a plastic", quoted(&metal.name)),
            "not of metal",
            "material = \"copper\": the material of such a layer is that of its conductors",
        );
        return None;
    }
    copper_for_class(entry, metal, problems).then_some(())
}

/// Whether the metal is dense enough for copper, where a class is written: the classes' resistances are those of copper.
fn copper_for_class(entry: &Entry<'_>, metal: &Material, problems: &mut Problems) -> bool {
    const LIGHTEST: f64 = 8000.0;
    let classed = entry.value.get_ref().as_str().is_some_and(|text| text.contains("class"));
    let density = metal.density.at(TYPICAL);
    if !classed || density >= LIGHTEST {
        return true;
    }
    entry.wrong(
        problems,
        format!("the classes known here are those of copper, and {} has {density:.0} kg/m3", quoted(&metal.name)),
        "not copper",
        "give number and diameter of the wires: conductor = \"7 x 1.35 mm\"",
    );
    false
}

/// A conductor by its text.
fn conductor_of(entry: &Entry<'_>, problems: &mut Problems) -> Option<Conductor> {
    let text = entry.text(problems)?.trim();
    let words: Vec<&str> = text.split_whitespace().collect();
    if let Some(at) = words.iter().position(|word| *word == "class") {
        return classed(entry, &words[..at].join(" "), &words[at + 1..].join(" "), problems);
    }
    match words[..] {
        [ref size @ .., "solid"] if !size.is_empty() => {
            Some(Conductor::of_area(1, area_of(entry, &size.join(" "), problems)?))
        }
        [ref size @ .., count, "strands" | "strand" | "wires" | "wire"] if !size.is_empty() => {
            let wires = count_of(entry, count, problems)?;
            let area = area_of(entry, &size.join(" "), problems)?;
            checked(entry, wires, Conductor::of_area(wires, area), area, problems)
        }
        _ => match text.split_once(['x', 'X', '\u{d7}', '*']) {
            Some((count, wire)) => {
                let wires = count_of(entry, count.trim(), problems)?;
                let wire = measured(entry, wire.trim(), Dimension::Diameter, problems)?;
                let area = wires as f64 * std::f64::consts::FRAC_PI_4 * wire * wire;
                let area = if wire > 0.0 { area } else { -area };
                checked(entry, wires, Conductor::of_wires(wires, wire), area, problems)
            }
            None => {
                let message = format!("{} is not a conductor: solid, strands or a class are missing", quoted(text));
                entry.wrong(problems, message, "not a conductor", FORMS);
                None
            }
        },
    }
}

/// A conductor of an IEC 60228 class.
fn classed(entry: &Entry<'_>, size: &str, number: &str, problems: &mut Problems) -> Option<Conductor> {
    let Some(class) = Class::of_number(number) else {
        entry.wrong(
            problems,
            format!("{} is no class of IEC 60228 that is known here", quoted(number)),
            "class 1, 2 or 5",
            "class 1 is solid, 2 stranded, 5 flexible; for 6, with still finer wires, write 5",
        );
        return None;
    };
    let nominal = measured(entry, size, Dimension::Area, problems)? * 1e6;
    let found = iec::conductor(nominal, class);
    if found.is_none() {
        entry.wrong(
            problems,
            format!("{} mm2 is no size of class {number} that is known here", (nominal * 1e6).round() / 1e6),
            "no such size",
            format!(
                "known are {} mm2; or give the wires: conductor = \"7 x 0.67 mm\"",
                listed(iec::sizes(class).map(|size| size.to_string()), "and")
            ),
        );
    }
    found
}

/// Sum of the wires' sections by a gauge or an area, m2.
fn area_of(entry: &Entry<'_>, size: &str, problems: &mut Problems) -> Option<f64> {
    let gauge = size.to_ascii_uppercase().contains("AWG");
    let area = if gauge {
        let diameter = measured(entry, size, Dimension::Diameter, problems)?;
        std::f64::consts::FRAC_PI_4 * diameter * diameter
    } else {
        measured(entry, size, Dimension::Area, problems)?
    };
    checked(entry, 1, (), area, problems).map(|()| area)
}

/// Passes on what has wires of possible size.
fn checked<T>(entry: &Entry<'_>, wires: usize, found: T, area: f64, problems: &mut Problems) -> Option<T> {
    let wire = 2.0 * (area / (std::f64::consts::PI * wires as f64)).sqrt();
    if (WIRE[0]..=WIRE[1]).contains(&wire) {
        return Some(found);
    }
    let shown_wire = if wire.is_finite() { shown(wire, Dimension::Diameter) } else { "less than nothing".to_string() };
    let limits = WIRE.map(|limit| shown(limit, Dimension::Diameter));
    entry.wrong(
        problems,
        format!("wires of {shown_wire} are outside what is possible here"),
        "out of range",
        format!("one wire takes {} to {}", limits[0], limits[1]),
    );
    None
}

fn count_of(entry: &Entry<'_>, count: &str, problems: &mut Problems) -> Option<usize> {
    let wires = count.parse::<usize>().ok().filter(|wires| (1..=MOST_WIRES).contains(wires));
    if wires.is_none() {
        entry.wrong(
            problems,
            format!("{} is not a number of wires from 1 to {MOST_WIRES}", quoted(count)),
            "number of wires",
            FORMS,
        );
    }
    wires
}

/// A part of the text with its unit, SI.
fn measured(entry: &Entry<'_>, text: &str, dimension: Dimension, problems: &mut Problems) -> Option<f64> {
    match units::parse(text, dimension) {
        Ok(value) => Some(value),
        Err(error) => {
            let help = format!("{}; for example {FORMS}", error.remedy());
            entry.wrong(problems, error.wrong(), unit_label(&error), help);
            None
        }
    }
}
