//! Ramps in words: the fastest within limits or the one of least scrap, every sample.

use quenchway::case::CaseFile;
use quenchway::study::moves::doubt::Doubt;
use quenchway::study::moves::ramp::{Course, OfCourse, Ramping};
use quenchway::units::Dimension;

use super::{cautions_of, edge, notes, samples, spans, warnings_of, why};
use crate::Shown;
use crate::blocks::{Block, Mark, Part, Report, Tone};

/// The report.
///
/// `doubts` are those of the courses.
pub fn report(case: &CaseFile, found: &Ramping, doubts: &[Option<Doubt>], shown: Shown) -> Report {
    let mut parts = vec![Part::new("Verdict", verdict(found, shown))];
    let mut unsure = Vec::new();
    for (course, doubt) in found.courses.iter().zip(doubts) {
        let Some(doubt) = doubt else { continue };
        let name = match course.course {
            Course::Even => ["even ramp", "even ramps"],
            Course::Percent => ["ramp in percent", "ramps in percent"],
        };
        unsure.extend(super::unsure(doubt, name, shown));
    }
    for course in &found.courses {
        let heading = match course.course {
            Course::Even => "Even ramps",
            Course::Percent => "Ramps in percent",
        };
        let grid = samples(&course.times, ("within", Dimension::Time), shown);
        parts.push(Part::new(heading, vec![Block::Table(grid)]));
    }
    parts.push(Part::new("How sure", unsure));
    parts.push(Part::new("Accuracy", vec![Block::words(Mark::Indent, accuracy(found))]));
    parts.extend(notes(&warnings_of(case), &cautions_of(case)));
    Report::new(&case.title, about(case, found, shown), parts).bare().with_units()
}

/// What was looked at.
pub fn about(case: &CaseFile, found: &Ramping, shown: Shown) -> String {
    let speed = |value| shown.with_unit(value, Dimension::Speed);
    let most = case.plant.ramp_max.map_or("The case does not say ramp_max".to_string(), |most| {
        format!("No steeper than {}", shown.with_unit(most, Dimension::Acceleration))
    });
    format!("How fast may the line ramp from {} to {}? {most}", speed(found.from), speed(found.to))
}

/// The lines that answer.
pub fn verdict(found: &Ramping, shown: Shown) -> Vec<Block> {
    let speed = |value| shown.with_unit(value, Dimension::Speed);
    if found.courses.is_empty() {
        let first = "NO RAMP HELPS";
        let text = format!(
            "{first}: the steady line itself is out of limits at {}, the end speed: {}.",
            speed(found.to),
            why(&found.steady[1], shown)
        );
        return vec![Block::stressed(Mark::None, text, Tone::Bad, first)];
    }
    let mut blocks: Vec<Block> = found.courses.iter().map(|course| of_course(course, shown)).collect();
    let worst = found
        .courses
        .iter()
        .filter_map(|of| Some((of, &of.times.points[of.times.worst()?])))
        .max_by(|a, b| a.1.outcome.avoidable().total_cmp(&b.1.outcome.avoidable()))
        .filter(|(_, point)| !point.outcome.within());
    if let Some((of, point)) = worst {
        blocks.push(Block::words(
            Mark::None,
            format!(
                "Of those that the program tried, {} ramp of {} makes most scrap: {}. The reason: {}.",
                with_article(of.course),
                shown.with_unit(point.at, Dimension::Time),
                shown.some(point.outcome.scrap_m, Dimension::Length),
                why(&point.outcome, shown)
            ),
        ));
    }
    if !found.steady[0].within() {
        let text = format!(
            "At {}, before the ramp, the steady line is out of limits: {}. What is on the line counts as scrap of every ramp.",
            speed(found.from),
            why(&found.steady[0], shown)
        );
        blocks.push(Block::stressed(Mark::Warning, text, Tone::Warn, "!"));
    }
    blocks
}

fn with_article(course: Course) -> &'static str {
    match course {
        Course::Even => "an even",
        Course::Percent => "a percent",
    }
}

/// The answer of a course.
fn of_course(of: &OfCourse, shown: Shown) -> Block {
    let time = |value| shown.with_unit(value, Dimension::Time);
    let metres = |value| shown.some(value, Dimension::Length);
    let name = match of.course {
        Course::Even => "EVEN",
        Course::Percent => "IN PERCENT",
    };
    match (of.fastest(), &of.least) {
        (Some(end), _) => {
            let fastest = match end {
                Some(end) => edge(end, Dimension::Time, shown),
                None => shown.up(of.looked_at[0], Dimension::Time).to_string(),
            };
            let first = format!("{name}: {fastest} IS THE FASTEST RAMP WITHIN LIMITS");
            let others = match of.times.intervals.len() {
                1 => String::new(),
                _ => format!(" Within limits are ramps {}.", spans(&of.times, Dimension::Time, shown)),
            };
            let decides = match (end, of.steepest) {
                (Some(_), _) => "",
                (None, true) => " `ramp_max` decides: the drives allow none steeper.",
                (None, false) => " It is the shortest that the program tried; the case gives no `ramp_max`.",
            };
            let longer = match of.looked_at[1] > of.looked_at[0] {
                true => format!("; every longer one is, up to {}", time(of.looked_at[1])),
                false => "; the program did not try a longer one".to_string(),
            };
            let text = format!("{first}{longer}.{decides}{others}");
            Block::stressed(Mark::None, text, Tone::Good, &first)
        }
        (None, Some(least)) => {
            let first = format!("{name}: NO RAMP IS WITHIN LIMITS");
            let point = |index: usize| &of.times.points[index];
            let beside = |index: Option<usize>| {
                index
                    .filter(|&index| index < of.times.points.len())
                    .map(|index| format!("{} at {}", metres(point(index).outcome.scrap_m), time(point(index).at)))
            };
            let neighbours: Vec<String> =
                [beside(least.index.checked_sub(1)), beside(Some(least.index + 1))].into_iter().flatten().collect();
            let text = format!(
                "{first}. Least scrap has one of {}: {}, {}.{}",
                time(point(least.index).at),
                metres(least.outcome.scrap_m),
                why(&least.outcome, shown),
                match neighbours.is_empty() {
                    true => String::new(),
                    false => format!(" Its neighbours have {}.", neighbours.join(" and ")),
                }
            );
            Block::stressed(Mark::None, text, Tone::Bad, &first)
        }
        (None, None) => {
            let first = format!("{name}: RAMPS WITHIN LIMITS");
            let which = spans(&of.times, Dimension::Time, shown);
            let text =
                format!("{first}: {which}; the longest that the program tried, {}, is not.", time(of.looked_at[1]));
            Block::stressed(Mark::None, text, Tone::Warn, &first)
        }
    }
}

fn accuracy(found: &Ramping) -> String {
    let text = super::driven(found.drives);
    if found.courses.is_empty() {
        return text;
    }
    format!(
        "{text} It drove every answer again with care, as it is printed. Between neighbours of the tables a short interval may be \
         hidden."
    )
}
