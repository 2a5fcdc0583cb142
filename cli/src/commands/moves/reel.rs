//! `quenchway reel`: the accumulator that a change of reel needs, and what the one that is built bridges.

use quenchway::study::moves::Notes;
use quenchway::study::moves::reel::{Asked as Question, reel as solve};
use quenchway_words::moves::reel as words;
use quenchway_words::moves::{cautions_of, warnings_of_reel};

use super::card::{self, Known};
use crate::args::ReelArgs;
use crate::commands::study::{self, Asked, Found};
use crate::commands::{Answer, Failure};

/// Answers the question; `columns` is the terminal's width, where there is one.
pub fn reel(args: &ReelArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    card::prepare(&args.moves)?;
    let answer = study::answer("reel", &args.moves.study, columns, |asked| found(args, asked))?;
    Ok(card::noted(&args.moves, answer))
}

fn found(args: &ReelArgs, asked: &Asked<'_>) -> Result<Found<'static>, Failure> {
    let (case, shown) = (asked.case, asked.shown);
    let question = Question {
        standstill: args.standstill,
        speed: args.speed,
        accumulator: args.accumulator.clone(),
        print: shown.system,
    };
    let found = super::asked(&args.moves, |_| solve(case, &question))?;
    card::write(&args.moves, asked, Known { reel: Some(&found), ..Known::default() })?;
    let (warnings, cautions) = (warnings_of_reel(case, &found), cautions_of(&found.case));
    let notes = Notes { warnings: &warnings, cautions: &cautions };
    let (json, data) = (study::json(&found.told(notes))?, found.data(&cautions));
    let report = words::report(case, &found, shown);
    let slowed = found.built.as_ref().is_some_and(|built| built.slow.is_some());
    let status = u8::from(args.enforce && (slowed || !found.outcome.within()));
    let title = case.title.clone();
    Ok(Found {
        report,
        json,
        data,
        description: "Speeds of line and reel, and the content of the accumulator, over a change of reel".to_string(),
        draw: Box::new(move |sheet| quenchway_pictures::moves::reel(sheet, &title, &found, shown)),
        status,
    })
}
