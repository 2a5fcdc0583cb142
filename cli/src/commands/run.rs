//! `quenchway run`: read the case, reserve the outputs, march, write, print.

use std::path::PathBuf;
use std::time::{Instant, SystemTime};

use quenchway::case::Case;
use quenchway::march::march;
use quenchway::resolved::resolved;
use quenchway::solution::Solution;
use quenchway::study::band::add_band;
use quenchway::units::System;

use super::outputs::Outputs;
use super::{Answer, Failure};
use crate::args::RunArgs;
use crate::diagnostic;
use crate::plot::{self, PlotError};
use crate::report;
use crate::store::{self, Record};

/// Runs a case; `columns` is the terminal's width, where there is one.
pub fn run(args: &RunArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    let (text, case) = diagnostic::load(&args.case).map_err(Failure::Input)?;
    let stem = args.case.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let reserve = |dir| Outputs::reserve(dir, &format!("{stem}.h5"), &plot::names(&stem), args.overwrite);
    let outputs = args.out.as_deref().map(reserve).transpose()?;
    let start = Instant::now();
    let mut solution = march(&case).map_err(|error| {
        outputs.iter().for_each(Outputs::give_back);
        Failure::March(args.case.clone(), error)
    })?;
    if !args.no_band {
        add_band(&case, &mut solution).map_err(|error| {
            outputs.iter().for_each(Outputs::give_back);
            Failure::March(args.case.clone(), error)
        })?;
    }
    solution.numerics.wall = start.elapsed().as_secs_f64();
    let mut notes = String::new();
    if let Some(outputs) = &outputs {
        for path in write(outputs, &text, &case, &solution, args.units.into())? {
            notes += &format!("wrote {}\n", path.display());
        }
    }
    let report = match (args.quiet, args.json) {
        (true, _) => String::new(),
        (false, true) => json(&text, &solution)?,
        (false, false) => report::report(&case, &solution, args.units.into(), report::width(columns)),
    };
    if args.quiet {
        notes.clear();
    }
    let limits_met = solution.stations.iter().flat_map(|station| &station.limits).all(|limit| limit.met);
    Ok(Answer { report, notes, status: u8::from(args.enforce && !limits_met) })
}

/// The solution as one JSON object in SI.
pub fn json(case_text: &str, solution: &Solution) -> Result<String, Failure> {
    super::study::document(&solution.title, case_text, solution)
}

/// The results file first: a picture that fails loses no number.
fn write(
    outputs: &Outputs,
    text: &str,
    case: &Case,
    solution: &Solution,
    system: System,
) -> Result<Vec<PathBuf>, Failure> {
    let layer_names: Vec<String> = case.layers.iter().map(|layer| layer.name.clone()).collect();
    let record = Record {
        case_text: text,
        resolved_case: &resolved(case),
        shape: case.shape,
        layer_names: &layer_names,
        solution,
        time: SystemTime::now(),
    };
    store::write(&outputs.results, &record, outputs.overwrite).map_err(|error| Failure::Write(error.to_string()))?;
    let mut written = vec![outputs.results.clone()];
    let pictures = plot::draw_all(&outputs.pictures, case, solution, system);
    written.extend(pictures.map_err(|error: PlotError| Failure::Write(error.to_string()))?);
    Ok(written)
}
