//! The two pictures of an answer: temperatures along the line, and across the product at a station.

use maud::{Markup, html};
use ndarray::ArrayView1;
use quenchway::case::{CaseFile, Shape};
use quenchway::march::solution::Solution;
use quenchway::material::Kind;
use quenchway::units::Dimension;
use quenchway_words::{Shown, clean};

use crate::frame::{Curve, Frame, LETTER, px};

/// An answer, the one that is kept as before, and how they are shown.
#[derive(Clone, Copy)]
pub struct Seen<'a> {
    /// The case.
    pub case: &'a CaseFile,
    /// Its answer, with fields.
    pub solution: &'a Solution,
    /// The answer before.
    pub before: Option<&'a Solution>,
    /// Units.
    pub shown: Shown,
    /// Width, px.
    pub width: f64,
}

/// The sign of degrees, as pictures have it.
fn degrees(text: &str) -> String {
    text.replace("deg", "°")
}

impl Seen<'_> {
    fn celsius(&self, value: f64) -> f64 {
        self.shown.value(value, Dimension::Temperature)
    }

    fn temperature(&self, value: f64) -> String {
        degrees(&self.shown.with_unit(value, Dimension::Temperature))
    }

    /// Points of a field over the distance from the die.
    fn along(&self, of: &Solution, values: ArrayView1<f64>) -> Vec<[f64; 2]> {
        let metres = |distance: f64| self.shown.value(distance, Dimension::Length);
        of.fields.distance.iter().zip(values).map(|(&x, &y)| [metres(x), self.celsius(y)]).collect()
    }

    /// Surface, core, mean and medium of a solution, the least important first.
    fn curves(&self, of: &Solution) -> Vec<Curve> {
        let fields = &of.fields;
        let plastic = self.case.layers.iter().any(|layer| layer.material.kind == Kind::Plastic);
        let core = if self.case.bore > 0.0 { "inner surface" } else { "core" };
        let mut fields_of = vec![
            ("medium", "medium", &fields.medium),
            ("mean", if plastic { "mean of the plastic" } else { "mean" }, &fields.mean),
            ("core", core, &fields.core),
        ];
        fields_of.extend(fields.hot_side.as_ref().map(|hot| ("hot-side", "hot side of the surface", hot)));
        fields_of.push(("surface", "surface", &fields.surface));
        let curve = |(class, name, values): (&'static str, &str, &ndarray::Array1<f64>)| {
            let end = values.last().map_or(String::new(), |&end| format!(" {}", self.temperature(end)));
            Curve { class, name: format!("{name}{end}"), points: self.along(of, values.view()) }
        };
        fields_of.into_iter().map(curve).collect()
    }

    /// Temperatures along the line, with the water, the limits, what the inputs leave open, and the answer before.
    pub fn line(&self) -> String {
        let (curves, fields) = (self.curves(self.solution), &self.solution.fields);
        let before = self.before.map(|before| self.curves(before)).unwrap_or_default();
        let limits: Vec<(f64, f64, String, bool)> = self.limits();
        let bands: Vec<(&str, [Vec<[f64; 2]>; 2])> = fields.band.as_ref().map_or_else(Vec::new, |band| {
            let ends = |low: ArrayView1<f64>, high: ArrayView1<f64>| {
                [self.along(self.solution, low), self.along(self.solution, high)]
            };
            vec![
                ("core", ends(band.core_low.view(), band.core_high.view())),
                ("surface", ends(band.surface_low.view(), band.surface_high.view())),
            ]
        });
        let drawn = curves.iter().chain(&before).flat_map(|curve| &curve.points);
        let points: Vec<[f64; 2]> =
            drawn.chain(bands.iter().flat_map(|(_, ends)| ends.iter().flatten())).copied().collect();
        let xs = points.iter().map(|point| point[0]).chain([0.0]);
        let ys = points.iter().map(|point| point[1]).chain(limits.iter().map(|limit| limit.1));
        let frame = Frame::new(self.width, xs, ys);
        let names: Vec<(&str, String)> = curves.iter().rev().map(|curve| (curve.class, curve.name.clone())).collect();
        let (names, height) = frame.names(&names);
        let speed = self.shown.with_unit(self.case.line_speed, Dimension::Speed);
        let list: Vec<&str> = curves.iter().rev().map(|curve| curve.name.as_str()).collect();
        let told = format!("Temperatures along the line at {speed}. At its end: {}.", list.join(", "));
        let inside = html! {
            @for (section, report) in self.case.sections.iter().zip(&self.solution.sections) {
                @let ends = [report.start, report.end].map(|end| self.shown.value(end, Dimension::Length));
                (frame.shade(if section.medium.is_water() { "water" } else { "air" }, ends, &clean(&section.name)))
            }
            (frame.axes(
                &format!("distance from the die, {}", self.shown.unit(Dimension::Length)),
                &degrees(self.shown.unit(Dimension::Temperature)),
            ))
            @for (class, [low, high]) in &bands { (frame.veil(&format!("band {class}"), low, high)) }
            @for curve in &before { (frame.curve(&format!("before {}", curve.class), &curve.points)) }
            @for curve in &curves { (frame.curve(curve.class, &curve.points)) }
            (marks(&frame, &limits))
            (names)
        };
        frame.svg(height, &told, &inside)
    }

    /// Each limit: where, how high, its words, whether it is met.
    fn limits(&self) -> Vec<(f64, f64, String, bool)> {
        let stations = self.solution.stations.iter();
        let all = stations.flat_map(|station| station.limits.iter().map(move |limit| (station.distance, limit)));
        let mark = |(metres, limit): (f64, &quenchway::march::solution::LimitReport)| {
            let name = quenchway_words::run::limited(self.case, limit);
            let met = if limit.met { "" } else { ", not met" };
            let words = format!("{name} ≤ {}{met}", degrees(&self.shown.limit(limit.limit)));
            (self.shown.value(metres, Dimension::Length), self.celsius(limit.limit), words, limit.met)
        };
        all.map(mark).collect()
    }

    /// Temperatures across the product at a station, with those of the answer before.
    pub fn profile(&self, station: usize) -> String {
        let Some(place) = self.solution.stations.get(station) else { return String::new() };
        let now = self.across(self.solution, place.distance);
        let before = self.before.and_then(|before| Some((before, before.stations.get(station)?)));
        let before = before.map(|(before, place)| self.across(before, place.distance)).unwrap_or_default();
        let points = || now.iter().chain(&before);
        let bore = self.shown.value(self.case.bore / 2.0, Dimension::Diameter);
        let frame =
            Frame::new(self.width, points().map(|point| point[0]).chain([bore]), points().map(|point| point[1]));
        let across = if self.case.shape == Shape::Flat { "distance from mid-plane" } else { "radius" };
        let name = clean(&place.name);
        let ends = [now.first(), now.last()].map(|point| point.map_or(f64::NAN, |point| point[1]));
        let unit = degrees(self.shown.unit(Dimension::Temperature));
        let told = format!("Temperatures across the product at {name}: from {:.1} to {:.1} {unit}.", ends[0], ends[1]);
        let (names, height) = frame.names(&[("profile", format!("at {name}"))]);
        let inside = html! {
            @for (index, (ends, layer)) in self.layers(place.distance).into_iter().enumerate() {
                (frame.shade(if index % 2 == 0 { "air" } else { "layer" }, ends, &layer))
            }
            (frame.axes(&format!("{across}, {}", self.shown.unit(Dimension::Diameter)), &unit))
            @if !before.is_empty() { (frame.curve("before profile", &before)) }
            (frame.curve("profile", &now))
            (names)
        };
        frame.svg(height, &told, &inside)
    }

    /// Radius and temperature at the output point next to a distance.
    fn across(&self, of: &Solution, distance: f64) -> Vec<[f64; 2]> {
        let Some(point) = nearest(of, distance) else { return Vec::new() };
        let rows = of.fields.radius.row(point).into_iter().zip(of.fields.temperature.row(point));
        let size = |metres: f64| self.shown.value(metres, Dimension::Diameter);
        rows.map(|(&radius, &value)| [size(radius), self.celsius(value)]).collect()
    }

    /// Where each layer lies, and its name.
    fn layers(&self, distance: f64) -> Vec<([f64; 2], String)> {
        let Some(point) = nearest(self.solution, distance) else { return Vec::new() };
        let (fields, mut inner) = (&self.solution.fields, self.case.bore / 2.0);
        let mut found = Vec::new();
        for (index, layer) in self.case.layers.iter().enumerate() {
            let Some(last) = fields.layer_of_node.iter().rposition(|&of| of == index) else { continue };
            let outer = fields.radius.row(point)[last];
            found.push(([inner, outer].map(|end| self.shown.value(end, Dimension::Diameter)), clean(&layer.name)));
            inner = outer;
        }
        found
    }
}

fn nearest(of: &Solution, distance: f64) -> Option<usize> {
    let off = |point: &usize| (of.fields.distance[*point] - distance).abs();
    (0..of.fields.distance.len()).min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// A bar at each limit, which the curve must stay under, and its words beside it, where those above it leave room.
fn marks(frame: &Frame, limits: &[(f64, f64, String, bool)]) -> Markup {
    let mut taken: Vec<[f64; 2]> = Vec::new();
    let mut placed = Vec::new();
    for (x, value, words, met) in limits {
        let (x, y) = (frame.x.at(*x), frame.y.at(*value));
        let wide = words.chars().count() as f64 * LETTER;
        let end = x + 14.0 + wide > frame.width;
        let mut down = y + 4.5;
        // One below the other where stations stand close together.
        while taken.iter().any(|[left, at]| (left - x).abs() < wide && (at - down).abs() < 16.0) {
            down -= 16.0;
        }
        taken.push([x, down]);
        placed.push((x, y, down, end, words, if *met { "limit" } else { "limit missed" }));
    }
    html! {
        @for (x, y, down, end, words, class) in placed {
            line class=(class) x1=(px(x - 10.0)) x2=(px(x + 10.0)) y1=(px(y)) y2=(px(y)) {}
            text class=(class) x=(px(if end { x - 14.0 } else { x + 14.0 })) y=(px(down))
                text-anchor=(if end { "end" } else { "start" }) { (words) }
        }
    }
}
