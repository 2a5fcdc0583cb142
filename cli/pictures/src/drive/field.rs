//! Over clock time and distance: the core, the ways of single metres, the ends of sections, the limits of the core.

use quenchway::case::{CaseFile, Quantity};
use quenchway::line::clock::Side;
use quenchway::maths::order::sort_by_number;
use quenchway::study::drive::answer::{Answer, OverPlaces};
use quenchway::units::Dimension;
use quenchway_words::Shown;

use super::verdict;
use crate::PlotError;
use crate::callouts::Callouts;
use crate::colormap::color;
use crate::contour;
use crate::frame::{Axis, Frame, number};
use crate::page::{PLOT_BOTTOM, PLOT_LEFT, draw_heading, symbol};
use crate::sheet::{Align, Dash, Lettering, Pen, Place, Sheet};
use crate::text;
use crate::theme::{INK, MARGIN, PAPER, SMALL, TEXT, THIN, WIDTH};

/// Room at the right for the sections' names and the colours, px.
const ROOM: f64 = 330.0;
/// Of that for a section's name, px.
const NAME: f64 = 168.0;
/// Ways of metres that are drawn.
const WAYS: usize = 24;
/// Points of a way.
const POINTS: usize = 60;

/// Draws the picture.
pub fn draw(sheet: &Sheet, case: &CaseFile, found: &Answer, field: &OverPlaces, shown: Shown) -> Result<(), PlotError> {
    let white = if found.driven.spoilt.is_empty() { "" } else { "; white: scrap without an answer" };
    let about = format!("Core temperature; thin: ways of single metres{white}; {}", verdict(found, shown));
    let top = draw_heading(sheet, &case.title, &about)? + 30.0;
    let right = f64::from(WIDTH) - ROOM;
    let length = |metres: f64| shown.value(metres, Dimension::Length);
    let frame = Frame {
        left: PLOT_LEFT,
        top,
        right,
        bottom: PLOT_BOTTOM,
        x: Axis::new(0.0, found.ends_s),
        y: Axis::new(0.0, length(case.line_length())),
    };
    let places: Vec<f64> = field.distance.iter().map(|&place| length(place)).collect();
    // Place by place, the times running fastest.
    let (rows, columns) = (places.len(), field.time.len());
    let core: Vec<f64> =
        (0..rows * columns).map(|index| field.core[(index % columns) * rows + index / columns]).collect();
    let scale = Axis::over(core.iter().copied(), [0.0, 0.0]);
    let grid = contour::Field { x: &field.time, y: &places, values: &core };
    sheet.raster([frame.left, frame.top], [frame.right, frame.bottom], |px, py| {
        let x = frame.x.value((px - frame.left) / (frame.right - frame.left));
        let y = frame.y.value((frame.bottom - py) / (frame.bottom - frame.top));
        let value = grid.at(grid.spot(x, y)?);
        value.is_finite().then(|| color(scale.share(value)))
    })?;
    ways(sheet, case, found, &frame, shown)?;
    for index in 0..case.sections.len() {
        let (start, end) = (case.section_start(index), case.section_start(index) + case.sections[index].span());
        let y = frame.down(length(end));
        if index + 1 < case.sections.len() {
            sheet.line(&[[frame.left, y], [frame.right, y]], Pen { color: PAPER, width: 3.0, dash: Dash::Dashed })?;
        }
        let name = text::fit(&text::clean(&case.sections[index].name), SMALL, text::Weight::Regular, NAME)?;
        let middle = frame.down(length(0.5 * (start + end)));
        sheet.line(&[[frame.right, y], [frame.right + 12.0, y]], Pen::solid(INK, THIN))?;
        sheet.text(&name, [frame.right + 16.0, middle], Align::Left, Lettering::regular(SMALL, INK))?;
    }
    let mut limits: Vec<f64> = case
        .stations
        .iter()
        .flat_map(|station| &station.limits)
        .filter(|limit| limit.quantity == Quantity::Core)
        .map(|limit| limit.max.0)
        .collect();
    limits.sort_by(f64::total_cmp);
    limits.dedup();
    let mut contours: Vec<(String, Vec<Place>)> = Vec::new();
    for limit in limits {
        let name = format!("core at its limit, {}", shown.limit(limit).replace("deg", "°"));
        for line in grid.lines(limit) {
            let places: Vec<Place> = line.iter().map(|&[x, y]| frame.place(x, y)).collect();
            sheet.line(&places, Pen::solid(INK, 6.0))?;
            sheet.line(&places, Pen::solid(PAPER, 3.0))?;
            contours.push((name.clone(), places));
        }
    }
    name_contours(sheet, &frame, contours)?;
    frame.draw_axes(
        sheet,
        "time since the programme began, s",
        &format!("distance from the die, {}", symbol(shown, Dimension::Length)),
    )?;
    bar(sheet, &frame, scale, shown)
}

/// Names the longest contour of each limit where no contour runs.
fn name_contours(sheet: &Sheet, frame: &Frame, mut contours: Vec<(String, Vec<Place>)>) -> Result<(), PlotError> {
    let length = |line: &[Place]| -> f64 {
        line.windows(2).map(|pair| (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1])).sum()
    };
    sort_by_number(&mut contours, |(_, line)| -length(line));
    let mut callouts = Callouts::new(*frame);
    contours.iter().for_each(|(_, line)| callouts.avoid_line(line));
    let mut named: Vec<&str> = Vec::new();
    for (index, (name, line)) in contours.iter().enumerate() {
        if named.contains(&name.as_str()) {
            continue;
        }
        named.push(name);
        let others = contours.iter().enumerate().filter(|(other, _)| *other != index);
        let others: Vec<&[Place]> = others.map(|(_, (_, line))| line.as_slice()).collect();
        callouts.name_line(sheet, name, line, &others, Lettering::bold(SMALL, INK))?;
    }
    Ok(())
}

/// The ways of metres up the line: S = s + x, level in a standstill.
fn ways(sheet: &Sheet, case: &CaseFile, found: &Answer, frame: &Frame, shown: Shown) -> Result<(), PlotError> {
    let length = case.line_length();
    let first = if case.programme.starts_empty { 0.0 } else { -length };
    let clock = &found.motions.clock;
    for way in 0..=WAYS {
        let metre = first + (found.made_m - first) * way as f64 / WAYS as f64;
        // Where it stands is a point of its way, so that the way is level there.
        let stood = clock.standstills().iter().map(|stop| stop.travelled - metre);
        let mut along: Vec<f64> = stood.filter(|place| *place > 0.0 && *place < length).collect();
        along.extend((0..=POINTS).map(|point| length * point as f64 / POINTS as f64));
        along.sort_by(f64::total_cmp);
        let mut places: Vec<Place> = Vec::new();
        for place in along {
            let times = [clock.arrives(metre + place, Side::At), clock.leaves(metre + place, Side::At)];
            let stands = times[1] > times[0];
            for time in times {
                // What stands until after the end is drawn until the end.
                let time = if stands { time.clamp(0.0, found.ends_s) } else { time };
                let inside = time.is_finite() && (0.0..=found.ends_s).contains(&time);
                let here = frame.place(time, shown.value(place, Dimension::Length));
                places.push(if inside { here } else { [f64::NAN; 2] });
            }
        }
        sheet.line(&places, Pen::solid(PAPER, 1.2))?;
    }
    Ok(())
}

/// The colours and their temperatures.
fn bar(sheet: &Sheet, frame: &Frame, scale: Axis, shown: Shown) -> Result<(), PlotError> {
    let left = f64::from(WIDTH) - MARGIN - 116.0;
    let (width, top) = (34.0, frame.top + 30.0);
    sheet.raster([left, top], [left + width, frame.bottom], |_, y| {
        Some(color((frame.bottom - y) / (frame.bottom - top)))
    })?;
    let unit = symbol(shown, Dimension::Temperature);
    sheet.text(unit, [left + width / 2.0, top - 28.0], Align::Middle, Lettering::regular(TEXT, INK))?;
    let [low, high] = [0.0, 1.0].map(|share| shown.value(scale.value(share), Dimension::Temperature));
    let axis = Axis::new(low, high);
    let (ticks, decimals) = axis.ticks(9);
    for tick in ticks {
        let y = frame.bottom - axis.share(tick) * (frame.bottom - top);
        sheet.line(&[[left + width, y], [left + width + 8.0, y]], Pen::solid(INK, THIN))?;
        sheet.text(&number(tick, decimals), [left + width + 14.0, y], Align::Left, Lettering::regular(SMALL, INK))?;
    }
    Ok(())
}
