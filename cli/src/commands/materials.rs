//! `quenchway materials`: the library in one table, or one material with every point, source and doubt.

use comfy_table::CellAlignment;
use quenchway::input::{Described, Status};
use quenchway::library;
use quenchway::material::{Curve, Hazard, Kind, Material};
use quenchway::units::Celsius;

use super::listing::{lines, number, paragraph, table};

/// A solid and a melt, degC: where the list reads the curves.
const LISTED: [Celsius; 2] = [Celsius(20.0), Celsius(190.0)];

/// The library as a list, or one of its materials as a record, in SI units, `width` columns wide.
///
/// Errors: a message with the nearest name and all names where the library has none of this name.
pub fn materials(name: Option<&str>, width: usize) -> Result<String, String> {
    match name {
        None => Ok(list(width)),
        Some(name) => match library::describe(name) {
            Some(described) => Ok(record(described, width)),
            None => Err(unknown(name)),
        },
    }
}

fn unknown(name: &str) -> String {
    let name: String = name.chars().filter(|c| !c.is_control()).collect();
    let meant = library::nearest(&name).map_or(String::new(), |near| format!("did you mean {near}? "));
    format!(
        "error: the library has no material \"{name}\"\nhelp: {meant}it has {}; a case file can bring its own: \
         [material.my-compound]",
        library::names().join(", ")
    )
}

fn list(width: usize) -> String {
    let mut table = table(
        &["material", "conductivity\nW/(m K)", "heat capacity\nJ/(kg K)", "density\nkg/m3", "set\ndegC", "range\ndegC"],
        width,
    );
    let pair = |curve: &Curve, decimals: usize| {
        LISTED.map(|temperature| format!("{:.decimals$}", curve.at(temperature))).join(" / ")
    };
    for Described { material, .. } in library::entries() {
        table.add_row([
            material.name.clone(),
            pair(&material.conductivity, if material.kind == Kind::Metal { 0 } else { 3 }),
            pair(&material.heat_capacity, 0),
            pair(&material.density, 0),
            material.set_temperature.map_or("-".to_string(), |set| number(set.0)),
            range(material),
        ]);
    }
    let mut text = lines(&table);
    text += "\nAt 20 / 190 degC; the heat of crystallisation is a peak of the heat capacity between them.\n\n";
    let column = library::names().iter().map(|name| name.len()).max().unwrap_or(0);
    for Described { material, describes, .. } in library::entries() {
        text += &paragraph(&format!("{:column$}  ", material.name), describes, width);
        for hazard in &material.hazards {
            text += &paragraph(&format!("{:column$}  Caution: ", ""), caution(*hazard), width);
        }
    }
    text += "\n";
    text + &paragraph(
        "",
        "Typical values, to be replaced by the compound maker's: `quenchway materials NAME` prints every point with its \
         source and its doubts.",
        width,
    )
}

fn record(described: &Described, width: usize) -> String {
    let Described { material, describes, .. } = described;
    let kind = if material.kind == Kind::Metal { "metal" } else { "plastic" };
    let mut text = paragraph(&format!("{}: ", material.name), describes, width);
    text += &format!("{kind}, {} degC; between the points straight lines, outside them constant\n", range(material));
    for hazard in &material.hazards {
        text += &paragraph("Caution: ", caution(*hazard), width);
    }
    for (name, property, unit, curve) in [
        ("Conductivity", "conductivity", "W/(m K)", &material.conductivity),
        ("Heat capacity", "heat_capacity", "J/(kg K)", &material.heat_capacity),
        ("Density", "density", "kg/m3", &material.density),
    ] {
        text += &format!("\n{name}\n");
        text += &points(curve, unit, width);
        text += &provenance(described, property, width);
    }
    if let Some(set) = material.set_temperature {
        text += &format!("\nSet temperature\n  {} degC\n", number(set.0));
        text += &provenance(described, "set_temperature", width);
    }
    text
}

/// The points of a curve, one a line; a constant as one value.
fn points(curve: &Curve, unit: &str, width: usize) -> String {
    if let [[_, value]] = curve.points() {
        return format!("  {} {unit} at every temperature\n", number(*value));
    }
    let mut table = table(&["degC", unit], width);
    for [temperature, value] in curve.points() {
        table.add_row([number(*temperature), number(*value)]);
    }
    if let Some(column) = table.column_mut(0) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    lines(&table).lines().map(|line| format!(" {line}\n")).collect()
}

/// Where a property's values come from, how they were taken from there, what may be wrong with them.
fn provenance(described: &Described, property: &str, width: usize) -> String {
    let Some(source) = described.sources.iter().find(|source| source.property == property) else {
        return "  source: none given\n".to_string();
    };
    let status = match source.status {
        Status::Read => "read there",
        Status::Memory => "from memory, not checked",
        Status::Derived => "derived",
    };
    let mut text = paragraph("  source: ", &format!("{} ({status})", source.source), width);
    if !source.doubt.is_empty() {
        text += &paragraph("  doubt:  ", &source.doubt, width);
    }
    text
}

fn caution(hazard: Hazard) -> &'static str {
    match hazard {
        Hazard::HydrogenChloride => "gives off hydrogen chloride when overheated: extraction, and purge before a stop.",
        Hazard::Fluoride => "gives off hydrogen fluoride and fumes that cause polymer-fume fever when overheated.",
        Hazard::Hydrate => "its filler gives off steam above about 180 degC.",
        Hazard::Peroxide => "crosslinks in the extruder when too hot (scorch) and gives off by-products.",
    }
}

fn range(material: &Material) -> String {
    material.range.map(|end| number(end.0)).join(" to ")
}
