//! The pictures of `stop`, `ramp` and `reel`: scrap by cause and what stations see, over the duration of a stop or the time of a
//! ramp; a change of reel over clock time.

mod reel;

pub use reel::reel;

use plotters::style::RGBColor;
use quenchway::study::drive::answer::Cause;
use quenchway::study::moves::intervals::{Edge, Scanned};
use quenchway::study::moves::ramp::{Course, Ramping};
use quenchway::study::moves::stop::Stops;
use quenchway::study::moves::{Outcome, Reach};
use quenchway::units::Dimension;

use super::callouts::Callouts;
use super::frame::{Axis, Frame, number};
use super::page::{Entry, PLOT_BOTTOM, PLOT_LEFT, amount, draw_entries, draw_heading, entries_width, symbol};
use super::sheet::{Align, Dash, Lettering, Pen, Place, Sheet};
use super::theme::{BLUE, CURVE, GREEN, INK, MARGIN, ORANGE, PURPLE, QUIET, SKY, SMALL, TEXT, THIN, VERMILLION, WIDTH};
use super::{PlotError, text};
use quenchway_words::Shown;
use quenchway_words::blocks::Block;
use quenchway_words::moves as words;

/// Between two panels: the title of the lower one and the numbers of the upper, px.
const BETWEEN: f64 = 84.0;
/// What is within limits.
const WITHIN: RGBColor = GREEN;
/// How much of what lies under it that lets through.
const VEIL: f64 = 0.16;
/// Colours of limits and causes, in turn; none of them is that of what is within limits.
const COLORS: [RGBColor; 6] = [VERMILLION, BLUE, PURPLE, ORANGE, SKY, QUIET];
/// Most limits that are drawn.
const MOST: usize = 5;
/// Points of an upright line that a name may stand beside.
const POINTS: usize = 30;
const DASHES: [Dash; 3] = [Dash::Dashed, Dash::Dotted, Dash::Solid];

/// A curve: its name, pen and values.
struct Curve {
    name: String,
    pen: Pen,
    values: Vec<[f64; 2]>,
    mark: usize,
}

/// What a colour means, in both panels: limits by their index, and causes of scrap.
struct Palette {
    limits: Vec<(usize, RGBColor)>,
    causes: Vec<(Cause, RGBColor)>,
}

impl Palette {
    /// The core and the surface as in every picture, then whatever is free. Scrap by temperature has the colour of the limit that
    /// makes most of it.
    fn of(scans: &[Drawn]) -> Palette {
        let outcomes = || scans.iter().flat_map(|scan| scan.scanned.points.iter().map(|point| &point.outcome));
        let reaches = outcomes().next().map(|outcome| outcome.reaches.as_slice()).unwrap_or_default();
        let drawn = reaches.iter().enumerate().filter(|(_, reach)| !reach.limit.is_diameter()).take(MOST);
        let mut limits: Vec<(usize, RGBColor)> = Vec::new();
        for (index, reach) in drawn {
            let wanted = match reach.limit.words.as_str() {
                "core" => Some(VERMILLION),
                "surface" => Some(BLUE),
                _ => None,
            };
            let taken: Vec<RGBColor> = limits.iter().map(|(_, color)| *color).collect();
            let color = wanted.filter(|color| !taken.contains(color)).unwrap_or_else(|| free(&taken));
            limits.push((index, color));
        }
        let scrap = |index: usize| outcomes().map(|outcome| outcome.reaches[index].out_m).fold(0.0, f64::max);
        let most = limits.iter().max_by(|a, b| scrap(a.0).total_cmp(&scrap(b.0))).map(|(_, color)| *color);
        let mut taken: Vec<RGBColor> = limits.iter().map(|(_, color)| *color).collect();
        let mut causes = Vec::new();
        let some = |cause: &Cause| outcomes().any(|outcome| outcome.by_cause.iter().any(|(one, _)| one == cause));
        for cause in Cause::ALL.into_iter().filter(some) {
            let color = most.filter(|_| cause == Cause::Temperature).unwrap_or_else(|| free(&taken));
            taken.push(color);
            causes.push((cause, color));
        }
        Palette { limits, causes }
    }
}

/// The first colour that is free; where all are taken they begin anew.
fn free(taken: &[RGBColor]) -> RGBColor {
    COLORS.into_iter().find(|color| !taken.contains(color)).unwrap_or(COLORS[taken.len() % COLORS.len()])
}

/// How times are spread along the axis: by their logarithm, from so many s on.
#[derive(Clone, Copy)]
struct Spread {
    /// Added to every time, s: 0 has a place, too.
    from: f64,
    low: f64,
    high: f64,
}

impl Spread {
    fn of(self, time: f64) -> f64 {
        (time + self.from).ln()
    }

    /// Round times, each with its number.
    fn ticks(self) -> Vec<(f64, String)> {
        let mut ticks = Vec::new();
        if self.low == 0.0 {
            ticks.push((self.of(0.0), "0".to_string()));
        }
        for decade in -1..6 {
            for step in [1.0, 2.0, 5.0] {
                let time = step * 10f64.powi(decade);
                if time >= self.low.max(0.5 * self.from) && time <= 1.0001 * self.high {
                    ticks.push((self.of(time), number(time, usize::from(time < 1.0))));
                }
            }
        }
        ticks
    }
}

/// The picture of stops.
pub fn stop(sheet: &Sheet, title: &str, found: &Stops, shown: Shown) -> Result<(), PlotError> {
    let what = if found.to > 0.0 {
        format!("time for which the line runs at {}", amount(shown, found.to, Dimension::Speed))
    } else {
        "time for which the line stands".to_string()
    };
    let spread = Spread { from: 1.0, low: 0.0, high: found.longest };
    let scans = [Drawn { scanned: &found.durations, name: "", dash: Dash::Solid }];
    let scans = if found.durations.points.is_empty() { &scans[..0] } else { &scans };
    draw(sheet, title, &said(words::stop::verdict(found, shown)), &format!("{what}, s"), scans, spread, shown)
}

/// The picture of ramps.
pub fn ramp(sheet: &Sheet, title: &str, found: &Ramping, shown: Shown) -> Result<(), PlotError> {
    let low = found.courses.iter().map(|of| of.looked_at[0]).fold(f64::INFINITY, f64::min);
    let high = found.courses.iter().map(|of| of.looked_at[1]).fold(0.0, f64::max);
    let spread = Spread { from: 0.0, low: low.min(high), high };
    let scans: Vec<Drawn> = found
        .courses
        .iter()
        .map(|of| match of.course {
            Course::Even => Drawn { scanned: &of.times, name: "even", dash: Dash::Solid },
            Course::Percent => Drawn { scanned: &of.times, name: "percent", dash: Dash::Dashed },
        })
        .collect();
    draw(sheet, title, &said(words::ramp::verdict(found, shown)), "time of the ramp, s", &scans, spread, shown)
}

/// The first line of a verdict.
fn said(blocks: Vec<Block>) -> String {
    match blocks.into_iter().next() {
        Some(Block::Paragraph(paragraph)) => paragraph.text,
        _ => String::new(),
    }
}

/// A scan that is drawn.
struct Drawn<'a> {
    scanned: &'a Scanned,
    name: &'static str,
    dash: Dash,
}

fn draw(
    sheet: &Sheet,
    title: &str,
    said: &str,
    below: &str,
    scans: &[Drawn],
    spread: Spread,
    shown: Shown,
) -> Result<(), PlotError> {
    let top = draw_heading(sheet, title, said)? + 52.0;
    if scans.is_empty() {
        // The heading says why: there is nothing to draw.
        return Ok(());
    }
    let palette = Palette::of(scans);
    let scrap: Vec<Curve> = scans.iter().flat_map(|scan| of_scrap(scan, &palette, spread, shown)).collect();
    let reach: Vec<Curve> = scans.iter().flat_map(|scan| of_reaches(scan, &palette, spread, shown)).collect();
    let names: Vec<(String, String)> =
        scrap.iter().chain(&reach).map(|curve| (curve.name.clone(), String::new())).collect();
    let right = f64::from(WIDTH) - entries_width(&names, true)?;
    let x = Axis::new(spread.of(spread.low), spread.of(spread.high));
    let shares: &[f64] = if reach.is_empty() { &[1.0] } else { &[0.56, 0.44] };
    let height = PLOT_BOTTOM - top - BETWEEN * (shares.len() - 1) as f64;
    let over = |curves: &[Curve], more: f64, room: [f64; 2]| {
        let values = curves.iter().flat_map(|curve| &curve.values).map(|value| value[1]);
        Axis::over(values.chain([more]), room)
    };
    let y = over(&scrap, 0.0, [0.0, 0.12]);
    // No scrap at all: an axis of some metres, not of rounding.
    let y = if y.value(1.0) < 1e-6 { Axis::new(0.0, 1.0) } else { y };
    let frame = Frame { left: PLOT_LEFT, top, right, bottom: top + shares[0] * height, x, y };
    let halves = match scans {
        [above, below] => format!(" ({} above, {} below)", above.name, below.name),
        _ => String::new(),
    };
    let words = format!("Scrap, {}; shaded: within limits{halves}", symbol(shown, Dimension::Length));
    panel(sheet, &frame, scans, &scrap, (&words, true), spread, shown)?;
    let mut last = frame;
    if !reach.is_empty() {
        let y = over(&reach, 0.0, [0.1, 0.12]);
        let top = frame.bottom + BETWEEN;
        last = Frame { top, bottom: top + shares[1] * height, y, ..frame };
        let unit = symbol(shown, Dimension::TemperatureDifference);
        let words = format!("Farthest beyond each limit (below 0: within it), {unit}");
        panel(sheet, &last, scans, &reach, (&words, false), spread, shown)?;
        let zero = last.down(0.0);
        sheet.line(&[[last.left, zero], [last.right, zero]], Pen { color: INK, width: THIN, dash: Dash::Dotted })?;
    }
    let place = [(last.left + last.right) / 2.0, last.bottom + 66.0];
    sheet.text(below, place, Align::Middle, Lettering::regular(TEXT, INK))
}

/// Scrap in all, and by every cause that there is.
fn of_scrap(scan: &Drawn, palette: &Palette, spread: Spread, shown: Shown) -> Vec<Curve> {
    let points = &scan.scanned.points;
    let curve = |value: &dyn Fn(&Outcome) -> f64| {
        let one = |point: &quenchway::study::moves::intervals::Point| {
            [spread.of(point.at), shown.value(value(&point.outcome), Dimension::Length)]
        };
        points.iter().map(one).collect::<Vec<[f64; 2]>>()
    };
    let of = |words: &str| if scan.name.is_empty() { words.to_string() } else { format!("{words}, {}", scan.name) };
    let pen = |color: RGBColor, width: f64| Pen { color, width, dash: scan.dash };
    let all = match &palette.causes[..] {
        [(cause, _)] => format!("all scrap: {}", cause.words()),
        _ => "all scrap".to_string(),
    };
    let mut curves = vec![Curve { name: of(&all), pen: pen(INK, CURVE), values: curve(&|one| one.scrap_m), mark: 0 }];
    if palette.causes.len() > 1 {
        for (order, (cause, color)) in palette.causes.iter().enumerate() {
            let length = |outcome: &Outcome| {
                outcome.by_cause.iter().find(|(one, _)| one == cause).map_or(0.0, |(_, length)| *length)
            };
            let values = curve(&length);
            curves.push(Curve { name: of(cause.words()), pen: pen(*color, CURVE - 1.5), values, mark: order + 1 });
        }
    }
    curves
}

/// How far beyond each temperature limit the product comes, on arrival and while it stands there.
fn of_reaches(scan: &Drawn, palette: &Palette, spread: Spread, shown: Shown) -> Vec<Curve> {
    let points = &scan.scanned.points;
    let Some(first) = points.first() else { return Vec::new() };
    let mut curves = Vec::new();
    for &(limit, color) in &palette.limits {
        let reach = &first.outcome.reaches[limit];
        let curve = |value: &dyn Fn(&Reach) -> Option<f64>| {
            points
                .iter()
                .filter_map(|point| {
                    let beyond = value(&point.outcome.reaches[limit])?;
                    Some([spread.of(point.at), shown.value(beyond, Dimension::TemperatureDifference)])
                })
                .collect::<Vec<[f64; 2]>>()
        };
        let name = format!("{} at {}", reach.limit.words, text::clean(&reach.station));
        let own = |words: &str| {
            if scan.name.is_empty() { format!("{name}{words}") } else { format!("{name}{words}, {}", scan.name) }
        };
        let pen = Pen { color, width: CURVE - 1.0, dash: scan.dash };
        let arrives = curve(&|reach| Some(reach.excess()));
        curves.push(Curve { name: own(""), pen, values: arrives, mark: limit + 1 });
        let stands = curve(&|reach| reach.standing.map(|standing| standing - reach.allowed));
        if !stands.is_empty() {
            let pen = Pen { dash: DASHES[usize::from(matches!(scan.dash, Dash::Dashed))], ..pen };
            curves.push(Curve { name: own(", standing"), pen, values: stands, mark: limit + 1 });
        }
    }
    curves
}

/// A panel with its curves; what is within limits is shaded, ends of intervals are marked.
fn panel(
    sheet: &Sheet,
    frame: &Frame,
    scans: &[Drawn],
    curves: &[Curve],
    (words, named): (&str, bool),
    spread: Spread,
    shown: Shown,
) -> Result<(), PlotError> {
    let across = |time: f64| frame.across(spread.of(time));
    let height = (frame.bottom - frame.top) / scans.len() as f64;
    for (row, scan) in scans.iter().enumerate() {
        let [top, bottom] = [0.0, 1.0].map(|share| frame.top + height * (row as f64 + share));
        let points = &scan.scanned.points;
        let (Some(first), Some(last)) = (points.first(), points.last()) else { continue };
        for interval in &scan.scanned.intervals {
            let end = |edge: &Option<Edge>, otherwise: f64| across(edge.as_ref().map_or(otherwise, |edge| edge.within));
            let [from, to] = [end(&interval.from, first.at), end(&interval.to, last.at)];
            sheet.veil(&[[from, top], [to, top], [to, bottom], [from, bottom]], WITHIN, VEIL)?;
        }
    }
    let ticks = spread.ticks();
    frame.draw_grid_at(sheet, &ticks)?;
    let (mut entries, mut places) = (Vec::new(), Vec::new());
    for curve in curves {
        let way: Vec<Place> = curve.values.iter().map(|&[x, y]| frame.place(x, y)).collect();
        sheet.line(&way, curve.pen)?;
        for place in &way {
            super::drive::mark(sheet, *place, curve.mark, curve.pen.color)?;
        }
        let end = way.last().map_or(f64::NAN, |place| place[1]);
        entries.push(Entry { end, name: curve.name.clone(), value: String::new(), pen: Some(curve.pen) });
        places.push(way);
    }
    let mut ends: Vec<(String, Vec<Place>)> = Vec::new();
    for scan in scans {
        for edge in scan.scanned.intervals.iter().flat_map(|interval| [&interval.from, &interval.to]).flatten() {
            let x = across(edge.within);
            let pen = Pen { color: WITHIN, width: THIN + 1.0, dash: scan.dash };
            sheet.line(&[[x, frame.top], [x, frame.bottom]], pen)?;
            let named = if scan.name.is_empty() { String::new() } else { format!("{}: ", scan.name) };
            let height = frame.bottom - frame.top;
            let line = (0..=POINTS).map(|point| [x, frame.top + height * point as f64 / POINTS as f64]).collect();
            ends.push((format!("{named}{}", words::edge(edge, Dimension::Time, shown)), line));
        }
    }
    // The lower panel lies under the names of the upper one.
    if named {
        let mut callouts = Callouts::new(*frame);
        places.iter().chain(ends.iter().map(|(_, line)| line)).for_each(|line| callouts.avoid_line(line));
        for (index, (name, line)) in ends.iter().enumerate() {
            let others = ends.iter().enumerate().filter(|(other, _)| *other != index).map(|(_, (_, line))| line);
            let others: Vec<&[Place]> = places.iter().chain(others).map(Vec::as_slice).collect();
            callouts.name_line(sheet, name, line, &others, Lettering::bold(SMALL, INK))?;
        }
    }
    frame.draw_bare_axes_at(sheet, &ticks)?;
    sheet.text(words, [frame.left, frame.top - 22.0], Align::Left, Lettering::bold(TEXT, INK))?;
    draw_entries(sheet, frame, f64::from(WIDTH) - MARGIN, entries)
}
