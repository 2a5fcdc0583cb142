//! What all commands with a design question share: the case is read and the outputs reserved before anything is computed,
//! the results file is written before the picture, and the answer is printed as a report or as JSON.

use std::cell::Cell;
use std::time::SystemTime;

use quenchway::case::CaseFile;
use quenchway::data::{Data, Head};
use quenchway::file::resolved::resolved;
use quenchway::march::output::Output;
use quenchway_words::Shown;
use quenchway_words::blocks::Report;
use serde::Serialize;

use super::outputs::Outputs;
use super::{Answer, Failure};
use crate::args::{StudyArgs, Units};
use crate::build::PROGRAM;
use crate::diagnostic;
use crate::html::{self, Page};
use crate::plot::png::Words;
use crate::plot::sheet::{self, Sheet};
use crate::plot::{self, Picture, PlotError};
use crate::report;
use crate::store::{Header, sha256, write_data};

/// Draws a picture on a sheet.
pub type Draw<'a> = Box<dyn FnOnce(&Sheet) -> Result<(), PlotError> + 'a>;

/// The question's answer in every form that it is asked for in.
pub struct Found<'a> {
    /// What is told, the answer first.
    pub report: Report,
    /// Serialised, what `--json` prints beside title, version and hash of the case: SI with the unit in the key.
    pub json: serde_json::Value,
    /// The same as labelled numbers, for the results file.
    pub data: Data,
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
}

/// The outputs of `--also`: numbers of the programme of a line and answers of searches.
///
/// # Errors
///
/// A name that is neither.
pub fn also(case: &CaseFile, names: &[String]) -> Result<Vec<Output>, Failure> {
    let find = |name: &String| Output::beyond_a_march(case, name).map_err(|error| Failure::flag("--also", error));
    names.iter().map(find).collect()
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
    answer_with(command, &[], args, columns, withheld, |asked| Ok((solve(asked)?, Vec::new())))
}

/// A further picture: what it shows, in words, and how it is drawn.
pub type More<'a> = (String, Draw<'a>);

/// As `answer_unless`, with further pictures, `NAME-COMMAND-MORE.png` each, of which the last may be missing.
pub fn answer_with(
    command: &'static str,
    more: &[&str],
    args: &StudyArgs,
    columns: Option<usize>,
    withheld: &Cell<bool>,
    solve: impl FnOnce(&Asked<'_>) -> Result<(Found<'static>, Vec<More<'static>>), Failure>,
) -> Result<Answer, Failure> {
    let (text, case) = diagnostic::load(&args.case).map_err(Failure::Input)?;
    let stem = args.case.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let results = format!("{stem}-{command}.h5");
    let mut pictures = vec![format!("{stem}-{command}.png")];
    pictures.extend(more.iter().map(|more| format!("{stem}-{command}-{more}.png")));
    let reserve = |dir| Outputs::reserve(dir, &results, &pictures, args.overwrite);
    let outputs = args.out.as_deref().map(reserve).transpose()?;
    let system = Units::of(args.units, &case);
    let asked = Asked { case: &case, text: &text, shown: Shown { system } };
    let give_back = || outputs.iter().for_each(Outputs::give_back);
    if let Some(path) = &args.report {
        html::prepare(path, args.overwrite)
            .inspect_err(|_| give_back())
            .map_err(|reason| Failure::flag("--report", reason))?;
    }
    let (found, further) = solve(&asked).inspect_err(|_| give_back())?;

    let failed = |error: &dyn std::fmt::Display| Failure::Write(error.to_string());
    let mut written = Vec::new();
    let outputs = outputs.filter(|outputs| {
        if withheld.get() {
            outputs.give_back();
        }
        !withheld.get()
    });
    let page = args.report.as_ref().filter(|_| !withheld.get());
    let warning = found.data.text_of("cautions").to_string();
    if let Some(outputs) = &outputs {
        let header = Header {
            title: &case.title,
            question: command,
            case_text: &text,
            resolved_case: &resolved(&case),
            time: SystemTime::now(),
        };
        write_data(&outputs.results, &header, &found.data, args.overwrite).map_err(|error| failed(&error))?;
        written.push(outputs.results.clone());
    }
    // Drawn once, for the directory and the page: a picture that fails loses no number.
    let drawn = |(description, draw): More<'_>| {
        let words = Words { title: case.title.clone(), description: description.clone(), warning: warning.clone() };
        sheet::encoded(&words, draw).map(|png| Picture { description, png })
    };
    let pictures: Vec<Picture> = if outputs.is_some() || page.is_some() {
        let all = std::iter::once((found.description, found.draw)).chain(further);
        all.map(drawn).collect::<Result<_, _>>().map_err(|error| failed(&error))?
    } else {
        Vec::new()
    };
    if let Some(outputs) = &outputs {
        plot::write_all(&outputs.pictures, &pictures).map_err(|error| failed(&error))?;
        written.extend(outputs.pictures.iter().take(pictures.len()).cloned());
    }
    if let Some(path) = page {
        let page = Page {
            report: &found.report,
            place: 1,
            pictures: &pictures,
            case_text: &text,
            case: &case,
            system,
            time: SystemTime::now(),
        };
        html::write(path, &page).map_err(|error| failed(&error))?;
        written.push(path.clone());
    }
    let mut notes: String = written.iter().map(|path| format!("wrote {}\n", path.display())).collect();
    let report = match (args.quiet, args.json) {
        (true, _) => String::new(),
        (false, true) => document(&case.title, &text, &found.json)?,
        (false, false) => report::text(&found.report, report::width(columns)),
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
    let head = Head { title, program: PROGRAM, case_sha256: &sha256(case_text) };
    quenchway::data::document(&head, answer).map_err(|error| Failure::Write(error.to_string()))
}

/// An answer as JSON, its keys sorted.
pub fn json(answer: &impl Serialize) -> Result<serde_json::Value, Failure> {
    serde_json::to_value(answer).map_err(|error| Failure::Write(error.to_string()))
}
