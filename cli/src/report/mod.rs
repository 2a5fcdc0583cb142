//! The report: the verdict first, then the tables and lines that an engineer acts on. Its words are blocks, which the
//! terminal and the page of `--report` show each in its way.

mod band;
pub mod blocks;
mod cooling;
pub mod design;
pub mod drive;
pub mod fit;
pub mod gauges;
pub mod length;
mod lines;
pub mod map;
mod notes;
pub mod rank;
pub(crate) mod ruled;
pub mod speed;
pub mod spread;
pub(crate) mod tables;
pub(crate) mod terminal;
mod verdict;
pub mod water;

use quenchway::case::{CaseFile, Quantity};
use quenchway::march::solution::{LimitReport, Solution};
use quenchway::units::{Dimension, System};

pub(crate) use crate::clean::line as clean;
use crate::shown::Shown;
use blocks::{Block, Part};
pub(crate) use verdict::significant;

/// Narrowest report, columns.
pub(crate) const NARROW: usize = 40;
/// Widest report, columns: longer lines are hard to follow.
const WIDE: usize = 120;
/// Where the terminal does not say, columns.
const USUAL: usize = 100;

/// Columns that `COLUMNS` of the environment asks for.
pub(crate) fn asked_columns() -> Option<usize> {
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

/// Everything that a report says.
#[derive(Clone, Debug)]
pub struct Report {
    /// The case's title.
    pub title: String,
    /// Speed, length and time on the way.
    pub about: String,
    /// Whether the limits are met, what decides that, and what would help.
    pub verdict: Part,
    /// The numbers.
    pub numbers: Vec<Part>,
    /// What was assumed and is doubtful, each with what to do.
    pub warnings: Part,
    /// How exact the numbers are.
    pub accuracy: Part,
    /// What must be kept in mind on the plant floor.
    pub cautions: Part,
}

impl Report {
    /// The words for a solution.
    pub fn new(case: &CaseFile, solution: &Solution, shown: Shown) -> Report {
        let table = |heading, grid| Part::new(heading, vec![Block::Table(grid)]);
        let mut skins = vec![Block::Table(tables::skins(solution, shown))];
        skins.extend(lines::skins(case, solution, shown));
        Report {
            title: clean(&case.title),
            about: about(case, shown),
            verdict: Part::new("Verdict", verdict::verdict(case, solution, shown)),
            numbers: vec![
                table("Stations", tables::stations(case, solution, shown)),
                table("Limits", tables::limits(case, solution, shown)),
                Part::new("How sure", verdict::contributors(case, solution, shown)),
                table("Between the layers", tables::joints(solution, shown)),
                table("Sections", tables::sections(case, solution, shown)),
                table("Water", tables::water(solution, shown)),
                Part::new("Shrink", lines::shrink(case, solution, shown)),
                Part::new("Setting and reel", lines::setting(solution, shown)),
                Part::new("Skin and melt", skins),
                Part::new("Throughput", lines::throughput(case, solution, shown)),
            ],
            warnings: Part::new("Warnings", notes::warnings(solution, shown)),
            accuracy: Part::new("Accuracy", notes::accuracy(solution, shown)),
            cautions: Part::new("Cautions", notes::cautions(solution)),
        }
    }
}

/// The report, with colours as ANSI codes: print it through something that drops them where they are not wanted.
pub fn report(case: &CaseFile, solution: &Solution, system: System, width: usize) -> String {
    let report = Report::new(case, solution, Shown { system });
    let heading = terminal::heading(&terminal::fill(&report.title, width));
    let about = terminal::fill(&report.about, width);
    let mut parts = vec![format!("{heading}\n{about}\n"), terminal::blocks(&report.verdict.blocks, width)];
    let rest = report.numbers.iter().chain([&report.warnings, &report.accuracy, &report.cautions]);
    parts.extend(rest.map(|part| terminal::part(part, width)));
    parts.retain(|part| !part.is_empty());
    parts.join("\n")
}

/// The report of a design question: the case's title, what was asked, the parts that say something.
pub fn study(title: &str, about: &str, parts: &[Part], width: usize) -> String {
    let heading = terminal::heading(&terminal::fill(&clean(title), width));
    let mut said = vec![format!("{heading}\n{}\n", terminal::fill(about, width))];
    said.extend(parts.iter().map(|part| terminal::part(part, width)));
    said.retain(|part| !part.is_empty());
    said.join("\n")
}

/// A limited temperature in words: "core", "hottest plastic", "hottest point of jacket".
pub(crate) fn limited(case: &CaseFile, limit: &LimitReport) -> String {
    let quantity = Quantity::all(case).into_iter().find(|quantity| quantity.limit(case) == limit.name);
    clean(&quantity.map_or(limit.name.clone(), |quantity| quantity.judged(case).words(case)))
}

/// What was computed.
fn about(case: &CaseFile, shown: Shown) -> String {
    let way = case.line_length();
    let metres = |value: f64| shown.with_unit(value, Dimension::Length);
    let length = match case.sections.iter().any(|section| section.passes > 1) {
        true => format!("{} way of the product, {} floor length", metres(way), metres(case.floor_length())),
        false => format!("{} from the die to the end of the line", metres(way)),
    };
    format!(
        "{}, {length}, {} on the way",
        shown.with_unit(case.line_speed, Dimension::Speed),
        shown.with_unit(way / case.line_speed, Dimension::Time),
    )
}
