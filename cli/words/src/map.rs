//! The map in words: a coarse table of it, the limits, the base case, blank points, how exact it is.

use quenchway::case::CaseFile;
use quenchway::names::key_path::KeyPath;
use quenchway::study::map::{Axis, Look, Map};
use quenchway::study::search::ceilings::{Ceiling, What};
use quenchway::units::Dimension;

use super::blocks::{Block, Cell, Grid, Mark, Part, Report, Tone};
use super::rank::four_digits;
use super::{clean, notes, significant};
use crate::shown::Shown;

/// The report, with colours as ANSI codes.
pub fn report(case: &CaseFile, found: &Map, look: &Look, shown: Shown) -> Report {
    let about = format!(
        "{} over {} and {}. The map has {} by {} points.",
        clean(&found.show.describes),
        stretch(&found.x, shown),
        stretch(&found.y, shown),
        found.x.values.len(),
        found.y.values.len(),
    );
    let mut limits = vec![Block::Table(limits(case, found, shown))];
    limits.push(Block::words(Mark::Indent, allowed(found)));
    let parts = vec![
        Part::new("Map", coarse(found, look, shown)),
        Part::new("Limits", limits),
        Part::new("The case as it is", base(found, shown)),
        Part::new("Points without an answer", blanks(found)),
        Part::new("Accuracy", accuracy(found, shown)),
        Part::new("Warnings", notes::warnings(&found.base.solution, shown)),
        Part::new("Cautions", notes::cautions(&found.base.solution)),
    ];
    Report::new(&case.title, about, parts)
}

/// An axis in words: "line speed", "length of trough".
pub fn words(axis: &Axis) -> String {
    let path = &axis.variable.path;
    match KeyPath::parse(path) {
        Ok(KeyPath { name: Some(name), of: Some(layer), .. }) => {
            format!("limit of {} at {}", clean(&layer), clean(&name))
        }
        Ok(KeyPath { name: Some(name), key, .. }) => format!("{} of {}", key.replace('_', " "), clean(&name)),
        Ok(KeyPath { table, key, name: None, .. }) => format!("{table} {}", key.replace('_', " ")),
        Err(_) => clean(path),
    }
}

/// A value in the unit in which its kind is shown; shares and bare numbers as they are.
pub fn value(shown: Shown, si: f64, dimension: Option<Dimension>) -> f64 {
    dimension.map_or(si, |dimension| shown.value(si, dimension))
}

/// What the unit is called; percent for a share, nothing for a bare number.
pub fn unit(shown: Shown, dimension: Option<Dimension>, bare: &'static str) -> &'static str {
    dimension.map_or(bare, |dimension| shown.unit(dimension))
}

/// A ceiling in words: what it is of, and how high it is unless an axis moves it.
pub fn ceiling(found: &Map, ceiling: &Ceiling, shown: Shown) -> String {
    let solution = &found.base.solution;
    let what = match ceiling.what {
        What::Temperature(station, _) => {
            let place = solution.stations.get(station).map_or("", |station| &station.name);
            format!("{} at {}", clean(&ceiling.temperature), clean(place))
        }
        What::WaterOut(section) => {
            let place = solution.sections.get(section).map_or("", |section| &section.name);
            format!("water out of {}", clean(place))
        }
        What::MeltShrink(_) => {
            let place = ceiling.name.rsplit_once('.').map_or("", |(place, _)| place).trim_matches('"');
            format!("melt shrink of {}", clean(place))
        }
        What::Compound => "compound".to_string(),
        What::Chiller => "chiller".to_string(),
        What::Hall => "floor length".to_string(),
    };
    if moves(found, ceiling) { what } else { format!("{what} {}", most(ceiling, shown)) }
}

/// The ceiling with its unit.
fn most(ceiling: &Ceiling, shown: Shown) -> String {
    match ceiling.dimension() {
        Dimension::Temperature => shown.limit(ceiling.max),
        Dimension::Share => format!("{} %", ceiling.max),
        dimension => shown.with_unit(ceiling.max, dimension),
    }
}

/// A place on an axis with its unit: four digits are enough to find it.
fn place(axis: &Axis, si: f64, shown: Shown) -> String {
    match axis.variable.dimension {
        Some(dimension) if si.is_finite() => {
            format!("{} {}", four_digits(shown.value(si, dimension)), shown.unit(dimension))
        }
        _ => axis.variable.show(si, shown.system),
    }
}

/// Whether an axis is this ceiling's height.
fn moves(found: &Map, ceiling: &Ceiling) -> bool {
    [&found.x, &found.y].iter().any(|axis| axis.variable.path == ceiling.path)
}

fn stretch(axis: &Axis, shown: Shown) -> String {
    let ends = [axis.values.first(), axis.values.last()].map(|end| end.copied().unwrap_or(f64::NAN));
    let [low, high] = ends.map(|end| place(axis, end, shown));
    format!("{} from {low} to {high}", words(axis))
}

/// The map at round values of its axes; what is not allowed has a mark.
fn coarse(found: &Map, look: &Look, shown: Shown) -> Vec<Block> {
    let head = |axis: &Axis| unit(shown, axis.variable.dimension, "");
    let number = |axis: &Axis, si: f64| {
        let text = axis.variable.show(si, shown.system);
        text.split_once(' ').map_or(text.clone(), |(number, _)| number.to_string())
    };
    let [columns, rows] = &look.axes;
    let mut header = vec![format!("{}\n{}", words(&found.y), head(&found.y))];
    header.extend(columns.iter().map(|&x| format!("{}\n{}", number(&found.x, x), head(&found.x))));
    let mut table = Grid::new(header);
    let decimals = found.show.dimension.map_or(2, |dimension| shown.decimals(dimension));
    for (row, &y) in rows.iter().enumerate().rev() {
        let mut cells = vec![Cell::from(number(&found.y, y))];
        cells.extend((0..columns.len()).map(|column| {
            let index = row * columns.len() + column;
            let text = format!("{:.decimals$}", value(shown, look.shown[index], found.show.dimension));
            match look.allowed[index] {
                None => Cell::from("-".to_string()),
                Some(true) => Cell::from(text),
                Some(false) => Cell { text: format!("!{text}"), tone: Some(Tone::Bad) },
            }
        }));
        table.row(cells);
    }
    let unit = unit(shown, found.show.dimension, "%");
    let words = format!(
        "{}, {unit}, to the right over {}. A \"!\" marks points at which a limit is not met, a \"-\" points without an answer.",
        clean(&found.show.describes),
        words(&found.x),
    );
    vec![Block::Table(table), Block::words(Mark::Indent, words)]
}

/// Each ceiling, the case as it is, and how much of the map meets it.
fn limits(case: &CaseFile, found: &Map, shown: Shown) -> Grid {
    let names = ["limit", "at most", "case as it is", "met at"].map(str::to_string).to_vec();
    let mut table = Grid::new(names).with_words(&[1, 2]);
    let solved = found.shown.len() - found.failures.total();
    for (index, ceiling) in found.ceilings.iter().enumerate() {
        let at_base = found.base.excess[index];
        let value = ceiling.value(case, &found.base.solution);
        let state = if at_base <= 0.0 { "met" } else { "NOT MET" };
        let met = (0..found.shown.len()).filter(|&point| found.excess[index][point] <= 0.0).count();
        let most = if moves(found, ceiling) { "an axis".to_string() } else { most(ceiling, shown) };
        table.row(vec![
            Cell::from(clean(&ceiling.name)),
            Cell::from(most),
            Cell {
                text: format!("{}, {state}", shown.with_unit(value, ceiling.dimension())),
                tone: (at_base > 0.0).then_some(Tone::Bad),
            },
            Cell::from(format!("{} of the points", share(met, solved))),
        ]);
    }
    table
}

fn share(part: usize, whole: usize) -> String {
    format!("{:.0} %", 100.0 * part as f64 / whole.max(1) as f64)
}

fn allowed(found: &Map) -> String {
    if found.ceilings.is_empty() {
        return "The case has no limits: give surface_max, core_max, ... at a station, or ceilings in [plant]."
            .to_string();
    }
    let (allowed, solved) = (found.count_allowed(), found.shown.len() - found.failures.total());
    match allowed {
        0 => "No point meets all limits: widen the ranges, or change something that is no axis.".to_string(),
        all if all == solved => "Every point meets all limits.".to_string(),
        some => format!("All limits are met at {some} of {solved} points, {}.", share(some, solved)),
    }
}

fn base(found: &Map, shown: Shown) -> Vec<Block> {
    let place = |axis: &Axis, at: f64| format!("{} {}", words(axis), place(axis, at, shown));
    let dimension = found.show.dimension;
    let number =
        dimension.map_or(format!("{:.2}", found.base.shown), |dimension| shown.number(found.base.shown, dimension));
    let mut words = format!(
        "At {} and {}: {} {number} {}, computed with care.",
        place(&found.x, found.base.place[0]),
        place(&found.y, found.base.place[1]),
        clean(&found.show.describes),
        unit(shown, dimension, "%"),
    );
    if !found.holds_base() {
        words += " It lies outside the map.";
    }
    vec![Block::words(Mark::Indent, words)]
}

fn blanks(found: &Map) -> Vec<Block> {
    let count = |count: usize| if count == 1 { "1 point".to_string() } else { format!("{count} points") };
    let one =
        |(cause, points): &(String, usize)| Block::words(Mark::Warning, clean(&format!("{}: {cause}", count(*points))));
    found.failures.causes.iter().map(one).collect()
}

fn accuracy(found: &Map, shown: Shown) -> Vec<Block> {
    let check = &found.check;
    let difference = |error: f64, dimension: Option<Dimension>| match dimension {
        // A difference of temperatures has no zero of its own.
        Some(Dimension::Temperature) => amount(shown, error, Dimension::TemperatureDifference),
        Some(dimension) => amount(shown, error, dimension),
        None => format!("{} %", significant(error)),
    };
    let mut words = format!(
        "The values are by the rule alone. {} points, computed again with care, differ by at most {}",
        check.points,
        difference(check.shown, found.show.dimension)
    );
    for (ceiling, &error) in
        found.ceilings.iter().zip(&check.ceilings).filter(|(ceiling, _)| ceiling.name != found.show.name)
    {
        words += &format!(", {} by {}", clean(&ceiling.name), difference(error, Some(ceiling.dimension())));
    }
    words += &format!(
        ". Their stated error is up to {}. Between points a limit's line is drawn straight.",
        amount(shown, check.stated, Dimension::TemperatureDifference)
    );
    if check.unsolved > 0 {
        words += &format!(" {} more have no careful answer.", check.unsolved);
    }
    vec![Block::words(Mark::Indent, words)]
}

fn amount(shown: Shown, si: f64, dimension: Dimension) -> String {
    format!("{} {}", significant(shown.value(si, dimension)), shown.unit(dimension))
}
