//! What all commands with a design question share: the case is read and the outputs reserved before anything is computed,
//! the results file is written before the picture, and the answer is printed as a report or as JSON.

use std::cell::Cell;

use quenchway::case::CaseFile;
use quenchway::file::resolved::resolved;
use serde::Serialize;

use super::outputs::Outputs;
use super::{Answer, Failure};
use crate::args::{StudyArgs, Units};
use crate::build::PROGRAM;
use crate::diagnostic;
use crate::plot::PlotError;
use crate::plot::png::Words;
use crate::plot::sheet::{self, Sheet};
use crate::report;
use crate::shown::Shown;
use crate::store::{Table, sha256};

/// Draws a picture on a sheet.
pub type Draw<'a> = Box<dyn FnOnce(&Sheet) -> Result<(), PlotError> + 'a>;

/// The question's answer in every form that it is asked for in.
pub struct Found<'a> {
    /// The report, with colours as ANSI codes.
    pub report: String,
    /// Serialised, what `--json` prints beside title, version and hash of the case: SI with the unit in the key.
    pub json: serde_json::Value,
    /// The results file; title, command, case text and resolved case are filled in here.
    pub table: Table,
    /// What the picture shows, in words.
    pub description: String,
    /// Draws the picture.
    pub draw: Draw<'a>,
    /// Exit status.
    pub status: u8,
}

/// What a question is asked with.
pub struct Asked<'a> {
    /// The case.
    pub case: &'a CaseFile,
    /// The case file's text.
    pub text: &'a str,
    /// The units of report and picture.
    pub shown: Shown,
    /// Width of the report, columns.
    pub width: usize,
}

/// Answers a question about a case: `solve` computes the whole answer; `command` names it and its files.
///
/// Errors: the case is wrong, an output cannot be made, what `solve` says, an output cannot be written.
pub fn answer(
    command: &'static str,
    args: &StudyArgs,
    columns: Option<usize>,
    solve: impl FnOnce(&Asked<'_>) -> Result<Found<'static>, Failure>,
) -> Result<Answer, Failure> {
    answer_unless(command, args, columns, &Cell::new(false), solve)
}

/// As `answer`, but that no file is written where `solve` finds that none should be.
pub fn answer_unless(
    command: &'static str,
    args: &StudyArgs,
    columns: Option<usize>,
    withheld: &Cell<bool>,
    solve: impl FnOnce(&Asked<'_>) -> Result<Found<'static>, Failure>,
) -> Result<Answer, Failure> {
    let (text, case) = diagnostic::load(&args.case).map_err(Failure::Input)?;
    let stem = args.case.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let (results, picture) = (format!("{stem}-{command}.h5"), format!("{stem}-{command}.png"));
    let reserve = |dir| Outputs::reserve(dir, &results, std::slice::from_ref(&picture), args.overwrite);
    let outputs = args.out.as_deref().map(reserve).transpose()?;
    let system = Units::of(args.units, &case);
    let asked = Asked { case: &case, text: &text, shown: Shown { system }, width: report::width(columns) };
    let found = solve(&asked).inspect_err(|_| outputs.iter().for_each(Outputs::give_back))?;

    let mut notes = String::new();
    if withheld.get() {
        outputs.iter().for_each(Outputs::give_back);
    }
    if let Some(outputs) = outputs.as_ref().filter(|_| !withheld.get()) {
        let table = Table {
            title: case.title.clone(),
            command,
            case_text: text.clone(),
            resolved_case: resolved(&case),
            ..found.table
        };
        let failed = |error: &dyn std::fmt::Display| Failure::Write(error.to_string());
        let words =
            Words { title: case.title.clone(), description: found.description, warning: table.cautions.join("\n") };
        table.write(&outputs.results, args.overwrite).map_err(|error| failed(&error))?;
        notes += &format!("wrote {}\n", outputs.results.display());
        let [picture] = &outputs.pictures[..] else { return Err(failed(&"there is no picture to draw")) };
        sheet::picture(picture, &words, found.draw).map_err(|error| failed(&error))?;
        notes += &format!("wrote {}\n", picture.display());
    }
    let report = match (args.quiet, args.json) {
        (true, _) => String::new(),
        (false, true) => document(&case.title, &text, &found.json)?,
        (false, false) => found.report,
    };
    if args.quiet {
        notes.clear();
    }
    Ok(Answer { report, notes, status: found.status })
}

/// Does some work on so many threads, or on as many as there are cores.
pub fn on_threads<T: Send>(threads: Option<u32>, work: impl FnOnce() -> T + Send) -> Result<T, Failure> {
    let Some(threads) = threads else { return Ok(work()) };
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads as usize).build();
    let pool = pool.map_err(|error| Failure::flag("--threads", format!("{threads} threads cannot be had: {error}")))?;
    Ok(pool.install(work))
}

/// An answer as one JSON object, after what identifies the case.
pub fn document(title: &str, case_text: &str, answer: &impl Serialize) -> Result<String, Failure> {
    #[derive(Serialize)]
    struct Document<'a, T> {
        title: &'a str,
        version: &'a str,
        program: &'a str,
        case_sha256: String,
        #[serde(flatten)]
        answer: &'a T,
    }
    let case_sha256 = sha256(case_text);
    let document = Document { title, version: env!("CARGO_PKG_VERSION"), program: PROGRAM, case_sha256, answer };
    let text = serde_json::to_string_pretty(&document).map_err(|error| Failure::Write(error.to_string()))?;
    Ok(text + "\n")
}
