//! The picture of a spread: how many samples stay below each temperature, with the limits, and the chance of meeting all limits
//! against the length of the trough.

use plotters::style::RGBColor;
use quenchway::case::CaseFile;
use quenchway::study::spread::{LimitChance, Plan, Spread, percentile};
use quenchway::units::Dimension;
use quenchway_words::Shown;
use quenchway_words::spread::percent;

use super::PlotError;
use super::frame::{Axis, Frame};
use super::page::{PLOT_BOTTOM, draw_heading, symbol};
use super::sheet::{Align, Dash, Lettering, Pen, Sheet};
use super::text::{self, Weight};
use super::theme::{
    BLACK, BLUE, CURVE, GREEN, INK, MARGIN, ORANGE, PAPER, PURPLE, QUIET, SKY, SMALL, TEXT, THIN, VERMILLION, WIDTH,
};

/// Colours of the temperatures, in turn.
const COLORS: [RGBColor; 7] = [VERMILLION, BLUE, GREEN, PURPLE, ORANGE, BLACK, SKY];
/// Points of a curve.
const POINTS: usize = 400;
/// Left edge of the left panel, px.
const LEFT: f64 = 128.0;
/// Between the panels, px.
const BETWEEN: f64 = 138.0;
/// Height of a line of the legend, px.
const LINE: f64 = 40.0;
/// The chance that is marked.
const MARKED: f64 = 0.95;

/// What is drawn, taken from the spread beforehand.
pub struct Picture {
    title: String,
    /// What the picture shows, in words.
    pub description: String,
    curves: Vec<Curve>,
    /// Needed troughs in the shown unit, rising, infinite ones too; none where no length was sought.
    lengths: Option<Vec<f64>>,
    /// The trough that the case has.
    given: f64,
    /// The length that meets all limits with the marked chance, in words.
    needed: String,
    shown: Shown,
}

/// One temperature.
struct Curve {
    name: String,
    color: RGBColor,
    /// Values in the shown unit, rising.
    sorted: Vec<f64>,
    limit: Option<f64>,
    note: String,
}

impl Picture {
    /// The picture of a spread.
    pub fn new(case: &CaseFile, spread: &Spread, plan: &Plan, shown: Shown) -> Picture {
        let celsius = |value: f64| shown.value(value, Dimension::Temperature);
        let sorted = |output: usize| {
            let outputs = spread.samples.iter().filter_map(|sample| sample.outputs.as_ref().ok());
            let mut values: Vec<f64> = outputs.map(|outputs| celsius(outputs[output])).collect();
            values.sort_by(f64::total_cmp);
            values
        };
        let mut curves: Vec<Curve> = Vec::new();
        let temperature = |limit: &&LimitChance| limit.ceiling.dimension() == Dimension::Temperature;
        for limit in spread.limits.iter().filter(temperature) {
            let note = format!(
                "at most {}: {}",
                shown.limit(limit.ceiling.max).replace("deg", "°"),
                percent(limit.chance.probability)
            );
            let color = COLORS[curves.len() % COLORS.len()];
            let limit_shown = Some(celsius(limit.ceiling.max));
            curves.push(Curve {
                name: limit.ceiling.name.clone(),
                color,
                sorted: sorted(limit.output),
                limit: limit_shown,
                note,
            });
        }
        if curves.is_empty() {
            let last =
                case.stations.last().map_or(String::new(), |station| quenchway::units::words::key(&station.name));
            for quantity in ["surface", "core"] {
                let name = format!("{last}.{quantity}");
                if let Some(output) = spread.outputs.iter().position(|output| output.name == name) {
                    let color = COLORS[curves.len() % COLORS.len()];
                    curves.push(Curve { name, color, sorted: sorted(output), limit: None, note: String::new() });
                }
            }
        }
        let (mut lengths, mut given, mut needed) = (None, f64::NAN, String::new());
        if let Ok(found) = &spread.lengths {
            let metres = |value: f64| shown.value(value, Dimension::Length);
            let all = spread.samples.iter().map(|sample| metres(sample.length)).filter(|length| !length.is_nan());
            let mut all: Vec<f64> = all.collect();
            all.sort_by(f64::total_cmp);
            // A curve needs a finite stretch.
            lengths = Some(all).filter(|all| all.iter().filter(|length| length.is_finite()).count() > 1);
            given = metres(found.given);
            let marked = found.at.iter().find(|at| at.chance == MARKED);
            needed = marked.map_or(String::new(), |at| shown.up(at.length, Dimension::Length).to_string());
        }
        let inputs = spread.inputs.len();
        let mut description = format!(
            "{} samples of {inputs} uncertain {} ({})",
            plan.samples,
            if inputs == 1 { "input" } else { "inputs" },
            if spread.usual { "usual bands" } else { "as the case says" },
        );
        if let Some(all) = &spread.all {
            description += &format!("; all limits are met with a probability of {}", percent(all.probability));
        }
        Picture { title: case.title.clone(), description, curves, lengths, given, needed, shown }
    }

    /// Draws it.
    pub fn draw(&self, sheet: &Sheet) -> Result<(), PlotError> {
        let top = draw_heading(sheet, &self.title, &self.description)?;
        let right = f64::from(WIDTH) - MARGIN - 8.0;
        let middle = LEFT + (right - LEFT - BETWEEN) / 2.0;
        let end = if self.lengths.is_some() { middle } else { right };
        // The panels begin below the longest legend.
        let rows = self.curves.len().min(7).max(if self.lengths.is_some() { 2 } else { 0 });
        let below = top + 64.0 + rows as f64 * LINE;
        self.temperatures(sheet, [LEFT, end], [top, below])?;
        match &self.lengths {
            Some(lengths) => self.trough(sheet, lengths, [middle + BETWEEN, right], [top, below]),
            None => Ok(()),
        }
    }

    /// Shares of the samples below each temperature.
    fn temperatures(&self, sheet: &Sheet, [left, right]: [f64; 2], [head, top]: [f64; 2]) -> Result<(), PlotError> {
        // A far tail of few samples must not squeeze everything else.
        let inner = |curve: &Curve| [0.002, 0.998].map(|share| percentile(&curve.sorted, share));
        let ends = self.curves.iter().flat_map(|curve| inner(curve).into_iter().chain(curve.limit));
        let frame = Frame { left, right, top, bottom: PLOT_BOTTOM, x: Axis::over(ends, [0.04, 0.04]), y: percents() };
        frame.draw_grid(sheet)?;
        for (place, curve) in self.curves.iter().enumerate() {
            let places: Vec<[f64; 2]> = steps()
                .map(|share| (percentile(&curve.sorted, share), share))
                .filter(|&(value, _)| (0.0..=1.0).contains(&frame.x.share(value)))
                .map(|(value, share)| frame.place(value, 100.0 * share))
                .collect();
            if let Some(limit) = curve.limit {
                let x = frame.across(limit);
                let pen = Pen { color: curve.color, width: THIN, dash: Dash::Dashed };
                sheet.line(&[[x, frame.top], [x, frame.bottom]], pen)?;
            }
            sheet.line(&places, Pen::solid(curve.color, CURVE))?;
            if let Some(limit) = curve.limit {
                let at = frame.place(limit, 100.0 * share_below(&curve.sorted, limit));
                sheet.disc(at, 9.0, curve.color)?;
                sheet.disc(at, 5.5, PAPER)?;
            }
            let y = head + 64.0 + place as f64 * LINE;
            let words =
                if curve.note.is_empty() { curve.name.clone() } else { format!("{}, {}", curve.name, curve.note) };
            self.entry(sheet, [left, right], y, curve.color, Dash::Solid, &words)?;
        }
        frame.draw_bare_axes(sheet)?;
        let unit = symbol(self.shown, Dimension::Temperature);
        names(sheet, &frame, head, "Temperatures", &format!("temperature, {unit}"), "samples below, %")
    }

    /// The chance of meeting all limits against the trough's length.
    fn trough(
        &self,
        sheet: &Sheet,
        lengths: &[f64],
        [left, right]: [f64; 2],
        [head, top]: [f64; 2],
    ) -> Result<(), PlotError> {
        let finite: Vec<f64> = lengths.iter().copied().filter(|length| length.is_finite()).collect();
        let wanted = percentile(lengths, MARKED);
        let inner = [0.002, 0.992].map(|share| percentile(&finite, share));
        let ends = inner.into_iter().chain([self.given]).chain(Some(wanted).filter(|wanted| wanted.is_finite()));
        let frame = Frame { left, right, top, bottom: PLOT_BOTTOM, x: Axis::over(ends, [0.04, 0.04]), y: percents() };
        frame.draw_grid(sheet)?;
        let unit = symbol(self.shown, Dimension::Length);
        let number = |value: f64| format!("{value:.1} {unit}");
        let given = frame.across(self.given);
        sheet.line(
            &[[given, frame.top], [given, frame.bottom]],
            Pen { color: QUIET, width: THIN, dash: Dash::Dashed },
        )?;
        let marked = frame.down(100.0 * MARKED);
        if wanted.is_finite() {
            let x = frame.across(wanted);
            let pen = Pen { color: GREEN, width: THIN, dash: Dash::Dashed };
            sheet.line(&[[frame.left, marked], [x, marked], [x, frame.bottom]], pen)?;
        }
        let places: Vec<[f64; 2]> = steps()
            .map(|share| (percentile(lengths, share), share))
            .filter(|&(length, _)| (0.0..=1.0).contains(&frame.x.share(length)))
            .map(|(length, share)| frame.place(length, 100.0 * share))
            .collect();
        sheet.line(&places, Pen::solid(BLACK, CURVE))?;
        let share = lengths.partition_point(|length| *length <= self.given) as f64 / lengths.len().max(1) as f64;
        for (at, color) in [
            ([given, frame.down(100.0 * share_below(lengths, self.given))], QUIET),
            ([frame.across(wanted), marked], GREEN),
        ] {
            if at[0].is_finite() {
                sheet.disc(at, 9.0, color)?;
                sheet.disc(at, 5.5, PAPER)?;
            }
        }
        let there = format!("{} are there: {}", number(self.given), percent(share));
        self.entry(sheet, [left, right], head + 64.0, QUIET, Dash::Dashed, &there)?;
        let needed = if wanted.is_finite() {
            format!("{} for {}", self.needed, percent(MARKED))
        } else {
            format!("no length gives {}", percent(MARKED))
        };
        self.entry(sheet, [left, right], head + 64.0 + LINE, GREEN, Dash::Dashed, &needed)?;
        frame.draw_bare_axes(sheet)?;
        names(
            sheet,
            &frame,
            head,
            "Trough",
            &format!("length of the trough, {unit}"),
            "chance that all limits are met, %",
        )
    }

    /// A line of the legend above a panel.
    fn entry(
        &self,
        sheet: &Sheet,
        [left, right]: [f64; 2],
        y: f64,
        color: RGBColor,
        dash: Dash,
        words: &str,
    ) -> Result<(), PlotError> {
        const SAMPLE: f64 = 54.0;
        let width = if dash == Dash::Solid { CURVE } else { THIN };
        sheet.line(&[[left, y], [left + SAMPLE, y]], Pen { color, width, dash })?;
        let words = text::fit(&text::clean(words), SMALL, Weight::Regular, right - left - SAMPLE - 14.0)?;
        sheet.text(&words, [left + SAMPLE + 14.0, y], Align::Left, Lettering::regular(SMALL, INK))
    }
}

/// From nothing to everything, with a little room.
fn percents() -> Axis {
    Axis::new(0.0, 103.0)
}

/// Shares at which curves have points: finer where few samples are.
fn steps() -> impl Iterator<Item = f64> {
    (0..=POINTS).map(|step| {
        let turn = std::f64::consts::PI * step as f64 / POINTS as f64;
        0.5 - 0.5 * turn.cos()
    })
}

/// Where a value lies among sorted ones, 0 at the first and 1 at the last: the inverse of their percentiles, so that it lies on
/// the curve.
fn share_below(sorted: &[f64], value: f64) -> f64 {
    let count = sorted.partition_point(|other| *other <= value);
    let (Some(&low), Some(&high)) = (sorted.get(count.wrapping_sub(1)), sorted.get(count)) else {
        return if count == 0 { 0.0 } else { 1.0 };
    };
    let within = if high.is_finite() { (value - low) / (high - low) } else { 0.0 };
    (count as f64 - 1.0 + within) / (sorted.len() as f64 - 1.0)
}

/// Title above a panel, names of its axes.
fn names(sheet: &Sheet, frame: &Frame, head: f64, title: &str, x: &str, y: &str) -> Result<(), PlotError> {
    let how = Lettering::regular(TEXT, INK);
    sheet.text(title, [frame.left, head + 22.0], Align::Left, Lettering::bold(TEXT, INK))?;
    sheet.text(x, [(frame.left + frame.right) / 2.0, frame.bottom + 66.0], Align::Middle, how)?;
    sheet.upward(y, [frame.left - 88.0, (frame.top + frame.bottom) / 2.0], how)
}
