//! What the report must be read with: warnings, accuracy, cautions.

use quenchway::solution::Solution;
use quenchway::units::Dimension;

use super::blocks::{Block, Mark};
use super::verdict::significant;
use crate::shown::Shown;

/// One paragraph a warning.
pub fn warnings(solution: &Solution, shown: Shown) -> Vec<Block> {
    let words = |message: String| Block::words(Mark::Warning, super::clean(&message));
    solution.warnings.iter().map(|warning| words(warning.message(shown.system))).collect()
}

/// Numerical error, energy books, work; time above boiling.
pub fn accuracy(solution: &Solution, shown: Shown) -> Vec<Block> {
    let (numerics, balance) = (&solution.numerics, &solution.balance);
    let kelvin = |value: f64| significant(shown.value(value, Dimension::TemperatureDifference));
    let unit = shown.unit(Dimension::TemperatureDifference);
    let error = format!(
        "Numerical error {} {unit} ({} {unit} asked for); energy balance closed to {:.0e}; {} intervals, {} steps, {} s.",
        kelvin(numerics.error),
        kelvin(numerics.tolerance),
        balance.relative_error.abs(),
        numerics.cells,
        numerics.steps,
        significant(numerics.wall),
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
        let inputs = "The inputs are less certain than that: a film law is good to a factor of two, material data to ten \
                      or twenty percent (common practice, no source).";
        blocks.push(Block::words(Mark::Indent, inputs));
    }
    blocks
}

/// One paragraph a caution.
pub fn cautions(solution: &Solution) -> Vec<Block> {
    solution.cautions.iter().map(|caution| Block::words(Mark::Item, caution)).collect()
}
