//! Pictures of the best trough: both lines along their way, and what the aim costs in the limit that it is traded with.

use ndarray::ArrayView1;
use plotters::style::RGBColor;
use quenchway::case::{Aim, Medium};
use quenchway::march::solution::Solution;
use quenchway::maths::order::sort_by_number;
use quenchway::units::Dimension;
use quenchway_words::Shown;
use quenchway_words::stages::{Told, aim, words};

use super::PlotError;
use super::callouts::Callouts;
use super::colormap::color;
use super::frame::{Axis, Frame};
use super::labels::spread;
use super::page::{Entry, PLOT_BOTTOM, PLOT_LEFT, amount, draw_entries, draw_heading, entries_width, symbol};
use super::sheet::{Align, Dash, Lettering, Pen, Place, Sheet};
use super::text::{self, Weight};
use super::theme::{AIR, BLUE, CURVE, INK, MARGIN, PAPER, QUIET, SMALL, SPRAY, TEXT, THIN, VERMILLION, WIDTH};

/// Height of the strip of one line, px, and of the blank between two.
const STRIP: f64 = 44.0;
const BETWEEN: f64 = 8.0;
/// Height of a row of temperatures of short sections, px.
const FLAGS: f64 = 30.0;
/// Colours of water: the share of the colour map at 0 and at 100 degC.
const COLD: f64 = 0.12;
const HOT: f64 = 0.86;
/// Water above this share is so pale that letters on it are dark.
const PALE: f64 = 0.62;
/// How much of the span is left free about a front.
const ROOM: f64 = 0.08;

/// One line along its way.
struct Line {
    name: &'static str,
    /// Ends in m, temperature of the medium in degC, and the medium.
    sections: Vec<([f64; 2], f64, Medium)>,
    distance: Vec<f64>,
    core: Vec<f64>,
    surface: Vec<f64>,
    /// Where skins set, m.
    skins: Vec<f64>,
}

impl Line {
    fn new(name: &'static str, solution: &Solution) -> Line {
        let values = |values: ArrayView1<f64>| values.to_vec();
        let fields = &solution.fields;
        Line {
            name,
            sections: solution.sections.iter().map(|s| ([s.start, s.end], s.medium_temperature, s.medium)).collect(),
            distance: values(fields.distance.view()),
            core: values(fields.core.view()),
            surface: values(fields.surface.view()),
            skins: solution.skins.iter().filter_map(|skin| skin.distance).collect(),
        }
    }
}

/// The picture of both lines, taken from the answer beforehand.
pub struct Lines {
    title: String,
    /// What it shows, in words.
    pub description: String,
    lines: Vec<Line>,
    shown: Shown,
}

impl Lines {
    /// The picture of an answer.
    pub fn new(told: &Told<'_>, shown: Shown) -> Lines {
        let staged = told.staged;
        let mut lines: Vec<Line> = staged.before.iter().map(|before| Line::new("today", &before.solution)).collect();
        lines.push(Line::new("best", &staged.after.solution));
        let best = aim(staged.aim, staged.after.told.aim, shown);
        let today = staged.before.as_ref().map(|before| aim(staged.aim, before.told.aim, shown));
        let today = today.map_or(String::new(), |today| format!(", {today} today"));
        let description = format!("The best trough within the bounds: {best}{today}. Dots: where the skin has set.");
        Lines { title: told.case.title.clone(), description, lines, shown }
    }

    /// Draws it.
    pub fn draw(&self, sheet: &Sheet) -> Result<(), PlotError> {
        let shown = self.shown;
        let top = draw_heading(sheet, &self.title, &self.description)? + 10.0;
        let plot_top = top + self.lines.len() as f64 * (STRIP + BETWEEN) + 2.0 * FLAGS + 10.0;
        let metres = |value: f64| shown.value(value, Dimension::Length);
        let celsius = |value: f64| shown.value(value, Dimension::Temperature);
        let x = Axis::over(self.lines.iter().flat_map(|line| &line.distance).map(|&v| metres(v)), [0.0, 0.0]);
        let values = self.lines.iter().flat_map(|line| line.core.iter().chain(&line.surface));
        let y = Axis::over(values.map(|&v| celsius(v)), [0.05, 0.05]);
        let names: Vec<(String, String)> = self
            .lines
            .iter()
            .flat_map(|line| {
                [("core", &line.core), ("surface", &line.surface)].map(|(what, values)| (line, what, values))
            })
            .map(|(line, what, values)| {
                let last = values.last().copied().unwrap_or(f64::NAN);
                (format!("{what}, {}", line.name), amount(shown, last, Dimension::Temperature))
            })
            .collect();
        let right = f64::from(WIDTH) - entries_width(&names, true)?;
        let frame = Frame { left: PLOT_LEFT, top: plot_top, right, bottom: PLOT_BOTTOM, x, y };
        for (row, line) in self.lines.iter().enumerate() {
            // Short sections have their temperatures over the first strip, or under the last.
            let above = row == 0;
            self.draw_strip(sheet, &frame, line, top + FLAGS + row as f64 * (STRIP + BETWEEN), above)?;
        }
        frame.draw_grid(sheet)?;
        let mut entries = Vec::new();
        let curves = self.lines.iter().flat_map(|line| {
            let dash = if line.name == "best" { Dash::Solid } else { Dash::Dashed };
            let pen =
                |color: RGBColor| Pen { color, width: if dash == Dash::Solid { CURVE } else { 0.7 * CURVE }, dash };
            [(line, &line.core, pen(VERMILLION)), (line, &line.surface, pen(BLUE))]
        });
        for ((line, values, pen), (name, value)) in curves.zip(names) {
            let place = |(&x, &value): (&f64, &f64)| frame.place(metres(x), celsius(value));
            let places: Vec<Place> = line.distance.iter().zip(values).map(place).collect();
            sheet.line(&places, pen)?;
            let end = places.last().map_or(f64::NAN, |place| place[1]);
            entries.push(Entry { end, name, value, pen: Some(pen) });
        }
        for line in &self.lines {
            for &skin in &line.skins {
                let near = |index: &usize| (line.distance[*index] - skin).abs();
                let point = (0..line.distance.len()).min_by(|a, b| near(a).total_cmp(&near(b)));
                let Some(value) = point.map(|index| line.surface[index]) else { continue };
                let place = frame.place(metres(skin), celsius(value));
                sheet.disc(place, 2.4 * CURVE, PAPER)?;
                sheet.disc(place, 1.8 * CURVE, if line.name == "best" { INK } else { QUIET })?;
            }
        }
        let x_name = format!("distance from the die, {}", symbol(shown, Dimension::Length));
        frame.draw_axes(sheet, &x_name, &format!("temperature, {}", symbol(shown, Dimension::Temperature)))?;
        draw_entries(sheet, &frame, f64::from(WIDTH) - MARGIN, entries)
    }

    /// The sections of a line, the water in the colour of its temperature.
    fn draw_strip(&self, sheet: &Sheet, frame: &Frame, line: &Line, top: f64, above: bool) -> Result<(), PlotError> {
        let middle = top + STRIP / 2.0;
        sheet.text(line.name, [frame.left - 16.0, middle], Align::Right, Lettering::bold(TEXT, INK))?;
        let mut short: Vec<(f64, String)> = Vec::new();
        for &([start, end], temperature, medium) in &line.sections {
            let ends = [start, end].map(|metres| frame.across(self.shown.value(metres, Dimension::Length)).round());
            let share = COLD + (HOT - COLD) * (temperature / 100.0).clamp(0.0, 1.0);
            let shade = match medium {
                Medium::Air => AIR[1],
                Medium::Spray => SPRAY[1],
                Medium::Water => color(share),
            };
            sheet.rectangle([ends[0], top], [ends[1], top + STRIP], shade)?;
            sheet.line(&[[ends[1], top], [ends[1], top + STRIP]], Pen::solid(PAPER, THIN))?;
            let words = amount(self.shown, temperature, Dimension::Temperature);
            let dark = medium != Medium::Water || share > PALE;
            if text::width(&words, SMALL, Weight::Regular)? + 16.0 < ends[1] - ends[0] {
                let how = Lettering::regular(SMALL, if dark { INK } else { PAPER });
                sheet.text(&words, [(ends[0] + ends[1]) / 2.0, middle], Align::Middle, how)?;
            } else {
                short.push(((ends[0] + ends[1]) / 2.0, words));
            }
        }
        let how = Lettering::regular(SMALL - 3.0, INK);
        let widths = short.iter().map(|(_, words)| how.width(words)).collect::<Result<Vec<f64>, _>>()?;
        let wishes: Vec<f64> = short.iter().map(|(x, _)| *x).collect();
        let centres = spread(&wishes, &widths, 14.0, MARGIN, f64::from(WIDTH) - MARGIN);
        // Of the strip, of the leader's end, of the words.
        let [edge, end, y] = match above {
            true => [top, top - 10.0, top - 20.0],
            false => [top + STRIP, top + STRIP + 10.0, top + STRIP + 20.0],
        };
        for ((x, words), centre) in short.iter().zip(centres) {
            sheet.line(&[[*x, edge], [centre, end]], Pen::solid(QUIET, 0.8 * THIN))?;
            sheet.text(words, [centre, y], Align::Middle, how)?;
        }
        Ok(())
    }
}

/// The picture of a front, taken from the answer beforehand.
pub struct FrontPicture {
    title: String,
    /// What it shows, in words.
    pub description: String,
    /// Limit and aim in the units in which they are shown.
    points: Vec<[f64; 2]>,
    today: Option<([f64; 2], String)>,
    answer: ([f64; 2], String),
    names: [String; 2],
}

impl FrontPicture {
    /// The picture of an answer; none where nothing is traded, or the front is a point.
    pub fn new(told: &Told<'_>, shown: Shown) -> Option<FrontPicture> {
        let staged = told.staged;
        let front = staged.front.as_ref().filter(|front| front.points.len() > 1)?;
        let traded = &staged.requirements[front.requirement];
        let of_aim = |value: f64| match staged.aim {
            Aim::Fastest => shown.value(value, Dimension::Speed),
            Aim::Shortest => shown.value(value, Dimension::Length),
            Aim::LeastVoid => value,
            Aim::Cheapest => 3600.0 * value,
        };
        let pair = |[limit, aim]: [f64; 2]| [shown.value(limit, traded.dimension()), of_aim(aim)];
        let what = words(told.case, traded).replace('"', "");
        let named = |value: f64, name: &str| format!("{name}, {}", aim(staged.aim, value, shown));
        let y = match staged.aim {
            Aim::Fastest => format!("fastest line, {}", symbol(shown, Dimension::Speed)),
            Aim::Shortest => format!("shortest trough, {}", symbol(shown, Dimension::Length)),
            Aim::LeastVoid => "least melt shrink under a skin, %".to_string(),
            Aim::Cheapest => "least cost, /h".to_string(),
        };
        Some(FrontPicture {
            title: told.case.title.clone(),
            description: format!(
                "What the aim costs: the best within the bounds against the most that the {what} may be."
            ),
            points: front.points.iter().map(|point| pair([point.limit, point.aim])).collect(),
            today: front.today.map(|today| (pair(today), named(today[1], "today"))),
            answer: (pair(front.answer), named(front.answer[1], "the answer")),
            names: [format!("{what}, {}", symbol(shown, traded.dimension())), y],
        })
    }

    /// Draws it.
    pub fn draw(&self, sheet: &Sheet) -> Result<(), PlotError> {
        let top = draw_heading(sheet, &self.title, &self.description)? + 26.0;
        let marked = || self.today.iter().chain([&self.answer]).map(|(place, _)| *place);
        let all = |axis: usize| self.points.iter().copied().chain(marked()).map(move |place| place[axis]);
        let right = f64::from(WIDTH) - MARGIN - 8.0;
        let (x, y) = (Axis::over(all(0), [ROOM, ROOM]), Axis::over(all(1), [ROOM, ROOM]));
        let frame = Frame { left: PLOT_LEFT, top, right, bottom: PLOT_BOTTOM, x, y };
        frame.draw_grid(sheet)?;
        let mut places: Vec<Place> = self.points.iter().map(|place| frame.place(place[0], place[1])).collect();
        sort_by_number(&mut places, |place| place[0]);
        sheet.line(&places, Pen::solid(BLUE, CURVE))?;
        let mut callouts = Callouts::new(frame);
        callouts.avoid_line(&places);
        for place in &places {
            sheet.disc(*place, 1.6 * CURVE, BLUE)?;
        }
        frame.draw_axes(sheet, &self.names[0], &self.names[1])?;
        for ((place, words), color) in self.today.iter().map(|today| (today, QUIET)).chain([(&self.answer, VERMILLION)])
        {
            let at = frame.place(place[0], place[1]);
            sheet.disc(at, 3.0 * CURVE, PAPER)?;
            sheet.disc(at, 2.4 * CURVE, color)?;
            callouts.avoid_box([at[0] - 14.0, at[1] - 14.0], [at[0] + 14.0, at[1] + 14.0]);
            callouts.note(sheet, words, at, 22.0, Lettering::bold(TEXT, INK))?;
        }
        Ok(())
    }
}
