//! The needed length as JSON and as a results file.

use quenchway::march::output::udunits;
use quenchway::study::length::{LengthError, LimitNeed, Needed, Reason};
use quenchway::units::{Dimension, System};
use quenchway_words::length::Told;
use serde_json::{Map, Value, json};

use crate::commands::Failure;
use crate::commands::design::{beside_solution, ceiling_json, finite, levers_json, printed_json, range_json};
use crate::store::{Axis, Table, Variable};

/// Fixed words for programs.
fn reason(need: &LimitNeed) -> &'static str {
    match need.reason {
        Reason::Crossing => "crossing",
        Reason::Always => "always",
        Reason::Untouched => "untouched",
        Reason::Asymptote => "asymptote",
        Reason::Ended(_) => "ended",
    }
}

fn of(answer: &Result<Needed, LengthError>) -> Option<&Needed> {
    match answer {
        Ok(needed) => Some(needed),
        Err(LengthError::OverCeiling(needed)) => Some(needed),
        Err(_) => None,
    }
}

fn limits(answer: &Result<Needed, LengthError>) -> &[LimitNeed] {
    match (of(answer), answer) {
        (Some(needed), _) => &needed.limits,
        (_, Err(LengthError::NoLength { limits, .. })) => limits,
        _ => &[],
    }
}

fn decides(needed: &Needed) -> Option<&str> {
    needed.deciding.map(|which| needed.limits[which].ceiling.name.as_str())
}

/// What one speed needs; absent numbers are null.
fn answer_json(answer: &Result<Needed, LengthError>) -> Map<String, Value> {
    let needed = of(answer);
    let limit = |need: &LimitNeed| {
        let value = needed.map_or(f64::NAN, |needed| need.ceiling.value(&needed.built.case, &needed.built.solution));
        let unit = udunits(need.ceiling.dimension());
        let mut fields = Map::new();
        fields.insert("name".to_string(), json!(need.ceiling.name));
        fields.insert(format!("limit_{unit}"), json!(need.ceiling.max));
        fields.insert("needed_m".to_string(), json!(need.length));
        fields.insert("reason".to_string(), json!(reason(need)));
        fields.insert(format!("value_{unit}"), json!(finite(value)));
        fields.insert(format!("longest_trough_{unit}"), json!(finite(need.asymptote)));
        Value::Object(fields)
    };
    let fields = json!({
        "needed_m": needed.map(|needed| needed.length),
        "printed": needed.and_then(|needed| needed.printed.as_ref()).map(printed_json),
        "decides": needed.and_then(decides),
        "range": range_json(needed.and_then(|needed| needed.range.as_ref()), "m"),
        "low_film_m": needed.and_then(|needed| needed.low_film?.length),
        "built_m": needed.map(|needed| needed.built.trough),
        "built_sections_m": needed.map(|needed| &needed.built.lengths),
        "line_length_m": needed.map(|needed| needed.built.case.line_length()),
        "floor_length_m": needed.map(|needed| needed.built.case.floor_length()),
        "limits": limits(answer).iter().map(limit).collect::<Value>(),
        "plant": needed.map(|needed| {
            needed.built.plant.iter().map(|(ceiling, value)| ceiling_json(ceiling, *value)).collect::<Vec<_>>()
        }),
        "solves": needed.map(|needed| needed.solves),
        "no_answer": answer.as_ref().err().map(|error| error.message(System::Si)),
    });
    fields.as_object().cloned().unwrap_or_default()
}

/// The answer for `--json`: that of `run` for the trough that is built, and under `length` what was asked.
pub(super) fn json(told: &Told<'_>) -> Result<Value, Failure> {
    let case = told.case;
    let mut answer = answer_json(told.answer);
    answer.insert("line_speed_m_s".to_string(), json!(case.line_speed));
    let names = told.sections.iter().map(|&index| case.sections[index].name.as_str());
    answer.insert("sections".to_string(), names.collect());
    let given: f64 = told.sections.iter().map(|&index| case.sections[index].length).sum();
    answer.insert("given_m".to_string(), json!(given));
    answer.insert("levers".to_string(), levers_json(told.levers));
    if let Some(lengths) = told.lengths {
        let one = |(speed, answer): (&f64, &Result<Needed, LengthError>)| {
            let mut fields = answer_json(answer);
            fields.insert("line_speed_m_s".to_string(), json!(speed));
            Value::Object(fields)
        };
        answer.insert("over_speeds".to_string(), lengths.speeds.iter().zip(&lengths.answers).map(one).collect());
    }
    beside_solution(case, of(told.answer).map(|needed| &needed.built.solution), "length", answer)
}

/// The answer as a results file: what each limit needs, and the same along line speed.
pub(super) fn table(told: &Told<'_>) -> Table {
    const LIMIT: usize = 0;
    const SPEED: usize = 1;
    const GROWING: usize = 2;
    let (case, none) = (told.case, f64::NAN);
    let needs = limits(told.answer);
    let needed = of(told.answer);
    let of_limits = |name: &str, units: &str, words: &str, value: &dyn Fn(&LimitNeed) -> f64| {
        Variable::numbers(name, units, words, &[LIMIT], needs.iter().map(value).collect())
    };
    let sections: Vec<String> = told.sections.iter().map(|&index| case.sections[index].name.clone()).collect();
    let mut axes = vec![Axis::names("limit", "limit", needs.iter().map(|need| need.ceiling.name.clone()).collect())];
    let value =
        |need: &LimitNeed| needed.map_or(none, |needed| need.ceiling.value(&needed.built.case, &needed.built.solution));
    let kelvin = |need: &LimitNeed| need.ceiling.dimension() == Dimension::Temperature;
    let celsius = |need: &LimitNeed, value: f64| if kelvin(need) { value } else { none };
    let percent = |need: &LimitNeed, value: f64| if kelvin(need) { none } else { value };
    let mut variables = vec![
        of_limits("limit_temperature", "degC", "the limit", &|need| celsius(need, need.ceiling.max)),
        of_limits("limit_needed_length", "m", "trough from which on the limit is met; 0: every length does", &|need| {
            need.length.unwrap_or(none)
        }),
        of_limits("limit_value", "degC", "temperature with the trough that is built", &|need| {
            celsius(need, value(need))
        }),
        of_limits("limit_longest_trough", "degC", "temperature that the longest trough leaves", &|need| {
            celsius(need, need.asymptote)
        }),
        Variable::texts(
            "limit_reason",
            "why the limit needs it",
            LIMIT,
            needs.iter().map(|need| reason(need).into()).collect(),
        ),
    ];
    if !needs.iter().all(kelvin) {
        let of = |name: &str, words: &str, of: &dyn Fn(&LimitNeed) -> f64| {
            of_limits(name, "percent", words, &|need| percent(need, of(need)))
        };
        variables.extend([
            of("limit_melt_shrink", "the limit", &|need| need.ceiling.max),
            of("limit_melt_shrink_value", "melt shrink with the trough that is built", &value),
            of("limit_melt_shrink_longest_trough", "melt shrink that the longest trough leaves", &|need| {
                need.asymptote
            }),
        ]);
    }
    if let Some(lengths) = told.lengths {
        axes.push(Axis::numbers("line_speed", "m s-1", "line speed", lengths.speeds.clone()));
        let along = |name: &str, words: &str, value: &dyn Fn(&Needed) -> Option<f64>| {
            let values = lengths.answers.iter().map(|answer| of(answer).and_then(value).unwrap_or(none)).collect();
            Variable::numbers(name, "m", words, &[SPEED], values)
        };
        let by_limit = lengths.answers.iter().flat_map(|answer| {
            let own = limits(answer);
            needs.iter().map(|need| {
                let same = own.iter().find(|other| other.ceiling == need.ceiling);
                same.and_then(|other| other.length).unwrap_or(none)
            })
        });
        let by_limit: Vec<f64> = by_limit.collect();
        variables.extend([
            along("needed_length", "shortest trough that meets every limit", &|needed| Some(needed.length)),
            along("built_length", "trough as it is built", &|needed| Some(needed.built.trough)),
            along("favourable_length", "the same at the favourable end of the inputs' uncertainty", &|needed| {
                needed.range.as_ref()?.favourable
            }),
            along("unfavourable_length", "the same at the unfavourable end", &|needed| {
                needed.range.as_ref()?.unfavourable
            }),
            Variable::numbers(
                "needed_length_by_limit",
                "m",
                "trough that each limit alone needs; 0: every length does",
                &[SPEED, LIMIT],
                by_limit,
            ),
            Variable::texts(
                "decides",
                "limit that decides",
                SPEED,
                lengths.answers.iter().map(|answer| of(answer).and_then(decides).unwrap_or_default().into()).collect(),
            ),
            Variable::texts(
                "no_answer",
                "why there is no length",
                SPEED,
                lengths
                    .answers
                    .iter()
                    .map(|answer| answer.as_ref().err().map_or(String::new(), |error| error.message(System::Si)))
                    .collect(),
            ),
        ]);
    } else {
        // The places of the axes stay the same.
        axes.push(Axis::numbers("line_speed", "m s-1", "line speed", vec![case.line_speed]));
    }
    axes.push(Axis::names("growing", "section that grows", sections));
    let built = |index: usize| needed.map_or(none, |needed| needed.built.lengths[index]);
    variables.push(Variable::numbers(
        "built_section_length",
        "m",
        "length of the section as it is built",
        &[GROWING],
        (0..told.sections.len()).map(built).collect(),
    ));
    let mut numbers = vec![("line_speed_m_s".to_string(), case.line_speed)];
    let mut number = |name: &str, value: Option<f64>| numbers.extend(value.map(|value| (name.to_string(), value)));
    let range = needed.and_then(|needed| needed.range.as_ref());
    number("needed_m", needed.map(|needed| needed.length));
    number("printed_m", needed.and_then(|needed| Some(needed.printed.as_ref()?.si)));
    number("line_length_m", needed.map(|needed| needed.built.case.line_length()));
    number("floor_length_m", needed.map(|needed| needed.built.case.floor_length()));
    number("built_m", needed.map(|needed| needed.built.trough));
    number("favourable_m", range.and_then(|range| range.favourable));
    number("unfavourable_m", range.and_then(|range| range.unfavourable));
    let texts = vec![
        ("decides".to_string(), needed.and_then(decides).unwrap_or_default().to_string()),
        ("no_answer".to_string(), told.answer.as_ref().err().map_or(String::new(), |e| e.message(System::Si))),
    ];
    Table { cautions: quenchway::case::cautions::cautions(case), texts, numbers, axes, variables, ..Table::default() }
}
