//! `quenchway water`: what the water takes over a range of speeds, as a card.

use std::collections::BTreeSet;

use quenchway::names::key_path::KeyPath;
use quenchway::study::water::{OfSection, Taken, Water, water as solve};
use quenchway_words::water as words;
use serde_json::{Value, json};

use super::study::{self, Asked, Found};
use super::{Answer, Failure};
use crate::args::WaterArgs;
use crate::args::range::{range, spaced};
use crate::plot;
use crate::store::{Axis, Table, Variable};

/// Answers the question; `columns` is the terminal's width, where there is one.
pub fn water(args: &WaterArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    study::answer("water", &args.study, columns, |asked| found(args, asked))
}

fn found(args: &WaterArgs, asked: &Asked<'_>) -> Result<Found<'static>, Failure> {
    let (case, shown) = (asked.case, asked.shown);
    let question = |reason: &str| Failure::Question(args.study.case.clone(), reason.to_string());
    let speeds = spaced(ends(args, asked)?, usize::from(args.points));
    let found = solve(case, &speeds).ok_or_else(|| question("no section is in water, so that nothing warms any"))?;
    let reason = |found: &Water| found.at_speeds.iter().find_map(|row| row.ways[0].reason.clone()).unwrap_or_default();
    if found.first.is_none() {
        return Err(question(&format!("no speed has an answer; at the lowest: {}", reason(&found))));
    }
    let report = words::report(case, &found, shown);
    let (json, table) = (json(&found)?, table(&found));
    let title = case.title.clone();
    Ok(Found {
        report,
        json,
        table,
        description:
            "Heat to the water, flow for a given rise, outlet temperatures, water along and against the product, over \
                      line speed"
                .to_string(),
        draw: Box::new(move |sheet| plot::water::draw(sheet, &title, &found, shown)),
        status: 0,
    })
}

/// The lowest and the highest speed, m/s.
fn ends(args: &WaterArgs, asked: &Asked<'_>) -> Result<[f64; 2], Failure> {
    let wrong = |reason: String| Failure::flag("--speeds", reason);
    let speed = KeyPath::find(asked.case, "line.speed").map_err(|error| wrong(error.to_string()))?;
    match &args.speeds {
        Some(text) => range(text, |value| speed.parse_value(value).map_err(|error| error.to_string())).map_err(wrong),
        None => {
            let [low, high] = speed.bounds;
            Ok([0.5, 2.0].map(|factor| (factor * asked.case.line_speed).clamp(low, high)))
        }
    }
}

fn json(found: &Water) -> Result<Value, Failure> {
    let failed = |error: serde_json::Error| Failure::Write(error.to_string());
    let mut value = serde_json::to_value(found).map_err(failed)?;
    let first = serde_json::to_value(&found.first).map_err(failed)?;
    if let Value::Object(fields) = &mut value {
        fields.insert("assumed_rise_K".to_string(), json!(quenchway::study::water::ASSUMED_RISE));
        for name in ["warnings", "cautions"] {
            fields.insert(name.to_string(), first.get(name).cloned().unwrap_or(json!([])));
        }
    }
    Ok(value)
}

/// The answer as a results file.
fn table(found: &Water) -> Table {
    const SPEED: usize = 0;
    const WAY: usize = 1;
    const SECTION: usize = 2;
    let none = f64::NAN;
    let ways = || found.at_speeds.iter().flat_map(|row| &row.ways);
    let of_ways = |name: &str, units: &str, words: &str, value: fn(&Taken) -> f64| {
        let values = ways().map(|told| told.taken.as_ref().map_or(none, value)).collect();
        Variable::numbers(name, units, words, &[SPEED, WAY], values)
    };
    let count = found.sections.len();
    let of_sections = |name: &str, units: &str, words: &str, value: fn(&OfSection) -> Option<f64>| {
        let of_way = |taken: &Option<Taken>| -> Vec<f64> {
            let sections = taken.iter().flat_map(|taken| &taken.sections);
            let mut values: Vec<f64> = sections.map(|section| value(section).unwrap_or(none)).collect();
            values.resize(count, none);
            values
        };
        let values = ways().flat_map(|told| of_way(&told.taken)).collect();
        Variable::numbers(name, units, words, &[SPEED, WAY, SECTION], values)
    };
    let reasons: Vec<&str> =
        ways().filter_map(|told| told.reason.as_deref()).collect::<BTreeSet<_>>().into_iter().collect();
    let status = |reason: &Option<String>| match reason {
        None => 0.0,
        Some(reason) => 1.0 + reasons.iter().position(|known| known == reason).unwrap_or(0) as f64,
    };
    let named = |names: &[&str]| names.iter().map(|name| name.to_string()).collect::<Vec<String>>();
    let speeds = found.at_speeds.iter().map(|row| row.speed).collect();
    let assumed = found.assumed.iter().map(|&assumed| f64::from(assumed)).collect();
    let place = &found.place;
    Table {
        cautions: found.first.as_ref().map(|solution| solution.cautions.clone()).unwrap_or_default(),
        texts: vec![("place".to_string(), place.clone()), ("status_reason".to_string(), reasons.join("\n"))],
        numbers: vec![("assumed_rise_K".to_string(), quenchway::study::water::ASSUMED_RISE)],
        axes: vec![
            Axis::numbers("line_speed", "m s-1", "line speed", speeds),
            Axis::names("way", "how the water runs", named(&["as given", "along", "counter"])),
            Axis::names("section", "section in water", found.sections.clone()),
        ],
        variables: vec![
            of_ways("chiller_duty", "W", "heat that all water takes up", |taken| taken.chiller_duty),
            of_ways("surface", "degC", &format!("surface temperature at {place}"), |taken| taken.surface),
            of_ways("core", "degC", &format!("core temperature at {place}"), |taken| taken.core),
            of_ways("equalised", "degC", &format!("adiabatic mix of the product at {place}"), |taken| taken.equalised),
            of_ways("error", "K", "stated error of the temperatures", |taken| taken.error),
            of_sections("heat", "W", "heat given to the water", |section| Some(section.heat)),
            of_sections("flow", "kg s-1", "water flow; absent where it is held", |section| section.flow),
            of_sections("water_in", "degC", "water temperature at its inlet", |section| Some(section.inlet)),
            of_sections("water_out", "degC", "water temperature at its outlet", |section| section.outlet),
            of_sections("flow_for_1_K", "kg s-1", "flow that would hold the rise to 1 K", |section| {
                section.for_rise.map(|flow| flow.one)
            }),
            of_sections("flow_for_2_K", "kg s-1", "flow that would hold the rise to 2 K", |section| {
                section.for_rise.map(|flow| flow.two)
            }),
            of_sections("flow_for_5_K", "kg s-1", "flow that would hold the rise to 5 K", |section| {
                section.for_rise.map(|flow| flow.five)
            }),
            Variable::numbers("assumed_flow", "1", "1 where the case gives no flow", &[SECTION], assumed),
            Variable::numbers(
                "status",
                "1",
                "0 where there is an answer, otherwise the line of status_reason that says why there is none",
                &[SPEED, WAY],
                ways().map(|told| status(&told.reason)).collect(),
            ),
        ],
        ..Table::default()
    }
}
