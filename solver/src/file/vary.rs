//! What varies: `[vary]`, key paths with a distribution each. A study file may hold the same table alone.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::bands;
use super::problem::{Problems, unit_label};
use super::table::Table;
use super::words::{kind_of, sample};
use super::{Problem, finish, parse};
use crate::case::{CaseFile, Varying};
use crate::maths::distribution::{Distribution, DistributionError};
use crate::maths::order::{sort_by_number, sort_by_text};
use crate::names::error::KeyPathError;
use crate::names::variable::Variable;
use crate::units::words::key;
use crate::units::words::nearest;
use crate::units::words::{listed, quoted};
use crate::units::{self, Dimension, System};

/// One way to say how a number is distributed.
struct Form {
    /// The key.
    name: &'static str,
    /// What its list holds, in words; the last may be something else than values of the number.
    holds: &'static [&'static str],
    /// What the last entry is, where it is no value of the number.
    last: Last,
    make: fn(&[f64]) -> Result<Distribution, DistributionError>,
}

/// What the last entry of a form is.
#[derive(Clone, Copy, PartialEq)]
enum Last {
    /// A value of the number, as the others.
    Value,
    /// A difference of two values.
    Difference,
    /// A bare factor.
    Factor,
}

/// The forms.
#[rustfmt::skip]
const FORMS: [Form; 5] = [
    Form { name: "normal", holds: &["mean", "standard deviation"], last: Last::Difference, make: |v| Distribution::normal(v[0], v[1]) },
    Form { name: "log_normal", holds: &["median", "factor of one standard deviation"], last: Last::Factor, make: |v| Distribution::log_normal(v[0], v[1]) },
    Form { name: "uniform", holds: &["low end", "high end"], last: Last::Value, make: |v| Distribution::uniform(v[0], v[1]) },
    Form { name: "log_uniform", holds: &["low end", "high end"], last: Last::Value, make: |v| Distribution::log_uniform(v[0], v[1]) },
    Form { name: "triangular", holds: &["low end", "likeliest value", "high end"], last: Last::Value, make: |v| Distribution::triangular(v[0], v[1], v[2]) },
];

/// An example to paste.
const EXAMPLE: &str = "\"layer.insulation.temperature\" = { normal = [\"188 degC\", \"3 K\"] }";

/// Reads `[vary]` of a case file, where there is one.
pub(super) fn read(root: &Table<'_>, case: &CaseFile, problems: &mut Problems) -> Vec<Varying> {
    root.get("vary").map_or(Vec::new(), |entry| read_table(entry.value, case, problems))
}

/// Reads what varies of a case from a file that holds `[vary]` and nothing else.
///
/// ```
/// # let text = "line.speed = \"150 m/min\"\n[[layer]]\nname = \"wire\"\nmaterial = \"copper\"\ndiameter = \"2 mm\"\n\
/// # temperature = \"90 degC\"\n[[section]]\nname = \"trough\"\nmedium = \"water\"\nlength = \"5 m\"\ntemperature = \"20 degC\"";
/// let case = quenchway::file::read(text).unwrap();
/// let vary = quenchway::file::vary("vary.section.trough.temperature = { uniform = [\"12 degC\", \"20 degC\"] }", &case);
/// assert_eq!(vary.unwrap()[0].distribution.quantile(0.25), 14.0);
/// let problems = quenchway::file::vary("[vary]\n\"line.speed\" = { normal = [\"150 m/min\"] }", &case).unwrap_err();
/// assert!(problems[0].message.contains("mean and standard deviation"));
/// ```
///
/// # Errors
///
/// All problems of the text; a path that leads to no number of the case.
pub fn vary(text: &str, case: &CaseFile) -> Result<Vec<Varying>, Vec<Problem>> {
    let document = parse(text).map_err(|problem| vec![problem])?;
    let mut problems = Problems::default();
    for (other, _) in document.get_ref().iter().filter(|(name, _)| name.get_ref().as_ref() != "vary") {
        let message = format!("{} does not belong here", quoted(other.get_ref()));
        problems.add(&other.span(), other.get_ref(), message, "not [vary]", "this file holds [vary] and nothing else");
    }
    match document.get_ref().get("vary") {
        Some(table) => finish(Some(read_table(table, case, &mut problems)), problems),
        None => {
            problems.add_missing("vary", "there is no [vary]: what varies", format!("add\n[vary]\n{EXAMPLE}"));
            finish(None, problems)
        }
    }
}

/// Reads a table of key paths with distributions, in the order in which they are applied.
pub(super) fn read_table<'a>(
    value: &'a Spanned<DeValue<'a>>,
    case: &CaseFile,
    problems: &mut Problems,
) -> Vec<Varying> {
    let DeValue::Table(table) = value.get_ref() else {
        let message = format!("{}, key paths with their distributions were expected", kind_of(value.get_ref()));
        problems.add(&value.span(), "vary", message, "not a table", format!("write [vary] and below it {EXAMPLE}"));
        return Vec::new();
    };
    let mut found = Vec::new();
    read_steps(table, "", case, &mut found, problems);
    // A die temperature may follow the line speed: the speed comes first. Otherwise in one order, however they were quoted.
    sort_by_text(&mut found, |varying: &Varying| &varying.input);
    sort_by_number(&mut found, |varying| f64::from(varying.input != "line.speed"));
    found
}

/// A key path stands in quotation marks as one key, or as a dotted key, which TOML reads as tables within tables.
fn read_steps<'a>(
    table: &'a DeTable<'a>,
    before: &str,
    case: &CaseFile,
    found: &mut Vec<Varying>,
    problems: &mut Problems,
) {
    for (step, value) in table {
        let written = step.get_ref().as_ref();
        // A path in one piece needs no quoting; a step of a dotted key may.
        let whole = before.is_empty() && !is_steps(value);
        let path = match (whole, before.is_empty()) {
            (true, _) => written.to_string(),
            (false, true) => key(written),
            (false, false) => format!("{before}.{}", key(written)),
        };
        if is_steps(value) {
            if let DeValue::Table(inner) = value.get_ref() {
                read_steps(inner, &path, case, found, problems);
            }
            continue;
        }
        let Some(variable) = bands::find("vary", case, &path, &step.span(), problems) else { continue };
        if found.iter().any(|other| other.input == variable.path) {
            problems.add(&step.span(), "vary", format!("{path} is given twice"), "second of it", "keep one of them");
            continue;
        }
        if let Some(distribution) = distribution(value, &variable, case, "vary", problems) {
            found.push(Varying { input: variable.path, distribution });
        }
    }
}

/// Whether a value is further steps of a dotted key, and not a distribution, which holds a list.
fn is_steps(value: &Spanned<DeValue<'_>>) -> bool {
    let inner = value.get_ref().as_table();
    let lists = |table: &DeTable<'_>| table.iter().any(|(_, value)| value.get_ref().is_array());
    let named = |table: &DeTable<'_>| FORMS.iter().any(|form| table.contains_key(form.name));
    inner.is_some_and(|table| !table.is_empty() && !lists(table) && !named(table))
}

/// The distribution of one number of a case: `{ normal = ["188 degC", "3 K"] }`; `key` is where problems are noted.
///
/// A normal one is cut off at what the case file allows for the number.
pub(crate) fn distribution<'a>(
    value: &'a Spanned<DeValue<'a>>,
    variable: &Variable,
    case: &CaseFile,
    key: &str,
    problems: &mut Problems,
) -> Option<Distribution> {
    let forms = || listed(FORMS.iter().map(|form| form.name), "or");
    let mut wrong = |span: &Range<usize>, message: String, label: &str, help: String| {
        problems.add(span, key, message, label, help);
    };
    let table = value.get_ref().as_table().filter(|table| table.len() == 1);
    let Some((name, list)) = table.and_then(|table| table.iter().next()) else {
        let found = match value.get_ref() {
            DeValue::Table(table) => format!("{} keys", table.len()),
            other => kind_of(other).to_string(),
        };
        let message = format!("{found}, one distribution was expected");
        wrong(
            &value.span(),
            message,
            "not a distribution",
            format!("{}: one of {}", example(&FORMS[0], variable, case), forms()),
        );
        return None;
    };
    let Some(form) = FORMS.iter().find(|form| form.name == name.get_ref().as_ref()) else {
        let near = nearest(name.get_ref(), FORMS.iter().map(|form| form.name));
        let help = near.map_or_else(|| format!("there are {}", forms()), |near| format!("did you mean {near}?"));
        wrong(&name.span(), format!("{} is no distribution", quoted(name.get_ref())), "unknown", help);
        return None;
    };
    let holds = listed(form.holds, "and");
    let array = list.get_ref().as_array().filter(|array| array.len() == form.holds.len());
    let Some(array) = array else {
        let found = match list.get_ref() {
            DeValue::Array(array) => format!("a list of {}", array.len()),
            other => kind_of(other).to_string(),
        };
        wrong(
            &list.span(),
            format!("{found}, {} takes {holds}", form.name),
            "not these",
            example(form, variable, case),
        );
        return None;
    };
    let mut numbers = Vec::new();
    for (index, item) in array.iter().enumerate() {
        let last = if index + 1 == array.len() { form.last } else { Last::Value };
        match number(item, variable, last) {
            Ok(number) => numbers.push(number),
            Err(Unread { message, label, help }) => {
                wrong(&item.span(), format!("{}: {message}", form.holds[index]), &label, help);
                return None;
            }
        }
    }
    match (form.make)(&numbers).and_then(|made| made.within(variable.bounds)) {
        Ok(distribution) => Some(distribution),
        Err(error) => {
            let help = format!("{} takes {holds}: {}", form.name, example(form, variable, case));
            wrong(&list.span(), format!("{}: {error}", variable.path), "makes no distribution", help);
            None
        }
    }
}

/// A number that cannot be read.
struct Unread {
    message: String,
    label: String,
    help: String,
}

/// One number of a distribution, SI.
fn number(item: &Spanned<DeValue<'_>>, variable: &Variable, last: Last) -> Result<f64, Unread> {
    let text = match item.get_ref() {
        DeValue::String(text) => text.to_string(),
        DeValue::Integer(number) => number.to_string(),
        DeValue::Float(number) => number.to_string(),
        other => {
            let message = format!("{}, a number was expected", kind_of(other));
            return Err(Unread { message, label: "not a number".to_string(), help: "give it a value".to_string() });
        }
    };
    let dimension = match (last, variable.dimension) {
        (Last::Factor, _) => None,
        (Last::Difference, Some(Dimension::Temperature)) => Some(Dimension::TemperatureDifference),
        (_, dimension) => dimension,
    };
    let unlike = |message: String, help: String| Unread { message, label: "not a number".to_string(), help };
    match (dimension, item.get_ref().is_str()) {
        (None, true) => {
            let message = format!("{} is a text, a bare number was expected", quoted(&text));
            Err(unlike(message, "write it without quotation marks".to_string()))
        }
        (None, false) if last != Last::Value => {
            text.parse().map_err(|_| unlike(format!("{text} is not a number"), "a bare number".to_string()))
        }
        // Differences of a number with a unit have no bounds but their sign.
        (Some(dimension), _) if last == Last::Difference => units::parse(&text, dimension).map_err(|error| {
            let width = variable.is_temperature();
            let help = format!("for example {}", if width { "\"3 K\"" } else { sample(dimension) });
            Unread { message: error.wrong(), label: unit_label(&error), help }
        }),
        _ => variable.parse_value(&text).map_err(|error| {
            let label = match &error {
                KeyPathError::Value { error, .. } => unit_label(error),
                _ => "out of range".to_string(),
            };
            let (message, help) = error.parts();
            Unread { message, label, help }
        }),
    }
}

/// A distribution about the number that the case has, to paste.
fn example(form: &Form, variable: &Variable, case: &CaseFile) -> String {
    const PRESSED: f64 = 1000.0;
    let here = Some(variable.get(case)).filter(|value| value.is_finite() && *value != 0.0).unwrap_or(PRESSED);
    let quoted = |text: String| if variable.dimension.is_some() { format!("\"{text}\"") } else { text };
    let at = |step: f64| {
        let value = if variable.is_temperature() { here + 3.0 * step } else { here * (1.0 + 0.1 * step) };
        quoted(variable.show(value.clamp(variable.bounds[0], variable.bounds[1]), System::Si))
    };
    let entry = |index: usize| match (index + 1 == form.holds.len(), form.last) {
        (true, Last::Factor) => "1.2".to_string(),
        (true, Last::Difference) if variable.is_temperature() => "\"3 K\"".to_string(),
        (true, Last::Difference) => quoted(variable.show(0.05 * here, System::Si)),
        (true, Last::Value) => at(1.0),
        (false, Last::Value) if index == 0 => at(-1.0),
        (false, _) => at(0.0),
    };
    let entries: Vec<String> = (0..form.holds.len()).map(entry).collect();
    format!("{{ {} = [{}] }}", form.name, entries.join(", "))
}

/// A distribution as a case file writes it.
pub(crate) fn written(distribution: &Distribution, dimension: Option<Dimension>, system: System) -> String {
    let of = |value: f64, dimension: Option<Dimension>| match dimension {
        Some(dimension) => format!("\"{}\"", units::write(value, dimension, system)),
        None => format!("{value}"),
    };
    let value = |number: f64| of(number, dimension);
    let difference = |number: f64| match dimension {
        Some(Dimension::Temperature) => of(number, Some(Dimension::TemperatureDifference)),
        other => of(number, other),
    };
    let list = match *distribution {
        Distribution::Normal { mean, sd, .. } => vec![value(mean), difference(sd)],
        Distribution::LogNormal { median, factor, .. } => vec![value(median), of(factor, None)],
        Distribution::Uniform { low, high } | Distribution::LogUniform { low, high } => vec![value(low), value(high)],
        Distribution::Triangular { low, mode, high } => vec![value(low), value(mode), value(high)],
        // No case file says this; it is written as what comes nearest.
        Distribution::TwoSided { median, sd, .. } => vec![value(median), difference(0.5 * (sd[0] + sd[1]))],
    };
    let name = if matches!(distribution, Distribution::TwoSided { .. }) { "normal" } else { distribution.name() };
    format!("{{ {name} = [{}] }}", list.join(", "))
}

/// Keys of the forms with the counts of their lists, for the schema.
pub(crate) fn forms() -> impl Iterator<Item = (&'static str, usize)> {
    FORMS.iter().map(|form| (form.name, form.holds.len()))
}
