//! `quenchway run`: read the case, reserve the outputs, march, write, print.

use std::time::Instant;

use quenchway::march::diameters::diameter_limits;
use quenchway::march::told::Told;
use quenchway::study::answer::answered;
use quenchway::study::search::ceilings::of_layers;
use quenchway_words::{Shown, run as words};

use super::outputs::{Outputs, Print};
use super::study::{self, Asked, stem};
use super::{Answer, Failure};
use crate::args::{RunArgs, Units};
use crate::build;
use crate::diagnostic;

/// Runs a case; `columns` is the terminal's width, where there is one.
pub fn run(args: &RunArgs, columns: Option<usize>) -> Result<Answer, Failure> {
    let (text, case) = diagnostic::load(&args.case).map_err(Failure::Input)?;
    let (stem, out, page) = (stem(&args.case), args.out.as_deref(), args.report.as_deref());
    let mut outputs =
        Outputs::reserve(out, page, args.overwrite, &format!("{stem}.h5"), &quenchway_pictures::names(&stem))?;
    let start = Instant::now();
    let mut solution = answered(&case, !args.no_band).map_err(|error| {
        outputs.give_back();
        Failure::March(args.case.clone(), error)
    })?;
    solution.numerics.wall = start.elapsed().as_secs_f64();
    let shown = Shown { system: Units::of(args.units, &case) };
    let asked = Asked { case: &case, text: &text, shown };
    outputs.results(&asked, "run", || Ok(solution.data(&case)))?;
    // Drawn once, for the directory and the page: a picture that fails loses no number.
    let pictures = if outputs.draws() {
        quenchway_pictures::draw(&case, &solution, shown.system, build::PROGRAM)
            .map_err(|error| Failure::Write(error.to_string()))?
    } else {
        Vec::new()
    };
    outputs.pictures(&pictures)?;
    outputs.page(&asked, &pictures, || words::page(&case, &solution, shown))?;
    let bears = of_layers(&case).iter().all(|ceiling| ceiling.excess(&case, &solution) <= 0.0);
    let limits_met = bears && solution.stations.iter().flat_map(|station| &station.limits).all(|limit| limit.met);
    let sizes_met = diameter_limits(&case, &solution).iter().all(|limit| limit.met);
    let how = Print { quiet: args.quiet, json: args.json, columns };
    let document = || study::document(&case.title, &text, &Told::of(&case, &solution));
    let status = u8::from(args.enforce && !(limits_met && sizes_met));
    outputs.answer(how, document, || words::report(&case, &solution, shown), status)
}
