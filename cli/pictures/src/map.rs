//! The map as a picture: filled between round levels, the lines of all limits, what is not allowed hatched, the case marked.

use plotters::style::RGBColor;
use quenchway::maths::order::sort_by_number;
use quenchway::study::map::{Axis as Along, Map};
use quenchway_words::Shown;
use quenchway_words::map as words;

use super::PlotError;
use super::callouts::Callouts;
use super::colormap::color;
use super::contour::{Field, levels};
use super::frame::{Axis, Frame, number};
use super::page::{PLOT_BOTTOM, PLOT_LEFT, draw_heading};
use super::sheet::{Align, Lettering, Pen, Place, Sheet};
use super::theme::{INK, MARGIN, PAPER, SMALL, TEXT, WIDTH};

/// Room for the colour bar and its numbers, px.
const BAR: f64 = 170.0;
/// Most bands of colour.
const BANDS: usize = 12;
/// Distance of the hatches, and the width of one, px along x.
const HATCH: [f64; 2] = [15.0, 5.0];
/// Share of the paper in the ground between hatches.
const PALE: f64 = 0.62;
/// A line shorter than this has no number, px.
const SHORT: f64 = 120.0;

/// Everything in the units of the picture.
struct Drawn<'a> {
    x: Vec<f64>,
    y: Vec<f64>,
    shown: Vec<f64>,
    excess: &'a [Vec<f64>],
    levels: Vec<f64>,
    decimals: usize,
}

/// Draws the picture.
pub fn draw(sheet: &Sheet, title: &str, found: &Map, shown: Shown) -> Result<(), PlotError> {
    let along = |axis: &Along| -> Vec<f64> {
        axis.values.iter().map(|&value| words::value(shown, value, axis.variable.dimension)).collect()
    };
    let (x, y) = (along(&found.x), along(&found.y));
    let values: Vec<f64> = found.shown.iter().map(|&value| words::value(shown, value, found.show.dimension)).collect();
    let finite = values.iter().copied().filter(|value| value.is_finite());
    let (low, high) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
    let (levels, decimals) = levels(low, high, BANDS);
    let drawn = Drawn { x, y, shown: values, excess: &found.excess, levels, decimals };

    let top = draw_heading(sheet, title, &description(found, shown))? + 34.0;
    let right = f64::from(WIDTH) - BAR - 2.0 * MARGIN;
    let (x, y) = (Axis::over(drawn.x.iter().copied(), [0.0; 2]), Axis::over(drawn.y.iter().copied(), [0.0; 2]));
    let frame = Frame { left: PLOT_LEFT, top, right, bottom: PLOT_BOTTOM, x, y };
    drawn.fill(sheet, &frame)?;
    let field = drawn.field(&drawn.shown);
    let inner = &drawn.levels[1..drawn.levels.len() - 1];
    let contours: Vec<(f64, Vec<Vec<Place>>)> =
        inner.iter().map(|&level| (level, on_sheet(&frame, field.lines(level)))).collect();
    for line in contours.iter().flat_map(|(_, lines)| lines) {
        sheet.line(line, Pen::solid(INK, 1.2))?;
    }
    let mut callouts = Callouts::new(frame);
    let limits = drawn.limits(sheet, &frame, &mut callouts)?;
    let base = base(sheet, &frame, found, shown, &mut callouts)?;
    frame.draw_axes(sheet, &axis_name(&found.x, shown), &axis_name(&found.y, shown))?;

    if let Some((words, place)) = base {
        let how = Lettering::bold(TEXT, INK);
        if !callouts.note(sheet, &words, place, 20.0, how)? {
            let lines: Vec<&[Place]> = limits.iter().flatten().map(Vec::as_slice).collect();
            callouts.name_line(sheet, &words, &[place], &lines, how)?;
        }
    }
    for (ceiling, lines) in found.ceilings.iter().zip(&limits) {
        let words = words::ceiling(found, ceiling, shown).replace("deg", "°");
        let longest = lines.iter().max_by(|a, b| length(a).total_cmp(&length(b)));
        let Some(line) = longest else { continue };
        let others: Vec<&[Place]> =
            limits.iter().flatten().filter(|other| !lines.contains(other)).map(Vec::as_slice).collect();
        // A plot so full that names of this size have no room has room for smaller ones.
        for size in [TEXT, SMALL, 0.8 * SMALL] {
            if callouts.name_line(sheet, &words, &thinned(line, 40), &others, Lettering::bold(size, INK))? {
                break;
            }
        }
    }
    if !found.ceilings.is_empty() {
        region(sheet, &drawn, &frame, &mut callouts)?;
    }
    for (level, lines) in &contours {
        lines.iter().try_for_each(|line| level_number(sheet, &number(*level, drawn.decimals), line, &mut callouts))?;
    }
    drawn.bar(sheet, &frame, symbol(words::unit(shown, found.show.dimension, "%")))
}

fn symbol(unit: &str) -> String {
    unit.replace("deg", "°")
}

fn axis_name(axis: &Along, shown: Shown) -> String {
    let unit = symbol(words::unit(shown, axis.variable.dimension, ""));
    format!("{}, {unit}", words::words(axis)).trim_end_matches([',', ' ']).to_string()
}

/// What is shown, and which limits have no line.
fn description(found: &Map, shown: Shown) -> String {
    let mut first = found.show.describes.chars();
    let what: String = first.next().into_iter().flat_map(char::to_uppercase).chain(first).collect();
    let what = symbol(&what);
    let mut words = format!("{what}, over {} and {}", words::words(&found.x), words::words(&found.y));
    if found.ceilings.is_empty() {
        return words + "; the case has no limits";
    }
    words += "; hatched: limit not met";
    for (ceiling, excess) in found.ceilings.iter().zip(&found.excess) {
        let met = excess.iter().filter(|excess| **excess <= 0.0).count();
        let solved = excess.iter().filter(|excess| excess.is_finite()).count();
        let name = words::ceiling(found, ceiling, shown).replace("deg", "°");
        if met == solved {
            words += &format!("; {name}: met everywhere");
        } else if met == 0 {
            words += &format!("; {name}: met nowhere");
        }
    }
    if found.failures.total() > 0 {
        words += &format!("; empty: {} points without an answer", found.failures.total());
    }
    words
}

impl Drawn<'_> {
    fn field<'b>(&'b self, values: &'b [f64]) -> Field<'b> {
        Field { x: &self.x, y: &self.y, values }
    }

    /// The colour of the band that a value lies in.
    fn band(&self, value: f64) -> RGBColor {
        let bands = self.levels.len() - 1;
        let band = self.levels.partition_point(|level| *level <= value).clamp(1, bands) - 1;
        color((band as f64 + 0.5) / bands as f64)
    }

    /// Bands of colour; pale and hatched where a limit is not met.
    fn fill(&self, sheet: &Sheet, frame: &Frame) -> Result<(), PlotError> {
        let field = self.field(&self.shown);
        sheet.raster([frame.left, frame.top], [frame.right, frame.bottom], |px, py| {
            let x = frame.x.value((px - frame.left) / (frame.right - frame.left));
            let y = frame.y.value((frame.bottom - py) / (frame.bottom - frame.top));
            let spot = field.spot(x, y)?;
            let value = field.at(spot);
            if !value.is_finite() {
                return None;
            }
            let full = self.band(value);
            let forbidden = self.excess.iter().any(|excess| self.field(excess).at(spot) > 0.0);
            let between = (px - py).rem_euclid(HATCH[0]) > HATCH[1];
            Some(if forbidden && between { pale(full) } else { full })
        })
    }

    /// Draws the line of every limit; returns them.
    fn limits(&self, sheet: &Sheet, frame: &Frame, callouts: &mut Callouts) -> Result<Vec<Vec<Vec<Place>>>, PlotError> {
        let limits: Vec<Vec<Vec<Place>>> =
            self.excess.iter().map(|excess| on_sheet(frame, self.field(excess).lines(0.0))).collect();
        for pen in [Pen::solid(PAPER, 10.0), Pen::solid(INK, 5.5)] {
            for line in limits.iter().flatten() {
                sheet.line(line, pen)?;
            }
        }
        limits.iter().flatten().for_each(|line| callouts.avoid_line(line));
        Ok(limits)
    }

    /// The bands, their levels, the unit.
    fn bar(&self, sheet: &Sheet, frame: &Frame, unit: String) -> Result<(), PlotError> {
        let left = frame.right + 2.0 * MARGIN;
        let (width, bands) = (38.0, self.levels.len() - 1);
        let height = (frame.bottom - frame.top) / bands as f64;
        let numbers = Lettering::regular(SMALL, INK);
        for (band, pair) in self.levels.windows(2).enumerate() {
            let lower = frame.bottom - band as f64 * height;
            sheet.rectangle([left, lower - height], [left + width, lower], self.band((pair[0] + pair[1]) / 2.0))?;
        }
        for (index, &level) in self.levels.iter().enumerate() {
            let y = frame.bottom - index as f64 * height;
            sheet.line(&[[left, y], [left + width + 8.0, y]], Pen::solid(INK, 1.2))?;
            sheet.text(&number(level, self.decimals), [left + width + 14.0, y], Align::Left, numbers)?;
        }
        sheet.text(&unit, [left + width / 2.0, frame.top - 26.0], Align::Middle, Lettering::regular(TEXT, INK))
    }
}

fn pale(color: RGBColor) -> RGBColor {
    let mix = |channel: u8, paper: u8| (f64::from(channel) + PALE * (f64::from(paper) - f64::from(channel))) as u8;
    RGBColor(mix(color.0, PAPER.0), mix(color.1, PAPER.1), mix(color.2, PAPER.2))
}

fn on_sheet(frame: &Frame, lines: Vec<Vec<[f64; 2]>>) -> Vec<Vec<Place>> {
    lines.into_iter().map(|line| line.into_iter().map(|[x, y]| frame.place(x, y)).collect()).collect()
}

fn length(line: &[Place]) -> f64 {
    line.windows(2).map(|pair| (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1])).sum()
}

/// At most so many places of a line, its ends left out.
fn thinned(line: &[Place], most: usize) -> Vec<Place> {
    let every = line.len().div_ceil(most).max(1);
    let kept: Vec<Place> = line.iter().skip(every / 2).step_by(every).copied().collect();
    if kept.len() > 4 { kept[1..kept.len() - 1].to_vec() } else { kept }
}

/// Marks the case where it is on the map; returns its words and place.
fn base(
    sheet: &Sheet,
    frame: &Frame,
    found: &Map,
    shown: Shown,
    callouts: &mut Callouts,
) -> Result<Option<(String, Place)>, PlotError> {
    if !found.holds_base() {
        return Ok(None);
    }
    let at = |axis: &Along, value: f64| words::value(shown, value, axis.variable.dimension);
    let place = frame.place(at(&found.x, found.base.place[0]), at(&found.y, found.base.place[1]));
    for (radius, color) in [(15.0, PAPER), (12.0, INK), (7.0, PAPER)] {
        sheet.disc(place, radius, color)?;
    }
    callouts.avoid_box([place[0] - 16.0, place[1] - 16.0], [place[0] + 16.0, place[1] + 16.0]);
    let dimension = found.show.dimension;
    let unit = symbol(words::unit(shown, dimension, "%"));
    let value = dimension
        .map_or(format!("{:.2}", found.base.shown), |dimension| shown.number(found.base.shown, dimension))
        .replace('-', "−");
    Ok(Some((format!("the case: {value} {unit}"), place)))
}

/// "limits met" where there is most room for it in what is allowed.
fn region(sheet: &Sheet, drawn: &Drawn, frame: &Frame, callouts: &mut Callouts) -> Result<(), PlotError> {
    let words = if drawn.excess.len() == 1 { "limit met" } else { "all limits met" };
    let how = Lettering::bold(TEXT, INK);
    let half = [how.width(words)? / 2.0 + 6.0, how.size * 0.7];
    let field = drawn.field(&drawn.shown);
    let allowed = |[px, py]: Place| {
        let x = frame.x.value((px - frame.left) / (frame.right - frame.left));
        let y = frame.y.value((frame.bottom - py) / (frame.bottom - frame.top));
        let spot = field.spot(x, y);
        spot.is_some_and(|spot| drawn.excess.iter().all(|excess| drawn.field(excess).at(spot) <= 0.0))
    };
    for room in [4.0_f64, 2.5, 1.6, 1.0] {
        for row in 1..24 {
            for column in 1..32 {
                let centre = [
                    frame.left + f64::from(column) / 32.0 * (frame.right - frame.left),
                    frame.top + f64::from(row) / 24.0 * (frame.bottom - frame.top),
                ];
                let corner = |[right, down]: [f64; 2]| {
                    [centre[0] + right * half[0] * room.min(1.8), centre[1] + down * half[1] * room]
                };
                let corners = [[-1.0, -1.0], [1.0, -1.0], [-1.0, 1.0], [1.0, 1.0], [0.0, 0.0]].map(corner);
                if corners.into_iter().all(allowed) && callouts.has_room(centre, half) {
                    sheet.halo(words, centre, Align::Middle, how, PAPER)?;
                    callouts.avoid_box(
                        [centre[0] - half[0], centre[1] - half[1]],
                        [centre[0] + half[0], centre[1] + half[1]],
                    );
                    return Ok(());
                }
            }
        }
    }
    Ok(())
}

/// The level's number on its line, nearest to the middle where there is room.
fn level_number(sheet: &Sheet, words: &str, line: &[Place], callouts: &mut Callouts) -> Result<(), PlotError> {
    if length(line) < SHORT {
        return Ok(());
    }
    let how = Lettering::regular(SMALL, INK);
    let half = [how.width(words)? / 2.0 + 4.0, how.size * 0.6];
    let mut places = thinned(line, 60);
    let middle = places.len() / 2;
    let mut ranked: Vec<(usize, Place)> =
        places.drain(..).enumerate().map(|(index, place)| (index.abs_diff(middle), place)).collect();
    sort_by_number(&mut ranked, |(far, _)| *far as f64);
    let Some((_, place)) = ranked.into_iter().find(|(_, place)| callouts.has_room(*place, half)) else {
        return Ok(());
    };
    sheet.halo(words, place, Align::Middle, how, PAPER)?;
    callouts.avoid_box([place[0] - half[0], place[1] - half[1]], [place[0] + half[0], place[1] + half[1]]);
    Ok(())
}
