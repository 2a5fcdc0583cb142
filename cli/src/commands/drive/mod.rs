//! `quenchway drive`: what each metre sees over the programme of the line, and how many metres are out of limits.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Instant, SystemTime};

use quenchway::case::CaseFile;
use quenchway::file::resolved::resolved;
use quenchway::study::drive::answer::{Answer as Driven, DriveError, OverPlaces, answer, heat_over_time, over_places};
use quenchway_words::Shown;
use quenchway_words::drive as words;

use super::outputs::Outputs;
use super::progress::Progress;
use super::study::{document, on_threads};
use super::{Answer, Failure};
use crate::args::{DriveArgs, Units};
use crate::diagnostic;
use crate::html;
use crate::plot::{self, Picture};
use crate::report;
use crate::store::{Header, write_data};

/// Answers the question; `columns` is the terminal's width, where there is one.
pub fn drive(args: &DriveArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    let (text, case) = diagnostic::load(&args.case).map_err(Failure::Input)?;
    let stem = args.case.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let pictures = ["drive", "metres", "field"].map(|name| format!("{stem}-{name}.png"));
    let reserve = |dir| Outputs::reserve(dir, &format!("{stem}-drive.h5"), &pictures, args.overwrite);
    let outputs = args.out.as_deref().map(reserve).transpose()?;
    let give_back = || outputs.iter().for_each(Outputs::give_back);
    if let Some(path) = &args.report {
        html::prepare(path, args.overwrite)
            .inspect_err(|_| give_back())
            .map_err(|reason| Failure::flag("--report", reason))?;
    }
    let shown = Shown { system: Units::of(args.units, &case) };
    let start = Instant::now();
    let mut driven = solve(args, &case).inspect_err(|_| give_back())?;
    driven.numerics.wall = start.elapsed().as_secs_f64();
    let failed = |error: &dyn std::fmt::Display| Failure::Write(error.to_string());
    let mut written = Vec::new();
    let drawn: Vec<Picture> = if outputs.is_some() || args.report.is_some() {
        let places = on_threads(args.threads, || over_places(&case, &driven))?;
        let places = places.map_err(|error| Failure::Question(args.case.clone(), error.to_string()))?;
        if let Some(outputs) = &outputs {
            let heat = on_threads(args.threads, || heat_over_time(&case, &driven))?;
            let heat = heat.map_err(|error| Failure::Question(args.case.clone(), error.to_string()))?;
            let data = driven.data(&case, &heat, args.field.then_some(&places));
            let header = Header {
                title: &case.title,
                question: "drive",
                case_text: &text,
                resolved_case: &resolved(&case),
                time: SystemTime::now(),
            };
            write_data(&outputs.results, &header, &data, outputs.overwrite).map_err(|error| failed(&error))?;
            written.push(outputs.results.clone());
        }
        draw(&case, &driven, &places, shown).map_err(|error| failed(&error))?
    } else {
        Vec::new()
    };
    if let Some(outputs) = &outputs {
        plot::write_all(&outputs.pictures, &drawn).map_err(|error| failed(&error))?;
        written.extend(outputs.pictures.iter().cloned());
    }
    let told = words::report(&case, &driven, shown);
    if let Some(path) = &args.report {
        let page = html::Page {
            report: &told,
            place: 1,
            pictures: &drawn,
            case_text: &text,
            case: &case,
            system: shown.system,
            time: SystemTime::now(),
        };
        html::write(path, &page).map_err(|error| failed(&error))?;
        written.push(path.clone());
    }
    let mut notes: String = written.iter().map(|path| format!("wrote {}\n", path.display())).collect();
    let report = match (args.quiet, args.json) {
        (true, _) => String::new(),
        (false, true) => document(&case.title, &text, &driven)?,
        (false, false) => report::text(&told, report::width(columns)),
    };
    if args.quiet {
        notes.clear();
    }
    Ok(Answer { report, notes, status: u8::from(args.enforce && !driven.limits_met()) })
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
    found.map_err(|error| match error {
        DriveError::NotRecovered(_) => Failure::lacks(&args.case, "reel_change", error, None),
        DriveError::March(error) => Failure::March(args.case.clone(), error),
        DriveError::TooManyRows(_) => Failure::flag("--every", error),
        DriveError::NothingChanges => Failure::lacks(&args.case, "line.change", error, None),
    })
}

fn draw(case: &CaseFile, driven: &Driven, field: &OverPlaces, shown: Shown) -> Result<Vec<Picture>, plot::PlotError> {
    let one = |description: &'static str, draw: plot::drive::Draw| {
        let (title, warning) = (case.title.clone(), driven.cautions.join("\n"));
        let description = description.to_string();
        let words = plot::png::Words { title, description: description.clone(), warning };
        let png = plot::sheet::encoded(&words, |sheet| draw(sheet, case, driven, field, shown))?;
        Ok(Picture { description, png })
    };
    plot::drive::PICTURES.iter().map(|&(description, draw)| one(description, draw)).collect()
}
