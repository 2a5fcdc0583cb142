//! `quenchway gauges`: readings of the gauges for a finished diameter, as a card.

use std::time::Instant;

use quenchway::study::gauges::gauges as solve;
use quenchway_words::gauges as words;

use super::study::{self, Asked, Found};
use super::{Answer, Failure};
use crate::args::GaugesArgs;

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
    let (json, data) = (study::json(&found)?, found.data());
    let shape = case.shape;
    let title = case.title.clone();
    Ok(Found {
        report,
        json,
        data,
        description: "Card: set-point of the hot gauge, reading of the cold gauge, effect of the line speed, delay"
            .to_string(),
        draw: Box::new(move |sheet| quenchway_pictures::gauges::draw(sheet, &title, shape, &found, shown)),
        status: 0,
    })
}
