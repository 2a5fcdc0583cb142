//! A calibrated case file: the user's own text with fitted numbers in it, its comments and layout kept.

use std::fmt;

use quenchway::case::Case;
use quenchway::input;
use quenchway::study::key_path::KeyPath;
use quenchway::study::variable::Variable;
use quenchway::units::System;
use toml_edit::{DocumentMut, Item, Table, Value};

use crate::report::clean;

/// What the first line of our calibrated files begins with.
const BANNER: &str = "# Calibrated by quenchway fit";
/// What a comment over a fitted number begins with.
const FITTED: &str = "# fitted to";

/// A number to be written and what is to be said of it.
#[derive(Clone, Debug)]
pub struct Entry {
    /// Which number.
    pub variable: Variable,
    /// Its value, SI.
    pub value: f64,
    /// The comment over it, after "fitted to".
    pub comment: String,
}

/// A number that cannot be written into the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Unwritable {
    /// Its key path.
    pub path: String,
    /// The value that was to be written.
    pub value: String,
    /// Why not.
    pub reason: String,
}

impl fmt::Display for Unwritable {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{} = {} cannot be written into the case: {}", self.path, self.value, self.reason)
    }
}

impl std::error::Error for Unwritable {}

/// The text of a case with these numbers in it; `made_from` ends the line that is put before it.
///
/// A key that is there gets the new value and keeps what stands around it; one that is not is added at the end of its table.
/// The new text is read back: it is a case, and its numbers are those of the entries to six digits.
///
/// Errors: a number that is a table or a curve in the file, or belongs to no table of it; a text that is no longer a case.
pub fn calibrated(text: &str, entries: &[Entry], made_from: &str) -> Result<String, Unwritable> {
    let fault = |entry: &Entry, reason: &str| Unwritable {
        path: entry.variable.path.clone(),
        value: entry.variable.show(entry.value, System::Si),
        reason: reason.to_string(),
    };
    let body = match text.strip_prefix(BANNER).and_then(|rest| rest.split_once('\n')) {
        Some((_, rest)) => rest.trim_start_matches('\n'),
        None => text,
    };
    let mut document: DocumentMut = match body.parse() {
        Ok(document) => document,
        Err(error) => {
            let reason = format!("the case file does not read as TOML: {error}");
            return entries.first().map_or(Ok(text.to_string()), |entry| Err(fault(entry, &reason)));
        }
    };
    for entry in entries {
        put(&mut document, entry).map_err(|reason| fault(entry, &reason))?;
    }
    let new = format!("{BANNER} {}\n\n{document}", clean(made_from));
    match input::read(&new) {
        Ok(case) => check(&case, entries, fault)?,
        Err(problems) => {
            let reason = problems.first().map_or(String::new(), |problem| problem.to_string());
            return entries.first().map_or(Ok(new), |entry| Err(fault(entry, &format!("then {reason}"))));
        }
    }
    Ok(new)
}

/// Whether a text is a calibrated case of ours.
pub fn is_ours(text: &str) -> bool {
    text.starts_with(BANNER)
}

/// The numbers of the case that was read back are those that were written.
fn check(case: &Case, entries: &[Entry], fault: impl Fn(&Entry, &str) -> Unwritable) -> Result<(), Unwritable> {
    for entry in entries {
        let read = KeyPath::find(case, &entry.variable.path).map(|variable| variable.get(case));
        let same = |read: f64| read == entry.value || (read - entry.value).abs() <= 1e-5 * entry.value.abs().max(1e-3);
        if !read.as_ref().is_ok_and(|read| same(*read)) {
            return Err(fault(entry, "the file would read back with another value; write it by hand"));
        }
    }
    Ok(())
}

/// Puts one number into the document.
fn put(document: &mut DocumentMut, entry: &Entry) -> Result<(), String> {
    let path = KeyPath::parse(&entry.variable.path).map_err(|error| error.to_string())?;
    let table = find(document, &path)?;
    let shown = entry.variable.show(entry.value, System::Si);
    let mut value = match entry.variable.dimension {
        None => Value::from(shown.parse::<f64>().unwrap_or(entry.value)),
        Some(_) => Value::from(shown),
    };
    match table.get_mut(&path.key) {
        None => {
            table.insert(&path.key, Item::Value(value));
        }
        Some(item) => match item.as_value() {
            Some(old) if old.is_str() || old.is_integer() || old.is_float() => {
                *value.decor_mut() = old.decor().clone();
                *item = Item::Value(value);
            }
            _ => return Err("it is a table or a list there; change its values by hand".to_string()),
        },
    }
    if let Some(mut key) = table.key_mut(&path.key) {
        let decor = key.leaf_decor_mut();
        let before = decor.prefix().and_then(|prefix| prefix.as_str()).unwrap_or_default();
        let (above, indent) = match before.rfind('\n') {
            Some(end) => before.split_at(end + 1),
            None => ("", before),
        };
        // What an earlier fit said no longer holds.
        let kept: String = above.split_inclusive('\n').filter(|line| !line.trim_start().starts_with(FITTED)).collect();
        let comment = format!("{kept}{indent}{FITTED} {}\n{indent}", clean(&entry.comment));
        decor.set_prefix(comment);
    }
    Ok(())
}

/// The table that a key path names.
fn find<'a>(document: &'a mut DocumentMut, path: &KeyPath) -> Result<&'a mut Table, String> {
    let item = document.get_mut(&path.table);
    match (&path.name, item) {
        (None, Some(Item::Table(table))) => Ok(table),
        (Some(name), Some(Item::Table(tables))) => match tables.get_mut(name) {
            Some(Item::Table(table)) => Ok(table),
            _ => Err(format!("the file has no table [{}.{name}]", path.table)),
        },
        (Some(name), Some(Item::ArrayOfTables(tables))) => {
            let named = |table: &&mut Table| table.get("name").and_then(Item::as_str) == Some(name.as_str());
            tables.iter_mut().find(named).ok_or_else(|| format!("the file has no [[{}]] of that name", path.table))
        }
        (_, Some(_)) => Err(format!("{} is written in one line there; write it as [[{0}]], or by hand", path.table)),
        (_, None) if path.table == "material" => {
            Err("the material is one of the library; fit the layer's conductivity_factor or heat_capacity_factor"
                .to_string())
        }
        (_, None) => Err(format!("the file has no table {}", path.table)),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    const WIRE: &str = include_str!("../../cases/house-wire.toml");

    fn entries(text: &str, values: &[(&str, f64)]) -> Vec<Entry> {
        let case = input::read(text).unwrap();
        let entry = |(path, value): &(&str, f64)| Entry {
            variable: KeyPath::find(&case, path).unwrap(),
            value: *value,
            comment: "trial.csv".to_string(),
        };
        values.iter().map(entry).collect()
    }

    #[test]
    fn comments_and_layout_are_kept() {
        let values = [("section.trough.film_factor", 0.612345678), ("layer.conductor.temperature", 97.25)];
        let new = calibrated(WIRE, &entries(WIRE, &values), "from house-wire.toml").unwrap();
        let old: Vec<&str> = WIRE.lines().collect();
        let added: Vec<&str> = new.lines().filter(|line| !old.contains(line)).collect();
        let expected = [
            "# Calibrated by quenchway fit from house-wire.toml",
            "# fitted to trial.csv",
            "temperature = \"97.25 degC\"            # preheated",
            "# fitted to trial.csv",
            "film_factor = 0.612346",
        ];
        assert_eq!(added, expected);
        let kept = old.iter().filter(|line| new.lines().any(|new| new == **line)).count();
        assert_eq!(kept, old.len() - 1, "only the line of the preheat changed");
        assert!(
            new.contains("temperature = \"16 degC\"\n# fitted to trial.csv\nfilm_factor = 0.612346\n\n[[section]]")
        );
        let case = input::read(&new).unwrap();
        assert_eq!((case.sections[1].film_factor, case.die_temperature(0).0), (0.612346, 97.25));
    }

    #[test]
    fn a_second_calibration_replaces_the_first() {
        let first = calibrated(WIRE, &entries(WIRE, &[("section.trough.film_factor", 0.6)]), "from a").unwrap();
        let again = calibrated(&first, &entries(&first, &[("section.trough.film_factor", 0.7)]), "from b").unwrap();
        assert_eq!(again, first.replace("0.6\n", "0.7\n").replace("from a", "from b"));
        assert!(is_ours(&again) && !is_ours(WIRE));
    }

    #[test]
    fn a_contact_keeps_its_comment_and_may_become_perfect() {
        let values = [("layer.insulation.contact", f64::INFINITY)];
        let text = WIRE.replace("\"perfect\"  ", "\"700 W/(m2 K)\"");
        let new = calibrated(&text, &entries(&text, &values), "").unwrap();
        let expected =
            "# fitted to trial.csv\ncontact = \"perfect\"              # extruded under pressure on a preheated wire\n";
        assert!(new.contains(expected), "{new}");
    }

    #[test]
    fn what_is_a_curve_or_a_table_is_refused() {
        let curve = calibrated(WIRE, &entries(WIRE, &[("material.copper.density", 8000.0)]), "").unwrap_err();
        assert!(curve.to_string().contains("fit the layer's conductivity_factor"), "{curve}");
        let table = "temperature = { speed = [[\"100 m/min\", \"80 degC\"], [\"200 m/min\", \"100 degC\"]] }";
        let text = WIRE.replace("temperature = \"90 degC\" ", table);
        let table = calibrated(&text, &entries(&text, &[("layer.conductor.temperature", 95.0)]), "").unwrap_err();
        assert_eq!(
            table.to_string(),
            "layer.conductor.temperature = 95 degC cannot be written into the case: it is a table or a list there; change its \
             values by hand"
        );
        let preheat = "preheat_power = \"2 kW\"\nefficiency = 0.8\nentry_temperature = \"25 degC\"";
        let text = WIRE.replace("temperature = \"90 degC\"            # preheated", preheat);
        let both = calibrated(&text, &entries(&text, &[("layer.conductor.temperature", 95.0)]), "").unwrap_err();
        assert!(both.reason.starts_with("then layer.conductor"), "{both}");
    }
}
