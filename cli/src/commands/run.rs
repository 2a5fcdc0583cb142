//! `quenchway run`: read the case, reserve the outputs, march, write, print.

use std::time::{Instant, SystemTime};

use quenchway::case::CaseFile;
use quenchway::file::resolved::resolved;
use quenchway::march::diameters::diameter_limits;
use quenchway::march::solution::Solution;
use quenchway::march::told::Told;
use quenchway::study::answer::answered;
use quenchway::study::search::ceilings::of_layers;
use quenchway_words::{Shown, run as words};

use super::outputs::Outputs;
use super::{Answer, Failure, study};
use crate::args::{RunArgs, Units};
use crate::diagnostic;
use crate::html::{self, Page};
use crate::plot;
use crate::report;
use crate::store::{Header, write_data};

/// Runs a case; `columns` is the terminal's width, where there is one.
pub fn run(args: &RunArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    let (text, case) = diagnostic::load(&args.case).map_err(Failure::Input)?;
    let stem = args.case.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let reserve = |dir| Outputs::reserve(dir, &format!("{stem}.h5"), &plot::names(&stem), args.overwrite);
    let outputs = args.out.as_deref().map(reserve).transpose()?;
    let give_back = || outputs.iter().for_each(Outputs::give_back);
    if let Some(path) = &args.report {
        html::prepare(path, args.overwrite)
            .inspect_err(|_| give_back())
            .map_err(|reason| Failure::flag("--report", reason))?;
    }
    let start = Instant::now();
    let mut solution = answered(&case, !args.no_band).map_err(|error| {
        give_back();
        Failure::March(args.case.clone(), error)
    })?;
    solution.numerics.wall = start.elapsed().as_secs_f64();
    let system = Units::of(args.units, &case);
    let shown = Shown { system };
    let mut written = Vec::new();
    if let Some(outputs) = &outputs {
        write_results(outputs, &text, &case, &solution)?;
        written.push(outputs.results.clone());
    }
    // Drawn once, for the directory and the page: a picture that fails loses no number.
    let pictures = if written.is_empty() && args.report.is_none() {
        Vec::new()
    } else {
        plot::draw(&case, &solution, system).map_err(|error| Failure::Write(error.to_string()))?
    };
    if let Some(outputs) = &outputs {
        plot::write_all(&outputs.pictures, &pictures).map_err(|error| Failure::Write(error.to_string()))?;
        written.extend(outputs.pictures.iter().cloned());
    }
    if let Some(path) = &args.report {
        let (report, place) = words::page(&case, &solution, shown);
        let page = Page {
            report: &report,
            place,
            pictures: &pictures,
            case_text: &text,
            case: &case,
            system,
            time: SystemTime::now(),
        };
        html::write(path, &page).map_err(|error| Failure::Write(error.to_string()))?;
        written.push(path.clone());
    }
    let mut notes: String = written.iter().map(|path| format!("wrote {}\n", path.display())).collect();
    let report = match (args.quiet, args.json) {
        (true, _) => String::new(),
        (false, true) => study::document(&case.title, &text, &Told::of(&case, &solution))?,
        (false, false) => report::text(&words::report(&case, &solution, shown), report::width(columns)),
    };
    if args.quiet {
        notes.clear();
    }
    let bears = of_layers(&case).iter().all(|ceiling| ceiling.excess(&case, &solution) <= 0.0);
    let limits_met = bears && solution.stations.iter().flat_map(|station| &station.limits).all(|limit| limit.met);
    let sizes_met = diameter_limits(&case, &solution).iter().all(|limit| limit.met);
    Ok(Answer { report, notes, status: u8::from(args.enforce && !(limits_met && sizes_met)) })
}

/// The results file.
fn write_results(outputs: &Outputs, text: &str, case: &CaseFile, solution: &Solution) -> Result<(), Failure> {
    let header = Header {
        title: &solution.title,
        question: "run",
        case_text: text,
        resolved_case: &resolved(case),
        time: SystemTime::now(),
    };
    write_data(&outputs.results, &header, &solution.data(case), outputs.overwrite)
        .map_err(|error| Failure::Write(error.to_string()))
}
