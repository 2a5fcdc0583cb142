//! What the plant allows: `[plant]`.

use super::problem::Problems;
use super::table::ReadSection;
use super::table::Table;
use super::words::kind_of;
use crate::case::Plant;
use crate::names::keys::Place;
use crate::units::Celsius;
use crate::units::words::nearest;
use crate::units::words::{listed, quoted};

/// Reads the plant; one without ceilings where there is no such table.
pub(super) fn read(root: &Table<'_>, sections: Option<&[ReadSection]>, problems: &mut Problems) -> Option<Plant> {
    let Some(entry) = root.get("plant") else { return Some(Plant::default()) };
    let plant = Table::open(entry.value, Place::Plant, entry.path, problems)?;
    let mut value = |name: &str| match plant.get(name) {
        Some(entry) => entry.value(problems).map(Some),
        None => Some(None),
    };
    let (compound_max, chiller_max, water_out_max) =
        (value("compound_max"), value("chiller_max"), value("water_out_max"));
    let (hall_max, ramp_max, module) = (value("hall_max"), value("ramp_max"), value("module"));
    let adjustable = adjustable(&plant, sections, problems);
    Some(Plant {
        compound_max: compound_max?,
        chiller_max: chiller_max?,
        water_out_max: water_out_max?.map(Celsius),
        hall_max: hall_max?,
        ramp_max: ramp_max?,
        module: module?,
        adjustable: adjustable?,
    })
}

/// Indices of the sections that may grow, each once.
fn adjustable(plant: &Table<'_>, sections: Option<&[ReadSection]>, problems: &mut Problems) -> Option<Vec<usize>> {
    let Some(entry) = plant.get("adjustable") else { return Some(Vec::new()) };
    let names: Vec<Option<&str>> = sections.unwrap_or_default().iter().map(|section| section.name.as_deref()).collect();
    let (mut found, mut right) = (Vec::new(), true);
    for item in entry.array(problems)? {
        let position = item.get_ref().as_str().map(|name| names.iter().position(|known| *known == Some(name)));
        let (message, label, help) = match (item.get_ref().as_str(), position.flatten()) {
            (Some(name), Some(index)) => {
                if !found.contains(&index) {
                    found.push(index);
                    continue;
                }
                (format!("{} is named twice", quoted(name)), "second time", "name each section once".to_string())
            }
            (Some(name), None) => {
                sections?;
                let known = || names.iter().flatten().copied();
                let help = match nearest(name, known()) {
                    Some(near) => format!("did you mean {}?", quoted(near)),
                    None => format!("the sections are {}", listed(known().map(quoted), "and")),
                };
                (format!("there is no section {}", quoted(name)), "unknown section", help)
            }
            (None, _) => {
                let message = format!("{}, the name of a section was expected", kind_of(item.get_ref()));
                (message, "not a text", entry.example())
            }
        };
        problems.add(&item.span(), &entry.path, message, label, help);
        right = false;
    }
    right.then_some(found)
}
