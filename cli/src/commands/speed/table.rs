//! The fastest speed as JSON and as a results file.

use quenchway::march::output::udunits;
use quenchway::study::speed::{CeilingSpeed, SpeedError, Speeds};
use quenchway::units::System;
use quenchway_words::speed::{OfPasses, Told};
use serde_json::{Map, Value, json};

use crate::commands::Failure;
use crate::commands::design::{beside_solution, ceiling_json, finite, levers_json, printed_json, range_json};
use crate::store::{Axis, Table, Variable};

fn decides(answer: &Result<Speeds, SpeedError>) -> Option<&str> {
    answer.as_ref().ok().map(|speeds| speeds.ceilings[0].ceiling.name.as_str())
}

/// The fastest speed as the report prints it.
fn printed(speeds: &Speeds) -> Option<Value> {
    speeds.printed.as_ref().map(printed_json)
}

fn no_answer(answer: &Result<Speeds, SpeedError>) -> Option<String> {
    answer.as_ref().err().map(|error| error.message(System::Si))
}

/// The answer for `--json`: that of `run` at the fastest speed, and under `speed` what was asked.
pub(super) fn json(told: &Told<'_>) -> Result<Value, Failure> {
    let speeds = told.answer.as_ref().ok();
    let ceiling = |ceiling: &CeilingSpeed| {
        let mut fields = ceiling_json(&ceiling.ceiling, ceiling.value);
        fields.insert("speed_m_s".to_string(), json!(ceiling.speed));
        fields.insert("reached".to_string(), json!(!ceiling.open));
        fields.insert("met_again_m_s".to_string(), json!(ceiling.again));
        fields.insert("at_slowest".to_string(), json!(finite(ceiling.slowest)));
        Value::Object(fields)
    };
    let passes = |of: &OfPasses| {
        json!({
            "passes": of.passes,
            "top_m_s": of.answer.as_ref().ok().map(|speeds| speeds.top),
            "printed": of.answer.as_ref().ok().and_then(printed),
            "decides": decides(&of.answer),
            "line_length_m": of.way,
            "floor_length_m": of.floor,
            "no_answer": no_answer(&of.answer),
        })
    };
    let fields = json!({
        "given_m_s": told.case.line_speed,
        "top_m_s": speeds.map(|speeds| speeds.top),
        "printed": speeds.and_then(printed),
        "line_length_m": told.case.line_length(),
        "floor_length_m": told.case.floor_length(),
        "decides": decides(told.answer),
        "range": range_json(speeds.and_then(|speeds| speeds.range.as_ref()), "m_s"),
        "ceilings": told.ceilings().unwrap_or_default().iter().map(ceiling).collect::<Value>(),
        "beyond_table": speeds.map(|speeds| &speeds.beyond_table),
        "passes": told.passes.iter().map(passes).collect::<Value>(),
        "levers": levers_json(told.levers),
        "solves": speeds.map(|speeds| speeds.solves),
        "no_answer": no_answer(told.answer),
    });
    let fields: Map<String, Value> = fields.as_object().cloned().unwrap_or_default();
    beside_solution(told.case, speeds.map(|speeds| &speeds.solution), "speed", fields)
}

/// The answer as a results file: every ceiling with its speed, and the numbers of passes.
pub(super) fn table(told: &Told<'_>) -> Table {
    const CEILING: usize = 0;
    const PASSES: usize = 1;
    let none = f64::NAN;
    let ceilings = told.ceilings().unwrap_or_default();
    let of_ceilings = |name: &str, units: &str, words: &str, value: &dyn Fn(&CeilingSpeed) -> f64| {
        Variable::numbers(name, units, words, &[CEILING], ceilings.iter().map(value).collect())
    };
    let units = ceilings.iter().map(|ceiling| udunits(ceiling.ceiling.dimension()).to_string()).collect();
    let mut axes = Vec::new();
    let mut variables = Vec::new();
    if !ceilings.is_empty() {
        let names = ceilings.iter().map(|ceiling| ceiling.ceiling.name.clone()).collect();
        axes.push(Axis::names("ceiling", "what must not be exceeded, the lowest speed first", names));
        variables.extend([
            Variable::texts("ceiling_units", "unit of ceiling_max and ceiling_value", CEILING, units),
            of_ceilings("ceiling_max", "1", "highest that is allowed, in ceiling_units", &|c| c.ceiling.max),
            of_ceilings("ceiling_value", "1", "value at the fastest speed, in ceiling_units", &|c| c.value),
            of_ceilings("ceiling_speed", "m s-1", "fastest speed up to which the ceiling is met", &|c| {
                c.speed.unwrap_or(none)
            }),
            of_ceilings("ceiling_reached", "1", "0 where the ceiling is met at every speed looked at", &|c| {
                f64::from(!c.open)
            }),
        ]);
    }
    if !told.passes.is_empty() {
        // Without ceilings there is no axis before this one.
        let axis = PASSES.min(axes.len());
        let counts = told.passes.iter().map(|of| of.passes as f64).collect();
        axes.push(Axis::numbers("passes", "1", "passes through the trough", counts));
        let along = |name: &str, units: &str, words: &str, value: &dyn Fn(&OfPasses) -> f64| {
            Variable::numbers(name, units, words, &[axis], told.passes.iter().map(value).collect())
        };
        let texts = |value: &dyn Fn(&OfPasses) -> String| told.passes.iter().map(value).collect();
        variables.extend([
            along("top_speed", "m s-1", "fastest line speed", &|of| {
                of.answer.as_ref().map_or(none, |speeds| speeds.top)
            }),
            along("line_length", "m", "way of the product", &|of| of.way),
            along("floor_length", "m", "floor that the line stands on", &|of| of.floor),
            Variable::texts(
                "decides",
                "ceiling that decides",
                axis,
                texts(&|of| decides(&of.answer).unwrap_or_default().to_string()),
            ),
            Variable::texts(
                "no_answer",
                "why there is no speed",
                axis,
                texts(&|of| no_answer(&of.answer).unwrap_or_default()),
            ),
        ]);
    }
    let speeds = told.answer.as_ref().ok();
    let range = speeds.and_then(|speeds| speeds.range.as_ref());
    let mut numbers = vec![("given_m_s".to_string(), told.case.line_speed)];
    let mut number = |name: &str, value: Option<f64>| numbers.extend(value.map(|value| (name.to_string(), value)));
    number("top_m_s", speeds.map(|speeds| speeds.top));
    number("printed_m_s", speeds.and_then(|speeds| Some(speeds.printed.as_ref()?.si)));
    number("line_length_m", Some(told.case.line_length()));
    number("floor_length_m", Some(told.case.floor_length()));
    number("favourable_m_s", range.and_then(|range| range.favourable));
    number("unfavourable_m_s", range.and_then(|range| range.unfavourable));
    let texts = vec![
        ("decides".to_string(), decides(told.answer).unwrap_or_default().to_string()),
        ("no_answer".to_string(), no_answer(told.answer).unwrap_or_default()),
    ];
    Table {
        cautions: quenchway::case::cautions::cautions(told.case),
        texts,
        numbers,
        axes,
        variables,
        ..Table::default()
    }
}
