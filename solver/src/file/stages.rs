//! What `stages` looks for: `[stages]`.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::bands;
use super::entry::Entry;
use super::problem::{Problems, unit_label};
use super::table::Table;
use super::words::{kind_of, shown};
use crate::case::{Aim, CaseFile, Margin, Maximum, Prices, Ranged, Rest, Stages};
use crate::march::by_rate;
use crate::march::output::Output;
use crate::material::Kind;
use crate::maths::order::sort_by_number;
use crate::names::error::KeyPathError;
use crate::names::key_path::KeyPath;
use crate::names::keys::Place;
use crate::names::variable::Variable;
use crate::units::words::{key, listed, nearest, quoted};
use crate::units::{self, Celsius, Dimension, System};

/// Most numbers that a search may set.
const MOST: usize = 6;
/// The tables whose numbers a search may set; it may not move its own limits.
const OF_THE_LINE: [&str; 3] = ["line", "layer", "section"];
/// Where problems with the numbers are noted.
const VARY: &str = "stages.vary";
const LIMITS: &str = "stages.limits";
/// Part of every name of the frozen strain, why there is nothing to set it with, and its limit.
const FROZEN: &str = "frozen";
const NO_LEVER: &str = "the frozen strain follows from the set temperature alone, not from the water";
const FROZEN_LIMIT: &str = "\"shrink.frozen_axial\" = \"1.5 %\"";
/// An example to paste.
const EXAMPLE: &str = "\"line.speed\" = [\"28 m/min\", \"60 m/min\"]";
/// Joules in a kilowatt-hour, seconds in an hour.
pub(super) const KILOWATT_HOUR: f64 = 3.6e6;
pub(super) const HOUR: f64 = 3600.0;

/// Reads `[stages]` of a case file, where there is one.
pub(super) fn read(root: &Table<'_>, case: &CaseFile, problems: &mut Problems) -> Option<Stages> {
    let entry = root.get("stages")?;
    let table = Table::open(entry.value, Place::Stages, entry.path, problems)?;
    let aim = read_aim(&table, case, problems);
    let rest = read_rest(&table, case, problems);
    let margin = read_margin(&table, problems);
    let vary = read_vary(&table, case, problems);
    let limits = read_limits(&table, case, problems);
    let prices = read_prices(&table, problems);
    let stages = Stages { aim: aim?, vary: vary?, rest: rest?, margin: margin?, limits: limits?, prices: prices? };
    check_rest(&table, &stages, case, problems)?;
    check_lever(&table, &stages, case, problems)?;
    Some(stages)
}

fn read_aim(table: &Table<'_>, case: &CaseFile, problems: &mut Problems) -> Option<Aim> {
    let entry = table.need("aim", problems)?;
    // A word of its own for what looks like an aim and is none.
    if entry.value.get_ref().as_str().is_some_and(|text| text.contains(FROZEN)) {
        let help = format!("aim takes {}", listed(Aim::ALL.map(|aim| format!("\"{}\"", aim.word())), "or"));
        if by_rate::any_follows(case) {
            let message = "the frozen strain follows from the set temperature, which the cooling rate moves by a few kelvin: it is \
                           no aim";
            entry.wrong(problems, message, "no aim", format!("give it a limit: [stages.limits] with {FROZEN_LIMIT}"));
        } else {
            entry.wrong(problems, format!("{NO_LEVER}: there is nothing to gain"), "no lever", help);
        }
        return None;
    }
    entry.choice(problems).map(|index| Aim::ALL[index])
}

/// The section that takes the rest; none of the inner option where the case has none.
fn read_rest(table: &Table<'_>, case: &CaseFile, problems: &mut Problems) -> Option<Option<Rest>> {
    let line_length = table.value_if_any("line_length", problems);
    let Some(entry) = table.get("rest") else {
        if let Some(length) = table.get("line_length") {
            let help =
                "add rest = \"cold trough\", the section that takes what the others leave, or take line_length away";
            length.wrong(problems, "no section takes what the others leave of the length", "without rest", help);
            return None;
        }
        return Some(None);
    };
    let name = entry.text(problems)?;
    let Some(section) = case.sections.iter().position(|section| section.name == name) else {
        let names = || case.sections.iter().map(|section| section.name.as_str());
        let help = match nearest(name, names()) {
            Some(near) => format!("did you mean {}?", quoted(near)),
            None => format!("the sections are {}", listed(names().map(quoted), "and")),
        };
        entry.wrong(problems, format!("there is no section {}", quoted(name)), "unknown section", help);
        return None;
    };
    Some(Some(Rest { section, line_length: line_length?.unwrap_or(case.line_length()) }))
}

fn read_margin(table: &Table<'_>, problems: &mut Problems) -> Option<Margin> {
    let Some(entry) = table.get("margin") else { return Some(Margin::Kelvin(0.0)) };
    let word = entry.value.get_ref().as_str().filter(|text| !text.contains(|c: char| c.is_ascii_digit()));
    match word {
        Some(_) => entry.choice(problems).map(|_| Margin::Band),
        None => entry.value(problems).map(Margin::Kelvin),
    }
}

/// A key path or a name of an output stands in quotation marks as one key, or as a dotted key, which TOML reads as tables within
/// tables; `leaf` knows a value that is itself a table.
fn paths<'a>(
    table: &'a DeTable<'a>,
    before: &str,
    leaf: &dyn Fn(&DeTable<'a>) -> bool,
) -> Vec<(String, Range<usize>, &'a Spanned<DeValue<'a>>)> {
    let mut found = Vec::new();
    for (step, value) in table {
        let written = step.get_ref().as_ref();
        let inner = value.get_ref().as_table().filter(|inner| !leaf(inner));
        let path = match (before.is_empty(), inner) {
            (true, None) => written.to_string(),
            (true, Some(_)) => key(written),
            (false, _) => format!("{before}.{}", key(written)),
        };
        match inner {
            Some(inner) => found.extend(paths(inner, &path, leaf)),
            None => found.push((path, step.span(), value)),
        }
    }
    found
}

/// The numbers that may be set, the line speed first: a die temperature may follow it.
fn read_vary(table: &Table<'_>, case: &CaseFile, problems: &mut Problems) -> Option<Vec<Ranged>> {
    let entry = table.need("vary", problems)?;
    let DeValue::Table(numbers) = entry.value.get_ref() else {
        let message = format!("{}, key paths with their bounds were expected", kind_of(entry.value.get_ref()));
        entry.wrong(problems, message, "not a table", format!("write [stages.vary] and below it {EXAMPLE}"));
        return None;
    };
    let mut found: Vec<Option<Ranged>> = Vec::new();
    let bounded = |inner: &DeTable<'_>| inner.is_empty() || inner.contains_key("range") || inner.contains_key("step");
    for (path, span, value) in paths(numbers, "", &bounded) {
        let ranged = find(case, &path, &span, problems).and_then(|variable| ranged(value, &variable, case, problems));
        if let Some(again) = &ranged
            && found.iter().flatten().any(|other| other.input == again.input)
        {
            problems.add(&span, VARY, format!("{path} is given twice"), "second of it", "keep one of them");
        }
        found.push(ranged);
    }
    if found.is_empty() || found.len() > MOST {
        let message = format!("{} numbers may be set", found.len());
        let label = if found.is_empty() { "nothing to set" } else { "too many" };
        entry.wrong(problems, message, label, format!("a search takes 1 to {MOST} numbers, for example {EXAMPLE}"));
        return None;
    }
    let mut found: Vec<Ranged> = found.into_iter().collect::<Option<_>>()?;
    sort_by_number(&mut found, |ranged| f64::from(ranged.input != "line.speed"));
    Some(found)
}

/// The number of a path, which must be one of the line.
fn find(case: &CaseFile, path: &str, span: &Range<usize>, problems: &mut Problems) -> Option<Variable> {
    // A name with blanks needs no quotation marks where it is the only thing that can be meant.
    let meant = match KeyPath::find(case, path) {
        Err(KeyPathError::Syntax { near: Some(near), .. }) if KeyPath::find(case, &near).is_ok() => near,
        _ => path.to_string(),
    };
    let variable = bands::find(VARY, case, &meant, span, problems)?;
    let table = KeyPath::parse(&variable.path).map(|path| path.table).unwrap_or_default();
    if !OF_THE_LINE.contains(&table.as_str()) {
        let help = format!("it sets numbers of {}", listed(OF_THE_LINE, "and"));
        problems.add(span, VARY, format!("{path} is nothing that a line can be set to"), "not of the line", help);
        return None;
    }
    Some(variable)
}

/// Two ends, or a table of them and a step.
fn ranged<'a>(
    value: &'a Spanned<DeValue<'a>>,
    variable: &Variable,
    case: &CaseFile,
    problems: &mut Problems,
) -> Option<Ranged> {
    let (ends, step) = match value.get_ref() {
        DeValue::Table(_) => {
            let table = Table::open(value, Place::Ranged, VARY.to_string(), problems)?;
            (table.need("range", problems)?.value, table.get("step"))
        }
        _ => (value, None),
    };
    let array = ends.get_ref().as_array().filter(|array| array.len() == 2);
    let Some(array) = array else {
        let found = match ends.get_ref() {
            DeValue::Array(array) => format!("a list of {}", array.len()),
            other => kind_of(other).to_string(),
        };
        let message = format!("{found}, the lowest and the highest value of {} were expected", variable.path);
        problems.add(&ends.span(), VARY, message, "not two ends", example(variable, case));
        return None;
    };
    let mut both = [0.0; 2];
    for (end, item) in both.iter_mut().zip(array) {
        *end = number(item, variable, problems)?;
    }
    let [low, high] = both;
    if low >= high || !high.is_finite() {
        let message = format!("{} ends at {}", variable.path, variable.show(high, System::Si));
        let (label, help) = match high.is_finite() {
            true => ("nothing between the ends", "give the lowest value first, and a higher one".to_string()),
            false => ("no end of a range", "give the contact a conductance instead of perfect".to_string()),
        };
        problems.add(&ends.span(), VARY, message, label, help);
        return None;
    }
    let step = match step {
        Some(entry) => Some(read_step(&entry, variable, [low, high], problems)?),
        None => variable.is_whole().then_some(1.0),
    };
    Some(Ranged { input: variable.path.clone(), low, high, step })
}

/// A value of a number, as a study reads it.
fn number(item: &Spanned<DeValue<'_>>, variable: &Variable, problems: &mut Problems) -> Option<f64> {
    let text = match item.get_ref() {
        DeValue::String(text) => text.to_string(),
        DeValue::Integer(number) => number.to_string(),
        DeValue::Float(number) => number.to_string(),
        other => {
            let message = format!("{}, a value of {} was expected", kind_of(other), variable.path);
            problems.add(&item.span(), VARY, message, "not a value", "give it a number with its unit");
            return None;
        }
    };
    match variable.parse_value(&text) {
        Ok(value) => Some(value),
        Err(error) => {
            let label = match &error {
                KeyPathError::Value { error, .. } => unit_label(error),
                KeyPathError::NotBare { .. } => "not a number".to_string(),
                _ => "out of range".to_string(),
            };
            let (message, help) = error.parts();
            problems.add(&item.span(), VARY, format!("{}: {message}", variable.path), label, help);
            None
        }
    }
}

/// A step: of a temperature a difference.
fn read_step(entry: &Entry<'_>, variable: &Variable, [low, high]: [f64; 2], problems: &mut Problems) -> Option<f64> {
    let dimension = match variable.dimension {
        Some(Dimension::Temperature) => Some(Dimension::TemperatureDifference),
        other => other,
    };
    let text = match entry.value.get_ref() {
        DeValue::String(text) => text.to_string(),
        DeValue::Integer(number) => number.to_string(),
        DeValue::Float(number) => number.to_string(),
        other => kind_of(other).to_string(),
    };
    let parsed = match dimension {
        Some(dimension) => units::parse(&text, dimension).map_err(|error| (error.wrong(), error.remedy())),
        None => text.parse::<f64>().map_err(|_| (format!("{text} is not a number"), "a bare number".to_string())),
    };
    let step = match parsed {
        Ok(step) => step,
        Err((message, help)) => {
            entry.wrong(problems, message, "not a step", help);
            return None;
        }
    };
    let whole = !variable.is_whole() || (step >= 1.0 && step.fract() == 0.0);
    let least = if variable.dimension == Some(Dimension::Length) { (low / step - 1e-6).ceil() * step } else { low };
    if !(step > 0.0 && step.is_finite() && whole && least <= high) {
        let message = format!("no whole step of {text} lies between the ends of {}", variable.path);
        entry.wrong(problems, message, "not a step", "give a positive step that fits between the ends");
        return None;
    }
    Some(step)
}

/// Bounds about the number that the case has, to paste.
fn example(variable: &Variable, case: &CaseFile) -> String {
    let here = Some(variable.get(case)).filter(|value| value.is_finite()).unwrap_or(1.0);
    let aside = if variable.is_temperature() { 10.0 } else { 0.2 * here.abs().max(1e-3) };
    let end = |value: f64| {
        let text = variable.show(value.clamp(variable.bounds[0], variable.bounds[1]), System::Si);
        if variable.dimension.is_some() { format!("\"{text}\"") } else { text }
    };
    format!("for example [{}, {}]", end(here - aside), end(here + aside))
}

/// What outputs must not exceed.
fn read_limits(table: &Table<'_>, case: &CaseFile, problems: &mut Problems) -> Option<Vec<Maximum>> {
    let Some(entry) = table.get("limits") else { return Some(Vec::new()) };
    let DeValue::Table(limits) = entry.value.get_ref() else {
        let message = format!("{}, outputs with their limits were expected", kind_of(entry.value.get_ref()));
        entry.wrong(
            problems,
            message,
            "not a table",
            "write [stages.limits] and below it \"insulation.melt_shrink\" = \"10 %\"",
        );
        return None;
    };
    let mut found: Vec<Option<Maximum>> = Vec::new();
    for (name, span, value) in paths(limits, "", &|inner| inner.is_empty()) {
        let limit = maximum(&name, &span, value, case, problems);
        if let Some(again) = &limit
            && found.iter().flatten().any(|other: &Maximum| other.output == again.output)
        {
            problems.add(&span, LIMITS, format!("{name} is given twice"), "second of it", "keep one of them");
        }
        found.push(limit);
    }
    found.into_iter().collect()
}

fn maximum(
    name: &str,
    span: &Range<usize>,
    value: &Spanned<DeValue<'_>>,
    case: &CaseFile,
    problems: &mut Problems,
) -> Option<Maximum> {
    let frozen = name.rsplit('.').next().is_some_and(|last| last.contains(FROZEN));
    if frozen && !by_rate::any_follows(case) {
        let message = format!("{NO_LEVER}: it holds everywhere within the bounds, or nowhere");
        problems.add(span, LIMITS, message, "no lever", format!("take {name} out of [stages.limits]"));
        return None;
    }
    let output = match Output::find(case, name) {
        Ok(output) => output,
        Err(error) => {
            let help = match &error.near {
                Some(near) => format!("did you mean {near}?"),
                None if frozen => format!("write {FROZEN_LIMIT}"),
                None => "`quenchway sweep` lists the outputs, for example insulation.melt_shrink or capstan.core"
                    .to_string(),
            };
            problems.add(span, LIMITS, format!("there is no output {}", quoted(name)), "unknown output", help);
            return None;
        }
    };
    let dimension = output.dimension.unwrap_or(Dimension::Share);
    let Some(text) = value.get_ref().as_str() else {
        let message = format!("{}, {} was expected", kind_of(value.get_ref()), dimension.name());
        let help = format!("write it as a text with its unit: {}", dimension.accepted());
        problems.add(&value.span(), LIMITS, message, "not a text", help);
        return None;
    };
    match units::parse(text, dimension) {
        Ok(max) => Some(Maximum { output: output.name, max }),
        Err(error) => {
            problems.add(
                &value.span(),
                LIMITS,
                format!("{name}: {}", error.wrong()),
                unit_label(&error),
                error.remedy(),
            );
            None
        }
    }
}

/// The user's prices.
fn read_prices(table: &Table<'_>, problems: &mut Problems) -> Option<Option<Prices>> {
    let Some(entry) = table.get("cost") else { return Some(None) };
    let prices = Table::open(entry.value, Place::Prices, entry.path, problems)?;
    let mut price = |name: &str, unit: &str, scale: f64| match prices.get(name) {
        Some(entry) => read_price(&entry, unit, problems).map(|number| number / scale),
        None => Some(0.0),
    };
    let (chiller, heating) = (price("chiller", "/kWh", KILOWATT_HOUR), price("heating", "/kWh", KILOWATT_HOUR));
    // Money an hour for each m/min is sixty times as much for each m/s.
    let (metre, speed_worth) = (price("metre", "/h", HOUR), price("speed_worth", "/h", HOUR / 60.0));
    Some(Some(Prices { chiller: chiller?, heating: heating?, metre: metre?, speed_worth: speed_worth? }))
}

/// Money for a unit: `"0.06 /kWh"`.
fn read_price(entry: &Entry<'_>, unit: &str, problems: &mut Problems) -> Option<f64> {
    let text = entry.value.get_ref().as_str();
    let number = text.and_then(|text| text.trim().strip_suffix(unit)).and_then(|rest| rest.trim().parse::<f64>().ok());
    let number = number.filter(|number| (0.0..=1e9).contains(number));
    if number.is_none() {
        let found = text.map_or(kind_of(entry.value.get_ref()).to_string(), quoted);
        let message = format!("{found}, money as a number from 0 on and {unit} were expected");
        entry.wrong(problems, message, "not a price", entry.example());
    }
    number
}

/// Whether the rest is one, and leaves room.
fn check_rest(table: &Table<'_>, stages: &Stages, case: &CaseFile, problems: &mut Problems) -> Option<()> {
    let Some(rest) = stages.rest else { return Some(()) };
    let entry = table.get("rest")?;
    let name = &case.sections[rest.section].name;
    let own = format!("section.{}.length", key(name));
    if stages.vary.iter().any(|ranged| ranged.input == own) {
        let help = format!("take {own} out of [stages.vary], or rest away");
        entry.wrong(problems, format!("{} takes the rest and is set, too", quoted(name)), "set twice", help);
        return None;
    }
    // Everything else as short as it may become.
    let mut shortest = case.clone();
    shortest.sections[rest.section].length = 0.0;
    for ranged in &stages.vary {
        if let Ok(variable) = KeyPath::find(case, &ranged.input) {
            let _ = variable.set(&mut shortest, ranged.low);
        }
    }
    let others = shortest.line_length();
    if others >= rest.line_length {
        let message = format!(
            "the other sections take {} at least, the line has {}",
            shown(others, Dimension::Length),
            shown(rest.line_length, Dimension::Length)
        );
        entry.wrong(problems, message, "nothing is left", "give a longer line_length, or lower bounds");
        return None;
    }
    Some(())
}

/// Whether one of the numbers moves the aim; of what only a search can tell, `stages` tells it.
fn check_lever(table: &Table<'_>, stages: &Stages, case: &CaseFile, problems: &mut Problems) -> Option<()> {
    let varies = |path: &str| stages.vary.iter().any(|ranged| ranged.input == path);
    let wet_length = case
        .sections
        .iter()
        .any(|section| section.medium.is_water() && varies(&format!("section.{}.length", key(&section.name))));
    let melts = |layer: usize| {
        let material = &case.layers[layer].material;
        let die: Celsius = case.die_temperature(layer);
        material.kind == Kind::Plastic && material.set_temperature.is_some_and(|set| die > set)
    };
    let (message, help) = match stages.aim {
        Aim::Fastest if !varies("line.speed") => {
            ("the line speed is not among the numbers that may be set".to_string(), format!("add {EXAMPLE}"))
        }
        Aim::Shortest if stages.rest.is_some() => (
            "with rest the line keeps its length: there is nothing to gain".to_string(),
            "take rest away, or choose another aim".to_string(),
        ),
        Aim::Shortest if !wet_length => (
            "no length of a section with water is among the numbers that may be set".to_string(),
            "add one, for example \"section.trough.length\" = [\"4 m\", \"45 m\"]".to_string(),
        ),
        Aim::LeastVoid if !(0..case.layers.len()).any(melts) => (
            "no layer is a melt that sets: there is no melt under a skin".to_string(),
            "give its material a set_temperature, or choose another aim".to_string(),
        ),
        Aim::Cheapest if stages.prices.is_none() => {
            let message = "the cheapest line needs prices, and the case has none";
            let help = "add [stages.cost] with chiller = \"0.06 /kWh\"";
            table.get("aim")?.wrong(problems, message, "no prices", help);
            return None;
        }
        Aim::Cheapest if stages.prices == Some(Prices::default()) => {
            let help = "give one above zero, for example chiller = \"0.06 /kWh\"";
            table.get("cost")?.wrong(problems, "all prices are zero: every line costs the same", "no prices", help);
            return None;
        }
        _ => return Some(()),
    };
    table.get("aim")?.wrong(problems, message, "no lever", help);
    None
}
