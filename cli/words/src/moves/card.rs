//! The card for the operators in words: what to do, and what not to.

use quenchway::case::CaseFile;
use quenchway::study::drive::answer::Cause;
use quenchway::study::moves::ramp::{Course, OfCourse, Ramping};
use quenchway::study::moves::reel::Reel;
use quenchway::study::moves::stop::Stops;
use quenchway::units::Dimension;

use super::{edge, spans, why};
use crate::Shown;
use crate::blocks::{Block, Mark, Part, Report, Tone};

/// The card: how to start, when not to stop, what to do in a change of reel, what to mind.
pub fn report(case: &CaseFile, ramp: Option<&Ramping>, stop: &Stops, change: Option<&Reel>, shown: Shown) -> Report {
    let mut parts = Vec::new();
    parts.extend(ramp.map(|ramp| Part::new("How to start", start(ramp, shown))));
    parts.push(Part::new("When not to stop", stand(stop, shown)));
    parts.extend(change.map(|change| Part::new("Change of reel", reel(change, shown))));
    let item = |words: String| Block::words(Mark::Item, words);
    parts.push(Part::new("Mind", super::cautions_of(case).into_iter().map(item).collect()));
    let about = "Card for the operators: estimates for planning, to be confirmed on the line.".to_string();
    Report::new(&case.title, about, parts).with_units()
}

fn item(text: String) -> Block {
    Block::words(Mark::Item, text)
}

fn no(first: &str, rest: &str) -> Block {
    Block::stressed(Mark::Item, format!("{first}{rest}"), Tone::Bad, first)
}

fn start(ramp: &Ramping, shown: Shown) -> Vec<Block> {
    let speed = |value| shown.with_unit(value, Dimension::Speed);
    if ramp.courses.is_empty() {
        let rest = format!(": the steady line is out of limits there, {}.", why(&ramp.steady[1], shown));
        return vec![no(&format!("Do not run at {}", speed(ramp.to)), &rest)];
    }
    let mut blocks: Vec<Block> = ramp.courses.iter().map(|of| item(course(ramp, of, shown))).collect();
    blocks.push(item(
        "Raise the speed in steps. A cool capstan during the ramp proves nothing about its end.".to_string(),
    ));
    blocks
}

fn course(ramp: &Ramping, of: &OfCourse, shown: Shown) -> String {
    let time = |value| shown.with_unit(value, Dimension::Time);
    let [from, to] = [ramp.from, ramp.to].map(|value| shown.with_unit(value, Dimension::Speed));
    let how = match of.course {
        Course::Even => "evenly",
        Course::Percent => "in equal percents a second",
    };
    match (of.fastest(), &of.least) {
        (Some(end), _) => {
            let least = match end {
                Some(end) => edge(end, Dimension::Time, shown),
                None => shown.up(of.looked_at[0], Dimension::Time).to_string(),
            };
            format!("Ramp {how} from {from} to {to} in {least} or longer: no metre is out of limits.")
        }
        (None, Some(least)) => format!(
            "Ramp {how} from {from} to {to} in {}: that makes least scrap, {}.",
            time(of.times.points[least.index].at),
            shown.some(least.outcome.scrap_m, Dimension::Length)
        ),
        (None, None) => {
            format!("Ramp {how} from {from} to {to}: within limits are {}.", spans(&of.times, Dimension::Time, shown))
        }
    }
}

fn stand(stop: &Stops, shown: Shown) -> Vec<Block> {
    let time = |value| shown.with_unit(value, Dimension::Time);
    let mut blocks = vec![no("In danger stop at once", ": this card judges the product only.")];
    if !stop.steady.within() {
        let rest = format!(": the line itself is out of limits, {}.", why(&stop.steady, shown));
        blocks.push(no("Stop nothing on purpose", &rest));
        return blocks;
    }
    let durations = &stop.durations;
    if durations.all() {
        blocks.push(item(format!("Any stop up to {} leaves no metre out of limits.", time(stop.longest))));
    } else if durations.intervals.is_empty() {
        blocks.push(no("Do not stop", ": every stop leaves product out of limits. Cut it out."));
    } else {
        let which = spans(durations, Dimension::Time, shown);
        blocks.push(no("Do not stop", &format!(" but for this long: {which}. Every other stop leaves scrap.")));
    }
    let worst = durations.worst().map(|index| &durations.points[index]).filter(|point| point.outcome.avoidable() > 0.0);
    if let Some(point) = worst {
        let text = format!(
            "Cut out up to {} after a stop that is not within limits: {}. The worst lasts {}.",
            shown.up(point.outcome.avoidable(), Dimension::Length),
            why(&point.outcome, shown),
            time(point.at)
        );
        blocks.push(item(text));
    }
    let scrap = durations.points.iter().flat_map(|point| &point.outcome.by_cause);
    let stood = scrap.filter(|(cause, _)| *cause == Cause::Crosshead).map(|(_, length)| *length).fold(0.0, f64::max);
    if stood > 0.0 {
        let stood = shown.up(stood, Dimension::Length);
        blocks.push(item(format!("Cut out {stood} of conductor that stood before the die, too.")));
    }
    let slow = stop.lowest.as_ref().and_then(|lowest| lowest.slowed.last()?.from.as_ref());
    if let Some(end) = slow {
        let least = edge(end, Dimension::Speed, shown);
        let longest = time(stop.longest);
        blocks
            .push(item(format!("Slow down instead, to {least} or faster: for up to {longest} that leaves no scrap.")));
    }
    blocks
}

fn reel(change: &Reel, shown: Shown) -> Vec<Block> {
    let time = |value| shown.up(value, Dimension::Time).to_string();
    let metres = |value| shown.up(value, Dimension::Length);
    let speed = |value| shown.with_unit(value, Dimension::Speed);
    let mut blocks = Vec::new();
    match &change.built {
        None => blocks.push(item(format!(
            "No accumulator is built: a change of {} at {} needs {}.",
            time(change.turn.standstill),
            speed(change.speed),
            shown.up(change.needed, Dimension::Length)
        ))),
        Some(built) => match &built.slow {
            None => blocks.push(item(format!(
                "Change the reel at {}. It may stand up to {}.",
                speed(change.speed),
                shown.down(built.longest, Dimension::Time)
            ))),
            Some(slow) => {
                let first = format!("Slow to {} first", slow.printed);
                let rest = format!(
                    ", beginning {} before the reel brakes. Then the reel may stand {}.",
                    time(slow.before),
                    shown.down(change.turn.standstill, Dimension::Time)
                );
                blocks.push(Block::stressed(Mark::Item, format!("{first}{rest}"), Tone::Warn, &first));
                blocks.push(item(format!("Return to {} when the new reel has started.", speed(change.speed))));
            }
        },
    }
    if let (Some(back), Some(length)) = (change.back, change.shortest_reel) {
        blocks.push(item(format!(
            "Begin the next change no earlier than {} after this one began: reels of {} or more.",
            time(back),
            shown.up(length, Dimension::Length)
        )));
    }
    let scrap = change.outcome.avoidable();
    blocks.push(item(if scrap > 0.0 {
        format!("The change leaves {} of scrap: {}. Cut it out.", metres(scrap), why(&change.outcome, shown))
    } else {
        "The change leaves no scrap.".to_string()
    }));
    blocks
}
