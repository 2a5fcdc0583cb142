//! Key paths: the names of a case's numbers, such as `layer.insulation.diameter` or `section."to capstan".length`.

use std::fmt;

use super::error::KeyPathError;
use super::variable::Variable;
use crate::case::CaseFile;
use crate::names::keys;
use crate::names::keys::Place;
use crate::units::hidden::quoted;
use crate::units::words::key;
use crate::units::words::{nearest, steps};

/// A key path as written: a table, the name of one of several, a key, and the layer that a limit by layer is of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyPath {
    /// `line`, `layer`, `section`, `station`, `material`, `plant` or `solver`.
    pub table: String,
    /// Name of the layer, section, station or material; none for `line`, `plant` and `solver`.
    pub name: Option<String>,
    /// The key.
    pub key: String,
    /// Name of the layer, of a station's `layer_max`; otherwise none.
    pub of: Option<String>,
}

/// The key that has a number for each layer.
const OF_LAYERS: &str = "layer_max";

/// The tables of the changes of the line speed: `line.change.NAME.within`.
const CHANGE: &str = "line.change";

/// The tables whose numbers have a path, and whether the tables have names.
pub(crate) const TABLES: [(&str, Place, bool); 9] = [
    ("line", Place::Line, false),
    (CHANGE, Place::Change, true),
    ("accumulator", Place::Accumulator, true),
    ("layer", Place::Layer, true),
    ("section", Place::Section, true),
    ("station", Place::Station, true),
    ("material", Place::Material, true),
    ("plant", Place::Plant, false),
    ("solver", Place::Solver, false),
];

impl KeyPath {
    /// Reads a key path; a name with blanks or dots is quoted as in TOML.
    ///
    /// ```
    /// use quenchway::names::key_path::KeyPath;
    /// let path = KeyPath::parse("section.\"to capstan\".length").unwrap();
    /// assert_eq!((path.table.as_str(), path.name.as_deref()), ("section", Some("to capstan")));
    /// assert_eq!(path.to_string(), "section.\"to capstan\".length");
    /// assert!(KeyPath::parse("section.to capstan.length").unwrap_err().to_string().contains("\"to capstan\""));
    /// ```
    ///
    /// # Errors
    ///
    /// A text that is no dotted key, or leads to no table whose numbers have a path.
    pub fn parse(text: &str) -> Result<KeyPath, KeyPathError> {
        let wrong = || KeyPathError::Syntax { path: text.to_string(), near: quoted_name(text) };
        let steps = steps(text).ok_or_else(wrong)?;
        match &steps[..] {
            [table, key] => Ok(KeyPath { table: table.clone(), name: None, key: key.clone(), of: None }),
            [line, change, name, key] if line == "line" && change == "change" => {
                Ok(KeyPath { table: CHANGE.to_string(), name: Some(name.clone()), key: key.clone(), of: None })
            }
            [table, name, key, of @ ..] if of.is_empty() || (key == OF_LAYERS && of.len() == 1) => Ok(KeyPath {
                table: table.clone(),
                name: Some(name.clone()),
                key: key.clone(),
                of: of.first().cloned(),
            }),
            _ => Err(wrong()),
        }
    }

    /// Reads several key paths, separated by a comma and a blank; what is none is left out.
    ///
    /// ```
    /// use quenchway::names::key_path::KeyPath;
    /// let paths = KeyPath::parse_list("section.\"warm, wet\".film_factor, section.b.film_factor");
    /// assert_eq!(paths[0].name.as_deref(), Some("warm, wet"));
    /// assert_eq!(paths.len(), 2);
    /// ```
    pub fn parse_list(text: &str) -> Vec<KeyPath> {
        let (mut paths, mut pending) = (Vec::new(), String::new());
        for part in text.split(", ") {
            if !pending.is_empty() {
                pending += ", ";
            }
            pending += part;
            // A name may hold a comma: only its closing quotation mark makes a path.
            if let Ok(path) = KeyPath::parse(&pending) {
                paths.push(path);
                pending.clear();
            }
        }
        paths
    }

    /// The number of a case that a path leads to.
    ///
    /// # Errors
    ///
    /// They name the path, the step that is not known, and the nearest that is.
    ///
    /// ```
    /// # let text = "line.speed = \"150 m/min\"\n[[layer]]\nname = \"wire\"\nmaterial = \"copper\"\ndiameter = \"2 mm\"\n\
    /// # temperature = \"90 degC\"\n[[section]]\nname = \"trough\"\nmedium = \"water\"\nlength = \"5 m\"\ntemperature = \"20 degC\"";
    /// use quenchway::names::key_path::KeyPath;
    /// let mut case = quenchway::file::read(text).unwrap();
    /// let length = KeyPath::find(&case, "section.trough.length").unwrap();
    /// length.set(&mut case, length.parse_value("8 m").unwrap()).unwrap();
    /// assert_eq!(case.sections[0].length, 8.0);
    ///
    /// let error = KeyPath::find(&case, "section.trouhg.length").unwrap_err();
    /// assert!(error.to_string().ends_with("did you mean section.trough.length?"));
    /// ```
    pub fn find(case: &CaseFile, text: &str) -> Result<Variable, KeyPathError> {
        KeyPath::parse(text)?.find_in(case)
    }

    /// The number of a case that this path leads to; errors as for [`KeyPath::find`].
    ///
    /// # Errors
    ///
    /// The step that the case does not have, with the nearest that it has.
    pub fn find_in(&self, case: &CaseFile) -> Result<Variable, KeyPathError> {
        let path = self.to_string();
        let tables = || TABLES.iter().map(|(name, _, _)| name.to_string());
        let Some((_, place, named)) = TABLES.iter().find(|(name, _, _)| *name == self.table) else {
            return Err(self.unknown("table", &self.table, tables().collect(), |path, near| path.table = near));
        };
        let index = match (&self.name, named) {
            (None, false) => 0,
            (Some(name), true) => {
                let known = names(case, *place);
                match known.iter().position(|(known, _)| known == name) {
                    Some(position) => known[position].1,
                    None => {
                        let known = known.into_iter().map(|(name, _)| name).collect();
                        let what = self.what();
                        return Err(self.unknown(what, name, known, |path, near| path.name = Some(near)));
                    }
                }
            }
            (None, true) | (Some(_), false) => {
                let near = if *named { None } else { Some(format!("{}.{}", key(&self.table), key(&self.key))) };
                return Err(KeyPathError::Syntax { path, near });
            }
        };
        if let Some(variable) = Variable::new(case, *place, index, (&self.key, self.of.as_deref()), path.clone()) {
            return Ok(variable);
        }
        let beside = Variable::keys(case, *place, index);
        if keys::known(*place, &self.key) {
            let path_of =
                |(key, of): (&str, Option<String>)| KeyPath { key: key.to_string(), of, ..self.clone() }.to_string();
            let known = beside.into_iter().map(path_of).collect();
            return Err(KeyPathError::NoNumber { path, known });
        }
        let known = beside.iter().map(|(key, _)| key.to_string()).collect();
        Err(self.unknown("number", &self.key, known, |path, near| path.key = near))
    }

    fn what(&self) -> &'static str {
        TABLES.iter().find(|(name, _, _)| *name == self.table).map_or("table", |(name, _, _)| name)
    }

    fn unknown(
        &self,
        what: &'static str,
        found: &str,
        known: Vec<String>,
        put: impl FnOnce(&mut KeyPath, String),
    ) -> KeyPathError {
        let near = nearest(found, known.iter().map(String::as_str)).map(|near| {
            let mut path = self.clone();
            put(&mut path, near.to_string());
            path.to_string()
        });
        KeyPathError::Unknown { path: self.to_string(), what, found: found.to_string(), near, known }
    }
}

impl fmt::Display for KeyPath {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        // A table within a table: its name has a dot of its own.
        let table = if self.table == CHANGE { CHANGE.to_string() } else { key(&self.table) };
        match &self.name {
            Some(name) => write!(out, "{table}.{}.{}", key(name), key(&self.key))?,
            None => write!(out, "{table}.{}", key(&self.key))?,
        }
        self.of.iter().try_for_each(|of| write!(out, ".{}", key(of)))
    }
}

/// Every number of a case, in the order of the case file.
pub fn all(case: &CaseFile) -> Vec<Variable> {
    let mut variables = Vec::new();
    for (table, place, named) in TABLES {
        let tables = if named { names(case, place) } else { vec![(String::new(), 0)] };
        for (name, index) in tables {
            let name = named.then_some(name);
            // An area is another word for the diameter beside it.
            for (key, of) in Variable::keys(case, place, index).into_iter().filter(|(key, _)| *key != "area") {
                let path =
                    KeyPath { table: table.to_string(), name: name.clone(), key: key.to_string(), of: of.clone() };
                variables.extend(Variable::new(case, place, index, (key, of.as_deref()), path.to_string()));
            }
        }
    }
    variables
}

/// Names in a table of names, each with the index that addresses it; a material has that of its first layer.
fn names(case: &CaseFile, place: Place) -> Vec<(String, usize)> {
    let numbered = |names: Vec<&String>| names.into_iter().cloned().zip(0..).collect::<Vec<_>>();
    match place {
        Place::Layer => numbered(case.layers.iter().map(|layer| &layer.name).collect()),
        Place::Section => numbered(case.sections.iter().map(|section| &section.name).collect()),
        Place::Station => numbered(case.stations.iter().map(|station| &station.name).collect()),
        Place::Change => numbered(case.programme.changes.iter().map(|change| &change.name).collect()),
        Place::Accumulator => numbered(case.programme.accumulators.iter().map(|one| &one.name).collect()),
        Place::Material => {
            let mut materials = numbered(case.layers.iter().map(|layer| &layer.material.name).collect());
            let mut seen = std::collections::BTreeSet::new();
            materials.retain(|(name, _)| seen.insert(name.clone()));
            materials
        }
        _ => Vec::new(),
    }
}

/// The path with its middle quoted, where that makes it one.
fn quoted_name(text: &str) -> Option<String> {
    let (table, rest) = text.trim().split_once('.')?;
    let (name, key) = rest.rsplit_once('.')?;
    let path = format!("{table}.{}.{key}", quoted(name.trim_matches(['"', '\''])));
    (TABLES.iter().any(|(known, _, named)| *known == table && *named) && steps(&path)?.len() == 3).then_some(path)
}
