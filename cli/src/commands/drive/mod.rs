//! `quenchway drive`: what each metre sees over the programme of the line, and how many metres are out of limits.

use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use quenchway::case::CaseFile;
use quenchway::study::drive::answer::{Answer as Driven, DriveError, OverPlaces, answer, heat_over_time, over_places};
use quenchway_pictures::png::Words;
use quenchway_pictures::{Picture, PlotError, drive, sheet};
use quenchway_words::Shown;
use quenchway_words::drive as words;

use super::outputs::{Outputs, Print};
use super::progress::Progress;
use super::study::{Asked, document, on_threads, stem};
use super::{Answer, Failure};
use crate::args::{DriveArgs, Units};
use crate::build;
use crate::diagnostic;

/// Answers the question; `columns` is the terminal's width, where there is one.
pub fn drive(args: &DriveArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    let (text, case) = diagnostic::load(&args.case).map_err(Failure::Input)?;
    let (stem, out, page) = (stem(&args.case), args.out.as_deref(), args.report.as_deref());
    let pictures = ["drive", "metres", "field"].map(|name| format!("{stem}-{name}.png"));
    let mut outputs = Outputs::reserve(out, page, args.overwrite, &format!("{stem}-drive.h5"), &pictures)?;
    let shown = Shown { system: Units::of(args.units, &case) };
    let asked = Asked { case: &case, text: &text, shown };
    let start = Instant::now();
    let mut driven = solve(args, &case).inspect_err(|_| outputs.give_back())?;
    driven.numerics.wall = start.elapsed().as_secs_f64();
    let mut drawn = Vec::new();
    if outputs.draws() {
        let failed = |error: DriveError| Failure::Question(args.case.clone(), error.to_string());
        let places = on_threads(args.threads, || over_places(&case, &driven))?.map_err(failed)?;
        outputs.results(&asked, "drive", || {
            let heat = on_threads(args.threads, || heat_over_time(&case, &driven))?.map_err(failed)?;
            Ok(driven.data(&case, &heat, args.field.then_some(&places)))
        })?;
        drawn = draw(&case, &driven, &places, shown).map_err(|error| Failure::Write(error.to_string()))?;
    }
    outputs.pictures(&drawn)?;
    outputs.page(&asked, &drawn, || (words::report(&case, &driven, shown), 1))?;
    let how = Print { quiet: args.quiet, json: args.json, columns };
    let status = u8::from(args.enforce && !driven.limits_met());
    let document = || document(&case.title, &text, &driven);
    outputs.answer(how, document, || words::report(&case, &driven, shown), status)
}

fn solve(args: &DriveArgs, case: &CaseFile) -> Result<Driven, Failure> {
    let progress = Progress::new(args.quiet || args.json);
    // All metres that were wanted before are marched.
    let marched = AtomicUsize::new(0);
    let watch = |wanted: usize| {
        let marched = marched.swap(wanted, Ordering::Relaxed);
        progress.says(|| format!("{marched} of {wanted} metres computed; more follow where they are needed"));
    };
    let found = on_threads(args.threads, || answer(case, args.every, !args.no_band, &watch))?;
    progress.finish();
    found.map_err(|error| failure(&args.case, error))
}

/// Why a programme has no answer.
pub(super) fn failure(path: &Path, error: DriveError) -> Failure {
    match error {
        DriveError::NotRecovered(_) => Failure::lacks(path, "reel_change", error, None),
        DriveError::March(error) => Failure::March(path.to_path_buf(), error),
        DriveError::TooManyRows(_) => Failure::flag("--every", error),
        DriveError::NothingChanges => Failure::lacks(path, "line.change", error, None),
    }
}

fn draw(case: &CaseFile, driven: &Driven, field: &OverPlaces, shown: Shown) -> Result<Vec<Picture>, PlotError> {
    let one = |description: &'static str, draw: drive::Draw| {
        let (title, warning) = (case.title.clone(), driven.cautions.join("\n"));
        let description = description.to_string();
        let words = Words { program: build::PROGRAM, title, description: description.clone(), warning };
        let png = sheet::encoded(&words, |sheet| draw(sheet, case, driven, field, shown))?;
        Ok(Picture { description, png })
    };
    drive::PICTURES.iter().map(|&(description, draw)| one(description, draw)).collect()
}
