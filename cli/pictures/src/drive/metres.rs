//! Over the product: surface, core and diameter that the limited stations see of each metre; jumps as gaps, scrap shaded.

use quenchway::case::{CaseFile, Quantity};
use quenchway::line::clock::Side;
use quenchway::maths::order::sort_by_number;
use quenchway::study::drive::answer::{Answer, Cause, OverPlaces, Scrap};
use quenchway::study::drive::{Measure, Metre};
use quenchway::units::Dimension;
use quenchway_words::Shown;

use super::{COLORS, Level, SCRAP, VEIL, drawn, levels, limit, mark, marks, name, pen, title, verdict};
use crate::PlotError;
use crate::frame::{Axis, Frame};
use crate::page::{Entry, PLOT_BOTTOM, PLOT_LEFT, draw_entries, draw_heading, entries_width, symbol};
use crate::sheet::{Align, Lettering, Pen, Place, Sheet};
use crate::theme::{INK, MARGIN, PAPER, SMALL, TEXT, WIDTH};

/// Between the two panels, px.
const BETWEEN: f64 = 84.0;
/// Least difference that is drawn as a jump, px.
const JUMP: f64 = 6.0;

/// A curve: runs of metres without a jump between them.
struct Curve {
    name: String,
    pen: Pen,
    order: usize,
    runs: Vec<Vec<[f64; 2]>>,
}

/// Draws the picture.
pub fn draw(sheet: &Sheet, case: &CaseFile, found: &Answer, _: &OverPlaces, shown: Shown) -> Result<(), PlotError> {
    let top = draw_heading(sheet, &case.title, &verdict(found, shown))? + 52.0;
    let stations = drawn(found);
    let (mut warm, mut sizes) = (Vec::new(), Vec::new());
    for (order, &index) in stations.iter().enumerate() {
        let station = &found.stations[index];
        for (quantity, words) in [(Quantity::Surface, "surface"), (Quantity::Core, "core")] {
            let pen = pen(order, quantity == Quantity::Core);
            let runs = runs(found, index, Measure::Temperature(quantity), Dimension::Temperature, shown);
            warm.push(Curve { name: format!("{words} at {}", name(station)), pen, order, runs });
        }
        let runs = runs(found, index, Measure::Diameter, Dimension::Diameter, shown);
        sizes.push(Curve { name: format!("at {}", name(station)), pen: pen(order, false), order, runs });
    }
    let names: Vec<(String, String)> =
        warm.iter().chain(&sizes).map(|curve| (curve.name.clone(), String::new())).collect();
    let right = f64::from(WIDTH) - entries_width(&names, true)?;
    let metres = |value: f64| shown.value(value, Dimension::Length);
    let x = Axis::new(metres(-found.on_line_m), metres(found.made_m.max(1e-6)));
    let height = PLOT_BOTTOM - top - BETWEEN;
    let mut upper = top;
    for (curves, share, words, dimension) in [
        (&warm, 0.68, "On arrival at the stations", Dimension::Temperature),
        (&sizes, 0.32, "Outer diameter, hot", Dimension::Diameter),
    ] {
        let of_panel = |diameter: bool| diameter == (dimension == Dimension::Diameter);
        let limits = || {
            let all = stations
                .iter()
                .enumerate()
                .flat_map(|(order, &index)| found.stations[index].limits.iter().map(move |one| (order, one)));
            all.filter(|(_, one)| of_panel(one.of.is_diameter()))
        };
        let values = curves.iter().flat_map(|curve| curve.runs.iter().flatten()).map(|value| value[1]);
        let bounds = limits().map(|(_, one)| shown.value(one.limit, dimension));
        // A diameter that is the same everywhere is not spread over the panel.
        let y = match (dimension, Axis::over(values.clone().chain(bounds.clone()), [0.06, 0.14])) {
            (Dimension::Diameter, _) => {
                let all: Vec<f64> = values.chain(bounds).filter(|value| value.is_finite()).collect();
                let (low, high) =
                    (all.iter().copied().fold(f64::INFINITY, f64::min), all.iter().copied().fold(0.0, f64::max));
                let least = 0.02 * high;
                let room = (0.5 * (least - (high - low))).max(0.1 * (high - low));
                // Above there is room for the name of a limit.
                Axis::new(low - room, high + room.max(0.3 * (high - low)))
            }
            (_, axis) => axis,
        };
        let frame = Frame { left: PLOT_LEFT, top: upper, right, bottom: upper + share * height, x, y };
        upper = frame.bottom + BETWEEN;
        shade(sheet, &frame, found, shown)?;
        frame.draw_grid(sheet)?;
        let (mut entries, mut drawn) = (Vec::new(), Vec::new());
        for curve in curves {
            let places = draw_curve(sheet, &frame, curve)?;
            let end = places.last().map_or(f64::NAN, |place| place[1]);
            entries.push(Entry { end, name: curve.name.clone(), value: String::new(), pen: Some(curve.pen) });
            drawn.push(places);
        }
        let limits: Vec<Level> = limits().map(|(order, one)| limit(one, COLORS[order % COLORS.len()], shown)).collect();
        levels(sheet, &frame, &limits, &drawn)?;
        if dimension == Dimension::Temperature {
            name_scrap(sheet, &frame, found, shown)?;
        }
        frame.draw_bare_axes(sheet)?;
        title(sheet, &frame, words, dimension, shown)?;
        draw_entries(sheet, &frame, f64::from(WIDTH) - MARGIN, entries)?;
        if dimension == Dimension::Diameter {
            let words = format!(
                "product length: what left the die since the programme began, {}",
                symbol(shown, Dimension::Length)
            );
            let below = [(frame.left + frame.right) / 2.0, frame.bottom + 66.0];
            sheet.text(&words, below, Align::Middle, Lettering::regular(TEXT, INK))?;
        }
    }
    Ok(())
}

/// What a station sees of each metre, in runs that no jump and no spoilt product breaks.
fn runs(found: &Answer, station: usize, measure: Measure, dimension: Dimension, shown: Shown) -> Vec<Vec<[f64; 2]>> {
    let mut runs: Vec<Vec<[f64; 2]>> = Vec::new();
    let mut last: Option<&Metre> = None;
    for metre in &found.driven.metres {
        let Some(seen) = &metre.seen[station] else {
            last = None;
            continue;
        };
        let point = [shown.value(metre.length, Dimension::Length), shown.value(seen.sight.of(measure), dimension)];
        let goes_on = last.is_some_and(|last| {
            let jump = metre.length == last.length && metre.side == Side::Behind;
            let spoilt = found.driven.spoilt.iter().any(|([from, to], _)| *from < metre.length && last.length < *to);
            !jump && !spoilt
        });
        match runs.last_mut().filter(|_| goes_on) {
            Some(run) => run.push(point),
            None => runs.push(vec![point]),
        }
        last = Some(metre);
    }
    runs
}

/// A curve with both ends of its jumps marked; returns where it runs.
fn draw_curve(sheet: &Sheet, frame: &Frame, curve: &Curve) -> Result<Vec<Place>, PlotError> {
    let mut all: Vec<Place> = Vec::new();
    for run in &curve.runs {
        let places: Vec<Place> = run.iter().map(|&[x, y]| frame.place(x, y)).collect();
        if let (Some(before), Some(first)) = (all.last().copied(), places.first().copied())
            && (before[1] - first[1]).abs() + (before[0] - first[0]).abs() > JUMP
        {
            mark(sheet, before, curve.order, curve.pen.color)?;
            mark(sheet, first, curve.order, curve.pen.color)?;
        }
        sheet.line(&places, curve.pen)?;
        all.extend(places);
    }
    marks(sheet, &all, curve.order, curve.pen.color)?;
    Ok(all)
}

/// Scrap as a shade.
fn shade(sheet: &Sheet, frame: &Frame, found: &Answer, shown: Shown) -> Result<(), PlotError> {
    for span in &found.spans {
        let [from, to] = of_span(frame, span, shown);
        let corners = [[from, frame.top], [to, frame.top], [to, frame.bottom], [from, frame.bottom]];
        sheet.veil(&corners, SCRAP, VEIL)?;
    }
    Ok(())
}

/// Where a length of scrap begins and ends, px; a short one can still be seen.
fn of_span(frame: &Frame, span: &Scrap, shown: Shown) -> [f64; 2] {
    let [from, to] = [span.from, span.to].map(|value| frame.across(shown.value(value, Dimension::Length)));
    [from, to.max(from + 2.0)]
}

/// The causes of scrap, where there is room.
fn name_scrap(sheet: &Sheet, frame: &Frame, found: &Answer, shown: Shown) -> Result<(), PlotError> {
    let mut free = f64::NEG_INFINITY;
    let mut spans: Vec<_> = found.spans.iter().collect();
    sort_by_number(&mut spans, |span| span.from);
    for span in spans {
        let [from, _] = of_span(frame, span, shown);
        if from > free {
            let words = match span.cause {
                Cause::Temperature => span.quantity.clone().unwrap_or_default(),
                other => other.words().to_string(),
            };
            let lettering = Lettering::regular(SMALL - 2.0, SCRAP);
            let room = lettering.width(&words)?;
            let align = if from + room > frame.right { Align::Right } else { Align::Left };
            sheet.halo(&words, [from + 2.0, frame.top + 12.0], align, lettering, PAPER)?;
            free = from + room + 16.0;
        }
    }
    Ok(())
}
