//! How uncertain inputs are: `[band]`, key paths with one standard value each.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::entry::Entry;
use super::keys::SPREAD;
use super::problem::Problems;
use super::table::Table;
use super::words::kind_of;
use crate::case::{Case, InputBand, Varied};
use crate::error::key;
use crate::study::key_path::KeyPath;
use crate::study::variable::Variable;

/// What the bands of a case file are based on.
const BASIS: &str = "given by the case";

/// Reads all bands; a path that leads to no number of the case is noted.
pub(super) fn read(root: &Table<'_>, case: &Case, problems: &mut Problems) -> Vec<InputBand> {
    let mut bands = Vec::new();
    let Some(entry) = root.get("band") else { return bands };
    let DeValue::Table(table) = entry.value.get_ref() else {
        let found = kind_of(entry.value.get_ref());
        let help = format!("write [band] and below it {}", example());
        entry.wrong(problems, format!("{found}, key paths with their bands were expected"), "not a table", help);
        return bands;
    };
    read_table(&entry, table, "", case, &mut bands, problems);
    // In one order, however the paths were quoted.
    bands.sort_by(|a, b| a.input.cmp(&b.input));
    bands
}

fn example() -> &'static str {
    "\"layer.insulation.temperature\" = \"4 K\""
}

/// A key path stands in quotation marks as one key, or as a dotted key, which TOML reads as tables within tables.
fn read_table<'a>(
    band: &Entry<'a>,
    table: &'a DeTable<'a>,
    before: &str,
    case: &Case,
    bands: &mut Vec<InputBand>,
    problems: &mut Problems,
) {
    for (step, value) in table {
        let written = step.get_ref().as_ref();
        let path = match (before.is_empty(), value.get_ref().is_table()) {
            (true, false) => written.to_string(),
            (true, true) => key(written),
            (false, _) => format!("{before}.{}", key(written)),
        };
        if let DeValue::Table(inner) = value.get_ref() {
            read_table(band, inner, &path, case, bands, problems);
            continue;
        }
        let Some(variable) = find("band", case, &path, &step.span(), problems) else { continue };
        if bands.iter().any(|other| other.input == variable.path) {
            problems.add(&step.span(), "band", format!("{path} is given twice"), "second band", "keep one of them");
            continue;
        }
        bands.extend(read_band(band, value, &variable, case, problems));
    }
}

/// The number that a key path of the table `table` leads to; what is wrong with the path is noted.
pub(super) fn find(
    table: &str,
    case: &Case,
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
    case: &Case,
    problems: &mut Problems,
) -> Option<InputBand> {
    let mut wrong =
        |message: String, label: &str, help: &str| problems.add(&value.span(), "band", message, label, help);
    if variable.get(case).is_infinite() {
        let help = "give the contact a conductance instead of perfect, or take the band away";
        wrong("a perfect contact has no relative band".to_string(), "no number to vary", help);
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
