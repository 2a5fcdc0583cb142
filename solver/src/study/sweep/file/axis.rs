//! `[vary]`: numbers of the case by key path, each with the values that it takes.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::case::CaseFile;
use crate::file::entry::Entry;
use crate::file::problem::{Problems, unit_label};
use crate::file::vary;
use crate::file::words::kind_of;
use crate::march::output::{Output, Search};
use crate::maths::distribution::Distribution;
use crate::maths::order::sort_by_number;
use crate::names::error::KeyPathError;
use crate::names::key_path::KeyPath;
use crate::names::variable::Variable;
use crate::study::sweep::{Axis, Values};
use crate::units::words::key;
use crate::units::words::nearest;
use crate::units::words::{listed, quoted};
use crate::units::{self, Dimension};

/// Most points of one axis.
const MOST_POINTS: i64 = 1_000_000;
/// Most axes of a study.
const MOST_AXES: usize = 100;
/// The keys of a range.
const RANGE: [&str; 5] = ["from", "to", "points", "step", "spacing"];
const SPACINGS: [&str; 2] = ["even", "logarithmic"];

/// Reads all axes, in the order of the text; an axis that no output can depend on is noted.
pub(super) fn read_all<'a>(
    entry: &Entry<'a>,
    case: &CaseFile,
    outputs: &[Output],
    sampled: bool,
    problems: &mut Problems,
) -> Option<Vec<Axis>> {
    let DeValue::Table(table) = entry.value.get_ref() else {
        let found = kind_of(entry.value.get_ref());
        let help = format!("write [vary] and below it {}", example());
        entry.wrong(problems, format!("{found}, key paths with their values were expected"), "not a table", help);
        return None;
    };
    let mut found = Vec::new();
    collect(table, "", (case, sampled), &mut found, problems);
    sort_by_number(&mut found, |(span, _)| span.start as f64);
    if table.is_empty() || found.len() > MOST_AXES {
        let help = format!("write below it {}", example());
        let message = if table.is_empty() { "nothing varies".to_string() } else { format!("{} axes", found.len()) };
        entry.wrong(problems, message, format!("1 to {MOST_AXES} are possible"), help);
        return None;
    }
    for (index, (span, axis)) in found.iter().enumerate() {
        if let Some((message, label, help)) = idle(&axis.variable.path, outputs) {
            problems.add(span, "vary", message, label, help);
        }
        if found[..index].iter().any(|(_, other)| other.variable.path == axis.variable.path) {
            let message = format!("{} is given twice", axis.variable.path);
            problems.add(span, "vary", message, "second axis", "keep one of them");
        }
    }
    Some(found.into_iter().map(|(_, axis)| axis).collect())
}

/// Why a number makes no axis: no output depends on it.
fn idle(path: &str, outputs: &[Output]) -> Option<(String, &'static str, &'static str)> {
    if path.starts_with("solver.") {
        let message = format!("{path} says how exactly a sample is computed, and is no number of the line");
        return Some((
            message,
            "not of the line",
            "set it under [solver] in the base case; `quenchway converge` shows what it does",
        ));
    }
    let key = path.strip_prefix("plant.")?;
    let asked = |search: Search| outputs.iter().any(|output| output.searched() == Some(search));
    if key == "ramp_max" {
        let help = "add \"fastest_ramp\" to the outputs, or leave this axis out";
        let none = !outputs.is_empty() && !asked(Search::Ramp);
        return none.then(|| (format!("none of the outputs depends on {path}"), "changes nothing", help));
    }
    // The hall's length and the modules of the trough are of no concern to a speed.
    let of_the_trough_only = matches!(key, "hall_max" | "module");
    if outputs.is_empty() || asked(Search::Length) || (asked(Search::Speed) && !of_the_trough_only) {
        return None;
    }
    let help = match of_the_trough_only {
        true => "add \"needed_length\" to the outputs, or leave this axis out",
        false => "add \"needed_length\" or \"top_speed\" to the outputs, or leave this axis out",
    };
    Some((format!("none of the outputs depends on {path}"), "changes nothing", help))
}

fn example() -> &'static str {
    "\"line.speed\" = { from = \"100 m/min\", to = \"300 m/min\", points = 20 }"
}

/// A key path stands in quotation marks as one key, or as a dotted key, which TOML reads as tables within tables.
fn collect<'a>(
    table: &'a DeTable<'a>,
    before: &str,
    (case, sampled): (&CaseFile, bool),
    found: &mut Vec<(Range<usize>, Axis)>,
    problems: &mut Problems,
) {
    for (step, value) in table {
        let written = step.get_ref().as_ref();
        // A table whose keys are those of a range or distribution is one; any other is a step of a dotted path, unless its own
        // path leads to a number: then its keys are misspelt.
        let whole = |inner: &DeTable<'_>| is_axis(inner) || (before.is_empty() && KeyPath::find(case, written).is_ok());
        let inner = value.get_ref().as_table().filter(|inner| !whole(inner));
        let path = match (before.is_empty(), inner) {
            (true, None) => written.to_string(),
            (true, Some(_)) => key(written),
            (false, _) => format!("{before}.{}", key(written)),
        };
        match KeyPath::find(case, &path) {
            Ok(variable) => {
                let values = Reader { variable: &variable, case, sampled, problems }.values(value);
                found.extend(values.map(|values| (step.span(), Axis { variable, values })));
            }
            Err(_) if inner.is_some_and(|inner| !inner.is_empty() && KeyPath::parse(&path).is_err()) => {
                collect(inner.unwrap_or(table), &path, (case, sampled), found, problems);
            }
            Err(error) => match inner {
                // `line.speed.x`: the path itself leads nowhere, what is below it hardly matters.
                Some(inner) if inner.values().any(|value| value.get_ref().is_table() || value.get_ref().is_array()) => {
                    collect(inner, &path, (case, sampled), found, problems);
                }
                _ => {
                    let (message, help) = error.parts();
                    problems.add(&step.span(), "vary", message, "leads to no number", help);
                }
            },
        }
    }
}

/// Whether a table has a key of a range or of a distribution.
fn is_axis(table: &DeTable<'_>) -> bool {
    table
        .keys()
        .any(|key| RANGE.contains(&key.get_ref().as_ref()) || vary::forms().any(|(form, _)| form == key.get_ref()))
}

/// Reads the values of one number.
struct Reader<'r> {
    variable: &'r Variable,
    case: &'r CaseFile,
    /// Whether the study takes samples, and is no grid.
    sampled: bool,
    problems: &'r mut Problems,
}

impl Reader<'_> {
    fn wrong(&mut self, span: &Range<usize>, message: impl Into<String>, label: &str, help: impl Into<String>) {
        self.problems.add(span, &self.variable.path, message, label, help);
    }

    fn values(&mut self, value: &Spanned<DeValue<'_>>) -> Option<Values> {
        match value.get_ref() {
            DeValue::Array(items) => {
                let values: Vec<Option<f64>> = items.iter().map(|item| self.number(item)).collect();
                let values: Vec<f64> = values.into_iter().collect::<Option<_>>()?;
                if values.is_empty() || values.len() > MOST_POINTS as usize {
                    let message = format!("{} values; 1 to {MOST_POINTS} are possible", values.len());
                    self.wrong(&value.span(), message, "no list of values", self.example());
                    return None;
                }
                self.distinct(&value.span(), values)
            }
            DeValue::Table(table) if table.keys().any(|key| vary::forms().any(|(form, _)| form == key.get_ref())) => {
                if !self.sampled {
                    let help = "method = \"sobol\", samples = 65536; or a list or range here";
                    self.wrong(&value.span(), "a grid takes no distribution", "of a sampled study", help);
                    return None;
                }
                let spread = vary::distribution(value, self.variable, self.case, "vary", self.problems)?;
                Some(Values::Spread(spread))
            }
            DeValue::Table(table) => self.range(&value.span(), table),
            other => {
                let message = format!("{}, a list or a range of values was expected", kind_of(other));
                self.wrong(&value.span(), message, "neither list nor range", self.example());
                None
            }
        }
    }

    /// Values that label a dimension: each once.
    fn distinct(&mut self, span: &Range<usize>, values: Vec<f64>) -> Option<Values> {
        let mut sorted = values.clone();
        sorted.sort_by(f64::total_cmp);
        if let Some(pair) = sorted.windows(2).find(|pair| pair[0] == pair[1]) {
            let message = format!("{} occurs twice", self.variable.show(pair[0], units::System::Si));
            self.wrong(span, message, "a value twice", "give every value once");
            return None;
        }
        if self.variable.is_whole() && values.iter().any(|value| value.fract() != 0.0) {
            self.wrong(span, "passes are whole numbers", "not whole", "[1, 3, 5]");
            return None;
        }
        Some(Values::List(values))
    }

    fn range(&mut self, span: &Range<usize>, table: &DeTable<'_>) -> Option<Values> {
        for (name, _) in table {
            let written = name.get_ref().as_ref();
            if !RANGE.contains(&written) {
                let forms = vary::forms().map(|(form, _)| form).filter(|_| self.sampled);
                let help = match nearest(written, RANGE.into_iter().chain(forms)) {
                    Some(near) => format!("did you mean {near}?"),
                    None => format!("the keys of a range are {}", listed(RANGE, "and")),
                };
                let message = format!("{} is not a key of a range", quoted(written));
                self.wrong(&name.span(), message, "unknown key", help);
                return None;
            }
        }
        let (Some(from), Some(to)) = (table.get("from"), table.get("to")) else {
            self.wrong(span, "a range needs from and to", "no range", self.example());
            return None;
        };
        let (from_span, to_span) = (from.span(), to.span());
        let (from, to) = (self.number(from), self.number(to));
        let (from, to) = (from?, to?);
        if !(from.is_finite() && to.is_finite()) {
            self.wrong(span, "a perfect contact is no end of a range", "no end", "[\"500 W/(m2 K)\", \"perfect\"]");
            return None;
        }
        let logarithmic = match table.get("spacing").map(|value| (value.span(), value.get_ref().as_str())) {
            None => false,
            Some((_, Some("even"))) => false,
            Some((_, Some("logarithmic"))) if !self.variable.is_temperature() && from.min(to) > 0.0 => true,
            Some((span, Some("logarithmic"))) => {
                let message = "the spacing can be logarithmic only where a number is positive and no temperature";
                self.wrong(&span, message, "not possible here", "spacing = \"even\"");
                return None;
            }
            Some((span, _)) => {
                let help = format!("spacing takes {}", listed(SPACINGS.map(|word| format!("\"{word}\"")), "or"));
                self.wrong(&span, "this is no spacing", "unknown word", help);
                return None;
            }
        };
        match (table.get("points"), table.get("step")) {
            (Some(points), None) => {
                let count = self.count(points)?;
                if count > 1 && from == to {
                    self.wrong(&to_span, "the range ends where it begins", "no range", "give another end, or a list");
                    return None;
                }
                if count == 1 && from != to {
                    self.wrong(&points.span(), "one point does not reach from end to end", "too few", "points = 2");
                    return None;
                }
                let value = |k: i64| {
                    if k + 1 == count && count > 1 {
                        to
                    } else if logarithmic {
                        from * libm::pow(to / from, k as f64 / (count - 1).max(1) as f64)
                    } else {
                        from + (to - from) * (k as f64 / (count - 1).max(1) as f64)
                    }
                };
                self.distinct(span, (0..count).map(value).collect())
            }
            (None, Some(step)) => {
                let step_span = step.span();
                let step = self.step(step)?;
                let steps = (to - from) / step;
                if logarithmic || !(steps >= 0.0 && steps < MOST_POINTS as f64) {
                    let message = if logarithmic {
                        "a step goes with even spacing only".to_string()
                    } else if steps < 0.0 {
                        "the step leads away from the range's end".to_string()
                    } else {
                        format!("the range has more than {MOST_POINTS} steps")
                    };
                    self.wrong(&step_span, message, "no such step", "points = 20");
                    return None;
                }
                // A range of whole steps ends on its end, whatever the rounding of the division.
                let count = (steps + 1e-9).floor() as i64;
                let whole = (steps - count as f64) < 1e-6;
                let value = |k: i64| if whole && k == count { to } else { from + step * k as f64 };
                self.distinct(span, (0..=count).map(value).collect())
            }
            (Some(_), Some(step)) => {
                self.wrong(&step.span(), "points and step are given", "second of two", "keep one of them");
                None
            }
            (None, None) if self.sampled => {
                let made =
                    if logarithmic { Distribution::log_uniform(from, to) } else { Distribution::uniform(from, to) };
                match made {
                    Ok(distribution) => Some(Values::Spread(distribution)),
                    Err(error) => {
                        self.wrong(&to_span, error.to_string(), "no range", "give the lower end first");
                        None
                    }
                }
            }
            (None, None) => {
                self.wrong(&from_span, "a range of a grid needs points or step", "how many?", "points = 20");
                None
            }
        }
    }

    fn count(&mut self, value: &Spanned<DeValue<'_>>) -> Option<i64> {
        let number = match value.get_ref() {
            DeValue::Integer(integer) => i64::from_str_radix(integer.as_str(), integer.radix()).ok(),
            _ => None,
        };
        let inside = number.filter(|number| (1..=MOST_POINTS).contains(number));
        if inside.is_none() {
            let message = format!("points is a whole number from 1 to {MOST_POINTS}");
            self.wrong(&value.span(), message, "no number of points", "points = 20");
        }
        inside
    }

    /// A step: of a temperature, a difference.
    fn step(&mut self, value: &Spanned<DeValue<'_>>) -> Option<f64> {
        let parsed = match (self.variable.dimension, bare(value.get_ref()), value.get_ref().as_str()) {
            (None, Some(number), _) => number.parse().ok().filter(|number: &f64| number.is_finite()),
            (Some(dimension), _, Some(text)) => {
                let of_scale = dimension == Dimension::Temperature;
                let dimension = if of_scale { Dimension::TemperatureDifference } else { dimension };
                match units::parse(text, dimension) {
                    Ok(step) => Some(step),
                    Err(error) => {
                        let label = unit_label(&error);
                        self.wrong(&value.span(), error.wrong(), &label, error.remedy());
                        return None;
                    }
                }
            }
            _ => None,
        };
        if parsed == Some(0.0) {
            self.wrong(&value.span(), "a step of zero reaches no end", "zero", "give another step, or `points`");
            return None;
        }
        if parsed.is_none() {
            let help = match self.variable.dimension {
                Some(dimension) => dimension.accepted(),
                None => "step = 0.1",
            };
            self.wrong(&value.span(), "this is no step", "no step", help);
        }
        parsed
    }

    /// A value of the number.
    fn number(&mut self, value: &Spanned<DeValue<'_>>) -> Option<f64> {
        let text = match (value.get_ref(), bare(value.get_ref()), self.variable.dimension) {
            (DeValue::String(text), _, Some(_)) => text.to_string(),
            (_, Some(number), _) => number,
            (other, _, _) => {
                let wanted = if self.variable.dimension.is_some() { "a value with its unit" } else { "a bare number" };
                self.wrong(
                    &value.span(),
                    format!("{}, {wanted} was expected", kind_of(other)),
                    "no value",
                    self.sample(),
                );
                return None;
            }
        };
        match self.variable.parse_value(&text) {
            Ok(number) => Some(number),
            Err(error) => {
                let label = match &error {
                    KeyPathError::Value { error, .. } => unit_label(error),
                    KeyPathError::OutOfRange { .. } => "out of range".to_string(),
                    _ => "no value".to_string(),
                };
                let (message, help) = error.parts();
                self.wrong(&value.span(), message, &label, help);
                None
            }
        }
    }

    /// The number as the case has it, to paste.
    fn sample(&self) -> String {
        let shown = self.variable.show(self.variable.get(self.case), units::System::Si);
        if self.variable.dimension.is_some() { format!("\"{shown}\"") } else { shown }
    }

    fn example(&self) -> String {
        if self.sampled {
            return format!("{{ from = {0}, to = ... }}, a distribution or a list", self.sample());
        }
        format!("a list [{0}, ...], or {{ from = {0}, to = ..., points = 20 }}", self.sample())
    }
}

/// The text of a bare number.
fn bare(value: &DeValue<'_>) -> Option<String> {
    match value {
        DeValue::Integer(number) => i64::from_str_radix(number.as_str(), number.radix()).ok().map(|n| n.to_string()),
        DeValue::Float(number) => Some(number.as_str().to_string()),
        _ => None,
    }
}
