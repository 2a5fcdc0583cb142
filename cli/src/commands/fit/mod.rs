//! `quenchway fit`: read case and data, reserve the outputs, fit, print, write.

mod asked;
mod doubtful;
mod watched;

use std::cell::Cell;
use std::path::Path;
use std::time::SystemTime;

use quenchway::case::cautions::{MEASURING, cautions};
use quenchway::study::fit::{Bands, Fit, FitError, Posterior, Settings, Spread, Told, Unknown};
use quenchway::units::System;
use quenchway_words::fit::{self as words, interval};

use super::study::{self, Asked, Found};
use super::{Answer, Failure};
use crate::args::{self, FitArgs};
use crate::build::PROGRAM;
use crate::calibrated::{self, Calibrated, Entry, calibrated};
use crate::diagnostic;
use crate::store::{prepare_beside, sha256, today, write_beside};
use crate::trial;

/// What is left to do when the fit is made.
#[derive(Default)]
struct Left {
    /// The calibrated case.
    case: Option<Calibrated>,
    /// Why the fit must not be used as it is.
    doubtful: Option<String>,
}

/// Calibrates a case; `columns` is the terminal's width, where there is one.
pub fn fit(args: &FitArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    let (mut left, withheld) = (Left::default(), Cell::new(false));
    let mut answer =
        study::answer_unless("fit", &args.study, columns, &withheld, |asked| found(args, asked, &withheld, &mut left))?;
    if let (Some(path), Some(case), false) = (&args.write, left.case, withheld.get()) {
        write_beside(path, |temporary| std::fs::write(temporary, &case.text)).map_err(|error| {
            Failure::Write(format!("{error}; the fit itself was made, run it again with another --write"))
        })?;
        if !args.study.quiet {
            for path in &case.left {
                answer.notes += &format!("{path} is no single value in the case file and was left as it is\n");
            }
            answer.notes += &format!("wrote {}\n", path.display());
        }
    }
    if let Some(reason) = left.doubtful {
        let files = args.study.out.is_some() || args.study.report.is_some() || args.write.is_some();
        let end = match (files, withheld.get()) {
            (true, true) => "; nothing was written, --write-doubtful writes all the same",
            (true, false) => "; the files were written all the same, as --write-doubtful says",
            (false, _) => "",
        };
        answer.notes += &format!("the fit is doubtful: {reason}{end}\n");
    }
    Ok(answer)
}

fn found(args: &FitArgs, asked: &Asked<'_>, withheld: &Cell<bool>, left: &mut Left) -> Result<Found<'static>, Failure> {
    let unknowns = asked::unknowns(asked.case, &args.unknown, &args.prior)?;
    let data = trial::load(&args.data, asked.case, &unknowns).map_err(Failure::Input)?;
    if let Some(path) = &args.write {
        reserve(path, args.study.overwrite)?;
        // What cannot be written is better known before the fit than after it.
        new_text(args, asked, &unknowns, None).map_err(|error| Failure::flag("--write", error))?;
    }
    let spread = match args.spread {
        args::Spread::Residuals => Spread::Residuals,
        args::Spread::Stated => Spread::Stated,
    };
    let bands = match args.bands {
        args::Bands::Use => Bands::Use,
        args::Bands::Ignore => Bands::Ignore,
    };
    let settings = Settings { spread, bands };
    let fit = watched::fit(asked.case, &unknowns, &data, settings, args.study.quiet)
        .map_err(|error| failure(&args.study.case, error))?;
    if args.write.is_some() {
        let text = new_text(args, asked, &unknowns, Some(&fit));
        left.case = Some(text.map_err(|error| Failure::Question(args.study.case.clone(), error.to_string()))?);
    }
    left.doubtful = doubtful::reason(&fit, &unknowns, asked.shown.system);
    withheld.set(left.doubtful.is_some() && !args.write_doubtful);

    let mut notes: Vec<String> = MEASURING.iter().map(|caution| caution.to_string()).collect();
    notes.extend(cautions(asked.case));
    let chosen = args.unknown.is_empty();
    let source = file_name(&args.data);
    let told = Told {
        case: asked.case,
        fit: &fit,
        unknowns: &unknowns,
        trials: &data.trials,
        lines: &data.lines,
        merged: data.merged.map(|merged| (merged.rows, merged.near)),
        uncertainties: &data.uncertainties,
        source: &source,
        chosen,
        doubtful: left.doubtful.as_deref(),
        cautions: &notes,
    };
    let hash = sha256(&data.text);
    let (mut json, mut labelled) = (study::json(&told)?, told.data());
    json["data_sha256"] = hash.clone().into();
    labelled.text("data_csv", data.text.clone()).text("data_sha256", hash);
    let picture =
        quenchway_pictures::fit::Picture::new(&asked.case.title, &source, &fit, &unknowns, &data.trials, asked.shown);
    Ok(Found {
        report: words::report(&told, asked.shown),
        json,
        data: labelled,
        description: "Measured against computed values of a line trial, and their standardised residuals".to_string(),
        draw: Box::new(move |sheet| picture.draw(sheet)),
        status: u8::from(left.doubtful.is_some()),
    })
}

/// Why there is no fit, by what the user can change.
fn failure(case: &Path, error: FitError) -> Failure {
    match error {
        FitError::March { trial, error } => {
            Failure::Question(case.to_path_buf(), format!("trial {} has no solution: {error}", trial + 1))
        }
        FitError::Path(_)
        | FitError::NotFittable { .. }
        | FitError::Unlike { .. }
        | FitError::Twice { .. }
        | FitError::SettingIsUnknown { .. } => Failure::flag("--unknown", error),
        other => Failure::Question(case.to_path_buf(), other.to_string()),
    }
}

/// Checks that the calibrated case can be written.
fn reserve(path: &Path, overwrite: bool) -> Result<(), Failure> {
    prepare_beside(path).map_err(Failure::Reserve)?;
    let ours = || diagnostic::read(path, "case file").is_ok_and(|text| calibrated::is_ours(&text));
    if path.exists() && !overwrite && !ours() {
        let reason = format!(
            "{} exists and was not written by quenchway fit, so it was left as it is; give another name, or --overwrite",
            path.display()
        );
        return Err(Failure::flag("--write", reason));
    }
    Ok(())
}

/// The text of the case with the fitted values, or with those that it has, to see whether they can be written.
fn new_text(
    args: &FitArgs,
    asked: &Asked<'_>,
    unknowns: &[Unknown],
    fit: Option<&Fit>,
) -> Result<Calibrated, calibrated::Unwritable> {
    let date = today(SystemTime::now());
    let data = file_name(&args.data);
    let mut entries = Vec::new();
    for (index, unknown) in unknowns.iter().enumerate() {
        let estimate = fit.map(|fit| &fit.unknowns[index]);
        let mut case = asked.case.clone();
        let value = estimate.map_or(unknown.start, |estimate| estimate.value);
        // The start of a contact that the case calls perfect is no value of the case, but it can be set.
        let set = unknown.set(&mut case, value);
        let comment = match estimate.map(|estimate| (estimate.interval, estimate.at_bound)) {
            Some((Some(ends), _)) => {
                format!("{data} on {date}, 95 % interval {}", interval(unknown, ends, System::Si))
            }
            Some((None, true)) => format!("{data} on {date}, at its bound"),
            _ => format!("{data} on {date}, without an interval: the data do not tell it"),
        };
        for variable in &unknown.variables {
            let mut value = if set.is_ok() { variable.get(&case) } else { variable.get(asked.case) };
            if variable.path.ends_with(".contact") && estimate.is_some_and(|estimate| estimate.at_bound) && value >= 1e6
            {
                value = f64::INFINITY;
            }
            entries.push(Entry { variable: variable.clone(), value, comment: comment.clone(), beside: false });
        }
    }
    let nothing = Posterior::default();
    let posterior = fit.map_or(&nothing, |fit| &fit.posterior);
    for (variable, value) in &posterior.values {
        if entries.iter().all(|entry| entry.variable.path != variable.path) {
            let comment = format!("{data} on {date}, within its band");
            entries.push(Entry { variable: variable.clone(), value: *value, comment, beside: true });
        }
    }
    let made_from = format!("from {} and {data} on {date}, {PROGRAM}", file_name(&args.study.case));
    calibrated(asked.text, &entries, posterior, &made_from)
}

fn file_name(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}
