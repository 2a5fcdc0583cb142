//! Stops and slow-downs in words: what stays within limits, the worst, the lowest speed, every sample.

use quenchway::case::CaseFile;
use quenchway::study::moves::doubt::Doubt;
use quenchway::study::moves::intervals::{Interval, Scanned};
use quenchway::study::moves::stop::Stops;
use quenchway::units::Dimension;

use super::{cautions_of, edge, notes, samples, spans, unsure, warnings_of_stop, why};
use crate::Shown;
use crate::blocks::{Block, Mark, Part, Report, Tone};
use crate::{clean, limited};

/// The report.
pub fn report(case: &CaseFile, found: &Stops, doubt: Option<&Doubt>, shown: Shown) -> Report {
    let mut parts = vec![Part::new("Verdict", verdict(found, shown))];
    let table = |grid| vec![Block::Table(grid)];
    if !found.durations.points.is_empty() {
        let name = if found.to > 0.0 { "slow for" } else { "stands for" };
        parts.push(Part::new("By duration", table(samples(&found.durations, (name, Dimension::Time), shown))));
    }
    if let Some(lowest) = &found.lowest {
        let heading = "Slow-downs by speed, the worst duration of each";
        parts.push(Part::new(heading, table(samples(&lowest.slowed, ("to", Dimension::Speed), shown))));
        parts.push(Part::new("Steady line by speed", table(samples(&lowest.steady, ("at", Dimension::Speed), shown))));
    }
    let what = if found.to > 0.0 { ["slow-down", "slow-downs"] } else { ["stop", "stops"] };
    parts.extend(doubt.map(|doubt| Part::new("How sure", unsure(doubt, what, shown))));
    parts.push(Part::new("Accuracy", vec![Block::words(Mark::Indent, accuracy(found, shown))]));
    parts.extend(notes(&warnings_of_stop(case, found), &cautions_of(case)));
    Report::new(&case.title, about(found, shown), parts).bare().with_units()
}

/// What was looked at.
pub fn about(found: &Stops, shown: Shown) -> String {
    let speed = |value| shown.with_unit(value, Dimension::Speed);
    let ramps = &found.ramps;
    let time = |value| shown.with_unit(value, Dimension::Time);
    let bottom = if found.to > 0.0 { format!("slows down to {}", speed(found.to)) } else { "stops".to_string() };
    format!(
        "The line runs at {}, {bottom} within {}, and is back at {} within {}. The program tried up to {}",
        speed(ramps.speed),
        time((ramps.speed - found.to) / ramps.brake),
        speed(ramps.back),
        time((ramps.back - found.to).max(0.0) / ramps.start),
        time(found.longest),
    )
}

/// The lines that answer.
pub fn verdict(found: &Stops, shown: Shown) -> Vec<Block> {
    let what = if found.to > 0.0 { "SLOW-DOWN" } else { "STOP" };
    let metres = |value| shown.some(value, Dimension::Length);
    let time = |value| shown.with_unit(value, Dimension::Time);
    if !found.steady.within() {
        let first = format!("NO {what} HELPS");
        let text = format!(
            "{first}: the line itself is out of limits at {}: {}.",
            shown.with_unit(found.ramps.speed, Dimension::Speed),
            why(&found.steady, shown)
        );
        return vec![Block::stressed(Mark::None, text, Tone::Bad, &first)];
    }
    let durations = &found.durations;
    let longest = time(found.longest);
    let mut blocks = Vec::new();
    let worst = durations.worst().map(|index| &durations.points[index]).filter(|point| point.outcome.avoidable() > 0.0);
    if durations.all() {
        let first = format!("EVERY {what} IS WITHIN LIMITS");
        let text = format!("{first}, from 0 s to {longest}.");
        blocks.push(Block::stressed(Mark::None, text, Tone::Good, &first));
    } else if durations.intervals.is_empty() {
        let first = format!("NO {what} IS WITHIN LIMITS");
        let least = durations.least().map(|index| &durations.points[index]).map_or(String::new(), |point| {
            format!(" Least scrap has one of {}: {}.", time(point.at), metres(point.outcome.scrap_m))
        });
        blocks.push(Block::stressed(Mark::None, format!("{first}, from 0 s to {longest}.{least}"), Tone::Bad, &first));
    } else {
        let first = format!("{what}S WITHIN LIMITS");
        let (which, rest) = (spans(durations, Dimension::Time, shown), never(durations, what, shown));
        let text = format!("{first}: {which}, tried up to {longest}. {rest}");
        blocks.push(Block::stressed(Mark::None, text, Tone::Warn, &first));
    }
    if let Some(point) = worst {
        blocks.push(Block::words(
            Mark::None,
            format!(
                "The worst that the program tried lasts {}: {} out of limits, {}.",
                time(point.at),
                metres(point.outcome.scrap_m),
                why(&point.outcome, shown)
            ),
        ));
    }
    blocks.extend(seconds(durations, shown));
    blocks.extend(lowest(found, shown));
    blocks
}

/// What is not within limits.
fn never(durations: &Scanned, what: &str, shown: Shown) -> String {
    let what = what.to_lowercase();
    match &durations.intervals[..] {
        [one] => match (&one.from, &one.to) {
            (Some(from), None) => {
                format!("No {what} that is shorter than {} is within limits.", shown.down(from.beyond, Dimension::Time))
            }
            (None, Some(to)) => {
                format!("No {what} that is longer than {} is within limits.", shown.up(to.beyond, Dimension::Time))
            }
            _ => format!("No other {what} is within limits."),
        },
        _ => format!("No other {what} is within limits."),
    }
}

/// For how long stations see such product at most.
fn seconds(durations: &Scanned, shown: Shown) -> Option<Block> {
    let longest = durations.points.iter().max_by(|a, b| a.outcome.out_s.total_cmp(&b.outcome.out_s))?;
    let reach = longest.outcome.reaches.iter().max_by(|a, b| a.out_s.total_cmp(&b.out_s))?;
    let text = if reach.out_s > 0.0 {
        let farthest = limited::standing(&reach.limit, reach.standing, reach.allowed, shown);
        format!(
            "\"{}\" sees product out of its limits for up to {}{farthest}. Seconds are another verdict than metres.",
            clean(&reach.station),
            shown.some(reach.out_s, Dimension::Time)
        )
    } else {
        "No station sees product out of its limits at any time.".to_string()
    };
    Some(Block::words(Mark::None, text))
}

/// The lowest speeds.
fn lowest(found: &Stops, shown: Shown) -> Option<Block> {
    let lowest = found.lowest.as_ref()?;
    let slowest = |scanned: &Scanned| scanned.points.first().map_or(f64::NAN, |point| point.at);
    let of = |scanned: &Scanned| match scanned.last() {
        None => "no speed below that of the line".to_string(),
        Some(Interval { from: Some(from), .. }) => edge(from, Dimension::Speed, shown),
        Some(_) => format!("{}, the slowest that the program tried", shown.up(slowest(scanned), Dimension::Speed)),
    };
    // At the speed of the answer: a slower line takes longer to fill.
    let speed = lowest.slowed.last().map(|interval| match &interval.from {
        Some(from) => from.within,
        None => slowest(&lowest.slowed),
    });
    let longest = lowest.longest_at(speed.unwrap_or(found.ramps.speed));
    let longest = shown.down(longest, Dimension::Time);
    let first = "LOWEST SPEED";
    let text = format!(
        "{first} for slow-downs of every duration tried, 0 s to {longest}: {}. In the steady line: {}.",
        of(&lowest.slowed),
        of(&lowest.steady)
    );
    Some(Block::stressed(Mark::None, text, Tone::Warn, first))
}

fn accuracy(found: &Stops, shown: Shown) -> String {
    let ends = found.durations.intervals.iter().flat_map(|interval| [&interval.from, &interval.to]).flatten();
    let confirmed = ends.clone().filter(|edge| edge.printed.is_some()).count();
    let mut text = super::driven(found.drives);
    match ends.count() {
        0 => {}
        1 if confirmed == 1 => text += " It drove the end of the interval again with care, as it is printed.",
        ends => {
            text += &format!(" It drove {confirmed} of {ends} ends of intervals again with care, as they are printed.")
        }
    }
    if !found.durations.points.is_empty() {
        text += " Between neighbours of the table a short interval may be hidden.";
    }
    let error = crate::significant(shown.value(found.steady.error, Dimension::TemperatureDifference));
    let unit = shown.unit(Dimension::TemperatureDifference);
    format!("{text} Temperatures of the line itself are exact to {error} {unit}.")
}
