//! The lines that answer: metres out of limits, where and why; seconds.

use quenchway::case::CaseFile;
use quenchway::study::drive::answer::{Answer, Cause, LimitOverTime, Scrap};
use quenchway::units::Dimension;

use crate::blocks::{Block, Mark, Tone};
use crate::shown::Shown;
use crate::{clean, limited};

/// The three lines that answer.
pub fn verdict(case: &CaseFile, found: &Answer, shown: Shown) -> Vec<Block> {
    let metres = |value| shown.with_unit(value, Dimension::Length);
    let of = format!("of {} made in {}", metres(found.made_m), shown.with_unit(found.ends_s, Dimension::Time));
    let limited = found.stations.iter().flat_map(|station| &station.limits).count();
    let mut blocks = Vec::new();
    if found.scrap_m > 0.0 {
        let first = match shown.least(found.scrap_m, Dimension::Length) {
            Some(least) => format!("LESS THAN {least} {} IS OUT OF LIMITS", shown.unit(Dimension::Length)),
            None => format!("{} ARE OUT OF LIMITS", metres(found.scrap_m)),
        };
        let on_line = if found.spans[0].from < 0.0 {
            format!(", and of {} that were on the line before", metres(found.on_line_m))
        } else {
            String::new()
        };
        let lead = leading(found);
        blocks.push(Block::stressed(
            Mark::None,
            format!("{first} {of}{on_line}. {}.", sentence(&why(found, lead, shown))),
            Tone::Bad,
            &first,
        ));
        blocks.push(Block::words(Mark::None, left_the_die(case, found, lead, shown)));
    } else if limited == 0 && case.sections.iter().all(|section| section.time_max.is_none()) {
        let first = "NO LIMIT IS GIVEN";
        let text = format!(
            "{first}: nothing can be out of limits {of}. Give a station core_max, surface_max or diameter_max."
        );
        blocks.push(Block::stressed(Mark::None, text, Tone::Warn, first));
    } else {
        let first = "NO METRE IS OUT OF LIMITS";
        let nearest = nearest(found).map_or(String::new(), |(station, limit)| {
            let short = (limit.limit - limit.largest).abs();
            let dimension = if limit.of.is_diameter() { Dimension::Diameter } else { Dimension::TemperatureDifference };
            let side = if limit.of.above { "below" } else { "above" };
            let room = if short > 0.0 {
                format!("{} {side} its limit", shown.some(short, dimension))
            } else {
                "right at its limit".to_string()
            };
            format!(
                " Nearest is {} at \"{}\", {room}: metre {}, at {}.",
                limit.of.words,
                clean(station),
                shown.number(limit.metre_m, Dimension::Length),
                shown.with_unit(limit.time_s, Dimension::Time),
            )
        });
        blocks.push(Block::stressed(Mark::None, format!("{first} {of}.{nearest}"), Tone::Good, first));
    }
    blocks.push(seconds(found, shown));
    blocks
}

/// The words as the beginning of a sentence.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// The cause of most scrap.
fn leading(found: &Answer) -> Cause {
    let length = |cause: Cause| -> f64 {
        found
            .made
            .iter()
            .flat_map(|made| &made.by_cause)
            .filter(|(one, _)| *one == cause)
            .map(|(_, length)| length)
            .sum()
    };
    // The first of equals: temperature before the others.
    let mut best = Cause::Temperature;
    for cause in Cause::ALL {
        if length(cause) > length(best) {
            best = cause;
        }
    }
    best
}

/// The limit with most product out of it, with its station.
fn worst(found: &Answer, diameter: bool) -> Option<(&str, &LimitOverTime)> {
    let limits =
        found.stations.iter().flat_map(|station| station.limits.iter().map(|limit| (station.name.as_str(), limit)));
    limits
        .filter(|(_, limit)| limit.of.is_diameter() == diameter && limit.out_m > 0.0)
        .max_by(|a, b| a.1.out_m.total_cmp(&b.1.out_m))
}

/// The limit that is nearest, with its station: temperatures before diameters, which have another unit.
fn nearest(found: &Answer) -> Option<(&str, &LimitOverTime)> {
    let limits =
        || found.stations.iter().flat_map(|station| station.limits.iter().map(|limit| (station.name.as_str(), limit)));
    let room = |limit: &LimitOverTime| (limit.limit - limit.largest).abs();
    let of = |diameter: bool| {
        let those = limits().filter(move |(_, limit)| limit.of.is_diameter() == diameter && limit.largest.is_finite());
        those.min_by(|a, b| room(a.1).total_cmp(&room(b.1)))
    };
    of(false).or_else(|| of(true))
}

pub(super) fn value(limit: &LimitOverTime, value: f64, shown: Shown) -> String {
    limited::value(&limit.of, value, limit.limit, shown)
}

pub(super) fn bound(limit: &LimitOverTime, shown: Shown) -> String {
    limited::bound(&limit.of, limit.limit, shown)
}

/// Why the most of it is scrap.
fn why(found: &Answer, cause: Cause, shown: Shown) -> String {
    let of_limit = |diameter| {
        worst(found, diameter).map_or(String::new(), |(station, limit)| {
            let verb = if limit.of.above { "reached" } else { "fell to" };
            let (name, reached) = (clean(station), value(limit, limit.largest, shown));
            format!("{} at \"{name}\" {verb} {reached}, {} allowed", limit.of.words, bound(limit, shown))
        })
    };
    match cause {
        Cause::Temperature => of_limit(false),
        Cause::Diameter => of_limit(true),
        Cause::Lump => {
            "lumps, where the output was more than one and a half times what the line took along".to_string()
        }
        Cause::BareSpot => "bare spots, where the output was less than half of what the line took along".to_string(),
        Cause::Crosshead => "conductor that stood between preheater and die".to_string(),
        Cause::Overheated => "the preheater overheated a conductor that ran too slowly".to_string(),
        Cause::TimeInSection | Cause::TimeInHead => {
            let longest = found.spans.iter().filter(|span| span.cause == cause);
            let longest = longest.max_by(|a, b| a.largest.unwrap_or(0.0).total_cmp(&b.largest.unwrap_or(0.0)));
            longest.map_or(String::new(), |span| {
                let place = clean(span.quantity.as_deref().unwrap_or_default());
                let time = span.largest.map_or("very long".to_string(), |time| shown.with_unit(time, Dimension::Time));
                let what = if cause == Cause::TimeInSection { "product" } else { "melt" };
                let at = if cause == Cause::TimeInSection {
                    format!("in \"{place}\"")
                } else {
                    format!("of \"{place}\" in its head")
                };
                format!("{what} was {time} {at}, longer than allowed")
            })
        }
    }
}

/// When and where the scrap of a cause came from.
fn left_the_die(case: &CaseFile, found: &Answer, cause: Cause, shown: Shown) -> String {
    let those: Vec<&Scrap> = found.spans.iter().filter(|span| span.cause == cause).collect();
    let (Some(first), Some(last)) = (those.first(), those.last()) else { return String::new() };
    let end = those.iter().map(|span| span.to).fold(last.to, f64::max);
    let number = |value| shown.number(value, Dimension::Length);
    let lengths = if those.len() > 1 { format!(" in {} lengths", those.len()) } else { String::new() };
    let metre = match cause {
        Cause::Temperature | Cause::Diameter => worst(found, cause == Cause::Diameter).map(|(_, limit)| limit.metre_m),
        _ => None,
    };
    let metre = metre.unwrap_or(0.5 * (first.from + first.to));
    let clock = &found.motions.clock;
    let time = clock.arrives(metre, quenchway::line::clock::Side::At);
    // The change during which it was on the line: the first that had begun when it left the line, if it lies in a standstill.
    let stood = clock.standstills().iter().find_map(|stop| {
        let place = stop.travelled - metre;
        let inside = stop.to > stop.from && place > 0.0 && place < case.line_length();
        inside.then_some((stop.from, place))
    });
    let moment = stood.map_or(time, |(from, _)| from);
    let phase = found.programme.iter().find(|phase| phase.from <= moment && moment <= phase.to);
    let phase = phase.map_or(String::new(), |phase| format!(", in \"{}\"", clean(&phase.name)));
    let stood = stood.map_or(String::new(), |(_, place)| {
        let section =
            (0..case.sections.len()).find(|&index| place <= case.section_start(index) + case.sections[index].span());
        section.map_or(String::new(), |index| format!(", and stood in \"{}\"", clean(&case.sections[index].name)))
    });
    format!(
        "They left the die{lengths} at {} to {} of product{phase}{stood}.",
        number(first.from),
        shown.with_unit(end, Dimension::Length)
    )
}

/// For how long stations see such product, and the hottest core at the last of them.
fn seconds(found: &Answer, shown: Shown) -> Block {
    let limits =
        found.stations.iter().flat_map(|station| station.limits.iter().map(|limit| (station.name.as_str(), limit)));
    let longest = limits.filter(|(_, limit)| limit.out_s > 0.0).max_by(|a, b| a.1.out_s.total_cmp(&b.1.out_s));
    let mut words = match longest {
        None => "No station sees product out of its limits at any time.".to_string(),
        Some((station, limit)) => {
            let stops = found.motions.clock.standstills();
            let stands = |[from, to]: &[f64; 2]| stops.iter().any(|stop| stop.from <= *from && *to <= stop.to);
            let stands = if limit.out_times_s.iter().all(stands) { ", while the line stands" } else { "" };
            let standing = limit.standing.map(|[farthest, _]| farthest);
            let reached = limited::standing(&limit.of, standing, limit.limit, shown);
            format!(
                "\"{}\" sees product out of its limits for {}{stands}{reached}.",
                clean(station),
                shown.some(limit.out_s, Dimension::Time)
            )
        }
    };
    if let Some(station) = found.stations.last()
        && let Some([_, [core, _]]) = station.core
    {
        words += &format!(
            " Core at \"{}\": at most {}.",
            clean(&station.name),
            shown.with_unit(core, Dimension::Temperature)
        );
    }
    Block::words(Mark::None, words)
}
