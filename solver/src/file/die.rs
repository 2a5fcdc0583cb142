//! The temperature of a layer at the die: given, following the line speed, or by the power of a preheater.

use toml::de::DeValue;

use super::entry::Written;
use super::problem::Problems;
use super::table::Table;
use crate::case::check;
use crate::case::preheat::Preheat;
use crate::case::warning::Warning;
use crate::case::{CaseFile, DieTemperature, Shape};
use crate::material::Kind;
use crate::names::keys::{self, Place};
use crate::units::Celsius;
use crate::units::words::listed;

/// Die temperature of a metal layer whose temperature is not given, degC.
const ROOM: f64 = 25.0;
/// What stands beside a preheater's power.
const BESIDE: [&str; 2] = ["entry_temperature", "efficiency"];

/// What the die temperature depends on besides its own keys.
pub(super) struct Of<'a> {
    pub(super) kind: Option<Kind>,
    pub(super) name: &'a str,
    pub(super) first: bool,
}

pub(super) fn read(
    table: &Table<'_>,
    of: &Of<'_>,
    assumptions: &mut Vec<Warning>,
    problems: &mut Problems,
) -> Option<DieTemperature> {
    if table.has("preheat_power") {
        return read_preheat(table, of, problems);
    }
    if let Some(entry) = BESIDE.iter().find_map(|name| table.get(name)) {
        let message = format!("{} belongs to a preheater, and there is no preheat_power", entry.key.name);
        entry.wrong(
            problems,
            message,
            "without a preheater",
            "preheat_power = \"2 kW\" beside it, or temperature alone",
        );
        return None;
    }
    let Some(entry) = table.get("temperature") else {
        return match of.kind {
            Some(Kind::Metal) if !table.has("temperature") => {
                assumptions.push(Warning::PreheatAssumed { layer: of.name.to_string(), temperature: ROOM });
                Some(DieTemperature::Fixed(Celsius(ROOM)))
            }
            Some(Kind::Plastic) => {
                table.need("temperature", problems);
                None
            }
            _ => None,
        };
    };
    match entry.value.get_ref() {
        DeValue::Table(_) => {
            let table = Table::open(entry.value, Place::SpeedTable, entry.path, problems)?;
            let points = table.need("speed", problems)?;
            let keys::Kind::Points(x, y) = points.key.kind else { return None };
            points.points(x, y, problems).map(DieTemperature::OfSpeed)
        }
        _ => entry.value(problems).map(|value| DieTemperature::Fixed(Celsius(value))),
    }
}

/// A preheater: only in front of the conductor, and instead of a temperature.
fn read_preheat(table: &Table<'_>, of: &Of<'_>, problems: &mut Problems) -> Option<DieTemperature> {
    let power = table.get("preheat_power");
    let mut allowed = true;
    if let Some(entry) = &power {
        let refusal = if table.has("core") {
            Some("laid-up cores are insulated, no preheater reaches their conductors")
        } else if !of.first {
            Some("a preheater stands in front of the die and heats the first layer only")
        } else if of.kind == Some(Kind::Plastic) {
            Some("a preheater heats a conductor, and this layer is a plastic")
        } else {
            None
        };
        if let Some(message) = refusal {
            let example = if of.kind == Some(Kind::Plastic) { "188 degC" } else { "25 degC" };
            let help = format!("temperature = \"{example}\": the temperature at the die");
            entry.wrong(problems, message, "no preheater here", help);
            allowed = false;
        }
        if let Some(second) = table.get("temperature") {
            let message = "temperature and preheat_power are both given, one follows from the other";
            let help = format!("keep temperature, or preheat_power with {}", listed(BESIDE, "and"));
            second.wrong(problems, message, "a second temperature", help);
            allowed = false;
        }
    }
    let power = power.and_then(|entry| entry.value(problems));
    let entry_temperature = table.need("entry_temperature", problems).and_then(|entry| entry.value(problems));
    let efficiency = table.need("efficiency", problems).and_then(|entry| entry.number(problems));
    let preheat = Preheat { power: power?, entry_temperature: Celsius(entry_temperature?), efficiency: efficiency? };
    allowed.then_some(DieTemperature::Preheated(preheat))
}

/// Notes a preheater that heats too much at the case's line speed.
pub(super) fn check(case: &CaseFile, written: Option<&Written>, problems: &mut Problems) {
    if let (Err(reason), Some(written)) = (check::preheat(case), written) {
        let (label, help) = match case.shape {
            Shape::Flat => ("flat product", "temperature = \"90 degC\" instead: the temperature at the die"),
            Shape::Round => {
                ("too much", "less power, a lower efficiency, a faster line, or temperature = \"90 degC\" instead")
            }
        };
        problems.add(&written.span, &written.path, reason, label, help);
    }
}
