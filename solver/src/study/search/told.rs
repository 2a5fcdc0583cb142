//! What answers of searches have in common as JSON: SI with the unit in the key or beside the value; absent numbers are null.

use serde::Serialize;
use serde_json::{Map, Value, json};

use super::ceilings::Ceiling;
use super::confirm::Range;
use super::levers::Lever;
use crate::case::CaseFile;
use crate::case::cautions::cautions;
use crate::march::output::udunits;
use crate::march::solution::Solution;
use crate::march::told::Notes;
use crate::units::Printed;

/// An answer under its name beside the solution that it rests on; without one beside the cautions.
pub(in crate::study) fn beside(case: &CaseFile, solution: Option<&Solution>, name: &str, answer: Value) -> Value {
    let mut told = match solution {
        Some(solution) => json!(solution),
        None => json!(Notes { warnings: &[], cautions: &cautions(case) }),
    };
    told[name] = answer;
    told
}

/// A ceiling with its value.
#[derive(Debug, Serialize)]
pub(in crate::study) struct Taken<'a> {
    name: &'a str,
    max: f64,
    value: Option<f64>,
    met: bool,
    unit: &'static str,
}

/// A ceiling with its value.
pub(in crate::study) fn taken(ceiling: &Ceiling, value: f64) -> Taken<'_> {
    let unit = udunits(ceiling.dimension());
    Taken { name: &ceiling.name, max: ceiling.max, value: finite(value), met: value <= ceiling.max, unit }
}

/// What would help.
pub(in crate::study) fn levers(levers: &[Lever]) -> Value {
    let one = |lever: &Lever| {
        let (ceiling, value) = &lever.worst;
        json!({
            "paths": lever.paths,
            "words": lever.words,
            "from": lever.from,
            "to": lever.to,
            "printed": lever.printed,
            "unit": lever.variable.dimension.map_or("1", udunits),
            "meets": lever.meets,
            "worst": taken(ceiling, *value),
        })
    };
    levers.iter().map(one).collect()
}

/// An answer as a report prints it, and what that is in SI.
#[derive(Debug, Serialize)]
pub(in crate::study) struct Print {
    text: String,
    si: f64,
}

/// An answer as a report prints it.
pub(in crate::study) fn print(printed: &Printed) -> Print {
    Print { text: printed.to_string(), si: printed.si }
}

/// The range of an answer; `unit` ends its keys.
pub(in crate::study) fn range(range: Option<&Range>, unit: &str) -> Value {
    let Some(range) = range else { return Value::Null };
    let mut fields = Map::new();
    fields.insert(format!("favourable_{unit}"), json!(range.favourable));
    fields.insert(format!("unfavourable_{unit}"), json!(range.unfavourable));
    fields.insert("largest".to_string(), json!(range.largest));
    fields.into()
}

/// A number that JSON can hold.
pub(in crate::study) fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}
