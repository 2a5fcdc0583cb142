//! A change of reel in words: what it needs, what the accumulator that is built bridges, what was driven.

use quenchway::case::CaseFile;
use quenchway::case::programme::End;
use quenchway::study::moves::reel::{Built, Reel, Slow};
use quenchway::units::Dimension;

use super::{causes, cautions_of, notes, warnings_of_reel, why};
use crate::Shown;
use crate::blocks::{Block, Mark, Part, Report, Tone};
use crate::clean;

/// The report.
pub fn report(case: &CaseFile, found: &Reel, shown: Shown) -> Report {
    let mut parts = vec![
        Part::new("Verdict", verdict(found, shown)),
        Part::new("Change of reel", vec![Block::Lines(lines(found, shown))]),
    ];
    parts.extend(notes(&warnings_of_reel(case, found), &cautions_of(&found.case)));
    Report::new(&case.title, about(found, shown), parts).bare().with_units()
}

/// What was asked.
pub fn about(found: &Reel, shown: Shown) -> String {
    let time = |value| shown.with_unit(value, Dimension::Time);
    let turn = &found.turn;
    format!(
        "The reel brakes in {}, stands {}, starts in {} and runs {:.0} % faster until the content is back. The line runs at {}",
        time(turn.brake),
        time(turn.standstill),
        time(turn.start),
        100.0 * turn.catch_up,
        shown.with_unit(found.speed, Dimension::Speed)
    )
}

/// The lines that answer.
pub fn verdict(found: &Reel, shown: Shown) -> Vec<Block> {
    let metres = |value| shown.with_unit(value, Dimension::Length);
    let time = |value| shown.with_unit(value, Dimension::Time);
    let place = if found.place == End::Exit { "EXIT" } else { "ENTRY" };
    let needed = shown.up(found.needed, Dimension::Length);
    let first = format!("THE {place} ACCUMULATOR NEEDS {needed}");
    let change = format!(
        "for a change of {} at {}",
        time(found.turn.standstill),
        shown.with_unit(found.speed, Dimension::Speed)
    );
    let (rest, tone) = match &found.built {
        None => (". None is built.".to_string(), Tone::Warn),
        Some(Built { capacity, slow: None, .. }) => (format!(". {} are built: enough.", metres(*capacity)), Tone::Good),
        Some(Built { capacity, slow: Some(slow), .. }) => (
            format!(
                ". {} are built: slow to {} {} before it.",
                metres(*capacity),
                slow.printed,
                shown.up(slow.before, Dimension::Time)
            ),
            Tone::Bad,
        ),
    };
    let mut blocks = vec![Block::stressed(Mark::None, format!("{first} {change}{rest}"), tone, &first)];
    blocks.push(Block::words(Mark::None, afterwards(found, shown)));
    let outcome = &found.outcome;
    let driven = if found.built.as_ref().is_some_and(|built| built.slow.is_some()) { "slowed" } else { "steady" };
    let text = if outcome.scrap_m > 0.0 {
        let (by_cause, why) = (causes(outcome, shown), why(outcome, shown));
        let by_cause = if by_cause == why { String::new() } else { format!(" ({by_cause})") };
        format!(
            "The program has driven the {driven} line through the change. {} of {} are scrap{by_cause}: {why}.",
            metres(outcome.scrap_m),
            metres(outcome.made_m),
        )
    } else if !limited(found) {
        format!(
            "The program has driven the {driven} line through the change. The case gives no limits, so nothing can be out of them."
        )
    } else {
        format!(
            "The program has driven the {driven} line through the change: no metre of {} is out of limits.",
            metres(outcome.made_m)
        )
    };
    blocks.push(Block::words(Mark::None, text));
    blocks
}

/// Whether anything can be out of limits.
fn limited(found: &Reel) -> bool {
    let times = found.case.sections.iter().any(|section| section.time_max.is_some());
    let heads = found.case.layers.iter().any(|layer| layer.feed.residence_max.is_some());
    times || heads || !found.outcome.reaches.is_empty()
}

/// When the content is back, and what that asks of the reel.
fn afterwards(found: &Reel, shown: Shown) -> String {
    let verb = if found.place == End::Exit { "drained" } else { "filled up" };
    match (found.back, found.refill, found.shortest_reel) {
        (Some(_), Some(refill), Some(reel)) => format!(
            "The accumulator is {verb} again {} after the reel has started. The shortest reel that allows it holds {}.",
            shown.up(refill, Dimension::Time),
            shown.up(reel, Dimension::Length)
        ),
        _ => "The accumulator never recovers: the reel has to run faster.".to_string(),
    }
}

fn lines(found: &Reel, shown: Shown) -> Vec<Vec<String>> {
    let metres = |value| shown.with_unit(value, Dimension::Length);
    let most = |value, dimension| shown.up(value, dimension).to_string();
    let line = |name: &str, value: String, more: String| vec![name.to_string(), value, more];
    let mut rows = vec![
        line("line ahead of the reel", metres(found.ahead), "at the line speed".to_string()),
        line(
            "capacity needed",
            most(found.needed, Dimension::Length),
            "with the content at the start and the reserve".to_string(),
        ),
    ];
    if let Some(built) = &found.built {
        let name = clean(&built.name);
        rows.push(line(
            "built",
            metres(built.capacity),
            format!(
                "\"{name}\", {} in it, {} in reserve, so {} of room",
                metres(built.content),
                metres(built.reserve),
                metres(built.room)
            ),
        ));
        let longest = if built.longest >= 0.0 {
            shown.down(built.longest, Dimension::Time).to_string()
        } else {
            "none".to_string()
        };
        rows.push(line("longest standstill", longest, "that it bridges at the line speed".to_string()));
        if let Some(Slow { printed, before, rate, late, .. }) = &built.slow {
            let brake = shown.with_unit(*rate, Dimension::Acceleration);
            rows.push(line(
                "slow to",
                printed.to_string(),
                format!("braking with {brake} from {} before the change", most(*before, Dimension::Time)),
            ));
            let late = late.map_or("too late".to_string(), |late| shown.down(late, Dimension::Speed).to_string());
            rows.push(line("or slow to", late, "where the line brakes only when the reel does".to_string()));
        }
    }
    let [lowest, highest] = found.contents;
    rows.push(line("content driven", format!("{} to {}", metres(lowest), metres(highest)), String::new()));
    if let (Some(back), Some(refill)) = (found.back, found.refill) {
        rows.push(line(
            "content back",
            most(back, Dimension::Time),
            format!("after the reel begins to brake, {} after it has started", most(refill, Dimension::Time)),
        ));
    }
    if let Some(reel) = found.shortest_reel {
        rows.push(line(
            "shortest reel",
            most(reel, Dimension::Length),
            "the content is just back when the next change begins".to_string(),
        ));
    }
    rows
}
