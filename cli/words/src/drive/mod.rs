//! The line in time in words: metres out of limits, where and why; seconds; then change by change, station by station.

mod lines;
mod tables;
mod verdict;

pub use verdict::verdict;

use quenchway::case::CaseFile;
use quenchway::study::drive::answer::Answer;
use quenchway::units::Dimension;

use crate::blocks::{Block, Mark, Part, Report};
use crate::clean;
use crate::shown::Shown;

/// Everything that is told; the verdict first.
pub fn report(case: &CaseFile, found: &Answer, shown: Shown) -> Report {
    let table = |heading, grid| Part::new(heading, vec![Block::Table(grid)]);
    let paragraphs = |mark, lines: Vec<String>| lines.into_iter().map(|line| Block::words(mark, line)).collect();
    let parts = vec![
        Part::new("Verdict", verdict::verdict(case, found, shown)),
        table("Changes", tables::changes(found, shown)),
        table("Stations", tables::stations(found, shown)),
        table("Scrap", tables::scrap(found, shown)),
        Part::new("Accumulators", paragraphs(Mark::Indent, lines::accumulators(found, shown))),
        Part::new("Gauges", paragraphs(Mark::Indent, lines::gauges(found, shown))),
        Part::new("Water", paragraphs(Mark::Indent, lines::water(found, shown))),
        Part::new("Melt in the head", paragraphs(Mark::Indent, lines::heads(found, shown))),
        table("Jumps", tables::jumps(case, found, shown)),
        Part::new("How sure", paragraphs(Mark::Indent, lines::sure(found, shown))),
        Part::new("Accuracy", paragraphs(Mark::Indent, lines::accuracy(found, shown))),
        Part::new(
            "Warnings",
            paragraphs(Mark::Warning, found.warnings.iter().map(|one| clean(&one.message)).collect()),
        ),
        Part::new("Cautions", paragraphs(Mark::Item, found.cautions.clone())),
    ];
    Report::new(&case.title, about(case, found, shown), parts).bare().with_units()
}

/// What was driven.
fn about(case: &CaseFile, found: &Answer, shown: Shown) -> String {
    let speed = |value| shown.with_unit(value, Dimension::Speed);
    let clock = &found.motions.clock;
    format!(
        "From {} to {}, at most {}; {} from the die to the end of the line; {}",
        speed(clock.first_speed()),
        speed(clock.last_speed()),
        speed(clock.highest_speed()),
        shown.with_unit(case.line_length(), Dimension::Length),
        shown.with_unit(found.ends_s, Dimension::Time),
    )
}
