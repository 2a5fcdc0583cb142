//! What all commands with a design question share: the case is read and the outputs reserved before anything is computed,
//! the results file is written before the picture, and the answer is printed as a report or as JSON.

use std::cell::Cell;
use std::path::Path;

use quenchway::case::CaseFile;
use quenchway::data::{Data, Head};
use quenchway::march::output::Output;
use quenchway_pictures::png::Words;
use quenchway_pictures::sheet::{self, Sheet};
use quenchway_pictures::{Picture, PlotError};
use quenchway_words::Shown;
use quenchway_words::blocks::Report;
use serde::Serialize;

use super::outputs::{Outputs, Print};
use super::{Answer, Failure};
use crate::args::{StudyArgs, Units};
use crate::build;
use crate::build::PROGRAM;
use crate::diagnostic;
use crate::store::sha256;

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
    let (stem, out, page) = (stem(&args.case), args.out.as_deref(), args.report.as_deref());
    let mut pictures = vec![format!("{stem}-{command}.png")];
    pictures.extend(more.iter().map(|more| format!("{stem}-{command}-{more}.png")));
    let mut outputs = Outputs::reserve(out, page, args.overwrite, &format!("{stem}-{command}.h5"), &pictures)?;
    let asked = Asked { case: &case, text: &text, shown: Shown { system: Units::of(args.units, &case) } };
    let (found, further) = solve(&asked).inspect_err(|_| outputs.give_back())?;
    if withheld.get() {
        outputs.withhold();
    }
    let warning = found.data.text_of("cautions").to_string();
    outputs.results(&asked, command, || Ok(found.data))?;
    // Drawn once, for the directory and the page: a picture that fails loses no number.
    let drawn = |(description, draw): More<'_>| {
        let words = Words {
            program: build::PROGRAM,
            title: case.title.clone(),
            description: description.clone(),
            warning: warning.clone(),
        };
        sheet::encoded(&words, draw).map(|png| Picture { description, png })
    };
    let pictures: Vec<Picture> = if outputs.draws() {
        let all = std::iter::once((found.description, found.draw)).chain(further);
        all.map(drawn).collect::<Result<_, _>>().map_err(|error| Failure::Write(error.to_string()))?
    } else {
        Vec::new()
    };
    outputs.pictures(&pictures)?;
    outputs.page(&asked, &pictures, || (found.report.clone(), 1))?;
    let how = Print { quiet: args.quiet, json: args.json, columns };
    outputs.answer(how, || document(&case.title, &text, &found.json), || found.report, found.status)
}

/// The name of a case file without its ending: its files' names begin with it.
pub fn stem(case: &Path) -> String {
    case.file_stem().unwrap_or_default().to_string_lossy().into_owned()
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
