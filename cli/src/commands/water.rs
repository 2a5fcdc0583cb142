//! `quenchway water`: what the water takes over a range of speeds, as a card.

use quenchway::names::key_path::KeyPath;
use quenchway::study::water::{Water, water as solve};
use quenchway_words::water as words;

use super::study::{self, Asked, Found};
use super::{Answer, Failure};
use crate::args::WaterArgs;
use crate::args::range::{range, spaced};

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
    let (json, data) = (study::json(&found)?, found.data());
    let title = case.title.clone();
    Ok(Found {
        report,
        json,
        data,
        description:
            "Heat to the water, flow for a given rise, outlet temperatures, water along and against the product, over \
                      line speed"
                .to_string(),
        draw: Box::new(move |sheet| quenchway_pictures::water::draw(sheet, &title, &found, shown)),
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
