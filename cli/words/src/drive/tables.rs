//! Change by change, station by station, scrap and jumps in tables.

use quenchway::case::CaseFile;
use quenchway::maths::order::sort_by_number;
use quenchway::study::drive::answer::{Answer, Cause, Scrap};
use quenchway::units::Dimension;

use super::verdict::{bound, value};
use crate::blocks::{Cell, Grid, Tone};
use crate::clean;
use crate::shown::Shown;
use crate::tables::head;

/// Most lengths of scrap and most jumps that are listed.
const MOST: usize = 12;

pub(super) fn changes(found: &Answer, shown: Shown) -> Grid {
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
            .map(|(cause, length)| format!("{} {}", cause.words(), shown.some_number(*length, Dimension::Length)))
            .collect();
        let scrap = Cell {
            text: shown.some_number(made.scrap_m, Dimension::Length),
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

pub(super) fn stations(found: &Answer, shown: Shown) -> Grid {
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
                Cell::from(limit.of.words.clone()),
                Cell::from(bound(limit, shown)),
                Cell::from(value(limit, limit.largest, shown)),
                Cell::from(shown.number(limit.metre_m, Dimension::Length)),
                Cell::from(shown.number(limit.time_s, Dimension::Time)),
                Cell { text: shown.some_number(limit.out_m, Dimension::Length), tone: tone(limit.out_m) },
                Cell { text: shown.some_number(limit.out_s, Dimension::Time), tone: tone(limit.out_s) },
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

pub(super) fn scrap(found: &Answer, shown: Shown) -> Grid {
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
    sort_by_number(&mut longest, |span| -(span.to - span.from));
    longest.truncate(MOST);
    sort_by_number(&mut longest, |span| span.from);
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
            shown.some_number(span.to - span.from, Dimension::Length),
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

pub(super) fn jumps(case: &CaseFile, found: &Answer, shown: Shown) -> Grid {
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
