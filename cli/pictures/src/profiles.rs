//! Temperatures from the axis to the surface, at the die and at each station.

use plotters::style::RGBColor;
use quenchway::case::{CaseFile, Shape};
use quenchway::march::solution::{Fields, Solution};
use quenchway::maths::order::sort_by_number;
use quenchway::units::Dimension;
use quenchway_words::Shown;

use super::PlotError;
use super::colormap::color;
use super::frame::{Axis, Frame};
use super::page::{Entry, PLOT_BOTTOM, PLOT_LEFT, amount, draw_entries, draw_heading, entries_width, symbol};
use super::sheet::{Dash, Pen, Place, Sheet};
use super::strip::{Band, Strip};
use super::text;
use super::theme::{CURVE, LAYER, MARGIN, THIN, WIDTH};

/// Draws the picture.
pub fn draw(sheet: &Sheet, case: &CaseFile, solution: &Solution, shown: Shown) -> Result<(), PlotError> {
    let fields = &solution.fields;
    let flat = case.shape == Shape::Flat;
    let course = match (flat, case.bore > 0.0) {
        (true, _) => "from mid-plane to surface",
        (false, true) => "from the inner to the outer surface",
        (false, false) => "from axis to surface",
    };
    let speed = amount(shown, case.line_speed, Dimension::Speed);
    let dots = if case.layers.len() > 1 { "; dots: where layers meet" } else { "" };
    let description = format!("Temperatures {course} at {speed}{dots}");
    let top = draw_heading(sheet, &case.title, &description)?;
    let profiles = profiles(solution, fields, shown);
    let names: Vec<(String, String)> =
        profiles.iter().map(|profile| (profile.name.clone(), profile.place.clone())).collect();
    let right = f64::from(WIDTH) - entries_width(&names, true)?;
    let size = |metres: f64| shown.value(metres, Dimension::Diameter);
    let celsius = |value: f64| shown.value(value, Dimension::Temperature);
    let x = Axis::over(fields.radius.iter().copied().chain([case.bore / 2.0]).map(size), [0.0, 0.0]);
    let drawn = profiles.iter().flat_map(|profile| fields.temperature.row(profile.point).to_vec());
    let y = Axis::over(drawn.map(celsius), [0.05, 0.05]);
    let across = |metres: f64| PLOT_LEFT + x.share(size(metres)) * (right - PLOT_LEFT);
    let strip = Strip::new(layers(case, fields, across), Vec::new(), top)?;
    let frame = Frame { left: PLOT_LEFT, top: strip.plot_top(), right, bottom: PLOT_BOTTOM, x, y };

    strip.draw_shades(sheet, &frame)?;
    frame.draw_grid(sheet)?;
    strip.draw_names(sheet, &frame)?;
    let mut entries = Vec::new();
    for profile in &profiles {
        let row = fields.temperature.row(profile.point);
        let radii = fields.radius.row(profile.point);
        let places: Vec<Place> =
            radii.iter().zip(row).map(|(&radius, &value)| frame.place(size(radius), celsius(value))).collect();
        sheet.line(&places, profile.pen)?;
        for (node, pair) in fields.layer_of_node.windows(2).enumerate() {
            if pair[0] != pair[1] {
                sheet.disc(places[node], 1.3 * CURVE, profile.pen.color)?;
                sheet.disc(places[node + 1], 1.3 * CURVE, profile.pen.color)?;
            }
        }
        let surface = places.last().copied().unwrap_or([f64::NAN; 2]);
        let end = surface[1];
        sheet.line(&[surface, [frame.right, end]], Pen::solid(profile.pen.color, THIN))?;
        let (name, value) = (profile.name.clone(), profile.place.clone());
        entries.push(Entry { end, name, value, pen: Some(profile.pen) });
    }
    let across = if flat { "distance from mid-plane" } else { "radius" };
    let x_name = format!("{across}, {}", symbol(shown, Dimension::Diameter));
    frame.draw_axes(sheet, &x_name, &format!("temperature, {}", symbol(shown, Dimension::Temperature)))?;
    draw_entries(sheet, &frame, f64::from(WIDTH) - MARGIN, entries)
}

/// One curve.
struct Profile {
    name: String,
    /// Its distance from the die, in words.
    place: String,
    /// Index of the output point.
    point: usize,
    pen: Pen,
}

/// Die and stations from the die onward, lighter and hotter colours first.
fn profiles(solution: &Solution, fields: &Fields, shown: Shown) -> Vec<Profile> {
    if fields.distance.is_empty() {
        return Vec::new();
    }
    let mut places: Vec<(String, f64)> = vec![("die".to_string(), 0.0)];
    places.extend(solution.stations.iter().map(|station| (text::clean(&station.name), station.distance)));
    if solution.stations.is_empty() {
        places.push(("end of the line".to_string(), fields.distance[fields.distance.len() - 1]));
    }
    sort_by_number(&mut places, |(_, metres)| *metres);
    let count = places.len();
    let profile = |(i, (name, metres)): (usize, (String, f64))| {
        let near = |point: &usize| (fields.distance[*point] - metres).abs();
        let point = (0..fields.distance.len()).min_by(|a, b| near(a).total_cmp(&near(b))).unwrap_or(0);
        let dash = [Dash::Solid, Dash::Dashed][i % 2];
        let pen = Pen { color: color_of(i, count), width: CURVE, dash };
        let place = if metres > 0.0 { amount(shown, metres, Dimension::Length) } else { String::new() };
        Profile { name, place, point, pen }
    };
    places.into_iter().enumerate().map(profile).collect()
}

/// Colour of a profile among so many, in their order along the line.
pub fn color_of(index: usize, count: usize) -> RGBColor {
    color(HOTTEST - (HOTTEST - COLDEST) * index as f64 / count.saturating_sub(1).max(1) as f64)
}

/// The palest colour that is still seen on paper, as a share of the colour map.
const HOTTEST: f64 = 0.78;
/// The darkest colour that is still told from black.
const COLDEST: f64 = 0.08;

/// The layers as they lie at the die, shaded in turn.
fn layers(case: &CaseFile, fields: &Fields, across: impl Fn(f64) -> f64) -> Vec<Band> {
    let mut left = across(case.bore / 2.0);
    let mut bands = Vec::new();
    for (index, layer) in case.layers.iter().enumerate() {
        let Some(last) = fields.layer_of_node.iter().rposition(|&of| of == index) else { continue };
        let right = fields.radius.column(last).first().map_or(left, |&radius| across(radius));
        bands.push(Band { left, right, name: layer.name.clone(), shades: LAYER[index % 2] });
        left = right;
    }
    bands
}
