//! How uncertain inputs are: `[band]`, key paths with one standard value each, and `[[band.mode]]`, what several of them do
//! together.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::entry::Entry;
use super::problem::Problems;
use super::table::Table;
use super::words::kind_of;
use crate::case::{CaseFile, InputBand, Mode, Move, Varied};
use crate::maths::order::sort_by_text;
use crate::names::key_path::KeyPath;
use crate::names::keys::{MOVED, SPREAD};
use crate::names::variable::Variable;
use crate::units::words::key;

/// What the bands of a case file are based on.
const BASIS: &str = "given by the case";

/// The key of the modes among the key paths of `[band]`.
pub(super) const MODE: &str = "mode";

/// Largest factor of one standard value of a mode.
const LARGEST: f64 = 100.0;

/// Reads all bands and modes; a path that leads to no number of the case is noted.
pub(super) fn read(root: &Table<'_>, case: &CaseFile, problems: &mut Problems) -> (Vec<InputBand>, Vec<Mode>) {
    let (mut bands, mut modes) = (Vec::new(), Vec::new());
    let Some(entry) = root.get("band") else { return (bands, modes) };
    let DeValue::Table(table) = entry.value.get_ref() else {
        let found = kind_of(entry.value.get_ref());
        let help = format!("write [band] and below it {}", example());
        entry.wrong(problems, format!("{found}, key paths with their bands were expected"), "not a table", help);
        return (bands, modes);
    };
    if let Some(value) = table.get(MODE) {
        modes = read_modes(&entry, value, case, problems);
    }
    let mut read = |path: &str, span: &Range<usize>, value, problems: &mut Problems| {
        let Some(variable) = find("band", case, path, span, problems) else { return };
        if bands.iter().any(|other: &InputBand| other.input == variable.path) {
            problems.add(span, "band", format!("{path} is given twice"), "second band", "keep one of them");
            return;
        }
        if modes.iter().any(|mode| mode.moves.iter().any(|one| one.input == variable.path)) {
            let message = format!("{path} has a band and is part of a mode");
            problems.add(span, "band", message, "twice unsure", "keep one of them");
            return;
        }
        bands.extend(read_band(&entry, value, &variable, case, problems));
    };
    for (path, span, value) in paths(table, "") {
        read(&path, &span, value, problems);
    }
    // In one order, however the paths were quoted.
    sort_by_text(&mut bands, |band| &band.input);
    (bands, modes)
}

fn example() -> &'static str {
    "\"layer.insulation.temperature\" = \"4 K\""
}

/// The key paths of a table with their places and values.
///
/// A key path stands in quotation marks as one key, or as a dotted key, which TOML reads as tables within tables.
fn paths<'a>(table: &'a DeTable<'a>, before: &str) -> Vec<(String, Range<usize>, &'a Spanned<DeValue<'a>>)> {
    let mut found = Vec::new();
    for (step, value) in table {
        let written = step.get_ref().as_ref();
        if before.is_empty() && written == MODE {
            continue;
        }
        let path = match (before.is_empty(), value.get_ref().is_table()) {
            (true, false) => written.to_string(),
            (true, true) => key(written),
            (false, _) => format!("{before}.{}", key(written)),
        };
        match value.get_ref() {
            DeValue::Table(inner) => found.extend(paths(inner, &path)),
            _ => found.push((path, step.span(), value)),
        }
    }
    found
}

/// Reads the modes: tables of key paths, each with what one standard value of the mode does to it.
fn read_modes<'a>(
    band: &Entry<'a>,
    value: &'a Spanned<DeValue<'a>>,
    case: &CaseFile,
    problems: &mut Problems,
) -> Vec<Mode> {
    let help = "write [[band.mode]] and below it \"section.trough.film_factor\" = 0.1 and \
                \"layer.insulation.temperature\" = \"-2 K\"";
    let tables = value.get_ref().as_array().map(|array| array.iter().map(|item| (item, item.get_ref().as_table())));
    let Some(tables) = tables else {
        let message = format!("{}, [[band.mode]] was expected", kind_of(value.get_ref()));
        problems.add(&value.span(), "band.mode", message, "not a list of tables", help);
        return Vec::new();
    };
    let mut modes = Vec::new();
    for (item, table) in tables {
        let Some(table) = table.filter(|table| !table.is_empty()) else {
            let message = "this mode moves nothing".to_string();
            problems.add(&item.span(), "band.mode", message, "key paths were expected", help);
            continue;
        };
        let mut moves: Vec<Move> = Vec::new();
        for (path, span, value) in paths(table, "") {
            let Some(variable) = find("band.mode", case, &path, &span, problems) else { continue };
            if moves.iter().any(|other| other.input == variable.path) {
                let message = format!("{path} is given twice in one mode");
                problems.add(&span, "band.mode", message, "second of it", "keep one of them");
                continue;
            }
            let amount = amount(band, value, &variable, case, problems);
            moves.extend(amount.map(|amount| Move { input: variable.path, amount }));
        }
        sort_by_text(&mut moves, |one| &one.input);
        if !moves.is_empty() {
            modes.push(Mode { moves });
        }
    }
    modes
}

/// What one standard value of a mode does to a number: a difference in K, or a relative number; either may be negative.
fn amount<'a>(
    band: &Entry<'a>,
    value: &'a Spanned<DeValue<'a>>,
    variable: &Variable,
    case: &CaseFile,
    problems: &mut Problems,
) -> Option<f64> {
    let mut wrong =
        |message: String, label: &str, help: &str| problems.add(&value.span(), "band.mode", message, label, help);
    if variable.get(case).is_infinite() {
        let help = "give the contact a conductance instead of perfect, or take it out of the mode";
        wrong("a perfect contact is not moved by a mode".to_string(), "no number to vary", help);
        return None;
    }
    if variable.path.ends_with(".film_lean") {
        let help = "move film_factor instead, 0.2 is twenty percent up";
        wrong("film_lean is itself a place in a band".to_string(), "no number to vary", help);
        return None;
    }
    if variable.is_temperature() {
        return band.read_value(value, MOVED, problems);
    }
    let relative = match value.get_ref() {
        DeValue::Integer(number) => number.as_str().parse::<f64>().ok(),
        DeValue::Float(number) => number.as_str().parse::<f64>().ok(),
        _ => None,
    };
    let possible = |relative: &f64| (1.0 / LARGEST..=LARGEST).contains(&(1.0 + relative));
    if relative.filter(possible).is_none() {
        let message = format!("a mode moves {} by a bare number from -0.99 to 99", variable.path);
        wrong(message, "not a relative number", "0.1 is ten percent up, -0.1 ten percent down");
    }
    relative.filter(possible)
}

/// The number that a key path of the table `table` leads to; what is wrong with the path is noted.
pub(super) fn find(
    table: &str,
    case: &CaseFile,
    path: &str,
    span: &Range<usize>,
    problems: &mut Problems,
) -> Option<Variable> {
    match KeyPath::find(case, path) {
        Ok(variable) => Some(variable),
        Err(error) => {
            let (message, help) = error.parts();
            problems.add(span, table, message, "leads to no number", help);
            None
        }
    }
}

/// One band: a temperature difference for a temperature, a relative number for everything else.
fn read_band<'a>(
    band: &Entry<'a>,
    value: &'a Spanned<DeValue<'a>>,
    variable: &Variable,
    case: &CaseFile,
    problems: &mut Problems,
) -> Option<InputBand> {
    let mut wrong =
        |message: String, label: &str, help: &str| problems.add(&value.span(), "band", message, label, help);
    if variable.get(case).is_infinite() {
        let help = "give the contact a conductance instead of perfect, or take the band away";
        wrong("a perfect contact has no relative band".to_string(), "no number to vary", help);
        return None;
    }
    if variable.path.ends_with(".film_lean") {
        let help = "give film_factor a band instead, 0.2 is twenty percent to either side";
        wrong("film_lean is itself a place in a band".to_string(), "no number to vary", help);
        return None;
    }
    let (varied, low_end, high_end) = if variable.is_temperature() {
        let spread = band.read_value(value, SPREAD, problems)?;
        (Varied::Kelvin, -spread, spread)
    } else {
        let relative = match value.get_ref() {
            DeValue::Integer(number) => number.as_str().parse::<f64>().ok(),
            DeValue::Float(number) => number.as_str().parse::<f64>().ok(),
            _ => None,
        };
        let Some(relative) = relative.filter(|relative| (0.0..1.0).contains(relative)) else {
            let message = format!("the band of {} is a bare number from 0 to below 1", variable.path);
            wrong(message, "not a relative number", "0.1 is ten percent to either side");
            return None;
        };
        (Varied::Factor, 1.0 - relative, 1.0 + relative)
    };
    Some(InputBand { input: variable.path.clone(), varied, low_end, high_end, basis: BASIS.to_string() })
}
