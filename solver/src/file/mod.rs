//! The case file as written, positions kept: all problems of meaning are reported together, not only the first.

mod bands;
pub(crate) mod circulation;
mod conductor;
mod die;
pub(crate) mod entry;
mod layers;
pub mod library;
mod materials;
mod plant;
mod points;
pub(crate) mod problem;
mod programme;
pub mod resolved;
mod schema;
mod sections;
mod stages;
mod stations;
pub(crate) mod table;
pub(crate) mod vary;
mod wetting;
pub(crate) mod words;

use std::collections::BTreeMap;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::names::keys;
use crate::names::keys::Place;
pub(crate) use materials::hazard_word;
pub use materials::{Described, Source, Status, material};
pub use problem::Problem;
pub use schema::{schema, study_schema};
pub use vary::vary;

use crate::case::{Case, CaseFile, Geometry, Section, SettingPoint, Shape, TOLERANCE};
use crate::material::Material;
use crate::units::System;
use crate::units::words::quoted;
use problem::Problems;
use table::Table;
use words::kind_of;

/// A case file as an example: a building wire whose line is too fast for its trough.
pub const EXAMPLE: &str = include_str!("example.toml");

/// Largest case file that is read, bytes.
pub const LARGEST: usize = 1_000_000;

/// Own materials by name; none where the description is wrong.
type Materials = BTreeMap<String, Option<Material>>;

/// Reads a case file.
///
/// Every value is checked, in SI, and nothing is optional in the result; what the file left blank and was assumed is in
/// `assumptions`.
///
/// # Errors
///
/// All problems of the text in its order; a text that is not TOML gives the first only.
///
/// ```
/// let text = r#"
/// [line]
/// speed = "150 m/min"
/// [[layer]]
/// name = "strand"
/// material = "steel-wire"
/// diameter = "2 mm"
/// temperature = "300 degC"
/// [[section]]
/// name = "trough"
/// medium = "water"
/// length = "5 m"
/// temperature = "20 degC"
/// film = "2000 W/(m2 K)"
/// [material.steel-wire]
/// kind = "metal"
/// conductivity = "50 W/(m K)"
/// heat_capacity = "480 J/(kg K)"
/// density = "7.85 g/cm3"
/// "#;
/// let case = quenchway::file::read(text).unwrap();
/// assert_eq!(case.line_speed, 2.5);
///
/// let problems = quenchway::file::read(&text.replace("150 m/min", "150")).unwrap_err();
/// assert_eq!(problems[0].key, "line.speed");
/// ```
pub fn read(text: &str) -> Result<CaseFile, Vec<Problem>> {
    let document = parse(text).map_err(|problem| vec![problem])?;
    let mut problems = Problems::default();
    let root = Table::new(document.get_ref(), 0..0, Place::Root, String::new(), &mut problems);
    let case = read_root(&root, &mut problems);
    finish(case, problems)
}

/// The document, or what keeps the text from being one.
pub(crate) fn parse(text: &str) -> Result<Spanned<DeTable<'_>>, Problem> {
    if text.len() > LARGEST {
        return Err(Problem {
            span: None,
            key: String::new(),
            message: format!("the text has {} bytes, {LARGEST} are possible", text.len()),
            label: String::new(),
            help: Some("a case of this size is probably another file".to_string()),
        });
    }
    // The parser bounds the depth of nesting itself.
    DeTable::parse(text).map_err(|error| problem::of_syntax(text, &error))
}

/// The result, or every problem; a missing result without a problem would be a fault of the reader itself.
pub(crate) fn finish<T>(result: Option<T>, problems: Problems) -> Result<T, Vec<Problem>> {
    let mut problems = problems.sorted();
    match result {
        Some(result) if problems.is_empty() => Ok(result),
        _ => {
            if problems.is_empty() {
                problems.push(Problem {
                    span: None,
                    key: String::new(),
                    message: "the case cannot be read and the reader does not know why; this is a fault of the program"
                        .to_string(),
                    label: String::new(),
                    help: None,
                });
            }
            Err(problems)
        }
    }
}

fn read_root(root: &Table<'_>, problems: &mut Problems) -> Option<CaseFile> {
    let title = match root.get("title") {
        Some(entry) => entry.text(problems).filter(|title| entry.check_name(title, problems)).map(str::to_string),
        None => Some("untitled".to_string()),
    };
    let units = root.choice_or("units", 0, problems);
    let line = root.get("line").and_then(|entry| Table::open(entry.value, Place::Line, entry.path, problems));
    if !root.has("line") {
        note_missing_table("line", Place::Line, problems);
    }
    let line_speed = line.as_ref().and_then(|line| line.need("speed", problems)?.value(problems));

    let Solver { tolerance, setting, geometry, shape } = read_solver(root, problems);
    let materials = read_materials(root, problems);
    let product = layers::read(root, shape, &materials, problems);
    let sections = sections::read(root, shape, problems);
    let layers = product.as_ref().map(|product| &product.layers[..]);
    let stations = stations::read(root, sections.as_deref(), layers, problems);
    let plant = plant::read(root, sections.as_deref(), problems);
    let length = sections.as_ref().and_then(|sections| sections.iter().map(|section| section.span).sum());
    let programme = programme::read(root, line.as_ref(), line_speed, length, problems);

    let (product, sections) = (product?, sections?);
    let programme::Read { programme, reel_changes } = programme?;
    let mut sections: Vec<Section> = sections.into_iter().map(|section| section.section).collect::<Option<_>>()?;
    let mut assumptions = product.assumptions;
    if shape == Some(Shape::Round) {
        assumptions.extend(sections.iter_mut().filter_map(sections::assume_jets));
    }
    let case = Case {
        title: title?,
        units: if units? == 0 { System::Si } else { System::Us },
        line_speed: line_speed?,
        shape: shape?,
        geometry: geometry?,
        bore: product.bore,
        layers: product.layers,
        sections,
        stations: stations?,
        tolerance: tolerance?,
        setting: setting?,
        assumptions,
        bands: Vec::new(),
        modes: Vec::new(),
    };
    let case = CaseFile { case, plant: plant?, vary: Vec::new(), programme, stages: None };
    layers::check_walls(&case, &product.sizes, problems);
    programme::check(&case, &reel_changes, problems);
    die::check(&case, product.preheat.as_ref(), problems);
    let (bands, modes) = bands::read(root, &case, problems);
    let vary = vary::read(root, &case, problems);
    let stages = stages::read(root, &case, problems);
    Some(CaseFile { case: Case { bands, modes, ..case.case }, vary, stages, ..case })
}

/// What `[solver]` says; none where it is wrong.
struct Solver {
    tolerance: Option<f64>,
    setting: Option<SettingPoint>,
    geometry: Option<Geometry>,
    shape: Option<Shape>,
}

/// Tolerance, setting point, geometry and shape, or their defaults.
fn read_solver(root: &Table<'_>, problems: &mut Problems) -> Solver {
    let Some(entry) = root.get("solver") else {
        return Solver {
            tolerance: Some(TOLERANCE),
            setting: Some(SettingPoint::Equilibrium),
            geometry: Some(Geometry::Shrinking),
            shape: Some(Shape::Round),
        };
    };
    let Some(solver) = Table::open(entry.value, Place::Solver, entry.path, problems) else {
        return Solver { tolerance: None, setting: None, geometry: None, shape: None };
    };
    let tolerance = match solver.get("tolerance") {
        Some(entry) => entry.value(problems),
        None => Some(TOLERANCE),
    };
    let setting = solver.choice_or("setting", 0, problems);
    let geometry = solver.choice_or("geometry", 0, problems);
    let shape = solver.choice_or("shape", 0, problems);
    Solver {
        tolerance,
        setting: setting.map(|word| if word == 0 { SettingPoint::Equilibrium } else { SettingPoint::ByRate }),
        geometry: geometry.map(|word| if word == 0 { Geometry::Shrinking } else { Geometry::Fixed }),
        shape: shape.map(|word| if word == 0 { Shape::Round } else { Shape::Flat }),
    }
}

fn read_materials(root: &Table<'_>, problems: &mut Problems) -> Materials {
    let mut materials = Materials::new();
    let Some(entry) = root.get("material") else { return materials };
    let DeValue::Table(tables) = entry.value.get_ref() else {
        entry.wrong(
            problems,
            format!("{}, tables by name were expected", kind_of(entry.value.get_ref())),
            "not tables by name",
            "write a table for each material: [material.my-compound]",
        );
        return materials;
    };
    for (name, value) in tables {
        let (key, name) = (name.span(), name.get_ref().as_ref());
        let path = format!("material.{}", crate::units::words::key(&crate::units::excerpt(name)));
        if let Some((message, label)) = entry::wrong_name(name) {
            problems.add(&key, &path, message, label, "[material.my-compound]");
        }
        let described = match value.get_ref() {
            DeValue::Table(table) => materials::read(name, table, value.span(), path, problems),
            other => {
                problems.add(
                    &key,
                    &path,
                    format!("{} is {}, a material is a table", quoted(name), kind_of(other)),
                    "not a table",
                    format!("write [{path}] and its properties below"),
                );
                None
            }
        };
        materials.insert(name.to_string(), described.map(|described| described.material));
    }
    materials
}

/// The tables of a list such as `[[layer]]`, at least one where it is required; none where there is no list.
pub(crate) fn tables<'a>(
    around: &Table<'a>,
    name: &str,
    place: Place,
    most: usize,
    problems: &mut Problems,
) -> Option<Vec<Option<Table<'a>>>> {
    let Some(entry) = around.get(name) else {
        let key = keys::find(around.place, name)?;
        if key.required && !around.has(name) {
            note_missing_table(name, place, problems);
        }
        return if key.required { None } else { Some(Vec::new()) };
    };
    if entry.value.get_ref().is_table() {
        let head = around.path_of(name);
        let to_paste = format!("write [[{head}]] in double brackets");
        entry.wrong(
            problems,
            format!("[{head}] is one table, a list of them was expected"),
            "single brackets",
            to_paste,
        );
        return None;
    }
    let array = entry.array(problems)?;
    if array.len() > most || (array.is_empty() && entry.key.required) {
        let label = if array.is_empty() { "none" } else { "too many" };
        let help = format!("1 to {most} can be computed");
        entry.wrong(problems, format!("{} times [[{}]]", array.len(), around.path_of(name)), label, help);
        return None;
    }
    let tables = array.iter().enumerate().map(|(index, value)| {
        let path = match value.get_ref().get("name").and_then(|name| name.get_ref().as_str()) {
            Some(text) if !text.is_empty() => crate::units::words::key(&crate::units::excerpt(text)),
            _ => (index + 1).to_string(),
        };
        let path = format!("{}.{path}", around.path_of(name));
        Table::open(value, place, path, problems)
    });
    Some(tables.collect())
}

/// Notes that a table is missing from the file.
pub(crate) fn note_missing_table(name: &str, place: Place, problems: &mut Problems) {
    if let Some(key) = keys::find(Place::Root, name) {
        let message = format!("there is no {}: {}", keys::head(key), key.describes);
        problems.add_missing(name, message, format!("add\n{}", table::table_to_paste(key, place)));
    }
}

/// Notes names that occur twice.
pub(crate) fn check_unique(tables: &[Option<Table<'_>>], problems: &mut Problems) {
    let mut seen = std::collections::BTreeSet::new();
    for entry in tables.iter().flatten().filter_map(|table| table.get("name")) {
        if let Some(name) = entry.value.get_ref().as_str()
            && !seen.insert(name)
        {
            let help = "give each of them its own name";
            entry.wrong(problems, format!("{} is already taken", quoted(name)), "second of this name", help);
        }
    }
}

#[cfg(test)]
mod tests;
#[cfg(test)]
mod vary_tests;
