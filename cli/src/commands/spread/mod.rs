//! `quenchway spread`: what varies, many samples on all cores, what they say.

use std::path::Path;
use std::time::Instant;

use quenchway::case::{CaseFile, Varying};
use quenchway::file;
use quenchway::study::spread::{Plan, SpreadError, spread_also as solve};
use quenchway_pictures::spread::Picture;
use quenchway_words::spread as words;

use super::study::{self, Asked, Found};
use super::{Answer, Failure};
use crate::args::SpreadArgs;
use crate::diagnostic;

/// Answers the question; `columns` is the terminal's width, where there is one.
pub fn spread(args: &SpreadArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    study::answer("spread", &args.study, columns, |asked| found(args, asked))
}

fn found(args: &SpreadArgs, asked: &Asked<'_>) -> Result<Found<'static>, Failure> {
    let given = args.vary.as_deref().map(|path| load(path, asked.case)).transpose()?;
    let vary_text = given.as_ref().map(|(text, _)| text.clone());
    let vary = given.map_or_else(|| asked.case.vary.clone(), |(_, vary)| vary);
    let case = CaseFile { vary, ..asked.case.clone() };
    let plan = Plan {
        samples: args.samples,
        seed: args.seed,
        method: args.method.into(),
        indices: args.indices,
        lengths: !args.no_length,
    };
    let start = Instant::now();
    let also = study::also(&case, &args.also)?;
    let spread = study::on_threads(args.threads, || solve(&case, &plan, &also))?;
    let mut spread = spread.map_err(|error| match error {
        SpreadError::March(error) => Failure::March(args.study.case.clone(), error),
        SpreadError::Sample(_) => Failure::flag("--method", error),
        error => Failure::Question(args.study.case.clone(), error.to_string()),
    })?;
    spread.wall = start.elapsed().as_secs_f64();
    let mut data = spread.data();
    data.text("vary_toml", vary_text);
    let picture = Picture::new(&case, &spread, &plan, asked.shown);
    Ok(Found {
        report: words::report(&case, &spread, asked.shown),
        json: study::json(&spread)?,
        data,
        description: picture.description.clone(),
        draw: Box::new(move |sheet| picture.draw(sheet)),
        status: 0,
    })
}

/// The text of a file with `[vary]`, and what it says varies.
fn load(path: &Path, case: &CaseFile) -> Result<(String, Vec<Varying>), Failure> {
    let text = diagnostic::read(path, "file with [vary]").map_err(Failure::Input)?;
    match file::vary(&text, case) {
        Ok(vary) => Ok((text, vary)),
        Err(problems) => Err(Failure::Input(diagnostic::Failure::Case { path: path.to_path_buf(), text, problems })),
    }
}
