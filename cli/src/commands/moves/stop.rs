//! `quenchway stop`: which stops and slow-downs stay within limits.

use std::time::Instant;

use quenchway::study::moves::Notes;
use quenchway::study::moves::ramps::Ramps;
use quenchway::study::moves::stop::{Asked as Question, stops};
use quenchway::units::Dimension;
use quenchway_words::moves::stop as words;
use quenchway_words::moves::{cautions_of, warnings_of_stop};

use super::card::{self, Known};
use crate::args::StopArgs;
use crate::commands::study::{self, Asked, Found};
use crate::commands::{Answer, Failure};

/// Answers the question; `columns` is the terminal's width, where there is one.
pub fn stop(args: &StopArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    card::prepare(&args.moves)?;
    let answer = study::answer("stop", &args.moves.study, columns, |asked| found(args, asked))?;
    Ok(card::noted(&args.moves, answer))
}

fn found(args: &StopArgs, asked: &Asked<'_>) -> Result<Found<'static>, Failure> {
    let (case, shown) = (asked.case, asked.shown);
    let own = Ramps::of(case).speed;
    if let Some(slow) = args.slow_to.filter(|slow| *slow >= own) {
        let [slow, own] = [slow, own].map(|speed| shown.with_unit(speed, Dimension::Speed));
        let reason = format!("the line is to slow down to {slow}, which is not below its own speed of {own}");
        return Err(Failure::flag("--slow-to", reason));
    }
    let question = Question { slow_to: args.slow_to, longest: args.longest, print: shown.system };
    let start = Instant::now();
    let found = super::asked(&args.moves, |told| stops(case, question, told))?;
    let doubt = match args.no_band {
        true => None,
        false => super::asked(&args.moves, |told| found.doubt(case, told))?,
    };
    let wall = start.elapsed().as_secs_f64();
    card::write(&args.moves, asked, Known { stop: Some(&found), ..Known::default() })?;
    let (warnings, cautions) = (warnings_of_stop(case, &found), cautions_of(case));
    let notes = Notes { warnings: &warnings, cautions: &cautions };
    let (json, data) = (study::json(&found.told(wall, doubt.as_ref(), notes))?, found.data(&cautions));
    let report = words::report(case, &found, doubt.as_ref(), shown);
    let helpless = !found.steady.within();
    let status = u8::from(helpless || (args.enforce && !found.durations.all()));
    let title = case.title.clone();
    Ok(Found {
        report,
        json,
        data,
        description: "Scrap by cause, and what the stations see, over the duration of a stop".to_string(),
        draw: Box::new(move |sheet| quenchway_pictures::moves::stop(sheet, &title, &found, shown)),
        status,
    })
}
