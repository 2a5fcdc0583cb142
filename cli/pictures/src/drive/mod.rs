//! The pictures of `drive`: over clock time, over the product, over both time and distance.

mod field;
mod metres;
mod over_time;

use quenchway::case::CaseFile;
use quenchway::study::drive::answer::{Answer, LimitOverTime, OverPlaces, StationOverTime};
use quenchway::units::Dimension;
use quenchway_words::Shown;

use plotters::style::RGBColor;

use super::callouts::Callouts;
use super::frame::Frame;
use super::page::{amount, symbol};
use super::sheet::{Align, Dash, Lettering, Pen, Place, Sheet};
use super::theme::{BLUE, CURVE, GREEN, INK, PURPLE, SMALL, TEXT, THIN, VERMILLION};
use super::{PlotError, text};

/// How a picture of a drive is drawn.
pub type Draw = fn(&Sheet, &CaseFile, &Answer, &OverPlaces, Shown) -> Result<(), PlotError>;

/// Every picture: what it shows, and how it is drawn.
pub const PICTURES: [(&str, Draw); 3] = [
    ("Speeds, accumulators and temperatures at the stations over clock time", over_time::draw),
    ("Temperatures and diameters at the stations over the product", metres::draw),
    ("Core temperature over clock time and distance", field::draw),
];

/// Colours of stations, in turn.
const COLORS: [RGBColor; 4] = [BLUE, GREEN, PURPLE, INK];
/// Behind scrap.
const SCRAP: RGBColor = VERMILLION;
/// How much of what lies under it scrap lets through.
const VEIL: f64 = 0.16;
/// Most stations in one picture.
const MOST: usize = 4;

/// The stations that are drawn, by index: those with limits, or the last where none has any.
fn drawn(found: &Answer) -> Vec<usize> {
    let limited = (0..found.stations.len()).filter(|&index| !found.stations[index].limits.is_empty());
    let mut drawn: Vec<usize> = limited.take(MOST).collect();
    if drawn.is_empty() {
        drawn.extend(found.stations.len().checked_sub(1));
    }
    drawn
}

/// The pen of a station's curve: the surface unbroken, the core dashed.
fn pen(order: usize, core: bool) -> Pen {
    let dash = if core { Dash::Dashed } else { Dash::Solid };
    Pen { color: COLORS[order % COLORS.len()], width: CURVE - 1.0, dash }
}

/// Marks along a curve, so that it is told from others without its colour.
fn marks(sheet: &Sheet, places: &[Place], order: usize, color: RGBColor) -> Result<(), PlotError> {
    const EVERY: f64 = 190.0;
    let mut next = f64::NEG_INFINITY;
    for place in places.iter().filter(|place| place[0].is_finite() && place[1].is_finite()) {
        if place[0] < next {
            continue;
        }
        next = if next.is_finite() { place[0] + EVERY } else { place[0] + EVERY * (0.25 + 0.2 * order as f64) };
        if next > place[0] + 0.99 * EVERY {
            mark(sheet, *place, order, color)?;
        }
    }
    Ok(())
}

/// One mark: disc, square, triangle, diamond by order.
pub fn mark(sheet: &Sheet, [x, y]: Place, order: usize, color: RGBColor) -> Result<(), PlotError> {
    let size = 7.5;
    match order % 4 {
        0 => sheet.disc([x, y], size, color),
        1 => sheet.rectangle([x - size, y - size], [x + size, y + size], color),
        2 => sheet.polygon(&[[x - size, y + size], [x + size, y + size], [x, y - 1.2 * size]], color),
        _ => sheet.polygon(&[[x - size, y], [x, y - 1.3 * size], [x + size, y], [x, y + 1.3 * size]], color),
    }
}

/// A line across a panel that bears a name: a limit, a capacity.
pub struct Level {
    /// Its height, in the unit that is shown.
    pub at: f64,
    /// What it is.
    pub name: String,
    /// Of the line and its name.
    pub color: RGBColor,
}

/// The limit with its amount as a level.
fn limit(limit: &LimitOverTime, color: RGBColor, shown: Shown) -> Level {
    let dimension = limit.of.dimension();
    let allowed = if limit.of.is_diameter() {
        amount(shown, limit.limit, dimension)
    } else {
        shown.limit(limit.limit).replace("deg", "°")
    };
    let side = if limit.of.above { "at most" } else { "at least" };
    Level { at: shown.value(limit.limit, dimension), name: format!("{} {side} {allowed}", limit.of.words), color }
}

/// Levels across a panel, named where no curve and no other level is.
pub fn levels(sheet: &Sheet, frame: &Frame, levels: &[Level], curves: &[Vec<Place>]) -> Result<(), PlotError> {
    const POINTS: usize = 60;
    let line = |level: &Level| -> Vec<Place> {
        let share = |point: usize| point as f64 / POINTS as f64;
        let across = |point: usize| frame.left + share(point) * (frame.right - frame.left);
        (0..=POINTS).map(|point| [across(point), frame.down(level.at)]).collect()
    };
    let lines: Vec<Vec<Place>> = levels.iter().map(line).collect();
    let mut callouts = Callouts::new(*frame);
    curves.iter().chain(&lines).for_each(|line| callouts.avoid_line(line));
    for (line, level) in lines.iter().zip(levels) {
        let ends = [line[0], line[POINTS]];
        sheet.line(&ends, Pen { color: level.color, width: THIN, dash: Dash::Dotted })?;
    }
    for (index, (line, level)) in lines.iter().zip(levels).enumerate() {
        let others = lines.iter().enumerate().filter(|(other, _)| *other != index).map(|(_, line)| line);
        let others: Vec<&[Place]> = curves.iter().chain(others).map(Vec::as_slice).collect();
        callouts.name_line(sheet, &level.name, line, &others, Lettering::regular(SMALL, level.color))?;
    }
    Ok(())
}

/// A panel's name and unit over it.
fn title(sheet: &Sheet, frame: &Frame, name: &str, dimension: Dimension, shown: Shown) -> Result<(), PlotError> {
    let words = format!("{name}, {}", symbol(shown, dimension));
    sheet.text(&words, [frame.left, frame.top - 22.0], Align::Left, Lettering::bold(TEXT, INK))
}

/// A station's name as a picture takes it.
fn name(station: &StationOverTime) -> String {
    text::clean(&station.name)
}

/// The verdict in a line.
fn verdict(found: &Answer, shown: Shown) -> String {
    let scrap = if found.scrap_m > 0.0 {
        format!("{} out of limits", amount(shown, found.scrap_m, Dimension::Length))
    } else {
        "no metre out of limits".to_string()
    };
    let made = amount(shown, found.made_m, Dimension::Length);
    let time = amount(shown, found.ends_s, Dimension::Time);
    let seconds = if found.out_s > 0.0 {
        format!("; stations see such product for {}", amount(shown, found.out_s, Dimension::Time))
    } else {
        String::new()
    };
    format!("{scrap} of {made} made in {time}{seconds}")
}
