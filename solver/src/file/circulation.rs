//! The water of a section: its flow, its way, and who feeds whom.

use super::problem::Problems;
use super::table::ReadSection;
use super::table::Table;
use crate::case::{Circulation, Direction, Flow, Medium, Shape};
use crate::names::keys::{self, DIRECTIONS, Place};
use crate::units::words::{listed, nearest, quoted};

/// The words of `direction` in the order of the key table.
const WAYS: [Direction; 3] = [Direction::Counter, Direction::Along, Direction::Mixed];
const _: () = assert!(WAYS.len() == DIRECTIONS.len());

/// The circulation of one section; the flow of a fed section comes with `connect`.
///
/// `None` where something is wrong, `Some(None)` where the water has no flow.
pub(super) fn read(
    table: &Table<'_>,
    medium: Option<Medium>,
    shape: Option<Shape>,
    passes: Option<usize>,
    problems: &mut Problems,
) -> Option<Option<Circulation>> {
    let (flow, direction, supply) = (table.get("flow"), table.get("direction"), table.get("supply"));
    let Some(first) = flow.as_ref().or(direction.as_ref()).or(supply.as_ref()) else { return Some(None) };
    if medium == Some(Medium::Air) {
        let help = format!("take {} away here, or say medium = \"water\"", first.key.name);
        first.wrong(problems, "air has no water flow", "in air", help);
        return None;
    }
    if shape == Some(Shape::Flat) {
        let message = "the water balance of a flat product is not computed: its width is not part of the case";
        first.wrong(problems, message, "flat product", "take it away: the water then stays at its temperature");
        return None;
    }
    let way = table.choice_or("direction", 0, problems);
    let direction = direction.map_or(WAYS[0], |_| WAYS[way.unwrap_or(0)]);
    let circulation = match (flow, supply) {
        (Some(entry), None) => {
            let (place, flow) = entry.either(problems)?;
            Circulation { flow: if place == 0 { Flow::Volume(flow) } else { Flow::Mass(flow) }, direction }
        }
        (None, Some(entry)) => {
            entry.text(problems)?;
            Circulation { flow: Flow::Mass(f64::NAN), direction }
        }
        (Some(entry), Some(_)) => {
            let help = "keep one of flow and supply";
            entry.wrong(problems, "a section that is fed by another takes its flow", "a second flow", help);
            return None;
        }
        (None, None) => {
            table.note_missing(
                "flow",
                "flow = \"60 L/min\", or supply = the name of the section that feeds this one",
                problems,
            );
            return None;
        }
    };
    way?;
    if let (Some(entry), Some(2..)) = (table.get("passes"), passes)
        && direction != Direction::Mixed
    {
        let message =
            "water that flows along the trough meets every pass at once: only a mixed trough has several passes";
        entry.wrong(problems, message, "with a flow along the trough", "say direction = \"mixed\"");
        return None;
    }
    Some(Some(circulation))
}

/// Gives every fed section its feeder, the flow and the first supply's temperature.
pub(super) fn connect(tables: &[Option<Table<'_>>], sections: &mut [ReadSection], problems: &mut Problems) {
    let feeders: Vec<Option<usize>> =
        tables.iter().map(|table| find_feeder(table.as_ref()?, tables, sections, problems)).collect();
    for index in 0..sections.len() {
        let Some(feeder) = feeders[index] else { continue };
        let Some(head) = head(index, &feeders) else {
            note_cycle(index, tables, sections, problems);
            sections[index].section = None;
            continue;
        };
        let first = sections[head].section.as_ref();
        let Some((flow, temperature)) = first.and_then(|first| Some((first.circulation?.flow, first.temperature)))
        else {
            sections[index].section = None;
            continue;
        };
        // All in the series carry the first one's mass flow.
        let flow = Flow::Mass(flow.mass(temperature));
        if let Some(section) = &mut sections[index].section {
            section.supply = Some(feeder);
            section.temperature = temperature;
            section.circulation = section.circulation.map(|circulation| Circulation { flow, ..circulation });
        }
    }
}

/// The section that `supply` names.
fn find_feeder(
    table: &Table<'_>,
    tables: &[Option<Table<'_>>],
    sections: &[ReadSection],
    problems: &mut Problems,
) -> Option<usize> {
    let entry = table.get("supply")?;
    let name = entry.value.get_ref().as_str()?;
    if let Some(temperature) = table.get("temperature") {
        let help = "keep one of temperature and supply";
        temperature.wrong(problems, "a section that is fed by another takes its temperature", "a second supply", help);
    }
    let names = || sections.iter().filter_map(|section| section.name.as_deref());
    let Some(position) = sections.iter().position(|section| section.name.as_deref() == Some(name)) else {
        let help = match nearest(name, names()) {
            Some(near) => format!("did you mean supply = {}?", quoted(near)),
            None => format!("the sections are {}", listed(names().map(quoted), "and")),
        };
        entry.wrong(problems, format!("there is no section {}", quoted(name)), "unknown section", help);
        return None;
    };
    let flows = |table: &Table<'_>| table.has("flow") || table.has("supply");
    if !tables[position].as_ref().is_none_or(flows) {
        // The index is that of a table: air has no flow to give.
        let dry = sections[position].section.as_ref().is_some_and(|section| section.medium == Medium::Air);
        let help = match dry {
            true => "name a section of water".to_string(),
            false => format!("give {} a flow", quoted(name)),
        };
        entry.wrong(problems, format!("no water flows through {}", quoted(name)), "no flow there", help);
        return None;
    }
    Some(position)
}

/// The first section of the series that feeds `index`; none in a circle.
fn head(index: usize, feeders: &[Option<usize>]) -> Option<usize> {
    let mut at = index;
    for _ in 0..feeders.len() {
        match feeders[at] {
            Some(feeder) => at = feeder,
            None => return Some(at),
        }
    }
    None
}

fn note_cycle(index: usize, tables: &[Option<Table<'_>>], sections: &[ReadSection], problems: &mut Problems) {
    if let Some(entry) = tables[index].as_ref().and_then(|table| table.get("supply")) {
        let name = quoted(sections[index].name.as_deref().unwrap_or_default());
        let itself = entry.value.get_ref().as_str() == sections[index].name.as_deref();
        let help = format!(
            "{} needs its own {} and flow",
            if itself { "it" } else { "one section of the circle" },
            keys::find(Place::Section, "temperature").map_or("", |key| key.name)
        );
        let way = if itself { "" } else { " through others" };
        entry.wrong(problems, format!("the water of {name} is fed by itself{way}"), "a circle", help);
    }
}
