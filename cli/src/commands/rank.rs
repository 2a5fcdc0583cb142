//! `quenchway rank`: what every input does to the limited temperatures and to the needed trough.

use std::time::Instant;

use quenchway::study::length::{LengthError, needed_as};
use quenchway::study::rank::{RankError, rank_also as solve};
use quenchway::study::search::confirm::Asked as Question;
use quenchway_pictures::rank::Picture;
use quenchway_words::rank as words;

use super::study::{self, Asked, Found};
use super::{Answer, Failure};
use crate::args::RankArgs;

/// Answers the question; `columns` is the terminal's width, where there is one.
pub fn rank(args: &RankArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    study::answer("rank", &args.study, columns, |asked| found(args, asked))
}

fn found(args: &RankArgs, asked: &Asked<'_>) -> Result<Found<'static>, Failure> {
    let start = Instant::now();
    let also = study::also(asked.case, &args.also)?;
    let mut rank = solve(asked.case, &also).map_err(|error| match error {
        RankError::March(error) => Failure::March(args.study.case.clone(), error),
        error => Failure::Question(args.study.case.clone(), error.to_string()),
    })?;
    // A rank needs no careful march of the trough; what is printed of it does.
    let wish = Question { range: false, print: Some(asked.shown.system) };
    let needed = match rank.length.is_ok().then(|| needed_as(asked.case, wish)) {
        Some(Ok(needed)) => needed.printed,
        Some(Err(LengthError::OverCeiling(needed))) => needed.printed,
        _ => None,
    };
    rank.wall = start.elapsed().as_secs_f64();
    let picture = Picture::new(asked.case, &rank, asked.shown);
    Ok(Found {
        report: words::report(asked.case, &rank, needed.as_ref(), asked.shown),
        json: study::json(&rank)?,
        data: rank.data(),
        description: picture.description.clone(),
        draw: Box::new(move |sheet| picture.draw(sheet)),
        status: 0,
    })
}
