//! `run` in words: the verdict first, then the tables and lines that an engineer acts on.

use quenchway::case::{CaseFile, Quantity};
use quenchway::march::solution::{LimitReport, Solution};
use quenchway::units::Dimension;

use super::blocks::{Block, Grid, Mark, Part, Report, Tone};
use super::{clean, inputs, lines, notes, tables, verdict};
use crate::shown::Shown;

/// Everything that is told of a solution.
pub fn report(case: &CaseFile, solution: &Solution, shown: Shown) -> Report {
    let mut parts = vec![Part::new("Verdict", verdict::verdict(case, solution, shown))];
    parts.extend(numbers(case, solution, shown));
    parts.extend([
        Part::new("Warnings", notes::warnings(solution, shown)),
        Part::new("Accuracy", notes::accuracy(solution, shown)),
        Part::new("Cautions", notes::cautions(solution)),
    ]);
    Report::new(&case.title, about(case, shown), parts).bare()
}

/// What a page tells of a solution: key numbers, inputs and the ranges in which the answer holds, too; and before how many of
/// the parts its pictures stand.
pub fn page(case: &CaseFile, solution: &Solution, shown: Shown) -> (Report, usize) {
    let mut parts =
        vec![Part::new("Verdict", verdict::verdict(case, solution, shown)), inputs::key_numbers(case, solution, shown)];
    parts.extend(numbers(case, solution, shown));
    let pictures = parts.len();
    parts.extend(inputs::inputs(case, solution, shown));
    let mut warnings = notes::warnings(solution, shown);
    if warnings.is_empty() {
        let none = "Nothing was assumed, and nothing is doubtful that the program could see.";
        warnings.push(Block::stressed(Mark::Indent, none, Tone::Good, ""));
    }
    parts.extend([
        Part::new("Assumptions and warnings", warnings),
        inputs::validity(case, solution, notes::accuracy(solution, shown), shown),
        Part::new("Cautions", notes::cautions(solution)),
    ]);
    (Report::new(&case.title, about(case, shown), parts), pictures)
}

/// The numbers, part by part.
fn numbers(case: &CaseFile, solution: &Solution, shown: Shown) -> Vec<Part> {
    let table = |heading, grid| Part::new(heading, vec![Block::Table(grid)]);
    let mut skins = vec![Block::Table(tables::skins(solution, shown))];
    skins.extend(lines::skins(case, solution, shown));
    vec![
        table("Stations", tables::stations(case, solution, None, shown)),
        table("Limits", tables::limits(case, solution, shown)),
        Part::new("How sure", verdict::contributors(case, solution, shown)),
        table("Between the layers", tables::joints(solution, shown)),
        table("Sections", tables::sections(case, solution, shown)),
        table("Water", tables::water(solution, shown)),
        Part::new("Shrink", lines::shrink(case, solution, shown)),
        Part::new("Setting and reel", lines::setting(solution, shown)),
        Part::new("Skin and melt", skins),
        Part::new("Throughput", lines::throughput(case, solution, shown)),
    ]
}

/// Every number at every station, with its change from an answer before in brackets.
pub fn stations(case: &CaseFile, solution: &Solution, before: Option<&Solution>, shown: Shown) -> Grid {
    tables::stations(case, solution, before, shown)
}

/// What is said while a number moves: no verdict, for the numbers are quick ones.
pub fn moving(case: &CaseFile, solution: &Solution, shown: Shown) -> Vec<Block> {
    verdict::moving(case, solution, shown)
}

/// A limited temperature in words: "core", "hottest plastic", "hottest point of jacket".
pub fn limited(case: &CaseFile, limit: &LimitReport) -> String {
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
