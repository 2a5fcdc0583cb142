//! Named places on the line: `[[station]]`.

use std::collections::BTreeMap;

use toml::de::DeValue;

use super::entry::Entry;
use super::problem::Problems;
use super::table::ReadSection;
use super::table::Table;
use super::words::{kind_of, shown};
use crate::case::{Layer, Limit, Quantity, Station};
use crate::maths::order::sort_by_number;
use crate::names::keys::Place;
use crate::units::words::{listed, nearest, quoted};
use crate::units::{Celsius, Dimension};

/// The limits of the whole product by their keys, in the order of [`Quantity::ALL`].
const LIMITS: [(&str, Quantity); 5] = [
    ("surface_max", Quantity::Surface),
    ("core_max", Quantity::Core),
    ("mean_max", Quantity::Mean),
    ("hottest_max", Quantity::Hottest),
    ("equalised_max", Quantity::Equalised),
];
/// Most stations of a line.
const MOST: usize = 500;
/// Distance by which a station may overshoot the line through rounding of a sum of lengths, m.
const ROUNDING: f64 = 1e-9;

/// Reads all stations; an empty list where there are none.
pub(super) fn read(
    root: &Table<'_>,
    sections: Option<&[ReadSection]>,
    layers: Option<&[Layer]>,
    problems: &mut Problems,
) -> Option<Vec<Station>> {
    let tables = super::tables(root, "station", Place::Station, MOST, problems)?;
    super::check_unique(&tables, problems);
    check_result_names(&tables, problems);
    // A list, so that every station is read even where an earlier one is wrong.
    let stations: Vec<Option<Station>> =
        tables.iter().map(|table| read_station(table.as_ref()?, sections, layers, problems)).collect();
    stations.into_iter().collect()
}

fn read_station(
    table: &Table<'_>,
    sections: Option<&[ReadSection]>,
    layers: Option<&[Layer]>,
    problems: &mut Problems,
) -> Option<Station> {
    let name = table.name(problems);
    let after = table.need("after", problems).and_then(|entry| find_section(&entry, sections?, problems));
    let offset = match table.get("offset") {
        Some(entry) => entry.value(problems).and_then(|offset| on_the_line(&entry, offset, after, sections, problems)),
        None => Some(0.0),
    };
    let mut limits: Vec<Option<Limit>> = LIMITS
        .iter()
        .filter_map(|(key, quantity)| {
            let entry = table.get(key)?;
            Some(entry.value(problems).map(|max| Limit { quantity: *quantity, max: Celsius(max) }))
        })
        .collect();
    if let Some(entry) = table.get("layer_max") {
        limits.extend(read_of_layers(&entry, layers, problems));
    }
    let limits: Option<Vec<Limit>> = limits.into_iter().collect();
    let [diameter_min, diameter_max] = read_diameters(table, problems);
    let contact = match table.get("contact") {
        Some(entry) => entry
            .value(problems)
            .and_then(|contact| on_the_wheel(&entry, contact, after.zip(offset), sections, problems)),
        None => Some(0.0),
    };
    Some(Station {
        name: name?,
        after: after?,
        offset: offset?,
        limits: limits?,
        diameter_min: diameter_min?,
        diameter_max: diameter_max?,
        contact: contact?,
    })
}

/// The limits of the diameter, the smaller first.
fn read_diameters(table: &Table<'_>, problems: &mut Problems) -> [Option<Option<f64>>; 2] {
    let found = ["diameter_min", "diameter_max"].map(|key| table.value_if_any(key, problems));
    if let [Some(Some(min)), Some(Some(max))] = found
        && min >= max
        && let Some(entry) = table.get("diameter_max")
    {
        let message = format!("diameter_max is not above the diameter_min of {}", shown(min, Dimension::Diameter));
        entry.wrong(problems, message, "nothing is within", "give the smaller one as diameter_min");
        return [None; 2];
    }
    found
}

/// The length of a wheel that lies on the line; the medium of what is on it is that of the line there.
fn on_the_wheel(
    entry: &Entry<'_>,
    contact: f64,
    place: Option<(usize, f64)>,
    sections: Option<&[ReadSection]>,
    problems: &mut Problems,
) -> Option<f64> {
    let (after, offset) = place?;
    let lengths: Option<Vec<f64>> = sections?.iter().map(|section| section.span).collect();
    let lengths = lengths?;
    let behind = lengths.iter().skip(after + 1).sum::<f64>() - offset;
    if contact > behind + ROUNDING {
        let (over, left) = (shown(contact - behind, Dimension::Length), shown(behind.max(0.0), Dimension::Length));
        let message =
            format!("the wheel reaches {over} beyond the end of the line, nothing says what surrounds it there");
        let help = format!(
            "{left} of line lie after this station: add a [[section]] for the product on the wheel, or a shorter contact"
        );
        entry.wrong(problems, message, "beyond the line", help);
        return None;
    }
    Some(contact.min(behind))
}

/// The limits of single layers, from the axis outward; where the product has its own problems their names are not looked up.
fn read_of_layers(entry: &Entry<'_>, layers: Option<&[Layer]>, problems: &mut Problems) -> Vec<Option<Limit>> {
    let DeValue::Table(table) = entry.value.get_ref() else {
        let message = format!("{}, layers with their limits were expected", kind_of(entry.value.get_ref()));
        entry.wrong(problems, message, "not by layer", format!("layer_max = {}", entry.key.example));
        return vec![None];
    };
    let mut limits = Vec::new();
    for (name, value) in table {
        let max = entry.key.kind.quantity().and_then(|quantity| entry.read_value(value, quantity, problems));
        let Some(layers) = layers else { continue };
        let written = name.get_ref().as_ref();
        let index = layers.iter().position(|layer| layer.name == written);
        if index.is_none() {
            let names = || layers.iter().map(|layer| layer.name.as_str());
            let help = match nearest(written, names()) {
                Some(near) => format!("did you mean {}?", quoted(near)),
                None => format!("the layers are {}", listed(names().map(quoted), "and")),
            };
            let message = format!("there is no layer {}", quoted(written));
            problems.add(&name.span(), &entry.path, message, "unknown layer", help);
        }
        limits.push(index.zip(max).map(|(index, max)| Limit { quantity: Quantity::Layer(index), max: Celsius(max) }));
    }
    sort_by_number(&mut limits, |limit| match limit {
        Some(Limit { quantity: Quantity::Layer(index), .. }) => *index as f64,
        _ => f64::NEG_INFINITY,
    });
    limits
}

fn find_section(entry: &Entry<'_>, sections: &[ReadSection], problems: &mut Problems) -> Option<usize> {
    let name = entry.text(problems)?;
    let names = || sections.iter().filter_map(|section| section.name.as_deref());
    let position = sections.iter().position(|section| section.name.as_deref() == Some(name));
    if position.is_none() && names().next().is_some() {
        let help = match nearest(name, names()) {
            Some(near) => format!("did you mean after = {}?", quoted(near)),
            None => format!("the sections are {}", listed(names().map(quoted), "and")),
        };
        entry.wrong(problems, format!("there is no section {}", quoted(name)), "unknown section", help);
    }
    position
}

/// The offset, if the station then stands between the die and the end of the line.
fn on_the_line(
    entry: &Entry<'_>,
    offset: f64,
    after: Option<usize>,
    sections: Option<&[ReadSection]>,
    problems: &mut Problems,
) -> Option<f64> {
    let after = after?;
    let lengths: Option<Vec<f64>> = sections?.iter().map(|section| section.span).collect();
    // Without all lengths the place is unknown; they have their own problem.
    let lengths = lengths?;
    let end_of_section: f64 = lengths.iter().take(after + 1).sum();
    let line: f64 = lengths.iter().sum();
    let distance = end_of_section + offset;
    if distance < -ROUNDING || distance > line + ROUNDING {
        let show = |value| shown(value, Dimension::Length);
        let (message, label) = if distance < 0.0 {
            (format!("the station stands {} before the die", show(-distance)), "before the die")
        } else {
            (format!("the station stands {} after the end of the line", show(distance - line)), "after the line's end")
        };
        let help = format!("offset takes {} to {} here", show(-end_of_section), show(line - end_of_section));
        entry.wrong(problems, message, label, help);
        return None;
    }
    Some(offset.max(-end_of_section).min(line - end_of_section))
}

/// Notes stations that result files could not tell apart.
fn check_result_names(tables: &[Option<Table<'_>>], problems: &mut Problems) {
    let mut seen: BTreeMap<String, &str> = BTreeMap::new();
    for entry in tables.iter().flatten().filter_map(|table| table.get("name")) {
        let Some(name) = entry.value.get_ref().as_str() else { continue };
        let in_results: String = name.chars().map(|c| if c.is_alphanumeric() { c } else { '_' }).collect();
        match seen.get(&in_results) {
            // Equal names have their own problem.
            Some(other) if *other != name => {
                let message = format!("{} and {} would be one name in result files", quoted(other), quoted(name));
                let label = "too much like another";
                entry.wrong(problems, message, label, "let the names differ in letters or digits");
            }
            Some(_) => {}
            None => {
                seen.insert(in_results, name);
            }
        }
    }
}
