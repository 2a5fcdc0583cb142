//! Start-ups, stops and changes of reel in words: what `stop`, `ramp` and `reel` share.

pub mod card;
pub mod ramp;
pub mod reel;
pub mod stop;

use quenchway::case::CaseFile;
use quenchway::maths::order::sort_by_number;
use quenchway::study::drive::answer::{Remark, doubts};
use quenchway::study::drive::cautions::cautions;
use quenchway::study::moves::doubt::{Doubt, Within};
use quenchway::study::moves::intervals::{Edge, Interval, Scanned};
use quenchway::study::moves::ramps::From;
use quenchway::study::moves::reel::Reel;
use quenchway::study::moves::stop::Stops;
use quenchway::study::moves::{Outcome, Reach};
use quenchway::units::Dimension;

use crate::Shown;
use crate::blocks::{Block, Cell, Grid, Mark, Part, Tone};
use crate::tables::head;
use crate::{clean, limited};

/// The cautions of a line that may stand.
pub fn cautions_of(case: &CaseFile) -> Vec<String> {
    cautions(case, true)
}

/// What is doubtful about the inputs.
pub fn warnings_of(case: &CaseFile) -> Vec<Remark> {
    doubts(case)
}

/// The same, and where the ramps of a stop come from.
pub fn warnings_of_stop(case: &CaseFile, found: &Stops) -> Vec<Remark> {
    let mut all = warnings_of(case);
    if found.ramps.from == From::Usual {
        all.push(Remark {
            kind: "ramps",
            message: "the case does not say how the line brakes and starts. The program takes 5 s and 20 s (common practice, no source). \
                      Give a [[line.change]] that stops the line, or [plant] ramp_max"
                .to_string(),
            place: "plant.ramp_max".to_string(),
        });
    }
    all
}

/// The same, and what the case does not say of the change of reel.
pub fn warnings_of_reel(case: &CaseFile, found: &Reel) -> Vec<Remark> {
    let mut all = warnings_of(case);
    if !found.turn_of_case {
        all.push(Remark {
            kind: "change of reel",
            message: "the case has no [[reel_change]]. The program lets the reel brake in 6 s and start in 10 s. The reel then runs 15 % \
                      faster until the content is back (common practice, no source)"
                .to_string(),
            place: "reel_change".to_string(),
        });
    }
    if found.built.as_ref().is_some_and(|built| built.slow.is_some()) && !found.brake_of_case {
        all.push(Remark {
            kind: "brake",
            message: "the case does not say how the line brakes. The program takes 6 m/min/s (common practice, no source); give [plant] ramp_max"
                .to_string(),
            place: "plant.ramp_max".to_string(),
        });
    }
    all
}

/// How much was driven.
fn driven(drives: usize) -> String {
    match drives {
        1 => "The program drove 1 programme.".to_string(),
        _ => format!("The program drove {drives} programmes."),
    }
}

/// An end of an interval as it was driven for print.
pub fn edge(edge: &Edge, dimension: Dimension, shown: Shown) -> String {
    let rounded = || {
        let up = edge.within > edge.beyond;
        if up { shown.up(edge.within, dimension) } else { shown.down(edge.within, dimension) }
    };
    edge.printed.clone().unwrap_or_else(rounded).to_string()
}

/// What is within limits: "from 44.65 s on", "up to 3.10 s and from 44.65 s on".
pub fn spans(scanned: &Scanned, dimension: Dimension, shown: Shown) -> String {
    let one = |interval: &Interval| {
        let end = |end: &Edge| edge(end, dimension, shown);
        match (&interval.from, &interval.to) {
            (None, None) => "all that the program tried".to_string(),
            (Some(from), None) => format!("from {} on", end(from)),
            (None, Some(to)) => format!("up to {}", end(to)),
            (Some(from), Some(to)) => format!("from {} to {}", end(from), end(to)),
        }
    };
    let all: Vec<String> = scanned.intervals.iter().map(one).collect();
    match all.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => all.concat(),
    }
}

fn amount(reach: &Reach, value: f64, shown: Shown) -> String {
    limited::value(&reach.limit, value, reach.allowed, shown)
}

fn allowed(reach: &Reach, shown: Shown) -> String {
    limited::bound(&reach.limit, reach.allowed, shown)
}

/// The limit that decides: `surface at "capstan" reaches 49.9 degC, 45 degC allowed`; the causes where no limit does.
pub fn why(outcome: &Outcome, shown: Shown) -> String {
    let decides = outcome.deciding().filter(|reach| outcome.within() || reach.out_m > 0.0);
    match decides {
        Some(reach) => {
            let verb = if reach.limit.above { "reaches" } else { "falls to" };
            format!(
                "{} at \"{}\" {verb} {}, {} allowed",
                reach.limit.words,
                clean(&reach.station),
                amount(reach, reach.farthest, shown),
                allowed(reach, shown)
            )
        }
        None => causes(outcome, shown),
    }
}

/// Scrap by cause: "temperature 1.18 m, crosshead 0.60 m".
pub fn causes(outcome: &Outcome, shown: Shown) -> String {
    let each = outcome.by_cause.iter();
    let each = each.map(|(cause, length)| format!("{} {}", cause.words(), shown.some(*length, Dimension::Length)));
    each.collect::<Vec<String>>().join(", ")
}

/// What doubtful inputs make of an answer; `what` is a stop, a slow-down, a ramp, then several of them.
pub fn unsure(doubt: &Doubt, what: [&str; 2], shown: Shown) -> Vec<Block> {
    let mut told = Vec::new();
    if doubt.moves {
        let ends = [("best", &doubt.better), ("worst", &doubt.worse)];
        let each =
            ends.map(|(end, of)| format!("At the {end} end of the uncertain inputs {}.", reached(of, what, shown)));
        told.extend(each);
        told.push(format!("Most of that comes from {}.", crate::band::words(&doubt.largest).0));
    } else {
        let (one, limited, station) = (what[0], &doubt.limit.words, clean(&doubt.station));
        told.push(format!(
            "For the {one} the uncertain inputs hardly move what decides, the {limited} at \"{station}\"."
        ));
    }
    if doubt.limit.is_diameter() && doubt.lag_without_band {
        told.push(
            "The case gives no band for the lag of the output: a tenth more lag asks for a tenth more time."
                .to_string(),
        );
    }
    vec![Block::words(Mark::Indent, told.join(" "))]
}

/// "stops of 12.4 s and more are within limits".
fn reached(of: &Within, [one_of_them, all]: [&str; 2], shown: Shown) -> String {
    let end = |value: f64| shown.with_unit(value, Dimension::Time);
    let one = |interval: &[Option<f64>; 2]| match *interval {
        [None, None] => "of every length".to_string(),
        [Some(from), None] => format!("of {} and more", end(from)),
        [None, Some(to)] => format!("of up to {}", end(to)),
        [Some(from), Some(to)] => format!("of {} to {}", end(from), end(to)),
    };
    let each: Vec<String> = of.intervals.iter().map(one).collect();
    match (of.line, of.all(), each.is_empty()) {
        (false, ..) => "the line itself is out of limits".to_string(),
        (_, true, _) => format!("every {one_of_them} is within limits"),
        (.., true) => format!("no {one_of_them} is within limits"),
        _ => format!("{all} {} are within limits", each.join(" and ")),
    }
}

/// The samples: place, scrap and its causes, what stations see.
pub fn samples(scanned: &Scanned, (name, dimension): (&str, Dimension), shown: Shown) -> Grid {
    let reaches = scanned.points.first().map(|point| point.outcome.reaches.as_slice()).unwrap_or_default();
    let mut header = vec![head(name, shown, dimension), head("scrap", shown, Dimension::Length)];
    // The limits that some sample passes, the others where there is room.
    let passed = |limit: &usize| scanned.points.iter().any(|point| point.outcome.reaches[*limit].excess() > 0.0);
    let mut limits: Vec<usize> = (0..reaches.len()).collect();
    sort_by_number(&mut limits, |limit| f64::from(!passed(limit)));
    limits.truncate(MOST);
    limits.sort_unstable();
    header.extend(limits.iter().map(|&limit| {
        let reach = &reaches[limit];
        format!("{} at {}\n{}", reach.limit.words, clean(&reach.station), allowed(reach, shown))
    }));
    header.push(head("seen out\nof limits", shown, Dimension::Time).replacen('\n', " ", 1));
    header.push("by cause".to_string());
    let words = header.len() - 1;
    let mut grid = Grid::new(header).with_words(&[words]);
    for point in &scanned.points {
        let outcome = &point.outcome;
        let bad = |bad: bool| bad.then_some(Tone::Bad);
        let mut row = vec![
            Cell::from(shown.number(point.at, dimension)),
            Cell { text: shown.some_number(outcome.scrap_m, Dimension::Length), tone: bad(!outcome.within()) },
        ];
        row.extend(limits.iter().map(|&limit| {
            let reach = &outcome.reaches[limit];
            let told = amount(reach, reach.farthest, shown);
            let number = told.strip_suffix(shown.unit(reach.limit.dimension())).unwrap_or(&told).trim_end();
            Cell { text: number.to_string(), tone: bad(reach.excess() > 0.0) }
        }));
        row.push(Cell::from(shown.some_number(outcome.out_s, Dimension::Time)));
        row.push(Cell::from(outcome.by_cause.iter().map(|(cause, _)| cause.words()).collect::<Vec<_>>().join(", ")));
        grid.row(row);
    }
    grid
}

/// Most limits with a column of their own.
const MOST: usize = 3;

/// Warnings and cautions.
pub fn notes(warnings: &[Remark], cautions: &[String]) -> [Part; 2] {
    let paragraphs = |mark, lines: Vec<String>| lines.into_iter().map(|line| Block::words(mark, line)).collect();
    [
        Part::new("Warnings", paragraphs(Mark::Warning, warnings.iter().map(|one| clean(&one.message)).collect())),
        Part::new("Cautions", paragraphs(Mark::Item, cautions.to_vec())),
    ]
}
