//! The picture of a sweep: how often each output takes which values.

use quenchway::study::sweep::Sweep;
use quenchway::units::System;
use quenchway_words::Shown;

use super::PlotError;
use super::frame::{Axis, Frame};
use super::page::{PLOT_BOTTOM, draw_heading, symbol};
use super::sheet::{Align, Lettering, Sheet};
use super::text::{self, Weight};
use super::theme::{BLUE, INK, MARGIN, QUIET, SMALL, TEXT, WIDTH};

/// Most outputs that are drawn.
pub const MOST: usize = 4;
/// Room left of a panel for the names of its ticks, px.
const BESIDE: f64 = 112.0;
/// Room above a panel for its title, px.
const ABOVE: f64 = 52.0;
/// Room below a panel for its ticks and their unit, px.
const BELOW: f64 = 96.0;

/// What is drawn, taken from the results beforehand.
pub struct Picture {
    title: String,
    /// What the picture shows, in words.
    pub description: String,
    panels: Vec<Panel>,
}

/// One output.
struct Panel {
    name: String,
    unit: String,
    /// Ends of the bars in the shown unit.
    ends: [f64; 2],
    /// Samples in equal parts of the range.
    counts: Vec<u64>,
}

impl Picture {
    /// The picture of a sweep of which `good` samples are good: of its first outputs the lowest and the highest value, and
    /// how many samples are in equal parts between them.
    pub fn new(sweep: &Sweep, good: u64, ends: &[[f64; 2]], counts: Vec<Vec<u64>>, system: System) -> Picture {
        let shown = Shown { system };
        let (outputs, drawn) = (&sweep.outputs, counts.len());
        let panels = outputs.iter().zip(ends).zip(counts).map(|((output, [low, high]), counts)| {
            let value = |si: f64| output.dimension.map_or(si, |dimension| shown.value(si, dimension));
            let unit = output.dimension.map_or("%".to_string(), |dimension| symbol(shown, dimension).to_string());
            Panel { name: output.name.clone(), unit, ends: [value(*low), value(*high)], counts }
        });
        let mut description = format!("Share of {} samples by value", sweep.samples());
        if good < sweep.samples() {
            description += &format!("; {} have no full answer", sweep.samples() - good);
        }
        if drawn < outputs.len() {
            description += &format!("; the first {drawn} of {} outputs", outputs.len());
        }
        Picture { title: sweep.title.clone(), description, panels: panels.collect() }
    }

    /// Draws it.
    pub fn draw(&self, sheet: &Sheet) -> Result<(), PlotError> {
        let top = draw_heading(sheet, &self.title, &self.description)?;
        let columns = self.panels.len().clamp(1, 2);
        let rows = self.panels.len().div_ceil(columns).max(1);
        let width = (f64::from(WIDTH) - 2.0 * MARGIN) / columns as f64;
        let height = (PLOT_BOTTOM + BELOW - top) / rows as f64;
        for (place, panel) in self.panels.iter().enumerate() {
            let left = MARGIN + (place % columns) as f64 * width;
            let head = top + (place / columns) as f64 * height;
            panel.draw(sheet, [left + BESIDE, left + width - 14.0], [head, head + height - BELOW])?;
        }
        Ok(())
    }
}

impl Panel {
    fn draw(&self, sheet: &Sheet, [left, right]: [f64; 2], [head, bottom]: [f64; 2]) -> Result<(), PlotError> {
        let name = text::fit(&text::clean(&self.name), TEXT, Weight::Bold, right - left)?;
        sheet.text(&name, [left, head + ABOVE / 2.0], Align::Left, Lettering::bold(TEXT, INK))?;
        let [low, high] = self.ends;
        let total: u64 = self.counts.iter().sum();
        let top = head + ABOVE;
        if total == 0 {
            let middle = [(left + right) / 2.0, (top + bottom) / 2.0];
            return sheet.text("no sample has it", middle, Align::Middle, Lettering::regular(SMALL, QUIET));
        }
        let share = |count: u64| 100.0 * count as f64 / total as f64;
        let highest = self.counts.iter().map(|&count| share(count)).fold(0.0, f64::max);
        // One value for all samples is a bar of some width.
        let (low, high) = if high > low { (low, high) } else { (low - 0.5, high + 0.5) };
        let frame = Frame {
            left,
            right,
            top,
            bottom,
            x: Axis::over([low, high], [0.02, 0.02]),
            y: Axis::new(0.0, 1.08 * highest),
        };
        frame.draw_grid(sheet)?;
        let bars = self.counts.len() as f64;
        for (place, &count) in self.counts.iter().enumerate().filter(|(_, count)| **count > 0) {
            let end = |place: usize| frame.across(low + (high - low) * place as f64 / bars);
            // A hair of paper between the bars.
            sheet.rectangle([end(place) + 0.7, frame.down(share(count))], [end(place + 1) - 0.7, bottom], BLUE)?;
        }
        frame.draw_bare_axes(sheet)?;
        let how = Lettering::regular(SMALL, INK);
        sheet.text(&self.unit, [(left + right) / 2.0, bottom + 62.0], Align::Middle, how)?;
        sheet.upward("samples, %", [left - 82.0, (top + bottom) / 2.0], how)
    }
}
