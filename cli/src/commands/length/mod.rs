//! `quenchway length`: the shortest trough that meets every limit.

use std::time::Instant;

use quenchway::case::{CaseFile, Plant};
use quenchway::study::length::{LengthError, Needed, Told, longest_in_hall, needed_as, trough, with_length};
use quenchway::study::search::confirm::Asked as Question;
use quenchway::study::search::levers::{Lever, levers};
use quenchway::study::speed::{over_speeds, with_speed};
use quenchway::units::System;
use quenchway_words::length as words;

use super::design::{adjusted, speeds};
use super::study::{self, Asked, Found};
use super::{Answer, Failure};
use crate::args::LengthArgs;

/// Answers the question; `columns` is the terminal's width, where there is one.
pub fn length(args: &LengthArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    study::answer("length", &args.study, columns, |asked| found(args, asked))
}

fn found(args: &LengthArgs, asked: &Asked<'_>) -> Result<Found<'static>, Failure> {
    let case = adjusted(asked.case, &args.adjust)?;
    let case = with_speed(&case, args.speed.unwrap_or(case.line_speed));
    let question = |error: LengthError| {
        let message = error.message(asked.shown.system);
        match &error {
            LengthError::NothingGrows { known } if !known.is_empty() => {
                Failure::flag("--adjust", format!("{message}; or --adjust {:?}", known[0]))
            }
            _ => Failure::Question(args.study.case.clone(), message),
        }
    };
    let sections = trough::sections(&case).map_err(question)?;
    // The table and the picture are over speeds.
    let wanted = match (&args.speeds, args.study.draws()) {
        (Some(text), _) => Some(speeds(&case, text, args.points)?),
        (None, true) => {
            let ends = [0.5, 1.5].map(|factor| factor * case.line_speed);
            Some(crate::args::range::spaced(ends, usize::from(args.points)))
        }
        (None, false) => None,
    };
    let start = Instant::now();
    let wish = Question { range: !args.no_band, print: Some(asked.shown.system) };
    let mut answer = needed_as(&case, wish);
    if let Ok(needed) = &mut answer {
        needed.built.solution.numerics.wall = start.elapsed().as_secs_f64();
    }
    // Without a limit there is nothing to tell; what else has no answer is told in a report.
    if let Err(error @ (LengthError::NoLimits | LengthError::March(_) | LengthError::Unsteady { .. })) = answer {
        return Err(question(error));
    }
    let levers = helpful(&case, &answer, asked.shown.system);
    let lengths = wanted.map(|speeds| over_speeds(&case, &speeds, wish));
    let told = Told {
        case: &case,
        sections: &sections,
        chosen: case.plant.adjustable.is_empty(),
        answer: &answer,
        levers: &levers,
        lengths: lengths.as_ref(),
    };
    let picture = lengths.as_ref().map(|lengths| quenchway_pictures::length::Picture::new(&told, lengths, asked.shown));
    Ok(Found {
        report: words::report(&told, asked.shown),
        json: study::json(&told)?,
        data: told.data(),
        description: "Needed trough length over line speed: what each limit alone needs, the range of the inputs' \
                      uncertainty, what is built"
            .to_string(),
        draw: Box::new(move |sheet| picture.map_or(Ok(()), |picture| picture.draw(sheet))),
        status: u8::from(answer.is_err()),
    })
}

/// What would help: tried on a trough that cools no further, or on the longest that the hall holds.
fn helpful(case: &CaseFile, answer: &Result<Needed, LengthError>, system: System) -> Vec<Lever> {
    let tried = match answer {
        // Only the limits count there: such a trough fits no hall.
        Err(LengthError::NoLength { far_end, .. }) => with_length(
            &CaseFile {
                plant: Plant { adjustable: case.plant.adjustable.clone(), ..Plant::default() },
                ..case.clone()
            },
            *far_end,
        ),
        Err(LengthError::OverCeiling(needed)) => match longest_in_hall(case) {
            Some(length) if length < needed.built.trough => with_length(case, length),
            _ => Ok(needed.built.case.clone()),
        },
        _ => return Vec::new(),
    };
    tried.map_or(Vec::new(), |tried| levers(&tried, system))
}
