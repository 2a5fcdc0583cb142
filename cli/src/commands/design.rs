//! What the commands on length and speed share: which sections grow, a range of speeds, the solution among the answers.

use quenchway::case::CaseFile;
use quenchway::march::output::udunits;
use quenchway::march::solution::Solution;
use quenchway::names::key_path::KeyPath;
use quenchway::study::search::ceilings::Ceiling;
use quenchway::study::search::confirm::Range;
use quenchway::study::search::levers::Lever;
use quenchway::units::Printed;
use quenchway::units::words::nearest;
use serde_json::{Map, Value, json};

use super::Failure;
use crate::args::range::{range, spaced};

/// The case with the sections of `--adjust` as those that may grow; as it is without any.
pub fn adjusted(case: &CaseFile, names: &[String]) -> Result<CaseFile, Failure> {
    let mut case = case.clone();
    if names.is_empty() {
        return Ok(case);
    }
    case.plant.adjustable.clear();
    for name in names {
        let known = || case.sections.iter().map(|section| section.name.as_str());
        let Some(index) = known().position(|known| known == name) else {
            let help = match nearest(name, known()) {
                Some(near) => format!("did you mean {near:?}?"),
                None => {
                    let names: Vec<String> = known().map(|known| format!("{known:?}")).collect();
                    format!("the sections are {}", names.join(", "))
                }
            };
            return Err(Failure::flag("--adjust", format!("there is no section {name:?}; {help}")));
        };
        if case.plant.adjustable.contains(&index) {
            return Err(Failure::flag("--adjust", format!("{name:?} is named twice; name each section once")));
        }
        case.plant.adjustable.push(index);
    }
    Ok(case)
}

/// The line speeds of `--speeds`, m/s.
pub fn speeds(case: &CaseFile, text: &str, points: u16) -> Result<Vec<f64>, Failure> {
    let wrong = |reason: String| Failure::flag("--speeds", reason);
    let speed = KeyPath::find(case, "line.speed").map_err(|error| wrong(error.to_string()))?;
    let read = |value: &str| {
        speed.parse_value(value).map_err(|error| {
            let (wrong, right) = error.parts();
            format!("{wrong}; {right}")
        })
    };
    Ok(spaced(range(text, read).map_err(wrong)?, usize::from(points)))
}

/// An answer beside the JSON of the solution that it rests on; without one beside the cautions.
pub fn beside_solution(
    case: &CaseFile,
    solution: Option<&Solution>,
    name: &str,
    answer: Map<String, Value>,
) -> Result<Value, Failure> {
    let mut value = match solution {
        Some(solution) => serde_json::to_value(solution).map_err(|error| Failure::Write(error.to_string()))?,
        None => json!({ "warnings": [], "cautions": quenchway::case::cautions::cautions(case) }),
    };
    if let Value::Object(fields) = &mut value {
        fields.insert(name.to_string(), answer.into());
    }
    Ok(value)
}

/// A ceiling with its value.
pub fn ceiling_json(ceiling: &Ceiling, value: f64) -> Map<String, Value> {
    let fields = json!({
        "name": ceiling.name,
        "max": ceiling.max,
        "value": finite(value),
        "met": value <= ceiling.max,
        "unit": udunits(ceiling.dimension()),
    });
    fields.as_object().cloned().unwrap_or_default()
}

/// What would help.
pub fn levers_json(levers: &[Lever]) -> Value {
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
            "worst": ceiling_json(ceiling, *value),
        })
    };
    levers.iter().map(one).collect()
}

/// An answer as the report prints it, and what that is in SI.
pub fn printed_json(printed: &Printed) -> Value {
    json!({ "text": printed.to_string(), "si": printed.si })
}

/// The range of an answer; `unit` ends its keys.
pub fn range_json(range: Option<&Range>, unit: &str) -> Value {
    let Some(range) = range else { return Value::Null };
    let mut fields = Map::new();
    fields.insert(format!("favourable_{unit}"), json!(range.favourable));
    fields.insert(format!("unfavourable_{unit}"), json!(range.unfavourable));
    fields.insert("largest".to_string(), json!(range.largest));
    fields.into()
}

/// A number that JSON can hold.
pub fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}
