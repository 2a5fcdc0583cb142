//! Readings that no physics allows: a product colder than everything that it met, or hotter.

use quenchway::case::CaseFile;
use quenchway::file::Problem;
use quenchway::study::fit::{TOO_FAR, Trial, Unknown, possible};
use quenchway::units::{Dimension, System, write};

use super::cells::Cell;

/// What is impossible in a row: temperatures of the product outside those that die and media have at its settings, by more than
/// four standard uncertainties. What is fitted is not held against a reading.
pub(super) fn check(case: &CaseFile, trial: &Trial, cells: &[&Cell], fitted: &[Unknown]) -> Vec<Problem> {
    let fits = |table: &str| {
        let paths = fitted.iter().flat_map(Unknown::paths);
        paths.filter(|path| path.ends_with("temperature")).any(|path| path.starts_with(table))
    };
    let mut there = case.clone();
    let (speeds, others): (Vec<_>, Vec<_>) = trial.settings.iter().partition(|(v, _)| v.path == "line.speed");
    for (variable, value) in speeds.into_iter().chain(others) {
        // A setting that cannot be has been complained about.
        let _ = variable.set(&mut there, *value);
    }
    let mut problems = Vec::new();
    for (measurement, cell) in trial.measurements.iter().zip(cells) {
        let Some([low, high]) = possible(&there, &measurement.output) else { continue };
        let margin = TOO_FAR * measurement.uncertainty;
        let celsius = |value: f64| write(value, Dimension::Temperature, System::Si);
        let (word, extreme, end) = if measurement.value < low.0 - margin && !fits("section") && !fits("layer") {
            ("colder", "coldest", low)
        } else if measurement.value > high.0 + margin && !fits("section") && !fits("layer") {
            ("hotter", "hottest", high)
        } else {
            continue;
        };
        let message = format!(
            "{} is {word} than everything that the product met up to there: the {extreme} is {} with {}",
            celsius(measurement.value),
            end.1,
            celsius(end.0)
        );
        let help = format!("look at the unit, at the instrument, and at {} in this row", end.1);
        problems.push(cell.problem(&measurement.output.name, message, "impossible", help));
    }
    problems
}
