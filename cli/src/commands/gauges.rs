//! `quenchway gauges`: readings of the gauges for a finished diameter, as a card.

use std::time::Instant;

use quenchway::study::gauges::{AtSpeed, Gauge, Gauges, gauges as solve};
use quenchway_words::gauges as words;
use serde_json::{Value, json};

use super::study::{self, Asked, Found};
use super::{Answer, Failure};
use crate::args::GaugesArgs;
use crate::plot;
use crate::store::{Axis, Table, Variable};

/// Answers the question; `columns` is the terminal's width, where there is one.
pub fn gauges(args: &GaugesArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    study::answer("gauges", &args.study, columns, |asked| found(args, asked))
}

fn found(args: &GaugesArgs, asked: &Asked<'_>) -> Result<Found<'static>, Failure> {
    let (case, shown) = (asked.case, asked.shown);
    let start = Instant::now();
    let mut found = solve(case, args.finished)
        .map_err(|error| Failure::Question(args.study.case.clone(), error.message(shown.system)))?;
    found.solution.numerics.wall = start.elapsed().as_secs_f64();
    let report = words::report(case, &found, shown);
    let (json, table) = (json(&found)?, table(&found));
    let shape = case.shape;
    let title = case.title.clone();
    Ok(Found {
        report,
        json,
        table,
        description: "Card: set-point of the hot gauge, reading of the cold gauge, effect of the line speed, delay"
            .to_string(),
        draw: Box::new(move |sheet| plot::gauges::draw(sheet, &title, shape, &found, shown)),
        status: 0,
    })
}

fn json(found: &Gauges) -> Result<Value, Failure> {
    let mut value = serde_json::to_value(found).map_err(|error| Failure::Write(error.to_string()))?;
    if let Value::Object(fields) = &mut value {
        // The solution knows how to write these.
        let solution = serde_json::to_value(&found.solution).map_err(|error| Failure::Write(error.to_string()))?;
        for name in ["warnings", "cautions"] {
            fields.insert(name.to_string(), solution.get(name).cloned().unwrap_or(json!([])));
        }
    }
    Ok(value)
}

/// The answer as a results file.
fn table(found: &Gauges) -> Table {
    const GAUGE: usize = 0;
    const SPEED: usize = 1;
    const MELT: usize = 2;
    let gauges = [&found.hot, &found.cold];
    let of_gauges = |name: &str, units: &str, words: &str, value: fn(&Gauge) -> f64| {
        Variable::numbers(name, units, words, &[GAUGE], gauges.map(value).to_vec())
    };
    let at_speeds = |name: &str, words: &str, value: fn(&AtSpeed) -> f64| {
        let words = format!("{words}, the output of compound constant");
        Variable::numbers(name, "m", &words, &[SPEED], found.at_speeds.each_ref().map(value).to_vec())
    };
    let speeds = found.at_speeds.map(|row| row.speed).to_vec();
    let station = |gauge: &quenchway::study::gauges::Gauge| gauge.station.clone().unwrap_or_default();
    Table {
        cautions: found.solution.cautions.clone(),
        numbers: vec![
            ("wanted_m".to_string(), found.wanted),
            ("at_die_m".to_string(), found.at_die),
            ("delay_s".to_string(), found.delay),
            ("finished_per_percent_m".to_string(), found.per_percent.finished),
            ("hot_per_percent_m".to_string(), found.per_percent.hot),
            ("cold_per_percent_m".to_string(), found.per_percent.cold),
            ("error_K".to_string(), found.error),
        ],
        axes: vec![
            Axis::names("gauge", "gauge", vec!["hot".to_string(), "cold".to_string()]),
            Axis::numbers("line_speed", "m s-1", "line speed", speeds),
            Axis::names("melt", "layer that leaves the die as a melt", names(found)),
        ],
        variables: vec![
            Variable::texts(
                "station",
                "station that is the gauge; empty: die or end of the line",
                GAUGE,
                gauges.map(station).to_vec(),
            ),
            of_gauges("distance", "m", "distance from the die", |gauge| gauge.distance),
            of_gauges("time", "s", "time since the die", |gauge| gauge.time),
            of_gauges("reading", "m", "diameter that the gauge reads", |gauge| gauge.reading),
            of_gauges("reading_low", "m", "lowest reading, the outer layer held or free", |gauge| gauge.range[0]),
            of_gauges("reading_high", "m", "highest reading, the outer layer held or free", |gauge| gauge.range[1]),
            of_gauges("over_finished", "m", "reading less the diameter at 23 degC", |gauge| gauge.over_finished),
            of_gauges("surface_temperature", "degC", "surface temperature", |gauge| gauge.surface),
            of_gauges("mean_temperature", "degC", "mean temperature of the plastic", |gauge| gauge.mean),
            at_speeds("diameter_at_die", "diameter at the die", |row| row.at_die),
            at_speeds("diameter_at_hot_gauge", "diameter at the hot gauge", |row| row.hot),
            at_speeds("diameter_at_cold_gauge", "diameter at the cold gauge", |row| row.cold),
            at_speeds("finished_diameter", "diameter at 23 degC", |row| row.finished),
            Variable::numbers(
                "melt_flow",
                "kg s-1",
                "mass flow of the melt for the wanted diameter",
                &[MELT],
                found.melts.iter().map(|melt| melt.flow).collect(),
            ),
        ],
        ..Table::default()
    }
}

fn names(found: &Gauges) -> Vec<String> {
    found.melts.iter().map(|melt| melt.layer.clone()).collect()
}
