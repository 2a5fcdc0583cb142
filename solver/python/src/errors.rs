//! What goes wrong, as the exceptions of the package: `CaseError`, `MarchError`, `NoAnswer`, `UnknownName`.

use pyo3::prelude::*;
use quenchway::case::error::Error;
use quenchway::file::Problem;
use quenchway::march::output::OutputError;
use quenchway::names::error::KeyPathError;
use quenchway_words::clean;

/// Most problems that are shown; all of them are in `problems`.
const MOST_SHOWN: usize = 20;
/// Longest line of a case file that is shown, characters.
const LONGEST_LINE: usize = 400;

/// Key, message, help, line, column; the words without what steers a terminal.
type Told = (String, String, Option<String>, Option<usize>, Option<usize>);

/// What Python calls the type of a value.
pub fn kind(value: &Bound<PyAny>) -> String {
    value.get_type().name().map_or_else(|_| "object".to_string(), |name| name.to_string())
}

/// An exception of the package by its name.
fn exception<'py>(py: Python<'py>, name: &str, arguments: impl pyo3::call::PyCallArgs<'py>) -> PyErr {
    let made = py.import("quenchway._errors").and_then(|module| module.getattr(name)?.call1(arguments));
    made.map_or_else(|error| error, PyErr::from_value)
}

/// `CaseError` with every problem of a case's text; `name` is what the text is called.
pub fn of_problems(py: Python, name: &str, text: &str, problems: &[Problem]) -> PyErr {
    let told: Vec<Told> = problems
        .iter()
        .map(|problem| {
            let place = place(text, problem);
            let (line, column) = (place.map(|place| place.line), place.map(|place| place.column));
            let help = problem.help.as_deref().map(|help| clean::lines(help).into_owned());
            (clean(&problem.key), clean(&problem.message), help, line, column)
        })
        .collect();
    exception(py, "CaseError", (report(name, text, problems), told))
}

/// `CaseError` of a text that could not even be read.
pub fn of_text(py: Python, name: &str, message: &str, help: &str, line: Option<usize>) -> PyErr {
    let told: Vec<Told> = vec![(String::new(), message.to_string(), Some(help.to_string()), line, None)];
    exception(py, "CaseError", (format!("{}: {message}; {help}", clean(name)), told))
}

/// A wrong path is an `UnknownName`, a wrong value a `CaseError` at its path.
pub fn of_path(py: Python, error: &KeyPathError) -> PyErr {
    match error {
        KeyPathError::Syntax { path, .. }
        | KeyPathError::Unknown { path, .. }
        | KeyPathError::NoNumber { path, .. } => exception(py, "UnknownName", (error.to_string(), path)),
        KeyPathError::OutOfRange { path, .. }
        | KeyPathError::Value { path, .. }
        | KeyPathError::NotBare { path, .. }
        | KeyPathError::Relative { path } => {
            let (message, help) = error.parts();
            let told: Vec<Told> = vec![(clean(path), clean(&message), Some(clean(&help)), None, None)];
            exception(py, "CaseError", (error.to_string(), told))
        }
    }
}

/// `UnknownName` of an output.
pub fn of_output(py: Python, error: &OutputError) -> PyErr {
    exception(py, "UnknownName", (error.to_string(), &error.name))
}

/// `MarchError` with its kind and the layer, section or station that it is about.
pub fn of_march(py: Python, error: &Error) -> PyErr {
    let (kind, place) = match error {
        Error::BalanceOpen { .. } => ("balance_open", None),
        Error::StepVanished { section, .. } => ("step_vanished", Some(section)),
        Error::NotFinite { section, .. } => ("not_finite", Some(section)),
        Error::TooLarge { .. } => ("too_large", None),
        Error::WaterOpen { section, .. } => ("water_open", Some(section)),
        Error::WaterTrickles { section, .. } => ("water_trickles", Some(section)),
        Error::WaterNotLiquid { section, .. } => ("water_not_liquid", Some(section)),
        Error::Unphysical { place, .. } => ("unphysical", Some(place)),
    };
    exception(py, "MarchError", (error.to_string(), kind, place))
}

/// `NoAnswer` of a question that has none.
pub fn of_question(py: Python, reason: &str) -> PyErr {
    exception(py, "NoAnswer", (reason,))
}

/// Where a problem stands.
#[derive(Clone, Copy)]
struct Place<'a> {
    /// From 1.
    line: usize,
    /// In characters, from 1.
    column: usize,
    /// How many characters are meant, within the line.
    width: usize,
    /// The whole line.
    text: &'a str,
}

fn place<'a>(text: &'a str, problem: &Problem) -> Option<Place<'a>> {
    let span = problem.span.as_ref()?;
    let before = text.get(..span.start)?;
    let start = before.rfind('\n').map_or(0, |feed| feed + 1);
    let line = text[start..].lines().next().unwrap_or_default();
    // A value over many lines is pointed at by its first.
    let end = span.end.clamp(span.start, (start + line.len()).max(span.start));
    Some(Place {
        line: 1 + before.matches('\n').count(),
        column: 1 + before[start..].chars().count(),
        width: text.get(span.start..end).map_or(1, |meant| meant.chars().count()).max(1),
        text: line,
    })
}

/// Every problem with its line and caret, then how many there are.
fn report(name: &str, text: &str, problems: &[Problem]) -> String {
    let name = clean(name);
    let mut report = String::new();
    for problem in problems.iter().take(MOST_SHOWN) {
        let key = if problem.key.is_empty() { String::new() } else { format!("{}: ", clean(&problem.key)) };
        report += &format!("{key}{}\n", clean(&problem.message));
        if let Some(place) = place(text, problem) {
            report += &format!("  {name}, line {}, column {}:\n", place.line, place.column);
            if place.text.chars().count() <= LONGEST_LINE {
                let indent = " ".repeat(place.column - 1);
                let label = clean(&problem.label);
                report += &format!("    {}\n    {indent}{} {label}\n", clean(place.text), "^".repeat(place.width));
            }
        }
        report.extend(
            problem
                .help
                .iter()
                .map(|help| format!("  help: {}\n", help.lines().map(clean).collect::<Vec<_>>().join("\n        "))),
        );
        report.push('\n');
    }
    if problems.len() > MOST_SHOWN {
        report += &format!("and {} more problems, all in `problems`\n", problems.len() - MOST_SHOWN);
    }
    let count = if problems.len() == 1 { "1 problem".to_string() } else { format!("{} problems", problems.len()) };
    report + &format!("{count} in {name}; nothing was computed")
}
