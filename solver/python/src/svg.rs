//! A solution as a picture for notebooks: temperatures along the line.

use std::fmt::Write as _;

use quenchway::case::Case;
use quenchway::march::solution::Solution;
use quenchway::maths::order::sort_by_number;

const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 300.0;
const LEFT: f64 = 52.0;
const RIGHT: f64 = 128.0;
const TOP: f64 = 26.0;
const BOTTOM: f64 = 40.0;
/// Least distance of two words one below the other.
const ROW: f64 = 13.0;
/// Lines differ in dash, not in colour alone; each colour is seen on a light page and on a dark one.
const STYLES: [(&str, &str, &str); 3] =
    [("surface", "#1f83bd", ""), ("plastic, mean", "#808080", "6 3"), ("core", "#d2552b", "2 2")];

/// Text that may stand in a document.
pub fn escaped(text: &str) -> String {
    quenchway_words::clean(text).replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// Round numbers over a range, some five of them.
fn ticks(low: f64, high: f64) -> Vec<f64> {
    let rough = (high - low) / 5.0;
    let power = 10_f64.powf(rough.log10().floor());
    let step =
        [1.0, 2.0, 5.0, 10.0].into_iter().map(|times| times * power).find(|step| *step >= rough).unwrap_or(rough);
    let first = (low / step).ceil() as i64;
    (first..).map(|count| count as f64 * step).take_while(|tick| *tick <= high + 1e-9 * step).collect()
}

/// Surface, mean and core from the die to the end of the line, water shaded, limits as marks at their stations.
pub fn picture(case: &Case, solution: &Solution) -> String {
    let fields = &solution.fields;
    let Some(&length) = fields.distance.last().filter(|length| **length > 0.0) else { return String::new() };
    let series = [&fields.surface, &fields.mean, &fields.core];
    let limits = || {
        solution.stations.iter().flat_map(|station| station.limits.iter().map(move |limit| (station.distance, limit)))
    };
    let all = series.iter().flat_map(|values| values.iter().copied()).chain(limits().map(|(_, limit)| limit.limit));
    let (low, high) =
        all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
    let (low, high) = (low - 0.04 * (high - low).max(1.0), high + 0.04 * (high - low).max(1.0));
    let x = |metres: f64| LEFT + metres / length * (WIDTH - LEFT - RIGHT);
    let y = |celsius: f64| HEIGHT - BOTTOM - (celsius - low) / (high - low) * (HEIGHT - TOP - BOTTOM);
    let (right, floor) = (WIDTH - RIGHT, HEIGHT - BOTTOM);

    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" width=\"{WIDTH}\" height=\"{HEIGHT}\" \
         role=\"img\" font-family=\"sans-serif\" font-size=\"11\" fill=\"currentColor\"><title>Temperatures along the line: {}</title>",
        escaped(&case.title)
    );
    for (section, own) in solution.sections.iter().zip(&case.sections).filter(|(_, own)| own.medium.is_water()) {
        let (start, width) = (x(section.start), x(section.end) - x(section.start));
        let _ = write!(
            svg,
            "<rect x=\"{start:.1}\" y=\"{TOP}\" width=\"{width:.1}\" height=\"{:.1}\" fill=\"#1f83bd\" fill-opacity=\"0.14\"/>",
            floor - TOP
        );
        // A word that is wider than its section would stand over the next.
        let name = escaped(&own.name);
        if 6.5 * own.name.chars().count() as f64 <= width {
            let _ = write!(
                svg,
                "<text x=\"{:.1}\" y=\"{}\" text-anchor=\"middle\">{name}</text>",
                start + width / 2.0,
                TOP - 8.0
            );
        }
    }
    for tick in ticks(0.0, length) {
        let at = x(tick);
        let _ = write!(
            svg,
            "<path d=\"M{at:.1} {floor}v4\" stroke=\"currentColor\"/><text x=\"{at:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{tick}</text>",
            floor + 16.0
        );
    }
    for tick in ticks(low, high) {
        let at = y(tick);
        let _ = write!(
            svg,
            "<path d=\"M{LEFT} {at:.1}H{right}\" stroke=\"currentColor\" stroke-opacity=\"0.15\"/><text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{tick}</text>",
            LEFT - 6.0,
            at + 4.0
        );
    }
    let _ = write!(
        svg,
        "<path d=\"M{LEFT} {TOP}V{floor}H{right}\" fill=\"none\" stroke=\"currentColor\"/>\
         <text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">distance from the die, m</text>\
         <text transform=\"translate(14 {:.1}) rotate(-90)\" text-anchor=\"middle\">temperature, degC</text>",
        (LEFT + right) / 2.0,
        HEIGHT - 8.0,
        (TOP + floor) / 2.0
    );
    for (values, (_, colour, dash)) in series.iter().zip(STYLES) {
        let points = fields
            .distance
            .iter()
            .zip(values.iter())
            .map(|(&metres, &celsius)| format!("{:.1},{:.1}", x(metres), y(celsius)));
        let points = points.collect::<Vec<_>>().join(" ");
        let _ = write!(
            svg,
            "<polyline points=\"{points}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"1.6\" stroke-dasharray=\"{dash}\"/>"
        );
    }
    for (distance, limit) in limits() {
        let (at, height) = (x(distance), y(limit.limit));
        let colour = if limit.met { "#1e9a63" } else { "#d9434a" };
        let _ = write!(
            svg,
            "<path d=\"M{:.1} {height:.1}h12\" stroke=\"{colour}\" stroke-width=\"3\"><title>{}</title></path>",
            at - 6.0,
            escaped(&limit.name)
        );
    }
    // Names at the ends of their lines, pushed apart where they would touch.
    let mut names: Vec<(f64, &str, &str)> = series
        .iter()
        .zip(STYLES)
        .filter_map(|(values, (name, colour, _))| Some((y(*values.last()?), name, colour)))
        .collect();
    sort_by_number(&mut names, |(height, ..)| -height);
    let mut above = floor + ROW;
    for (at, name, colour) in names {
        let at = at.min(above - ROW);
        above = at;
        let _ = write!(
            svg,
            "<text x=\"{:.1}\" y=\"{:.1}\" fill=\"{colour}\" style=\"fill:color-mix(in srgb,currentColor 50%,{colour})\">{name}</text>",
            right + 10.0,
            at + 4.0
        );
    }
    if limits().next().is_some() {
        let at = right + 10.0;
        let _ = write!(
            svg,
            "<path d=\"M{at:.1} {TOP}h12\" stroke=\"currentColor\" stroke-width=\"3\"/><text x=\"{:.1}\" y=\"{:.1}\">limit</text>",
            at + 17.0,
            TOP + 4.0
        );
    }
    svg + "</svg>"
}
