//! The line in time in words: metres out of limits, where and why; seconds; then change by change, station by station.

use quenchway::case::CaseFile;
use quenchway::study::drive::answer::{Answer, Cause, LimitOverTime, Scrap};
use quenchway::units::Dimension;

use super::blocks::{Block, Cell, Grid, Mark, Part, Report, Tone};
use super::tables::head;
use super::{clean, significant};
use crate::shown::Shown;

/// Most lengths of scrap and most jumps that are listed.
const MOST: usize = 12;

/// Everything that is told; the verdict first.
pub fn report(case: &CaseFile, found: &Answer, shown: Shown) -> Report {
    let table = |heading, grid| Part::new(heading, vec![Block::Table(grid)]);
    let paragraphs = |mark, lines: Vec<String>| lines.into_iter().map(|line| Block::words(mark, line)).collect();
    let parts = vec![
        Part::new("Verdict", verdict(case, found, shown)),
        table("Changes", changes(found, shown)),
        table("Stations", stations(found, shown)),
        table("Scrap", scrap(found, shown)),
        Part::new("Accumulators", paragraphs(Mark::Indent, accumulators(found, shown))),
        Part::new("Gauges", paragraphs(Mark::Indent, gauges(found, shown))),
        Part::new("Melt in the head", paragraphs(Mark::Indent, heads(found, shown))),
        table("Jumps", jumps(case, found, shown)),
        Part::new("How sure", paragraphs(Mark::Indent, sure(found, shown))),
        Part::new("Accuracy", paragraphs(Mark::Indent, accuracy(found, shown))),
        Part::new(
            "Warnings",
            paragraphs(Mark::Warning, found.warnings.iter().map(|one| clean(&one.message)).collect()),
        ),
        Part::new("Cautions", paragraphs(Mark::Item, found.cautions.clone())),
    ];
    Report::new(&case.title, about(case, found, shown), parts).bare()
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

/// The three lines that answer.
pub fn verdict(case: &CaseFile, found: &Answer, shown: Shown) -> Vec<Block> {
    let metres = |value| shown.with_unit(value, Dimension::Length);
    let of = format!("of {} made in {}", metres(found.made_m), shown.with_unit(found.ends_s, Dimension::Time));
    let limited = found.stations.iter().flat_map(|station| &station.limits).count();
    let mut blocks = Vec::new();
    if found.scrap_m > 0.0 {
        let first = format!("{} ARE OUT OF LIMITS", metres(found.scrap_m));
        let on_line = if found.spans[0].from < 0.0 {
            format!(", and of {} that were on the line before", metres(found.on_line_m))
        } else {
            String::new()
        };
        let lead = leading(found);
        blocks.push(Block::stressed(
            Mark::None,
            format!("{first} {of}{on_line}: {}.", why(found, lead, shown)),
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
            let dimension = if limit.diameter { Dimension::Diameter } else { Dimension::TemperatureDifference };
            let side = if limit.above { "below" } else { "above" };
            format!(
                ": nearest is {} at \"{}\", {} {side} its limit, metre {}, at {}",
                limit.words,
                clean(station),
                shown.with_unit(short, dimension),
                shown.number(limit.metre_m, Dimension::Length),
                shown.with_unit(limit.time_s, Dimension::Time),
            )
        });
        blocks.push(Block::stressed(Mark::None, format!("{first} {of}{nearest}."), Tone::Good, first));
    }
    blocks.push(seconds(found, shown));
    blocks
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
        .filter(|(_, limit)| limit.diameter == diameter && limit.out_m > 0.0)
        .max_by(|a, b| a.1.out_m.total_cmp(&b.1.out_m))
}

/// The limit that is nearest, with its station: temperatures before diameters, which have another unit.
fn nearest(found: &Answer) -> Option<(&str, &LimitOverTime)> {
    let limits =
        || found.stations.iter().flat_map(|station| station.limits.iter().map(|limit| (station.name.as_str(), limit)));
    let room = |limit: &LimitOverTime| (limit.limit - limit.largest).abs();
    let of = |diameter: bool| {
        let those = limits().filter(move |(_, limit)| limit.diameter == diameter && limit.largest.is_finite());
        those.min_by(|a, b| room(a.1).total_cmp(&room(b.1)))
    };
    of(false).or_else(|| of(true))
}

fn value(limit: &LimitOverTime, value: f64, shown: Shown) -> String {
    if limit.diameter {
        shown.with_unit(value, Dimension::Diameter)
    } else {
        shown.with_unit(value, Dimension::Temperature)
    }
}

fn bound(limit: &LimitOverTime, shown: Shown) -> String {
    if limit.diameter { shown.with_unit(limit.limit, Dimension::Diameter) } else { shown.limit(limit.limit) }
}

/// Why the most of it is scrap.
fn why(found: &Answer, cause: Cause, shown: Shown) -> String {
    let of_limit = |diameter| {
        worst(found, diameter).map_or(String::new(), |(station, limit)| {
            let verb = if limit.above { "reached" } else { "fell to" };
            let (name, reached) = (clean(station), value(limit, limit.largest, shown));
            format!("{} at \"{name}\" {verb} {reached}, {} allowed", limit.words, bound(limit, shown))
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
    let time = |value| shown.with_unit(value, Dimension::Time);
    let limits =
        found.stations.iter().flat_map(|station| station.limits.iter().map(|limit| (station.name.as_str(), limit)));
    let longest = limits.filter(|(_, limit)| limit.out_s > 0.0).max_by(|a, b| a.1.out_s.total_cmp(&b.1.out_s));
    let mut words = match longest {
        None => "No station sees product out of its limits at any time.".to_string(),
        Some((station, limit)) => {
            let stops = found.motions.clock.standstills();
            let stands = |[from, to]: &[f64; 2]| stops.iter().any(|stop| stop.from <= *from && *to <= stop.to);
            let stands = if limit.out_times_s.iter().all(stands) { ", while the line stands" } else { "" };
            let reached = limit.standing.filter(|[farthest, _]| (*farthest > limit.limit) == limit.above);
            let reached = reached.map_or(String::new(), |[farthest, _]| {
                let verb = if limit.above { "at up to" } else { "down to" };
                format!(" ({} {verb} {})", limit.words, value(limit, farthest, shown))
            });
            format!("\"{}\" sees product out of its limits for {}{stands}{reached}.", clean(station), time(limit.out_s))
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

fn changes(found: &Answer, shown: Shown) -> Grid {
    let mut grid = Grid::new(vec![
        "change".to_string(),
        head("begins", shown, Dimension::Time),
        head("ends", shown, Dimension::Time),
        head("to", shown, Dimension::Speed),
        head("made", shown, Dimension::Length),
        head("scrap", shown, Dimension::Length),
        "by cause".to_string(),
    ])
    .with_words(&[6]);
    for made in &found.made {
        let causes: Vec<String> = made
            .by_cause
            .iter()
            .map(|(cause, length)| format!("{} {}", cause.words(), shown.number(*length, Dimension::Length)))
            .collect();
        let scrap = Cell {
            text: shown.number(made.scrap_m, Dimension::Length),
            tone: (made.scrap_m > 0.0).then_some(Tone::Bad),
        };
        grid.row(vec![
            Cell::from(clean(&made.name)),
            Cell::from(shown.number(made.from_s, Dimension::Time)),
            Cell::from(shown.number(made.to_s, Dimension::Time)),
            Cell::from(shown.number(made.speed_m_s, Dimension::Speed)),
            Cell::from(shown.number(made.made_m, Dimension::Length)),
            scrap,
            Cell::from(causes.join(", ")),
        ]);
    }
    grid
}

fn stations(found: &Answer, shown: Shown) -> Grid {
    let mut grid = Grid::new(vec![
        "station".to_string(),
        "limit".to_string(),
        "allowed".to_string(),
        "farthest".to_string(),
        head("metre", shown, Dimension::Length),
        head("at", shown, Dimension::Time),
        head("out", shown, Dimension::Length),
        head("out", shown, Dimension::Time),
        "while it stands".to_string(),
    ])
    .with_words(&[1]);
    for station in &found.stations {
        let name = clean(&station.name);
        for limit in &station.limits {
            let tone = |out: f64| (out > 0.0).then_some(Tone::Bad);
            grid.row(vec![
                Cell::from(name.clone()),
                Cell::from(limit.words.clone()),
                Cell::from(bound(limit, shown)),
                Cell::from(value(limit, limit.largest, shown)),
                Cell::from(shown.number(limit.metre_m, Dimension::Length)),
                Cell::from(shown.number(limit.time_s, Dimension::Time)),
                Cell { text: shown.number(limit.out_m, Dimension::Length), tone: tone(limit.out_m) },
                Cell { text: shown.number(limit.out_s, Dimension::Time), tone: tone(limit.out_s) },
                Cell::from(limit.standing.map_or("-".to_string(), |[farthest, _]| value(limit, farthest, shown))),
            ]);
        }
        if station.limits.is_empty() {
            for (words, range) in [("surface", station.surface), ("core", station.core)] {
                let Some([[low, _], [high, metre]]) = range else { continue };
                let temperature = |value| shown.with_unit(value, Dimension::Temperature);
                grid.row(vec![
                    Cell::from(name.clone()),
                    Cell::from(words),
                    Cell::from("none"),
                    Cell::from(format!("{} to {}", shown.number(low, Dimension::Temperature), temperature(high))),
                    Cell::from(shown.number(metre, Dimension::Length)),
                    Cell::from("-"),
                    Cell::from("-"),
                    Cell::from("-"),
                    Cell::from("-"),
                ]);
            }
        }
    }
    grid
}

fn scrap(found: &Answer, shown: Shown) -> Grid {
    let mut grid = Grid::new(vec![
        "cause".to_string(),
        head("from", shown, Dimension::Length),
        head("to", shown, Dimension::Length),
        head("length", shown, Dimension::Length),
        "seen at".to_string(),
        "farthest".to_string(),
    ])
    .with_words(&[4]);
    let mut longest: Vec<&Scrap> = found.spans.iter().collect();
    longest.sort_by(|a, b| (b.to - b.from).total_cmp(&(a.to - a.from)));
    longest.truncate(MOST);
    longest.sort_by(|a, b| a.from.total_cmp(&b.from));
    for span in longest {
        let metres = |value| shown.number(value, Dimension::Length);
        let seen = match (&span.station, &span.quantity) {
            (Some(station), Some(quantity)) => format!("{}: {}", clean(station), clean(quantity)),
            (None, Some(quantity)) => clean(quantity),
            _ => "the die".to_string(),
        };
        let dimension = match span.cause {
            Cause::Temperature => Dimension::Temperature,
            Cause::Diameter => Dimension::Diameter,
            _ => Dimension::Time,
        };
        let farthest = span.largest.map_or("-".to_string(), |value| shown.with_unit(value, dimension));
        grid.row(vec![
            span.cause.words().to_string(),
            metres(span.from),
            metres(span.to),
            metres(span.to - span.from),
            seen,
            farthest,
        ]);
    }
    if found.spans.len() > MOST {
        grid.row(vec![
            format!("and {} shorter ones", found.spans.len() - MOST),
            String::new(),
            String::new(),
            String::new(),
            String::new(),
            String::new(),
        ]);
    }
    grid
}

fn accumulators(found: &Answer, shown: Shown) -> Vec<String> {
    let metres = |value| shown.with_unit(value, Dimension::Length);
    let time = |value| shown.with_unit(value, Dimension::Time);
    let told = found.accumulators.iter().map(|one| {
        let mut words = format!(
            "\"{}\" at the {}, {}: from {} at {} to {} at {}.",
            clean(&one.name),
            one.place,
            metres(one.capacity_m),
            metres(one.lowest_m),
            time(one.lowest_at_s),
            metres(one.highest_m),
            time(one.highest_at_s),
        );
        let what = if one.place == "exit" { "room" } else { "content" };
        words += &if one.left_m < 0.0 {
            format!(" {} LACK at the worst moment beyond the reserve.", metres(-one.left_m))
        } else {
            let lasts =
                one.left_s.map_or(String::new(), |left| format!(", {} at the speed of that moment", time(left)));
            format!(" {} of {what} beyond the reserve left at the worst moment{lasts}.", metres(one.left_m))
        };
        for (begins, back) in one.changes_s.iter().zip(&one.back_s) {
            words += &match back {
                Some(back) => format!(" The change of reel at {} is made up for at {}.", time(*begins), time(*back)),
                None => format!(" The change of reel at {} is never made up for.", time(*begins)),
            };
        }
        words
    });
    told.collect()
}

fn gauges(found: &Answer, shown: Shown) -> Vec<String> {
    let time = |value| shown.with_unit(value, Dimension::Time);
    let size = |value: f64| {
        let text = shown.with_unit(value, Dimension::Diameter);
        if text.starts_with('-') { text } else { format!("+{text}") }
    };
    let told = found.gauges.iter().map(|gauge| {
        format!(
            "\"{}\" sees a correction at the die {} of product later, at every speed: {} to {} here. It reads {} to {} from the finished \
             size of the same metre, and {} to {} from what leaves the die at that moment.",
            clean(&gauge.station),
            shown.with_unit(gauge.distance_m, Dimension::Length),
            time(gauge.delay_s[0]),
            time(gauge.delay_s[1]),
            size(gauge.over_finished_m[0]),
            size(gauge.over_finished_m[1]),
            size(gauge.over_die_m[0]),
            size(gauge.over_die_m[1]),
        )
    });
    told.collect()
}

fn heads(found: &Answer, shown: Shown) -> Vec<String> {
    let time =
        |value: Option<f64>| value.map_or("for ever".to_string(), |value| shown.with_unit(value, Dimension::Time));
    let told = found.heads.iter().map(|head| {
        let allowed = head.max_s.map_or(String::new(), |most| format!(", {} allowed", shown.with_unit(most, Dimension::Time)));
        format!(
            "\"{}\" is {} between screw and die before the programme, and at most {} (it leaves at {}{allowed}). This is plug flow: the \
             real spread is wider.",
            clean(&head.layer),
            time(head.before_s),
            time(head.longest_s),
            shown.with_unit(head.at_s, Dimension::Time),
        )
    });
    told.collect()
}

fn jumps(case: &CaseFile, found: &Answer, shown: Shown) -> Grid {
    let station = case.stations.last().map_or("-".to_string(), |station| clean(&station.name));
    let mut grid = Grid::new(vec![
        head("metre", shown, Dimension::Length),
        "stood at".to_string(),
        head(&format!("surface at {station}, before"), shown, Dimension::Temperature),
        head("after", shown, Dimension::Temperature),
        head("core, before", shown, Dimension::Temperature),
        head("after", shown, Dimension::Temperature),
    ])
    .with_words(&[1]);
    let celsius =
        |value: Option<f64>| value.map_or("-".to_string(), |value| shown.number(value, Dimension::Temperature));
    for jump in found.jumps.iter().take(MOST) {
        grid.row(vec![
            shown.number(jump.metre_m, Dimension::Length),
            clean(&jump.place),
            celsius(jump.surface[0]),
            celsius(jump.surface[1]),
            celsius(jump.core[0]),
            celsius(jump.core[1]),
        ]);
    }
    grid
}

fn sure(found: &Answer, shown: Shown) -> Vec<String> {
    let told = found.band.iter().map(|band| {
        let dimension = if band.diameter { Dimension::Diameter } else { Dimension::Temperature };
        format!(
            "{} at \"{}\" of metre {}: {} to {} by the uncertainty of the inputs, most of it from {}.",
            band.words,
            clean(&band.station),
            shown.number(band.metre_m, Dimension::Length),
            shown.number(band.low, dimension),
            shown.with_unit(band.high, dimension),
            crate::band::words(&band.largest).0,
        )
    });
    told.collect()
}

fn accuracy(found: &Answer, shown: Shown) -> Vec<String> {
    let kelvin = |value: f64| significant(shown.value(value, Dimension::TemperatureDifference));
    let unit = shown.unit(Dimension::TemperatureDifference);
    let numerics = &found.numerics;
    let mut told = vec![format!(
        "Numerical error {} {unit} ({} {unit} wanted); {} metres computed in {} smooth pieces, {} s.",
        kelvin(numerics.error),
        kelvin(numerics.tolerance),
        numerics.slices,
        numerics.pieces,
        significant(numerics.wall),
    )];
    if found.scrap_high_m > found.scrap_low_m {
        let metres = |value| shown.with_unit(value, Dimension::Length);
        told.push(format!(
            "With the limits moved by that error the scrap is {} to {}.",
            metres(found.scrap_low_m),
            metres(found.scrap_high_m)
        ));
    }
    if found.approximate_m > 0.0 {
        told.push(format!(
            "Approximate, {}: product that stood near a boundary, where heat flows along the line.",
            shown.with_unit(found.approximate_m, Dimension::Length)
        ));
    }
    told
}
