//! Over clock time: the speeds, what the accumulators hold, surface and core at each limited station.

use quenchway::case::CaseFile;
use quenchway::study::drive::answer::{Answer, OverPlaces};
use quenchway::units::Dimension;
use quenchway_words::Shown;

use super::{COLORS, Level, SCRAP, VEIL, drawn, levels, limit, marks, name, pen, title, verdict};
use crate::PlotError;
use crate::frame::{Axis, Frame};
use crate::page::{Entry, PLOT_BOTTOM, PLOT_LEFT, draw_entries, draw_heading, entries_width};
use crate::sheet::{Align, Dash, Lettering, Pen, Place, Sheet};
use crate::text;
use crate::theme::{BLUE, CURVE, GREEN, INK, MARGIN, ORANGE, PAPER, PURPLE, QUIET, TEXT, THIN, WIDTH};

/// Between panels: the title of the lower one and its numbers, px.
const BETWEEN: f64 = 84.0;
/// Points of the curves of speed and content.
const POINTS: usize = 800;

/// A curve of a panel.
struct Curve {
    name: String,
    pen: Pen,
    /// Values in the unit that is shown.
    values: Vec<[f64; 2]>,
}

/// Draws the picture.
pub fn draw(sheet: &Sheet, case: &CaseFile, found: &Answer, _: &OverPlaces, shown: Shown) -> Result<(), PlotError> {
    let top = draw_heading(sheet, &case.title, &verdict(found, shown))? + 52.0;
    let speeds = speeds(found, shown);
    let contents = contents(case, found, shown);
    let seen = seen(found, shown);
    let all = speeds.iter().chain(&contents).chain(&seen);
    let names: Vec<(String, String)> = all.map(|curve| (curve.name.clone(), String::new())).collect();
    let right = f64::from(WIDTH) - entries_width(&names, true)?;
    let x = Axis::new(0.0, found.ends_s);
    let shares: &[f64] = if contents.is_empty() { &[0.32, 0.68] } else { &[0.24, 0.22, 0.54] };
    let height = PLOT_BOTTOM - top - BETWEEN * (shares.len() - 1) as f64;
    let mut upper = top;
    let mut frame = |share: f64, y: Axis| {
        let frame = Frame { left: PLOT_LEFT, top: upper, right, bottom: upper + share * height, x, y };
        upper = frame.bottom + BETWEEN;
        frame
    };
    let over = |curves: &[Curve], more: Vec<f64>, room: [f64; 2]| {
        let values = curves.iter().flat_map(|curve| &curve.values).map(|value| value[1]);
        Axis::over(values.chain(more), room)
    };
    let panel = frame(shares[0], over(&speeds, vec![0.0], [0.0, 0.3]));
    curves(sheet, &panel, &speeds, false)?;
    phases(sheet, &panel, found)?;
    title(sheet, &panel, "Speed", Dimension::Speed, shown)?;
    if !contents.is_empty() {
        let capacities = case.programme.accumulators.iter().map(|one| shown.value(one.capacity, Dimension::Length));
        let panel = frame(shares[1], over(&contents, capacities.clone().chain([0.0]).collect(), [0.0, 0.75]));
        let named = case.programme.accumulators.iter().zip(capacities).enumerate();
        let named: Vec<Level> = named
            .map(|(order, (accumulator, at))| Level {
                at,
                name: format!("capacity of {}", text::clean(&accumulator.name)),
                color: CONTENTS[order % CONTENTS.len()],
            })
            .collect();
        let drawn = curves(sheet, &panel, &contents, false)?;
        levels(sheet, &panel, &named, &drawn)?;
        title(sheet, &panel, "In the accumulators", Dimension::Length, shown)?;
    }
    let stations = drawn(found);
    let limits =
        stations.iter().flat_map(|&index| &found.stations[index].limits).filter(|limit| !limit.of.is_diameter());
    let bounds: Vec<f64> = limits.map(|limit| shown.value(limit.limit, Dimension::Temperature)).collect();
    let panel = frame(shares[shares.len() - 1], over(&seen, bounds, [0.06, 0.12]));
    for &index in &stations {
        for span in found.stations[index].limits.iter().flat_map(|limit| &limit.out_times_s) {
            let [from, to] = span.map(|time| panel.across(time));
            // What is short is still to be seen.
            let to = to.max(from + 2.0);
            let corners = [[from, panel.top], [to, panel.top], [to, panel.bottom], [from, panel.bottom]];
            sheet.veil(&corners, SCRAP, VEIL)?;
        }
    }
    let drawn = curves(sheet, &panel, &seen, true)?;
    let limits = stations.iter().enumerate().flat_map(|(order, &index)| {
        let those = found.stations[index].limits.iter().filter(|limit| !limit.of.is_diameter());
        those.map(move |one| limit(one, COLORS[order % COLORS.len()], shown))
    });
    levels(sheet, &panel, &limits.collect::<Vec<Level>>(), &drawn)?;
    title(sheet, &panel, "What the stations see; shaded: out of limits", Dimension::Temperature, shown)?;
    let words = "time since the programme began, s";
    let below = [(panel.left + panel.right) / 2.0, panel.bottom + 66.0];
    sheet.text(words, below, Align::Middle, Lettering::regular(TEXT, INK))
}

const CONTENTS: [plotters::style::RGBColor; 2] = [GREEN, PURPLE];

/// The names of the changes over the panel of the speeds.
fn phases(sheet: &Sheet, frame: &Frame, found: &Answer) -> Result<(), PlotError> {
    for phase in &found.programme {
        let [from, to] = [phase.from, phase.to].map(|time| frame.across(time));
        if from > frame.left + 1.0 {
            let pen = Pen { color: ORANGE, width: THIN, dash: Dash::Dotted };
            sheet.line(&[[from, frame.top], [from, frame.bottom]], pen)?;
        }
        let words = text::fit(&text::clean(&phase.name), 21.0, text::Weight::Regular, (to - from - 10.0).max(0.0))?;
        // A name of one letter and dots says nothing.
        if words.chars().count() > 3 || words == phase.name {
            let lettering = Lettering::regular(21.0, QUIET);
            sheet.halo(&words, [from + 6.0, frame.top + 12.0], Align::Left, lettering, PAPER)?;
        }
    }
    Ok(())
}

fn speeds(found: &Answer, shown: Shown) -> Vec<Curve> {
    let motions = &found.motions;
    let mut clocks = vec![("line".to_string(), &motions.clock, Pen::solid(INK, CURVE))];
    for (bridge, store) in found.accumulators.iter().zip(&motions.stores) {
        let (name, color, dash) =
            if bridge.place == "exit" { ("take-up", BLUE, Dash::Dashed) } else { ("pay-off", GREEN, Dash::Dotted) };
        clocks.push((name.to_string(), &store.reel, Pen { color, width: CURVE, dash }));
    }
    clocks
        .into_iter()
        .map(|(name, clock, pen)| {
            let times = moments(found, clock.corners());
            let value = |time: f64| [time, shown.value(clock.speed(time), Dimension::Speed)];
            Curve { name, pen, values: times.into_iter().map(value).collect() }
        })
        .collect()
}

/// Moments of a curve: even ones, and both sides of every corner.
fn moments(found: &Answer, corners: &[f64]) -> Vec<f64> {
    let mut times: Vec<f64> = (0..=POINTS).map(|point| found.ends_s * point as f64 / POINTS as f64).collect();
    let inside = corners.iter().copied().filter(|&time| time > 0.0 && time < found.ends_s);
    times.extend(inside.flat_map(|time| [time - 1e-9 * found.ends_s, time]));
    times.sort_by(f64::total_cmp);
    times
}

fn contents(case: &CaseFile, found: &Answer, shown: Shown) -> Vec<Curve> {
    let pairs = case.programme.accumulators.iter().zip(&found.motions.stores).enumerate();
    pairs
        .map(|(order, (accumulator, store))| {
            let value = |time: f64| [time, shown.value(store.content(time), Dimension::Length)];
            let dash = if order == 0 { Dash::Solid } else { Dash::Dashed };
            Curve {
                name: text::clean(&accumulator.name),
                pen: Pen { color: CONTENTS[order % CONTENTS.len()], width: CURVE, dash },
                values: moments(found, found.motions.clock.corners()).into_iter().map(value).collect(),
            }
        })
        .collect()
}

fn seen(found: &Answer, shown: Shown) -> Vec<Curve> {
    let mut curves = Vec::new();
    for (order, &index) in drawn(found).iter().enumerate() {
        for (place, quantity) in [(1, "surface"), (2, "core")] {
            let values = found.rows.time.iter().zip(&found.rows.seen[index]);
            let values = values.map(|(&time, seen)| [time, shown.value(seen[place], Dimension::Temperature)]);
            curves.push(Curve {
                name: format!("{quantity} at {}", name(&found.stations[index])),
                pen: pen(order, quantity == "core"),
                values: values.collect(),
            });
        }
    }
    curves
}

/// Draws curves with their names; returns where they run.
fn curves(sheet: &Sheet, frame: &Frame, curves: &[Curve], marked: bool) -> Result<Vec<Vec<Place>>, PlotError> {
    frame.draw_grid(sheet)?;
    let (mut entries, mut drawn) = (Vec::new(), Vec::new());
    for (order, curve) in curves.iter().enumerate() {
        let places: Vec<Place> = curve.values.iter().map(|&[x, y]| frame.place(x, y)).collect();
        sheet.line(&places, curve.pen)?;
        if marked {
            marks(sheet, &places, order / 2, curve.pen.color)?;
        }
        let end = places.iter().rev().find(|place| place[1].is_finite()).map_or(f64::NAN, |place| place[1]);
        entries.push(Entry { end, name: curve.name.clone(), value: String::new(), pen: Some(curve.pen) });
        drawn.push(places);
    }
    frame.draw_bare_axes(sheet)?;
    draw_entries(sheet, frame, f64::from(WIDTH) - MARGIN, entries)?;
    Ok(drawn)
}
