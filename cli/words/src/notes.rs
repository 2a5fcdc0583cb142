//! What the report must be read with: warnings, accuracy, cautions.

use quenchway::march::solution::Solution;
use quenchway::units::Dimension;

use super::blocks::{Block, Mark};
use super::verdict::significant;
use crate::shown::Shown;

/// One paragraph a warning; what is said of several sections in the same words is said once.
pub fn warnings(solution: &Solution, shown: Shown) -> Vec<Block> {
    // Each message without the section's name, and the sections that it is said of.
    let mut said: Vec<(String, Vec<String>)> = Vec::new();
    for warning in &solution.warnings {
        let message = warning.message(shown.system);
        let Some(section) = warning.section().map(|name| format!("\"{name}\"")) else {
            said.push((message, Vec::new()));
            continue;
        };
        let open = message.replacen(&section, SECTIONS, 1);
        match said.iter_mut().find(|(words, sections)| *words == open && !sections.is_empty()) {
            Some((_, sections)) => sections.push(section),
            None => said.push((open, vec![section])),
        }
    }
    let closed = |(words, sections): (String, Vec<String>)| match sections.split_last() {
        None => words,
        Some((last, [])) => words.replacen(SECTIONS, last, 1),
        Some((last, rest)) => words.replacen(SECTIONS, &format!("{} and {last}", rest.join(", ")), 1),
    };
    said.into_iter().map(|one| Block::words(Mark::Warning, super::clean(&closed(one)))).collect()
}

/// Stands for the sections' names in a message: no message holds it.
const SECTIONS: &str = "\u{0}";

/// Numerical error, energy books, work; time above boiling.
pub fn accuracy(solution: &Solution, shown: Shown) -> Vec<Block> {
    let (numerics, balance) = (&solution.numerics, &solution.balance);
    let kelvin = |value: f64| significant(shown.value(value, Dimension::TemperatureDifference));
    let unit = shown.unit(Dimension::TemperatureDifference);
    // In a browser there is no clock.
    let wall = if numerics.wall > 0.0 { format!(", {} s", significant(numerics.wall)) } else { String::new() };
    let error = format!(
        "Numerical error {} {unit} ({} {unit} wanted); energy balance closed to {:.0e}; {} intervals, {} steps{wall}.",
        kelvin(numerics.error),
        kelvin(numerics.tolerance),
        balance.relative_error.abs(),
        numerics.cells,
        numerics.steps,
    );
    let mut blocks = vec![Block::words(Mark::Indent, error)];
    for section in solution.sections.iter().filter(|section| section.boiling > 0.0) {
        let line = format!(
            "In \"{}\" the surface stays above {} for {} s; boiling is not modelled.",
            super::clean(&section.name),
            shown.limit(100.0),
            significant(section.boiling),
        );
        blocks.push(Block::words(Mark::Indent, line));
    }
    if solution.band.is_empty() {
        let inputs = "The inputs are less certain than that. A film law is known to its band or a factor of two, material \
                      data to ten or twenty percent (common practice, no source).";
        blocks.push(Block::words(Mark::Indent, inputs));
    }
    blocks
}

/// One paragraph a caution.
pub fn cautions(solution: &Solution) -> Vec<Block> {
    solution.cautions.iter().map(|caution| Block::words(Mark::Item, caution)).collect()
}
