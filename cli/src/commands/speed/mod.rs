//! `quenchway speed`: the fastest line speed of the trough as it is.

use std::time::Instant;

use quenchway::case::CaseFile;
use quenchway::study::length::trough;
use quenchway::study::search::confirm::Asked as Question;
use quenchway::study::search::levers::levers;
use quenchway::study::speed::{OfPasses, SpeedError, Told, over_passes, top_speed_as, with_passes, with_speed};
use quenchway::units::System;
use quenchway_words::speed as words;

use super::design::adjusted;
use super::study::{self, Asked, Found};
use super::{Answer, Failure};
use crate::args::SpeedArgs;

/// Most passes through one section, as in the case file.
const MOST: usize = 100;

/// Answers the question; `columns` is the terminal's width, where there is one.
pub fn speed(args: &SpeedArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    study::answer("speed", &args.study, columns, |asked| found(args, asked))
}

fn found(args: &SpeedArgs, asked: &Asked<'_>) -> Result<Found<'static>, Failure> {
    let case = asked.case;
    let question = |error: SpeedError| Failure::Question(args.study.case.clone(), error.message(asked.shown.system));
    // What is wrong with the passes is better known before the first search.
    let variants = match &args.passes {
        Some(text) => Some(variants(args, case, &passes(text)?)?),
        None => None,
    };
    let start = Instant::now();
    let system = asked.shown.system;
    let mut answer = top_speed_as(case, Question { range: !args.no_band, print: Some(system) });
    if let Ok(speeds) = &mut answer {
        speeds.solution.numerics.wall = start.elapsed().as_secs_f64();
    }
    let levers = match &answer {
        Err(SpeedError::NoSpeed { nearest, .. }) => levers(&with_speed(case, *nearest), system),
        Err(error) if variants.is_none() => return Err(question(error.clone())),
        _ => Vec::new(),
    };
    let passes = variants.map(|(case, counts)| of_passes(&case, &counts, system)).unwrap_or_default();
    let told = Told { case, answer: &answer, levers: &levers, passes: &passes };
    let picture = quenchway_pictures::speed::Picture::new(&told, asked.shown);
    Ok(Found {
        report: words::report(&told, asked.shown),
        json: study::json(&told)?,
        data: told.data(),
        description:
            "The line speed that every ceiling allows, the lowest first; with --passes the fastest speed of each \
                      number of passes"
                .to_string(),
        draw: Box::new(move |sheet| picture.draw(sheet)),
        status: u8::from(answer.is_err()),
    })
}

/// The numbers of passes of `--passes`.
fn passes(text: &str) -> Result<Vec<usize>, Failure> {
    let wrong = |reason: String| Failure::flag("--passes", reason);
    let number = |text: &str| {
        let number: Option<usize> = text.trim().parse().ok();
        let fits = number.filter(|number| (1..=MOST).contains(number));
        fits.ok_or_else(|| wrong(format!("{text:?} is no number of passes; it takes 1 to {MOST}, or a range: 1..6")))
    };
    match text.split_once("..") {
        None => Ok(vec![number(text)?]),
        Some((fewest, most)) => {
            let (fewest, most) = (number(fewest)?, number(most)?);
            if fewest > most {
                return Err(wrong(format!("{text:?} holds nothing: the fewest passes come first")));
            }
            Ok((fewest..=most).collect())
        }
    }
}

/// The case with the section and the turn of the flags, and the numbers of passes, all of which it can have.
fn variants(args: &SpeedArgs, case: &CaseFile, counts: &[usize]) -> Result<(CaseFile, Vec<usize>), Failure> {
    let mut case = adjusted(case, args.adjust.as_slice())?;
    if let (Some(turn), Ok(&[index])) = (args.turn, trough::sections(&case).as_deref()) {
        case.sections[index].turn.length = turn;
    }
    for &count in counts {
        with_passes(&case, count).map_err(|error| match error {
            SpeedError::NoTurn { .. } => Failure::flag("--passes", format!("{error}; or --turn \"0.8 m\"")),
            other => Failure::flag("--passes", format!("{other}; or --adjust NAME")),
        })?;
    }
    Ok((case, counts.to_vec()))
}

fn of_passes(case: &CaseFile, counts: &[usize], system: System) -> Vec<OfPasses> {
    let answers = over_passes(case, counts, Question { range: false, print: Some(system) });
    let of = |(&passes, answer)| {
        let lengths = with_passes(case, passes).map(|case| (case.line_length(), case.floor_length()));
        let (way, floor) = lengths.unwrap_or((f64::NAN, f64::NAN));
        OfPasses { passes, way, floor, answer }
    };
    counts.iter().zip(answers).map(of).collect()
}
