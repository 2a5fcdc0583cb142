//! The card for the operators: one page on how to start, what to do in a change of reel, when not to stop.

use std::time::SystemTime;

use quenchway::study::moves::ramp::{Asked as AskedRamp, Ramping, ramps};
use quenchway::study::moves::reel::{Asked as AskedReel, Reel, reel};
use quenchway::study::moves::stop::{Asked as AskedStop, Stops, stops};
use quenchway_words::moves::card;

use super::asked;
use crate::args::MoveArgs;
use crate::commands::study::Asked;
use crate::commands::{Answer, Failure};
use crate::html;

/// The longest stop on a card that another question asked for, s.
const LONGEST: f64 = 600.0;

/// What is answered already.
#[derive(Default)]
pub struct Known<'a> {
    /// By `ramp`.
    pub ramp: Option<&'a Ramping>,
    /// By `stop`.
    pub stop: Option<&'a Stops>,
    /// By `reel`.
    pub reel: Option<&'a Reel>,
}

/// Checks, before anything is computed, that the card can be written.
pub fn prepare(args: &MoveArgs) -> Result<(), Failure> {
    let Some(path) = &args.card else { return Ok(()) };
    html::prepare(path, args.study.overwrite).map_err(|reason| Failure::flag("--card", reason))
}

/// Writes the card, if one is wanted; what is not answered yet is asked as the case says.
pub fn write(args: &MoveArgs, about: &Asked<'_>, known: Known<'_>) -> Result<(), Failure> {
    let Some(path) = &args.card else { return Ok(()) };
    let (case, print) = (about.case, about.shown.system);
    let ramp = match (known.ramp, case.programme.starts_at) {
        (Some(ramp), _) => Some(ramp.clone()),
        (None, Some(from)) if from != case.line_speed => {
            let question = AskedRamp { from, to: case.line_speed, print };
            Some(asked(args, |told| ramps(case, question, told))?)
        }
        _ => None,
    };
    let stop = match known.stop {
        Some(stop) => stop.clone(),
        None => {
            let question = AskedStop { slow_to: None, longest: LONGEST, print };
            asked(args, |told| stops(case, question, told))?
        }
    };
    let change = match known.reel {
        Some(change) => Some(change.clone()),
        None if !case.programme.reel_changes.is_empty() => {
            let question = AskedReel { standstill: None, speed: None, accumulator: None, print };
            Some(asked(args, |_| reel(case, &question))?)
        }
        None => None,
    };
    let words = card::report(case, ramp.as_ref(), &stop, change.as_ref(), about.shown);
    html::write_card(path, &words, about.text, SystemTime::now()).map_err(|error| Failure::Write(error.to_string()))
}

/// The answer with a note that the card was written.
pub fn noted(args: &MoveArgs, answer: Answer) -> Answer {
    match &args.card {
        Some(path) if !args.study.quiet => {
            Answer { notes: format!("{}wrote {}\n", answer.notes, path.display()), ..answer }
        }
        _ => answer,
    }
}
