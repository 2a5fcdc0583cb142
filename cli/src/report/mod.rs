//! The report for the terminal: the verdict first, then the tables and lines that an engineer acts on.

mod band;
pub mod fit;
mod lines;
mod notes;
pub(crate) mod tables;
mod verdict;

use anstyle::{AnsiColor, Style};
use quenchway::case::Case;
use quenchway::solution::Solution;
use quenchway::units::{Dimension, System};

use crate::shown::Shown;

/// Heading of a part.
const HEADING: Style = Style::new().bold();
/// A limit that is not met.
const BAD: Style = AnsiColor::Red.on_default().bold();
/// Limits that are met.
const GOOD: Style = AnsiColor::Green.on_default().bold();
/// A warning.
const WARN: Style = AnsiColor::Yellow.on_default();

/// Narrowest report, columns.
const NARROW: usize = 80;
/// Widest report, columns: longer lines are hard to follow.
const WIDE: usize = 120;
/// Where the terminal does not say, columns.
const USUAL: usize = 100;

/// Columns of the terminal, where there is one.
pub fn columns() -> Option<usize> {
    terminal_size::terminal_size().map(|(width, _)| usize::from(width.0))
}

/// Width for a terminal of so many columns.
pub fn width(columns: Option<usize>) -> usize {
    columns.map_or(USUAL, |columns| columns.clamp(NARROW, WIDE))
}

/// The report, with colours as ANSI codes: print it through something that drops them where they are not wanted.
pub fn report(case: &Case, solution: &Solution, system: System, width: usize) -> String {
    let shown = Shown { system };
    let mut parts = vec![heading(case, shown, width), verdict::verdict(case, solution, shown, width)];
    parts.push(part("Stations", tables::stations(case, solution, shown, width)));
    parts.push(part("Limits", tables::limits(solution, shown, width)));
    parts.push(part("How sure", verdict::contributors(solution, shown, width)));
    parts.push(part("Between the layers", tables::joints(solution, shown, width)));
    parts.push(part("Sections", tables::sections(case, solution, shown, width)));
    parts.push(part("Water", tables::water(solution, shown, width)));
    parts.push(part("Shrink", lines::shrink(case, solution, shown, width)));
    parts.push(part("Setting and reel", lines::setting(solution, shown, width)));
    parts.push(part(
        "Skin and melt",
        tables::skins(solution, shown, width) + &lines::skins(case, solution, shown, width),
    ));
    parts.push(part("Throughput", lines::throughput(case, solution, shown, width)));
    parts.push(part("Warnings", notes::warnings(solution, shown, width)));
    parts.push(part("Accuracy", notes::accuracy(solution, shown, width)));
    parts.push(part("Cautions", notes::cautions(solution, width)));
    parts.retain(|part| !part.is_empty());
    parts.join("\n")
}

/// Title and what was computed.
fn heading(case: &Case, shown: Shown, width: usize) -> String {
    let length = case.line_length();
    let about = format!(
        "{}, {} from the die to the end of the line, {} on the way",
        shown.with_unit(case.line_speed, Dimension::Speed),
        shown.with_unit(length, Dimension::Length),
        shown.with_unit(length / case.line_speed, Dimension::Time),
    );
    let title = clean(&case.title);
    format!("{}\n{about}\n", styled(HEADING, &textwrap::fill(&title, width)))
}

/// A heading over what follows; nothing over nothing.
fn part(heading: &str, body: String) -> String {
    if body.is_empty() { body } else { format!("{}\n{body}", styled(HEADING, heading)) }
}

/// Text in a style.
fn styled(style: Style, text: &str) -> String {
    format!("{style}{text}{style:#}")
}

/// A name of the user's without what could steer a terminal or break a table.
pub(crate) fn clean(name: &str) -> String {
    name.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// A paragraph that hangs under its mark.
fn hanging(mark: &str, text: &str, width: usize) -> String {
    let indent = " ".repeat(mark.chars().count());
    let options = textwrap::Options::new(width).initial_indent(mark).subsequent_indent(&indent).break_words(false);
    textwrap::fill(text, options) + "\n"
}
