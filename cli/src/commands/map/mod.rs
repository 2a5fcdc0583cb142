//! `quenchway map`: one output over two numbers of the case, with every limit.

mod round;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use quenchway::case::CaseFile;
use quenchway::march::march_by_rule;
use quenchway::march::output::Output;
use quenchway::names::key_path::KeyPath;
use quenchway::study::map::{Axis, MapError, look, map as solve};
use quenchway::study::search::ceilings::{self, What};
use quenchway_words::map as words;

use super::study::{self, Asked, Found, on_threads};
use super::{Answer, Failure};
use crate::args::MapArgs;
use crate::args::range::{range, spaced};

/// Answers the question; `columns` is the terminal's width, where there is one.
pub fn map(args: &MapArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    study::answer("map", &args.study, columns, |asked| found(args, asked))
}

fn found(args: &MapArgs, asked: &Asked<'_>) -> Result<Found<'static>, Failure> {
    let (case, shown) = (asked.case, asked.shown);
    let x = axis(case, "--x", &args.x, args.points[0])?;
    let y = axis(case, "--y", &args.y, args.points[1])?;
    let show = show(case, args.show.as_deref())?;
    let threads = args.threads.map(u32::from);
    let bar = bar(args.study.quiet, x.values.len() * y.values.len());
    let solved = on_threads(threads, || solve(case, x, y, show, &|more| bar.inc(more as u64)))?;
    bar.finish_and_clear();
    let found = solved.map_err(|error| match error {
        MapError::Same { .. } | MapError::Values { .. } => Failure::flag("--x, --y", error),
        other => Failure::Question(args.study.case.clone(), other.to_string()),
    })?;
    let [x, y] =
        [(&found.x, round::COLUMNS), (&found.y, round::ROWS)].map(|(axis, most)| round::values(axis, most, shown));
    let looked = on_threads(threads, || look(case, x, y, &found.show))?;
    let looked = looked.map_err(|error| Failure::Question(args.study.case.clone(), error.to_string()))?;
    let report = words::report(case, &found, &looked, shown);
    let (json, data) = (study::json(&found)?, found.data());
    let title = case.title.clone();
    Ok(Found {
        report,
        json,
        data,
        description: format!("{}, over {} and {}", found.show.describes, args.x, args.y),
        draw: Box::new(move |sheet| quenchway_pictures::map::draw(sheet, &title, &found, shown)),
        status: 0,
    })
}

/// An axis as it was typed: key path, an equals sign, a range.
fn axis(case: &CaseFile, flag: &str, text: &str, points: usize) -> Result<Axis, Failure> {
    let wrong = |reason: String| Failure::flag(flag, reason);
    // A quoted name may hold an equals sign, a value does not.
    let Some((path, ends)) = text.rsplit_once('=') else {
        return Err(wrong(format!(
            "{text:?} is no axis; write KEYPATH=LOW..HIGH, for example line.speed=\"100 m/min..400 m/min\""
        )));
    };
    let variable = KeyPath::find(case, path.trim()).map_err(|error| wrong(error.to_string()))?;
    let value = |text: &str| variable.parse_value(text).map_err(|error| error.to_string());
    let ends = range(ends.trim().trim_matches('"'), value).map_err(wrong)?;
    if ends.iter().any(|end| !end.is_finite()) {
        return Err(wrong(format!("{path}: a perfect contact is no end of an axis; give a conductance")));
    }
    let values = match variable.path.ends_with(".passes") {
        // Whole numbers only: their own steps.
        true => (ends[0].round() as usize..=ends[1].round() as usize).map(|passes| passes as f64).collect(),
        false => spaced(ends, points),
    };
    Ok(Axis { variable, values })
}

/// The limit that decides as the case is: the one with the least to spare, K; the first where the case has no answer.
fn deciding(case: &CaseFile) -> Option<String> {
    let limits = ceilings::all(case).into_iter();
    let limits = limits.filter(|limit| matches!(limit.what, What::Temperature(..) | What::WaterOut(_)));
    let solution = march_by_rule(case).ok();
    let excess = |limit: &ceilings::Ceiling| solution.as_ref().map_or(0.0, |solution| limit.excess(case, solution));
    // Of several with as much to spare the first.
    let worst = limits.map(|limit| (excess(&limit), limit)).reduce(|a, b| if b.0 > a.0 { b } else { a });
    worst.map(|(_, limit)| limit.name)
}

/// What is shown: as named, or what the limit that decides is of, or the core at the last station, or what the reel settles to.
fn show(case: &CaseFile, named: Option<&str>) -> Result<Output, Failure> {
    let usual = || match (deciding(case), case.stations.last()) {
        (Some(limit), _) => limit,
        (None, Some(station)) => format!("{}.core", quenchway::units::words::key(&station.name)),
        (None, None) => "line.equalised".to_string(),
    };
    let name = named.map_or_else(usual, str::to_string);
    let beyond_a_march = Output::search(&name).or_else(|| Output::driven(case, &name));
    beyond_a_march.map_or_else(|| Output::find(case, &name).map_err(|error| Failure::flag("--show", error)), Ok)
}

/// A bar on standard error, where that is a terminal.
fn bar(quiet: bool, points: usize) -> ProgressBar {
    let target = if quiet { ProgressDrawTarget::hidden() } else { ProgressDrawTarget::stderr_with_hz(10) };
    let bar = ProgressBar::with_draw_target(Some(points as u64), target);
    let look = "map {bar:40} {pos} of {len} points, {eta} left";
    match ProgressStyle::with_template(look) {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}
