//! `quenchway materials`: the library in one table, or one material with every point, source and doubt.

use std::fmt::Display;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use quenchway::file::{Described, Status};
use quenchway::file::{library, resolved};
use quenchway::material::foam::{self, DENSITY_AT};
use quenchway::material::{Curve, Hazard, Kind, Material, Uncertainty};
use quenchway::units::{self, Celsius, Dimension};
use quenchway_pictures::curves;
use quenchway_words::blocks::Grid;
use quenchway_words::clean;

use super::Failure;
use super::listing::{number, paragraph};
use crate::args::MaterialsArgs;
use crate::report::{ruled, terminal};
use crate::store::reason_of;
use crate::{build, pictures};

/// A solid and a melt: where the list reads the curves of a material.
fn listed(material: &Material) -> [Celsius; 2] {
    const SOLID: Celsius = Celsius(20.0);
    const HOT: Celsius = Celsius(190.0);
    [SOLID, material.melt.map_or(HOT, |[low, high]| Celsius((low.0 + high.0) / 2.0))]
}

/// What `quenchway materials` prints.
///
/// Errors: a message; no such material, no foam of that density, or a picture that cannot be written.
pub fn answer(args: &MaterialsArgs, width: usize) -> Result<String, Failure> {
    match (&args.plot, &args.name, &args.foam) {
        (Some(dir), _, _) => drawn(dir),
        (None, Some(name), Some(density)) => foam(name, density, width),
        (None, name, _) => materials(name.as_deref(), width),
    }
}

/// Draws the curves of the library into a directory, which is made if it is missing; says where.
fn drawn(dir: &Path) -> Result<String, Failure> {
    let failed = |error: &dyn Display| wrong(&error.to_string(), None);
    let unmade = |error: io::Error| wrong(&format!("cannot make {}: {}", dir.display(), reason_of(&error)), None);
    fs::create_dir_all(dir).map_err(unmade)?;
    let paths: Vec<PathBuf> = curves::names().iter().map(|name| dir.join(name)).collect();
    paths.iter().try_for_each(|path| pictures::prepare(path, false)).map_err(|error| failed(&error))?;
    let drawn = curves::encoded(build::PROGRAM).map_err(|error| failed(&error))?;
    paths.iter().zip(&drawn).try_for_each(|(path, png)| pictures::write(path, png)).map_err(|error| failed(&error))?;
    Ok(paths.iter().map(|path| format!("{}\n", path.display())).collect())
}

/// The foamed grade of a material as a table of a case file.
fn foam(name: &str, density: &str, width: usize) -> Result<String, Failure> {
    let solid = library::find(name).ok_or_else(|| unknown(name))?;
    let given = units::parse(density, Dimension::Density)
        .map_err(|error| wrong(&format!("--foam: {}", error.wrong()), Some("for example --foam \"450 kg/m3\"")))?;
    let full = solid.density.at(DENSITY_AT);
    if solid.kind != Kind::Plastic {
        return Err(wrong(&format!("{name} is not a plastic: it has no foamed grade"), None));
    }
    let foam = foam::foamed(&solid, given).ok_or_else(|| {
        let [least, full] = [(0.02 * full).ceil(), full].map(number);
        wrong(
            &format!("no foam of {name} weighs {} kg/m3", number(given)),
            Some(&format!("between {least} and {full} kg/m3")),
        )
    })?;
    let about = format!(
        "{name} with {:.0} percent of its volume in closed cells of air: {} kg/m3 at 20 degC; conductivity by \
         Maxwell-Eucken, cells shrink with the plastic. To paste into a case file.",
        100.0 * (1.0 - given / full),
        number(given)
    );
    let comment = terminal::wrapped(["# "; 2], &about, width);
    Ok(format!("{comment}\n{}", resolved::material(&foam)))
}

/// The library as a list, or one of its materials as a record, in SI units, `width` columns wide.
///
/// Errors: a message with the nearest name and all names where the library has none of this name.
pub fn materials(name: Option<&str>, width: usize) -> Result<String, Failure> {
    match name {
        None => Ok(list(width)),
        Some(name) => match library::describe(name) {
            Some(described) => Ok(record(described, width)),
            None => Err(unknown(name)),
        },
    }
}

fn unknown(name: &str) -> Failure {
    let meant = library::nearest(name).map_or(String::new(), |near| format!("did you mean {near}? "));
    wrong(
        &format!("the library has no material \"{}\"", clean::line(name)),
        Some(&format!(
            "{meant}it has {}; a case file can bring its own: [material.my-compound]",
            library::names().join(", ")
        )),
    )
}

fn wrong(what: &str, help: Option<&str>) -> Failure {
    Failure::Argument { what: what.to_string(), help: help.map(str::to_string) }
}

fn list(width: usize) -> String {
    let header = [
        "material",
        "conductivity\nW/(m K)",
        "heat capacity\nJ/(kg K)",
        "density\nkg/m3",
        "set\ndegC",
        "melt\ndegC",
        "range\ndegC",
    ];
    let mut table = Grid::new(header.map(str::to_string).to_vec());
    for Described { material, .. } in library::entries() {
        let pair = |curve: &Curve, decimals: usize| {
            listed(material).map(|temperature| format!("{:.decimals$}", curve.at(temperature))).join(" / ")
        };
        let metal = material.conductivity.points().iter().all(|point| point[1] >= 10.0);
        table.row(vec![
            material.name.clone(),
            pair(&material.conductivity, if metal { 0 } else { 3 }),
            pair(&material.heat_capacity, 0),
            pair(&material.density, 0),
            material.set_temperature.map_or("-".to_string(), |set| number(set.0)),
            material.melt.map_or("-".to_string(), between),
            between(material.range),
        ]);
    }
    let mut text = ruled::text(&table, width);
    text += "\n";
    let where_read = "At 20 degC / in the middle of the melt range (without one at 190 degC). The heat of crystallisation is \
                      a peak of the heat capacity between them.";
    text += &paragraph("", where_read, width);
    text += "\n";
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
    let kind = if material.kind == Kind::Plastic { "plastic" } else { "metal" };
    let mut text = paragraph(&format!("{}: ", material.name), describes, width);
    let range = between(material.range);
    let words = format!("{kind}, {range} degC; between the points straight lines, outside them constant");
    text += &paragraph("", &words, width);
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
    if let Some(melt) = material.melt {
        text += &format!("\nMelt temperature\n  {} degC\n", between(melt));
        text += &provenance(described, "melt", width);
    }
    let Uncertainty { conductivity, heat_capacity, density } = material.uncertainty;
    let [conductivity, heat_capacity, density] =
        [conductivity, heat_capacity, density].map(|part| number(100.0 * part));
    text += "\nUncertainty, one standard value\n";
    let words = format!("conductivity {conductivity} %, heat capacity {heat_capacity} %, density {density} %");
    text += &paragraph("  ", &words, width);
    text + &provenance(described, "uncertainty", width)
}

/// The points of a curve, one a line; a constant as one value.
fn points(curve: &Curve, unit: &str, width: usize) -> String {
    if let [[_, value]] = curve.points() {
        return format!("  {} {unit} at every temperature\n", number(*value));
    }
    let mut table = Grid::new(["degC", unit].map(str::to_string).to_vec());
    // The first column of a table is set like words: numbers of one width.
    let longest = curve.points().iter().map(|[temperature, _]| number(*temperature).len()).max().unwrap_or(0);
    for [temperature, value] in curve.points() {
        table.row(vec![format!("{:>longest$}", number(*temperature)), number(*value)]);
    }
    ruled::text(&table, width).lines().map(|line| format!(" {line}\n")).collect()
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

fn between(ends: [Celsius; 2]) -> String {
    ends.map(|end| number(end.0)).join(" to ")
}
