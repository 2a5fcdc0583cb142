//! How a terminal shows a report: its width, and the words' blocks as lines; and what is wrong with a case file.

pub mod diagnostic;
pub mod ruled;
pub mod terminal;

use quenchway_words::blocks::{Part, Report};

/// Narrowest report, columns.
pub const NARROW: usize = 40;
/// Widest report, columns: longer lines are hard to follow.
const WIDE: usize = 120;
/// Where the terminal does not say, columns.
const USUAL: usize = 100;

/// Columns that `COLUMNS` of the environment asks for.
pub fn asked_columns() -> Option<usize> {
    std::env::var("COLUMNS").ok()?.trim().parse().ok().filter(|columns| *columns > 0)
}

/// Columns to write in: those that are asked for, or those of the terminal, where there is one.
pub fn columns() -> Option<usize> {
    asked_columns().or_else(|| terminal_size::terminal_size().map(|(width, _)| usize::from(width.0)))
}

/// Width for a terminal of so many columns.
pub fn width(columns: Option<usize>) -> usize {
    columns.map_or(USUAL, |columns| columns.clamp(NARROW, WIDE))
}

/// A report under its title, with colours as ANSI codes: print it through something that drops them where they are not wanted.
pub fn text(report: &Report, width: usize) -> String {
    let heading = terminal::heading(&terminal::fill(&report.title, width));
    let title = format!("{heading}\n{}\n", terminal::fill(&report.about, width));
    let part = |(index, part): (usize, &Part)| match report.bare && index == 0 {
        true => terminal::blocks(&part.blocks, width),
        false => terminal::part(part, width),
    };
    let parts = report.parts.iter().enumerate().map(part);
    let said: Vec<String> = std::iter::once(title).chain(parts).filter(|part| !part.is_empty()).collect();
    said.join("\n")
}
