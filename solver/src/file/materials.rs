//! Materials: a table of a case file, or a file of the library, into a [`Material`].

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::entry::Entry;
use super::problem::{Problem, Problems};
use super::table::Table;
use crate::material::{Curve, Hazard, Kind, Material, Uncertainty};
use crate::names::keys::{PROPERTY_POINT, Place, Quantity};
use crate::units::Celsius;

/// A material with what its file says about it.
#[derive(Clone, Debug)]
pub struct Described {
    /// The material.
    pub material: Material,
    /// One line on what it is; empty where the file does not say.
    pub describes: String,
    /// Where the values come from, of each property that says so.
    pub sources: Vec<Source>,
}

/// Where the values of a property come from.
#[derive(Clone, Debug, PartialEq)]
pub struct Source {
    /// The property's key: "conductivity", "heat_capacity", "density", "set_temperature", "melt"
    /// or "uncertainty".
    pub property: &'static str,
    /// Author, title, year, table.
    pub source: String,
    /// How the values were taken from it.
    pub status: Status,
    /// What may be wrong with them; empty where nothing is known.
    pub doubt: String,
}

/// How a value was taken from its source.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Read in the source.
    Read,
    /// From memory, not checked.
    Memory,
    /// Derived from other values.
    Derived,
}

/// Reads one material from a TOML text whose top level is a material: the format of `[material.NAME]` in a case file.
///
/// # Errors
///
/// All problems of the text.
///
/// ```
/// let text = r#"
/// kind = "plastic"
/// conductivity = { points = [["0 degC", "0.3 W/(m K)"], ["200 degC", "0.25 W/(m K)"]], source = "own trial", status = "read" }
/// heat_capacity = "2200 J/(kg K)"
/// density = "0.92 g/cm3"
/// "#;
/// let read = quenchway::file::material("trial-compound", text).unwrap();
/// assert_eq!(read.material.range[1].0, 200.0);
/// assert_eq!(read.sources[0].source, "own trial");
/// ```
pub fn material(name: &str, text: &str) -> Result<Described, Vec<Problem>> {
    let document = super::parse(text).map_err(|problem| vec![problem])?;
    let mut problems = Problems::default();
    let path = format!("material.{}", crate::units::words::key(name));
    let described = read(name, document.get_ref(), 0..0, path, &mut problems);
    super::finish(described, problems)
}

/// Reads the table of one material.
pub(crate) fn read<'a>(
    name: &str,
    entries: &'a DeTable<'a>,
    span: Range<usize>,
    path: String,
    problems: &mut Problems,
) -> Option<Described> {
    let table = Table::new(entries, span, Place::Material, path, problems);
    let mut sources = Vec::new();
    let describes = match table.get("describes") {
        Some(entry) => entry.text(problems).map(str::to_string),
        None => Some(String::new()),
    };
    let kind = table.need("kind", problems).and_then(|entry| entry.choice(problems));
    let mut curve = |name, problems: &mut Problems| {
        let entry = table.need(name, problems)?;
        property(&entry, &mut sources, problems)
    };
    let conductivity = curve("conductivity", problems);
    let heat_capacity = curve("heat_capacity", problems);
    let density = curve("density", problems);
    let set_temperature = match table.get("set_temperature") {
        Some(entry) => single(&entry, &mut sources, problems).map(|value| Some(Celsius(value))),
        None => Some(None),
    };
    let range = match table.get("range") {
        Some(entry) => entry.pair(problems).map(Some),
        None => Some(None),
    };
    let hazards = match table.get("hazards") {
        Some(entry) => entry.choices(problems),
        None => Some(Vec::new()),
    };

    let melt = match table.get("melt") {
        Some(entry) => window(&entry, &mut sources, problems).map(Some),
        None => Some(None),
    };
    let kind = kind.and_then(|word| KINDS.get(word).copied());
    // Any kind will do where none was read: its absence is a problem already.
    let usual = Uncertainty::usual(kind.unwrap_or(Kind::Plastic));
    let uncertainty = match table.get("uncertainty") {
        Some(entry) => uncertainty(&entry, usual, &mut sources, problems),
        None => Some(usual),
    };

    let (conductivity, heat_capacity, density) = (conductivity?, heat_capacity?, density?);
    let described = Material::new(name, kind?, conductivity, heat_capacity, density);
    let material = Material {
        set_temperature: set_temperature?,
        range: range?.map_or(described.range, |ends| ends.map(Celsius)),
        hazards: hazards?.into_iter().filter_map(|word| HAZARDS.get(word).copied()).collect(),
        melt: melt?.map(|ends| ends.map(Celsius)),
        uncertainty: uncertainty?,
        ..described
    };
    Some(Described { material, describes: describes?, sources })
}

/// Kinds in the order of their words in the key table.
const KINDS: [Kind; 3] = [Kind::Plastic, Kind::Metal, Kind::LaidUp];

/// Hazards in the order of their words in the key table.
const HAZARDS: [Hazard; 4] = [Hazard::HydrogenChloride, Hazard::Fluoride, Hazard::Hydrate, Hazard::Peroxide];

/// The word of the case file for a hazard.
pub(crate) fn hazard_word(hazard: Hazard) -> &'static str {
    let position = HAZARDS.iter().position(|other| *other == hazard);
    position.and_then(|position| crate::names::keys::HAZARDS.get(position)).copied().unwrap_or_default()
}

/// A property: one value, points, or a table with either and its source.
fn property(entry: &Entry<'_>, sources: &mut Vec<Source>, problems: &mut Problems) -> Option<Curve> {
    let quantity = entry.key.kind.quantity()?;
    match with_source(entry, sources, problems)? {
        Some(inner) => curve(&inner, quantity, problems),
        None => curve(entry, quantity, problems),
    }
}

/// A property of one value: the value, or a table with it and its source.
fn single(entry: &Entry<'_>, sources: &mut Vec<Source>, problems: &mut Problems) -> Option<f64> {
    let quantity = entry.key.kind.quantity()?;
    match with_source(entry, sources, problems)? {
        Some(inner) => inner.read_value(inner.value, quantity, problems),
        None => entry.value(problems),
    }
}

/// A property of two rising values: the two, or a table with them and their source.
fn window(entry: &Entry<'_>, sources: &mut Vec<Source>, problems: &mut Problems) -> Option<[f64; 2]> {
    let quantity = entry.key.kind.quantity()?;
    match with_source(entry, sources, problems)? {
        Some(inner) => inner.two(quantity, problems),
        None => entry.two(quantity, problems),
    }
}

/// Relative uncertainties, each with its default, and where they come from.
fn uncertainty(
    entry: &Entry<'_>,
    usual: Uncertainty,
    sources: &mut Vec<Source>,
    problems: &mut Problems,
) -> Option<Uncertainty> {
    let table = Table::open(entry.value, Place::Uncertainty, entry.path.clone(), problems)?;
    let conductivity = table.number_or("conductivity", usual.conductivity, problems);
    let heat_capacity = table.number_or("heat_capacity", usual.heat_capacity, problems);
    let density = table.number_or("density", usual.density, problems);
    let source = provenance(&table, entry.key.name, problems)?;
    if !source.source.is_empty() {
        sources.push(source);
    }
    Some(Uncertainty { conductivity: conductivity?, heat_capacity: heat_capacity?, density: density? })
}

/// The `points` of a property's table, its source noted; `Some(None)` where the property is no table.
fn with_source<'a>(entry: &Entry<'a>, sources: &mut Vec<Source>, problems: &mut Problems) -> Option<Option<Entry<'a>>> {
    let value: &'a Spanned<DeValue<'a>> = entry.value;
    let DeValue::Table(entries) = value.get_ref() else { return Some(None) };
    let table = Table::new(entries, value.span(), Place::Property, entry.path.clone(), problems);
    let points = table.need("points", problems);
    sources.push(provenance(&table, entry.key.name, problems)?);
    points.map(Some)
}

/// What a table says about where its values come from.
fn provenance(table: &Table<'_>, property: &'static str, problems: &mut Problems) -> Option<Source> {
    let text = |name: &str, problems: &mut Problems| match table.get(name) {
        Some(entry) => entry.text(problems).map(str::to_string),
        None => Some(String::new()),
    };
    let source = text("source", problems);
    let doubt = text("doubt", problems);
    // Without a word on how it was read, a source counts as quoted from memory.
    let status = table.choice_or("status", 1, problems);
    let (source, doubt, status) = (source?, doubt?, status?);
    let status = [Status::Read, Status::Memory, Status::Derived].get(status).copied()?;
    Some(Source { property, source, status, doubt })
}

/// One value or points into a curve.
fn curve(entry: &Entry<'_>, quantity: Quantity, problems: &mut Problems) -> Option<Curve> {
    let points = match entry.value.get_ref() {
        DeValue::Array(_) => entry.points(PROPERTY_POINT, quantity, problems)?,
        _ => vec![[0.0, entry.read_value(entry.value, quantity, problems)?]],
    };
    // One point is a constant, wherever it was measured.
    if let [[_, value]] = points[..] {
        return Curve::constant(value).ok();
    }
    // Bounds and order were checked value by value.
    Curve::new(points).ok()
}
