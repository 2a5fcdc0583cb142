//! `quenchway ramp`: the fastest ramp within limits, or the one of least scrap.

use std::time::Instant;

use quenchway::study::moves::doubt::Doubt;
use quenchway::study::moves::ramp::{Asked as Question, ramps};
use quenchway::study::moves::{MoveError, Notes};
use quenchway_words::moves::ramp as words;
use quenchway_words::moves::{cautions_of, warnings_of};

use super::card::{self, Known};
use crate::args::RampArgs;
use crate::commands::study::{self, Asked, Found};
use crate::commands::{Answer, Failure};

/// Answers the question; `columns` is the terminal's width, where there is one.
pub fn ramp(args: &RampArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    card::prepare(&args.moves)?;
    let answer = study::answer("ramp", &args.moves.study, columns, |asked| found(args, asked))?;
    Ok(card::noted(&args.moves, answer))
}

fn found(args: &RampArgs, asked: &Asked<'_>) -> Result<Found<'static>, Failure> {
    let (case, shown) = (asked.case, asked.shown);
    let Some(from) = args.from.or(case.programme.starts_at) else {
        let reason = "the case does not say starts_at; give --from \"20 m/min\"";
        return Err(Failure::flag("--from", reason));
    };
    let to = args.to.unwrap_or(case.line_speed);
    let question = Question { from, to, print: shown.system };
    let start = Instant::now();
    let found = super::asked(&args.moves, |told| ramps(case, question, told))?;
    let doubts: Vec<Option<Doubt>> = match args.no_band {
        true => Vec::new(),
        false => super::asked(&args.moves, |told| {
            found.courses.iter().map(|of| found.doubt(case, of, told)).collect::<Result<_, MoveError>>()
        })?,
    };
    let wall = start.elapsed().as_secs_f64();
    card::write(&args.moves, asked, Known { ramp: Some(&found), ..Known::default() })?;
    let (warnings, cautions) = (warnings_of(case), cautions_of(case));
    let notes = Notes { warnings: &warnings, cautions: &cautions };
    let (json, data) = (study::json(&found.told(wall, &doubts, notes))?, found.data(&cautions));
    let report = words::report(case, &found, &doubts, shown);
    let some = found.courses.iter().any(|course| !course.times.intervals.is_empty());
    let status = u8::from(found.courses.is_empty() || (args.enforce && !some));
    let title = case.title.clone();
    Ok(Found {
        report,
        json,
        data,
        description: "Scrap by cause over the time of a ramp, even and in percent".to_string(),
        draw: Box::new(move |sheet| quenchway_pictures::moves::ramp(sheet, &title, &found, shown)),
        status,
    })
}
