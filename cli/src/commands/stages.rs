//! `quenchway stages`: the best trough within bounds.

use std::cell::Cell;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use quenchway::study::stages::{Asked as Question, MOST_OF_GRID, StagesError, stages as solve};
use quenchway_words::stages::{Told, refusal};

use super::study::{self, Asked, Found, More, on_threads};
use super::{Answer, Failure};
use crate::args::{CheckOf, StagesArgs};

/// Answers the question; `columns` is the terminal's width, where there is one.
pub fn stages(args: &StagesArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    study::answer_with("stages", &["front"], &args.study, columns, &Cell::new(false), |asked| found(args, asked))
}

fn found(args: &StagesArgs, asked: &Asked<'_>) -> Result<(Found<'static>, Vec<More<'static>>), Failure> {
    let (case, shown) = (asked.case, asked.shown);
    let path = &args.study.case;
    let Some(given) = &case.stages else {
        let help = "add to the case file\n[stages]\naim = \"fastest\"\n[stages.vary]\nline.speed = [\"50 m/min\", \"300 m/min\"]";
        return Err(Failure::lacks(path, "stages", StagesError::NotAsked.message(shown.system), Some(help)));
    };
    let grid = args.check == Some(CheckOf::Grid);
    if grid && given.vary.len() > MOST_OF_GRID {
        let reason = format!("a full grid takes up to {MOST_OF_GRID} numbers, the case may set {}", given.vary.len());
        return Err(Failure::flag("--check", reason));
    }
    // Most of the work: it is done where somebody sees it.
    let front = args.study.draws() || args.study.json;
    let question = Question { print: shown.system, range: !args.no_band, front, grid };
    let bar = bar(args.study.quiet);
    let start = Instant::now();
    let solved = on_threads(args.threads, || solve(case, question, &|more| bar.inc(more as u64)))?;
    bar.finish_and_clear();
    let mut answer = solved.map_err(|error| match error {
        StagesError::NoStep { .. } => Failure::lacks(path, "stages.vary", error.message(shown.system), None),
        other => Failure::Question(path.clone(), refusal(case, &other, shown)),
    })?;
    answer.after.solution.numerics.wall = start.elapsed().as_secs_f64();
    let told = Told { case, staged: &answer };
    let lines = quenchway_pictures::stages::Lines::new(&told, shown);
    let front = quenchway_pictures::stages::FrontPicture::new(&told, shown)
        .map(|picture| -> More<'static> { (picture.description.clone(), Box::new(move |sheet| picture.draw(sheet))) });
    let found = Found {
        report: told.report(shown),
        json: study::json(&answer)?,
        data: answer.data(),
        description: lines.description.clone(),
        status: u8::from(answer.withdrawn()),
        draw: Box::new(move |sheet| lines.draw(sheet)),
    };
    Ok((found, front.into_iter().collect()))
}

/// Counts the cases on standard error, where that is a terminal: how many there will be is not known before.
fn bar(quiet: bool) -> ProgressBar {
    let target = if quiet { ProgressDrawTarget::hidden() } else { ProgressDrawTarget::stderr_with_hz(10) };
    let bar = ProgressBar::with_draw_target(None, target);
    bar.enable_steady_tick(Duration::from_millis(200));
    match ProgressStyle::with_template("{spinner} stages: {pos} cases solved, {elapsed}") {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}
