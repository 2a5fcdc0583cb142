//! Temperatures along the line: surface, joints, core, mean, medium; limits at the stations.

use ndarray::ArrayView1;
use plotters::style::RGBColor;
use quenchway::case::{CaseFile, Contact};
use quenchway::march::solution::{LimitReport, Solution, StationReport};
use quenchway::material::Kind;
use quenchway::units::Dimension;
use quenchway_words::Shown;
use quenchway_words::run::limited;

use super::PlotError;
use super::callouts::Callouts;
use super::frame::{Axis, Frame};
use super::page::{Entry, PLOT_BOTTOM, PLOT_LEFT, amount, draw_entries, draw_heading, entries_width, symbol};
use super::sheet::{Dash, Lettering, Pen, Place, Sheet};
use super::strip::Strip;
use super::text;
use super::theme::{BLACK, BLUE, CURVE, JOINTS, MARGIN, QUIET, SMALL, THIN, VERMILLION, WIDTH};

/// Joints drawn at most: more cannot be told apart.
const MOST_JOINTS: usize = 8;

/// A curve over the output points.
struct Curve<'a> {
    name: String,
    values: ArrayView1<'a, f64>,
    pen: Pen,
}

/// Draws the picture.
pub fn draw(sheet: &Sheet, case: &CaseFile, solution: &Solution, shown: Shown) -> Result<(), PlotError> {
    let speed = amount(shown, case.line_speed, Dimension::Speed);
    let shaded = if solution.fields.band.is_some() { "; shaded: what the inputs leave open" } else { "" };
    let description = format!("Temperatures along the line at {speed}{shaded}");
    let top = draw_heading(sheet, &case.title, &description)?;
    let curves = curves(case, solution);
    let last = |curve: &Curve| curve.values.last().copied().unwrap_or(f64::NAN);
    let names: Vec<(String, String)> =
        curves.iter().map(|curve| (curve.name.clone(), amount(shown, last(curve), Dimension::Temperature))).collect();
    let distance = solution.fields.distance.mapv(|metres| shown.value(metres, Dimension::Length));
    let x = Axis::over(distance.iter().copied(), [0.0, 0.0]);
    let right = f64::from(WIDTH) - entries_width(&names, true)?;
    let strip = Strip::of_line(solution, shown, x, [PLOT_LEFT, right], top)?;
    let celsius = |value: f64| shown.value(value, Dimension::Temperature);
    let drawn = curves.iter().flat_map(|curve| curve.values.iter().copied());
    let limits = solution.stations.iter().flat_map(|station| station.limits.iter().map(|limit| limit.limit));
    let bands = bands(solution);
    let ends = bands.iter().flat_map(|(_, ends)| ends).flat_map(|end| end.iter().copied());
    let y = Axis::over(drawn.chain(limits).chain(ends).map(celsius), [0.05, 0.05]);
    let frame = Frame { left: PLOT_LEFT, top: strip.plot_top(), right, bottom: PLOT_BOTTOM, x, y };

    strip.draw_shades(sheet, &frame)?;
    frame.draw_grid(sheet)?;
    for (color, [low, high]) in &bands {
        let places = |values: &ArrayView1<f64>| -> Vec<Place> {
            distance.iter().zip(values).map(|(&x, &value)| frame.place(x, celsius(value))).collect()
        };
        let around: Vec<Place> = places(low).into_iter().chain(places(high).into_iter().rev()).collect();
        sheet.veil(&around, *color, BAND_OPACITY)?;
    }
    strip.draw_names(sheet, &frame)?;
    let mut callouts = Callouts::new(frame);
    let mut entries = Vec::new();
    for (curve, (name, value)) in curves.iter().zip(names) {
        let places: Vec<Place> =
            distance.iter().zip(curve.values).map(|(&x, &value)| frame.place(x, celsius(value))).collect();
        sheet.line(&places, curve.pen)?;
        callouts.avoid_line(&places);
        entries.push(Entry { end: frame.down(celsius(last(curve))), name, value, pen: Some(curve.pen) });
    }
    for station in &solution.stations {
        callouts.avoid_upright(frame.across(shown.value(station.distance, Dimension::Length)));
    }
    draw_limits(sheet, &frame, &mut callouts, (case, &solution.stations), shown)?;
    let unit = symbol(shown, Dimension::Temperature);
    let x_name = format!("distance from the die, {}", symbol(shown, Dimension::Length));
    frame.draw_axes(sheet, &x_name, &format!("temperature, {unit}"))?;
    draw_entries(sheet, &frame, f64::from(WIDTH) - MARGIN, entries)
}

/// How strongly a band is shaded: two of them over a section's shade must stay apart.
const BAND_OPACITY: f64 = 0.17;

/// A colour with the low and high ends of a curve.
type Ends<'a> = (RGBColor, [ArrayView1<'a, f64>; 2]);

/// What the uncertainty of the inputs does to core and surface, where it is known.
fn bands(solution: &Solution) -> Vec<Ends<'_>> {
    let Some(band) = &solution.fields.band else { return Vec::new() };
    vec![
        (VERMILLION, [band.core_low.view(), band.core_high.view()]),
        (BLUE, [band.surface_low.view(), band.surface_high.view()]),
    ]
}

/// What is drawn, the least important first.
fn curves<'a>(case: &CaseFile, solution: &'a Solution) -> Vec<Curve<'a>> {
    let fields = &solution.fields;
    let fine = |color: RGBColor, dash| Pen { color, width: 0.8 * CURVE, dash };
    let mut curves = vec![Curve {
        name: "medium".to_string(),
        values: fields.medium.view(),
        pen: Pen { color: QUIET, width: THIN, dash: Dash::Dashed },
    }];
    let plastic = case.layers.iter().any(|layer| layer.material.kind == Kind::Plastic);
    let mean = if plastic { "plastic, mean" } else { "mean" };
    curves.push(Curve { name: mean.to_string(), values: fields.mean.view(), pen: fine(BLACK, Dash::Dotted) });
    curves.push(Curve {
        name: if case.bore > 0.0 { "inner surface" } else { "core" }.to_string(),
        values: fields.core.view(),
        pen: Pen::solid(VERMILLION, CURVE),
    });
    let joints = fields.interface_inner.ncols().min(MOST_JOINTS);
    for (i, pair) in case.layers.windows(2).enumerate().take(joints) {
        let (inner, outer) = (fields.interface_inner.column(i), fields.interface_outer.column(i));
        let color = JOINTS[i % JOINTS.len()];
        let dash = if i < JOINTS.len() { Dash::Dashed } else { Dash::Dotted };
        let [a, b] = [text::clean(&pair[0].name), text::clean(&pair[1].name)];
        if matches!(case.layers[i + 1].contact, Contact::Conductance(_)) {
            curves.push(Curve { name: format!("{a}, outside"), values: inner, pen: fine(color, dash) });
            curves.push(Curve { name: format!("{b}, inside"), values: outer, pen: fine(color, Dash::Dotted) });
        } else {
            curves.push(Curve { name: format!("{a} / {b}"), values: inner, pen: fine(color, dash) });
        }
    }
    if let Some(hot_side) = &fields.hot_side {
        let pen = Pen { color: BLUE, width: CURVE, dash: Dash::Dashed };
        curves.push(Curve { name: "surface, hot side".to_string(), values: hot_side.view(), pen });
    }
    curves.push(Curve { name: "surface".to_string(), values: fields.surface.view(), pen: Pen::solid(BLUE, CURVE) });
    curves
}

/// Marks each limit at its station: a bar that the curve must stay under, and its words.
fn draw_limits(
    sheet: &Sheet,
    frame: &Frame,
    callouts: &mut Callouts,
    (case, stations): (&CaseFile, &[StationReport]),
    shown: Shown,
) -> Result<(), PlotError> {
    let bars: Vec<(Place, &LimitReport)> = stations
        .iter()
        .flat_map(|station| station.limits.iter().map(move |limit| (station.distance, limit)))
        .map(|(metres, limit)| {
            let x = shown.value(metres, Dimension::Length);
            (frame.place(x, shown.value(limit.limit, Dimension::Temperature)), limit)
        })
        .collect();
    for &([x, y], limit) in &bars {
        let (color, half) = (color_of(limit), 0.45 * BAR);
        sheet.line(&[[x - BAR, y], [x + BAR, y]], Pen::solid(color, 1.4 * CURVE))?;
        sheet.polygon(&[[x - half, y], [x + half, y], [x, y + 1.3 * half]], color)?;
        callouts.avoid_box([x - BAR, y - 4.0], [x + BAR, y + 1.3 * half]);
    }
    for (place, limit) in bars {
        let quantity = text::clean(&limited(case, limit));
        let most = shown.limit(limit.limit).replace("deg", "°");
        let how = if limit.met { Lettering::regular } else { Lettering::bold };
        let verdict = if limit.met { "" } else { ": not met" };
        let words = format!("{quantity} ≤ {most}{verdict}");
        callouts.note(sheet, &words, place, BAR + 6.0, how(SMALL, color_of(limit)))?;
    }
    Ok(())
}

/// A limit has the colour of the curve that it holds for.
fn color_of(limit: &LimitReport) -> RGBColor {
    match limit.name.as_str() {
        "surface_max" => BLUE,
        "core_max" => VERMILLION,
        _ => BLACK,
    }
}

/// Half the width of a limit's bar, px.
const BAR: f64 = 22.0;
