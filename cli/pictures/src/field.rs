//! The temperature field over distance and radius: filled colours, layer boundaries, where each plastic sets.

use ndarray::{Array1, Array2};
use quenchway::case::{CaseFile, Shape};
use quenchway::march::solution::{Fields, Solution};
use quenchway::units::Dimension;
use quenchway_words::Shown;

use super::PlotError;
use super::colormap::color;
use super::frame::{Axis, Frame, number};
use super::page::{Entry, PLOT_BOTTOM, PLOT_LEFT, amount, draw_entries, draw_heading, entries_width, symbol};
use super::sheet::{Align, Lettering, Pen, Place, Sheet};
use super::strip::Strip;
use super::text;
use super::theme::{INK, MARGIN, PAPER, QUIET, SMALL, TEXT, THIN, WIDTH};

/// Room for the colour bar and its numbers, px.
const BAR: f64 = 150.0;

/// Draws the picture.
pub fn draw(sheet: &Sheet, case: &CaseFile, solution: &Solution, shown: Shown) -> Result<(), PlotError> {
    let fields = &solution.fields;
    let contours = contours(case, fields);
    let top = draw_heading(sheet, &case.title, &description(case, &contours, shown))?;
    let names: Vec<(String, String)> =
        case.layers.iter().map(|layer| (text::clean(&layer.name), String::new())).collect();
    let x = Axis::over(fields.distance.iter().map(|&metres| shown.value(metres, Dimension::Length)), [0.0, 0.0]);
    let right = f64::from(WIDTH) - BAR - entries_width(&names, false)?;
    let strip = Strip::of_line(solution, shown, x, [PLOT_LEFT, right], top)?;
    let size = |metres: f64| shown.value(metres, Dimension::Diameter);
    let y = Axis::over(fields.radius.iter().copied().map(size).chain([0.0]), [0.0, 0.04]);
    let frame = Frame { left: PLOT_LEFT, top: strip.plot_top(), right, bottom: PLOT_BOTTOM, x, y };
    let scale = Axis::over(fields.temperature.iter().copied(), [0.0, 0.0]);

    strip.draw_shades(sheet, &frame)?;
    fill(sheet, &frame, case, fields, scale, shown)?;
    if case.bore > 0.0 {
        let inner = frame.down(size(case.bore / 2.0));
        sheet.rectangle([frame.left, inner], [frame.right, frame.bottom], PAPER)?;
        let middle = [(frame.left + frame.right) / 2.0, (inner + frame.bottom) / 2.0];
        sheet.text("hollow", middle, Align::Middle, Lettering::regular(TEXT, QUIET))?;
    }
    for nodes in fields.layer_of_node.windows(2).enumerate().filter(|(_, pair)| pair[0] != pair[1]) {
        let boundary = fields.radius.column(nodes.0);
        let places: Vec<Place> = fields
            .distance
            .iter()
            .zip(boundary)
            .map(|(&metres, &radius)| frame.place(shown.value(metres, Dimension::Length), size(radius)))
            .collect();
        sheet.line(&places, Pen::solid(PAPER, 2.2 * THIN))?;
        sheet.line(&places, Pen::solid(INK, THIN))?;
    }
    for pen in [Pen::solid(INK, 7.0), Pen::solid(PAPER, 3.5)] {
        let place = |[metres, radius]: [f64; 2]| frame.place(shown.value(metres, Dimension::Length), size(radius));
        sheet.pieces(contours.iter().flat_map(|contour| &contour.segments).map(|ends| ends.map(place)), pen)?;
    }
    strip.draw_names(sheet, &frame)?;
    let across = if case.shape == Shape::Flat { "distance from mid-plane" } else { "radius" };
    let x_name = format!("distance from the die, {}", symbol(shown, Dimension::Length));
    frame.draw_axes(sheet, &x_name, &format!("{across}, {}", symbol(shown, Dimension::Diameter)))?;
    let entries = names.into_iter().enumerate().map(|(layer, (name, value))| {
        let (inner, outer) = ends(case, fields, layer);
        Entry { end: frame.down(size((inner + outer) / 2.0)), name, value, pen: None }
    });
    draw_entries(sheet, &frame, f64::from(WIDTH) - BAR - MARGIN, entries.collect())?;
    draw_bar(sheet, &frame, scale, shown)
}

fn description(case: &CaseFile, contours: &[Contour], shown: Shown) -> String {
    let speed = amount(shown, case.line_speed, Dimension::Speed);
    let mut words = format!("Temperature inside the product at {speed}");
    let drawn: Vec<String> = contours
        .iter()
        .filter(|contour| !contour.segments.is_empty())
        .map(|contour| format!("{} sets at {}", contour.layer, shown.limit(contour.level).replace("deg", "°")))
        .collect();
    if !drawn.is_empty() {
        words.push_str(&format!("; white line: {}", drawn.join(", ")));
    }
    words
}

/// Inner and outer radius of a layer at the end of the line, m.
fn ends(case: &CaseFile, fields: &Fields, layer: usize) -> (f64, f64) {
    let nodes: Vec<usize> = (0..fields.layer_of_node.len()).filter(|&i| fields.layer_of_node[i] == layer).collect();
    let (Some(&first), Some(&last), Some(point)) = (nodes.first(), nodes.last(), fields.distance.len().checked_sub(1))
    else {
        return (f64::NAN, f64::NAN);
    };
    let inner = if layer == 0 { case.bore / 2.0 } else { fields.radius[[point, first]] };
    (inner, fields.radius[[point, last]])
}

/// Paints the temperatures, linear between output points and between nodes.
fn fill(
    sheet: &Sheet,
    frame: &Frame,
    case: &CaseFile,
    fields: &Fields,
    scale: Axis,
    shown: Shown,
) -> Result<(), PlotError> {
    let nodes = fields.layer_of_node.len();
    let distance: Vec<f64> = fields.distance.iter().map(|&metres| shown.value(metres, Dimension::Length)).collect();
    if distance.len() < 2 || nodes == 0 {
        return Ok(());
    }
    let size = |metres: f64| shown.value(metres, Dimension::Diameter);
    let (radii, bore) = (fields.radius.mapv(size), size(case.bore / 2.0));
    let mut column = f64::NAN;
    let (mut radius, mut temperature) = (vec![0.0; nodes], vec![0.0; nodes]);
    sheet.raster([frame.left, frame.top], [frame.right, frame.bottom], |px, py| {
        if px != column {
            column = px;
            let x = frame.x.value((px - frame.left) / (frame.right - frame.left));
            let after = distance.partition_point(|&d| d <= x).clamp(1, distance.len() - 1);
            let span = distance[after] - distance[after - 1];
            let share = if span > 0.0 { ((x - distance[after - 1]) / span).clamp(0.0, 1.0) } else { 0.0 };
            let between = |values: &Array2<f64>, node: usize| {
                values[[after - 1, node]] + share * (values[[after, node]] - values[[after - 1, node]])
            };
            for node in 0..nodes {
                radius[node] = between(&radii, node);
                temperature[node] = between(&fields.temperature, node);
            }
        }
        let r = frame.y.value((frame.bottom - py) / (frame.bottom - frame.top));
        let outside = radius.partition_point(|&node| node <= r);
        if outside == nodes || r < bore {
            return None;
        }
        let value = if outside == 0 {
            temperature[0]
        } else {
            let span = radius[outside] - radius[outside - 1];
            let share = if span > 0.0 { (r - radius[outside - 1]) / span } else { 0.0 };
            temperature[outside - 1] + share * (temperature[outside] - temperature[outside - 1])
        };
        value.is_finite().then(|| color(scale.share(value)))
    })
}

/// The colours and their temperatures.
fn draw_bar(sheet: &Sheet, frame: &Frame, scale: Axis, shown: Shown) -> Result<(), PlotError> {
    let left = f64::from(WIDTH) - BAR - MARGIN + 20.0;
    let (width, top) = (34.0, frame.top + 10.0);
    sheet.raster([left, top], [left + width, frame.bottom], |_, y| {
        Some(color((frame.bottom - y) / (frame.bottom - top)))
    })?;
    let unit = Lettering::regular(TEXT, INK);
    sheet.text(symbol(shown, Dimension::Temperature), [left + width / 2.0, top - 28.0], Align::Middle, unit)?;
    let celsius = |share: f64| shown.value(scale.value(share), Dimension::Temperature);
    let axis = Axis::new(celsius(0.0), celsius(1.0));
    let (ticks, decimals) = axis.ticks(9);
    for tick in ticks {
        let y = frame.bottom - axis.share(tick) * (frame.bottom - top);
        sheet.line(&[[left + width, y], [left + width + 8.0, y]], Pen::solid(INK, THIN))?;
        let numbers = Lettering::regular(SMALL, INK);
        sheet.text(&number(tick, decimals), [left + width + 14.0, y], Align::Left, numbers)?;
    }
    Ok(())
}

/// Where a layer passes its set temperature: pieces of a line, each end (distance m, radius m).
struct Contour {
    layer: String,
    level: f64,
    segments: Vec<[[f64; 2]; 2]>,
}

/// The set-temperature lines of all layers that have one.
fn contours(case: &CaseFile, fields: &Fields) -> Vec<Contour> {
    let layers = case.layers.iter().enumerate();
    layers
        .filter_map(|(index, layer)| {
            let level = layer.material.set_temperature?.0;
            let nodes: Vec<usize> =
                (0..fields.layer_of_node.len()).filter(|&node| fields.layer_of_node[node] == index).collect();
            let segments = level_line(&fields.distance, &fields.radius, &fields.temperature, &nodes, level);
            Some(Contour { layer: text::clean(&layer.name), level, segments })
        })
        .collect()
}

/// Marching squares over the cells between output points and the given neighbouring nodes.
fn level_line(
    distance: &Array1<f64>,
    radius: &Array2<f64>,
    temperature: &Array2<f64>,
    nodes: &[usize],
    level: f64,
) -> Vec<[[f64; 2]; 2]> {
    let mut segments = Vec::new();
    for point in 1..distance.len() {
        for pair in nodes.windows(2) {
            let corners = [(point - 1, pair[0]), (point, pair[0]), (point, pair[1]), (point - 1, pair[1])];
            let mut crossings = Vec::with_capacity(4);
            for side in 0..4 {
                let (a, b) = (corners[side], corners[(side + 1) % 4]);
                let (from, to) = (temperature[a], temperature[b]);
                if (from > level) != (to > level) {
                    let share = (level - from) / (to - from);
                    let along = distance[a.0] + share * (distance[b.0] - distance[a.0]);
                    crossings.push([along, radius[a] + share * (radius[b] - radius[a])]);
                }
            }
            // Four crossings are a saddle: either pairing is a fair reading of four corners.
            segments.extend(crossings.chunks_exact(2).map(|ends| [ends[0], ends[1]]));
        }
    }
    segments
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    #[test]
    fn the_level_line_runs_between_the_corners_it_separates() {
        let distance = array![0.0, 2.0];
        let radius = array![[1.0, 3.0], [1.0, 3.0]];
        let temperature = array![[100.0, 60.0], [90.0, 70.0]];
        let line = level_line(&distance, &radius, &temperature, &[0, 1], 80.0);
        assert_eq!(line.len(), 1);
        let [a, b] = line[0];
        assert_eq!([a[1], b[1]], [2.0, 2.0]);
        assert_eq!((a[0] - b[0]).abs(), 2.0);
    }

    #[test]
    fn a_layer_on_one_side_of_the_level_has_no_line() {
        let temperature = array![[100.0, 60.0], [90.0, 70.0]];
        let radius = array![[1.0, 3.0], [1.0, 3.0]];
        assert!(level_line(&array![0.0, 2.0], &radius, &temperature, &[0, 1], 20.0).is_empty());
    }
}
