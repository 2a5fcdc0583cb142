//! The picture of a fit: measured against computed, and the standardised residuals against what was changed on the line.

use plotters::style::RGBColor;
use quenchway::study::fit::{Fit, Residual, Trial, Unknown};
use quenchway::units::Dimension;
use quenchway_words::Shown;
use quenchway_words::fit::{interval, value};

use super::PlotError;
use super::frame::{Axis, Frame};
use super::page::{PLOT_BOTTOM, draw_heading, symbol};
use super::sheet::{Align, Dash, Lettering, Pen, Place, Sheet};
use super::text::{self, Weight};
use super::theme::{
    BLACK, BLUE, GREEN, GRID, INK, LEADING, MARGIN, ORANGE, PAPER, PURPLE, QUIET, SKY, SMALL, TEXT, THIN, VERMILLION,
    WIDTH,
};

/// Colours of the outputs, in turn.
const COLORS: [RGBColor; 7] = [BLUE, VERMILLION, GREEN, PURPLE, ORANGE, BLACK, SKY];
/// Radius of a point, px.
const POINT: f64 = 9.0;
/// Left edge of the left panel, px.
const LEFT: f64 = 128.0;
/// Between the panels, px.
const BETWEEN: f64 = 138.0;
/// From the mark of an output to its name, px.
const SAMPLE: f64 = 34.0;

/// Most lines with fitted numbers.
const MOST_NUMBERS: usize = 4;

/// What residuals are drawn against where no setting was changed.
const TRIAL: &str = "trial";

/// What is drawn, taken from the fit beforehand.
pub struct Picture {
    title: String,
    description: String,
    /// The fitted numbers with their intervals, a line each.
    fitted: Vec<[String; 2]>,
    /// Name, colour and dimension of each measured output.
    outputs: Vec<(String, RGBColor, Option<Dimension>)>,
    points: Vec<Point>,
    /// What the residuals are drawn against.
    across: String,
    shown: Shown,
}

/// A measurement.
struct Point {
    output: usize,
    measured: f64,
    computed: f64,
    before: f64,
    /// Abscissa of the residual, and the residual over its standard deviation.
    at: f64,
    standardised: f64,
}

impl Picture {
    /// The picture of a fit to trials, whose file is the `source`.
    pub fn new(title: &str, source: &str, fit: &Fit, unknowns: &[Unknown], trials: &[Trial], shown: Shown) -> Picture {
        let mut outputs: Vec<(String, RGBColor, Option<Dimension>)> = Vec::new();
        let measured = trials.iter().flat_map(|trial| &trial.measurements);
        for measurement in measured {
            if outputs.iter().all(|(name, ..)| *name != measurement.output.name) {
                let color = COLORS[outputs.len() % COLORS.len()];
                outputs.push((measurement.output.name.clone(), color, measurement.output.dimension));
            }
        }
        let (across, places) = abscissa(trials, shown);
        let point = |residual: &Residual| Point {
            output: outputs.iter().position(|(name, ..)| *name == residual.output).unwrap_or(0),
            measured: residual.measured,
            computed: residual.computed,
            before: residual.before,
            at: places[residual.trial],
            standardised: residual.standardised.unwrap_or(f64::NAN),
        };
        let points = fit.residuals.iter().map(point).collect();
        let told = |(unknown, estimate): (&Unknown, &quenchway::study::fit::Estimate)| {
            let shown_as = |text: String| text.replace("deg", "°").replace('-', "−");
            let fitted = shown_as(value(unknown, estimate.value, shown.system));
            let interval = match estimate.interval {
                Some(ends) => format!(" ({})", shown_as(interval(unknown, ends, shown.system))),
                None if estimate.at_bound => " (at its bound)".to_string(),
                None => " (not told by the data)".to_string(),
            };
            [estimate.unknown.clone(), format!("{fitted}{interval}")]
        };
        let fitted: Vec<[String; 2]> = unknowns.iter().zip(&fit.unknowns).map(told).collect();
        let description = format!("Fitted to {source}, with 95 % intervals:");
        Picture { title: title.to_string(), description, fitted, outputs, points, across, shown }
    }

    /// Draws it.
    pub fn draw(&self, sheet: &Sheet) -> Result<(), PlotError> {
        let top = draw_heading(sheet, &self.title, &self.description)?;
        let top = self.numbers(sheet, top)?;
        let top = self.legend(sheet, top + 14.0)? + 74.0;
        let right = f64::from(WIDTH) - MARGIN - 8.0;
        let middle = LEFT + (right - LEFT - BETWEEN) / 2.0;
        self.agreement(sheet, [LEFT, middle], top)?;
        self.residuals(sheet, [middle + BETWEEN, right], top)
    }

    /// The fitted numbers, a line each as far as there is room; a long key path is shortened, never a value. Returns where the
    /// last line ends.
    fn numbers(&self, sheet: &Sheet, top: f64) -> Result<f64, PlotError> {
        let room = f64::from(WIDTH) - 2.0 * MARGIN;
        let mut y = top + 0.7 * TEXT;
        let more = self.fitted.len().saturating_sub(MOST_NUMBERS);
        let shown = if more > 0 { &self.fitted[..MOST_NUMBERS - 1] } else { &self.fitted[..] };
        for (place, [path, told]) in shown.iter().enumerate() {
            let told = match (more, place + 2) {
                (0, _) => told.clone(),
                (_, MOST_NUMBERS) => format!("{told}; {} more in the report", more + 1),
                _ => told.clone(),
            };
            let left = room - text::width(&told, TEXT, Weight::Regular)? - TEXT;
            let path = text::fit(&text::clean(path), TEXT, Weight::Regular, left)?;
            sheet.text(&format!("{path}  {told}"), [MARGIN, y], Align::Left, Lettering::regular(TEXT, INK))?;
            y += TEXT * LEADING;
        }
        Ok(y - 0.5 * TEXT)
    }

    /// The outputs with their colours, in as many lines as they need; returns where the last one ends.
    fn legend(&self, sheet: &Sheet, top: f64) -> Result<f64, PlotError> {
        let (mut x, mut y) = (MARGIN, top + 0.5 * TEXT);
        let room = f64::from(WIDTH) - MARGIN;
        let mut put = |words: &str, mark: &dyn Fn(Place) -> Result<(), PlotError>| -> Result<f64, PlotError> {
            let words = text::fit(words, TEXT, Weight::Regular, 0.45 * room)?;
            let width = SAMPLE + text::width(&words, TEXT, Weight::Regular)? + 36.0;
            if x + width > room && x > MARGIN {
                (x, y) = (MARGIN, y + TEXT * LEADING);
            }
            mark([x + POINT, y])?;
            sheet.text(&words, [x + SAMPLE, y], Align::Left, Lettering::regular(TEXT, INK))?;
            x += width;
            Ok(y)
        };
        let mut end = top;
        for (name, color, _) in &self.outputs {
            end = put(&text::clean(&name.replace('"', "")), &|at| sheet.disc(at, POINT, *color))?;
        }
        end = end.max(put("ring: the case as it was", &|at| ring(sheet, at, QUIET))?);
        Ok(end)
    }

    /// Measured against computed, of the outputs that measure what the first one does.
    fn agreement(&self, sheet: &Sheet, [left, right]: [f64; 2], top: f64) -> Result<(), PlotError> {
        let temperatures = self.outputs.iter().any(|output| output.2 == Some(Dimension::Temperature));
        let first = self.outputs.first().and_then(|output| output.2);
        let dimension = if temperatures { Some(Dimension::Temperature) } else { first };
        let of = |si: f64| dimension.map_or(si, |dimension| self.shown.value(si, dimension));
        let points: Vec<&Point> =
            self.points.iter().filter(|point| self.outputs[point.output].2 == dimension).collect();
        let values = points.iter().flat_map(|point| [point.measured, point.computed, point.before]).map(of);
        let axis = Axis::over(values, [0.08, 0.08]);
        let frame = Frame { left, top, right, bottom: PLOT_BOTTOM, x: axis, y: axis };
        frame.draw_grid(sheet)?;
        let ends = [axis.value(0.0), axis.value(1.0)];
        sheet.line(&ends.map(|end| frame.place(end, end)), Pen { color: INK, width: THIN, dash: Dash::Dashed })?;
        for point in &points {
            ring(sheet, frame.place(of(point.before), of(point.measured)), self.outputs[point.output].1)?;
        }
        for point in &points {
            sheet.disc(frame.place(of(point.computed), of(point.measured)), POINT, self.outputs[point.output].1)?;
        }
        frame.draw_bare_axes(sheet)?;
        let unit = dimension.map_or("%", |dimension| symbol(self.shown, dimension));
        let missing = self.outputs.iter().any(|output| output.2 != dimension);
        let title = match (dimension, missing) {
            (Some(Dimension::Temperature), true) => "Measured and computed temperatures",
            _ => "Measured and computed",
        };
        names(sheet, &frame, title, &format!("computed, {unit}"), &format!("measured, {unit}"))
    }

    /// Standardised residuals against the setting that was changed.
    fn residuals(&self, sheet: &Sheet, [left, right]: [f64; 2], top: f64) -> Result<(), PlotError> {
        let largest = self.points.iter().map(|point| point.standardised.abs()).filter(|size| size.is_finite());
        let reach = 1.15 * largest.fold(2.6, f64::max);
        let x = match self.across == TRIAL {
            // Whole numbers only.
            true => Axis::new(0.0, self.points.iter().map(|point| point.at).fold(7.0, f64::max) + 1.0),
            false => Axis::over(self.points.iter().map(|point| point.at), [0.08, 0.08]),
        };
        let frame = Frame { left, top, right, bottom: PLOT_BOTTOM, x, y: Axis::new(-reach, reach) };
        // Nineteen of twenty good residuals lie within two deviations.
        let band = [frame.down(2.0), frame.down(-2.0)];
        sheet.rectangle([left, band[0]], [right, band[1]], RGBColor(240, 243, 247))?;
        frame.draw_grid(sheet)?;
        for y in [-2.0, 2.0] {
            sheet.line(
                &[[left, frame.down(y)], [right, frame.down(y)]],
                Pen { color: GRID, width: THIN, dash: Dash::Dashed },
            )?;
        }
        sheet.line(
            &[[left, frame.down(0.0)], [right, frame.down(0.0)]],
            Pen { color: INK, width: THIN, dash: Dash::Dashed },
        )?;
        // Outputs beside each other, so that equal abscissas do not hide points.
        let span = (self.outputs.len() as f64 - 1.0).max(1.0);
        for point in self.points.iter().filter(|point| point.standardised.is_finite()) {
            let aside = if self.outputs.len() > 1 { 18.0 * (point.output as f64 / span - 0.5) } else { 0.0 };
            let [x, y] = frame.place(point.at, point.standardised);
            sheet.disc([x + aside, y], POINT, self.outputs[point.output].1)?;
        }
        frame.draw_bare_axes(sheet)?;
        let title = "Measured less computed; shaded: 19 of 20";
        names(sheet, &frame, title, &self.across, "residual, standard deviations")
    }
}

/// What the residuals are drawn against: the setting that takes most values, or the number of the trial.
fn abscissa(trials: &[Trial], shown: Shown) -> (String, Vec<f64>) {
    let mut best: Option<(usize, String, Vec<f64>)> = None;
    for (variable, _) in trials.iter().flat_map(|trial| &trial.settings) {
        let value = |trial: &quenchway::study::fit::Trial| {
            trial.settings.iter().find(|(other, _)| other.path == variable.path).map_or(f64::NAN, |(_, value)| {
                variable.dimension.map_or(*value, |dimension| shown.value(*value, dimension))
            })
        };
        let values: Vec<f64> = trials.iter().map(value).collect();
        let mut different: Vec<f64> = values.iter().copied().filter(|value| value.is_finite()).collect();
        different.sort_by(f64::total_cmp);
        different.dedup();
        // The line speed is what one looks for first.
        let rank = if variable.path == "line.speed" { different.len() + 1 } else { different.len() };
        if different.len() > 1 && best.as_ref().is_none_or(|(known, ..)| rank > *known) {
            let unit = variable.dimension.map_or(String::new(), |dimension| format!(", {}", symbol(shown, dimension)));
            let name = if variable.path == "line.speed" { "line speed" } else { &variable.path };
            best = Some((rank, format!("{name}{unit}"), values));
        }
    }
    match best {
        Some((_, name, values)) => (name, values),
        None => (TRIAL.to_string(), (1..=trials.len()).map(|number| number as f64).collect()),
    }
}

fn ring(sheet: &Sheet, at: Place, color: RGBColor) -> Result<(), PlotError> {
    sheet.disc(at, POINT, color)?;
    sheet.disc(at, POINT - 3.0, PAPER)
}

/// Title above a panel, names of its axes.
fn names(sheet: &Sheet, frame: &Frame, title: &str, x: &str, y: &str) -> Result<(), PlotError> {
    let how = Lettering::regular(TEXT, INK);
    let room = frame.right - frame.left + 60.0;
    let mut size = TEXT;
    while text::width(title, size, Weight::Bold)? > room && size > SMALL - 2.0 {
        size -= 1.0;
    }
    let title = text::fit(title, size, Weight::Bold, room)?;
    sheet.text(&title, [frame.left, frame.top - 24.0], Align::Left, Lettering::bold(size, INK))?;
    sheet.text(x, [(frame.left + frame.right) / 2.0, frame.bottom + 66.0], Align::Middle, how)?;
    sheet.upward(y, [frame.left - 96.0, (frame.top + frame.bottom) / 2.0], how)
}
