//! The picture of a fastest speed: a bar for each ceiling, the lowest first, or for each number of passes.

use plotters::style::RGBColor;
use quenchway::study::search::ceilings::Ceiling;
use quenchway::study::speed::Told;
use quenchway::units::Dimension;
use quenchway_words::Shown;
use quenchway_words::design::words;
use quenchway_words::speed::{counted, printed};

use super::PlotError;
use super::frame::{Axis, Frame, number};
use super::page::{PLOT_BOTTOM, amount, draw_heading, symbol};
use super::sheet::{Align, Dash, Lettering, Pen, Sheet};
use super::text::{self, Weight};
use super::theme::{BLUE, GRID, HAIR, INK, MARGIN, PAPER, QUIET, SMALL, TEXT, THIN, VERMILLION, WIDTH};

/// Thickest bar, px.
const THICK: f64 = 64.0;
/// How much of the range's colour shows.
const VEIL: f64 = 0.13;
/// Ticks along the speed, at most.
const TICKS: usize = 9;
/// Widest that the names of the bars may become, px.
const NAMES: f64 = 420.0;

/// What is drawn, taken from the answer beforehand.
pub struct Picture {
    title: String,
    description: String,
    bars: Vec<Bar>,
    /// Speed of the case, m/s.
    given: f64,
    /// Ends of the inputs' uncertainty, m/s.
    range: Option<[f64; 2]>,
    shown: Shown,
}

/// One bar.
struct Bar {
    name: String,
    /// m/s; not a number where there is none.
    speed: f64,
    /// What stands at its end.
    words: String,
    /// It decides.
    decides: bool,
    /// It does not end there: the ceiling is not reached.
    open: bool,
}

impl Picture {
    /// The picture of an answer.
    pub fn new(told: &Told<'_>, shown: Shown) -> Picture {
        let speed = |si: f64| shown.down(si, Dimension::Speed).to_string();
        let name = |ceiling: &Ceiling| words(told.case, ceiling).replace('"', "");
        let ceilings = told.ceilings().unwrap_or_default().iter().enumerate();
        let of_ceiling = |(index, ceiling): (usize, &quenchway::study::speed::CeilingSpeed)| Bar {
            name: name(&ceiling.ceiling),
            speed: ceiling.speed.unwrap_or(f64::NAN),
            words: match (ceiling.speed, ceiling.open) {
                (Some(at), false) => speed(at),
                (Some(at), true) => format!("not reached up to {}", speed(at)),
                (None, _) => "exceeded at every speed".to_string(),
            },
            decides: index == 0 && told.answer.is_ok(),
            open: ceiling.open,
        };
        let of_passes = |of: &quenchway::study::speed::OfPasses| Bar {
            name: counted(of.passes),
            speed: of.answer.as_ref().map_or(f64::NAN, |speeds| speeds.top),
            words: match &of.answer {
                Ok(speeds) => format!("{}, {}", printed(speeds, shown), name(&speeds.ceilings[0].ceiling)),
                Err(_) => "no answer".to_string(),
            },
            decides: false,
            open: false,
        };
        let bars: Vec<Bar> = match told.passes {
            [] => ceilings.map(of_ceiling).collect(),
            passes => passes.iter().map(of_passes).collect(),
        };
        let speeds = told.answer.as_ref().ok();
        let range = speeds.filter(|_| told.passes.is_empty()).and_then(|speeds| {
            let range = speeds.range.as_ref()?;
            Some([range.unfavourable.unwrap_or(0.0), range.favourable?])
        });
        let description = match (speeds, told.passes) {
            (_, [_, ..]) => "The fastest line speed with each number of passes, and what decides it.".to_string(),
            (None, _) => "No speed meets every ceiling.".to_string(),
            (Some(speeds), _) => {
                let text =
                    format!("{} is the fastest: {} decides", printed(speeds, shown), name(&speeds.ceilings[0].ceiling));
                match range {
                    Some([low, high]) => format!(
                        "{text}; between {} and {} with the uncertainty of the inputs (grey).",
                        speed(low),
                        shown.up(high, Dimension::Speed)
                    ),
                    None => text + ".",
                }
            }
        };
        Picture { title: told.case.title.clone(), description, bars, given: told.case.line_speed, range, shown }
    }

    /// Draws it.
    pub fn draw(&self, sheet: &Sheet) -> Result<(), PlotError> {
        let top = draw_heading(sheet, &self.title, &self.description)? + 56.0;
        let mut widest: f64 = 0.0;
        for bar in &self.bars {
            widest = widest.max(text::width(&text::clean(&bar.name), TEXT, Weight::Regular)?);
        }
        let left = MARGIN + widest.min(NAMES) + 22.0;
        let value = |si: f64| self.shown.value(si, Dimension::Speed);
        let reached = self.bars.iter().filter(|bar| !bar.open).map(|bar| bar.speed);
        let lowest = reached.clone().fold(f64::INFINITY, f64::min);
        // A ceiling far above the one that decides is a bar that leaves the plot; numbers of passes are all seen.
        let far = if self.bars.iter().any(|bar| bar.decides) { 4.0 * lowest } else { f64::INFINITY };
        let near = reached.filter(|speed| *speed < far);
        let ends = near.chain([self.given]).chain(self.range.into_iter().flatten());
        let highest = ends.filter(|speed| speed.is_finite()).fold(0.0, f64::max);
        let x = Axis::over([0.0, value(highest)], [0.0, 0.12]);
        let right = f64::from(WIDTH) - MARGIN - 8.0;
        let frame = Frame { left, top, right, bottom: PLOT_BOTTOM, x, y: Axis::new(0.0, 1.0) };
        if let Some(range) = self.range {
            let [low, high] = range.map(|end| frame.across(value(end)));
            sheet.veil(&[[low, top], [high, top], [high, frame.bottom], [low, frame.bottom]], INK, VEIL)?;
        }
        let (ticks, decimals) = x.ticks(TICKS);
        for &tick in &ticks {
            let at = frame.across(tick);
            sheet.line(&[[at, top], [at, frame.bottom]], Pen::solid(GRID, HAIR))?;
            let words = number(tick, decimals);
            sheet.text(&words, [at, frame.bottom + 27.0], Align::Middle, Lettering::regular(SMALL, INK))?;
        }
        let places = self.draw_bars(sheet, &frame)?;
        sheet.line(&[[left, top], [left, frame.bottom], [right, frame.bottom]], Pen::solid(INK, THIN))?;
        let given = frame.across(value(self.given));
        sheet
            .line(&[[given, top - 8.0], [given, frame.bottom]], Pen { color: INK, width: THIN, dash: Dash::Dashed })?;
        self.draw_words(sheet, &frame, &places)?;
        let words = format!("speed of the case, {}", amount(self.shown, self.given, Dimension::Speed));
        let half = text::width(&words, SMALL, Weight::Regular)? / 2.0;
        let middle = given.clamp(left + half, right - half);
        sheet.text(&words, [middle, top - 24.0], Align::Middle, Lettering::regular(SMALL, INK))?;
        let name = format!("line speed, {}", symbol(self.shown, Dimension::Speed));
        sheet.text(&name, [(left + right) / 2.0, frame.bottom + 66.0], Align::Middle, Lettering::regular(TEXT, INK))
    }

    /// The bars and their names; returns for each where it ends and the size of its letters.
    fn draw_bars(&self, sheet: &Sheet, frame: &Frame) -> Result<Vec<([f64; 2], f64)>, PlotError> {
        let room = (frame.bottom - frame.top) / self.bars.len().max(1) as f64;
        let half = (0.32 * room).min(THICK / 2.0);
        let size = TEXT.min(1.5 * half + 6.0);
        let mut places = Vec::new();
        for (index, bar) in self.bars.iter().enumerate() {
            let y = frame.top + (index as f64 + 0.5) * room;
            let name = text::fit(&text::clean(&bar.name), size, Weight::Regular, NAMES)?;
            sheet.text(&name, [frame.left - 16.0, y], Align::Right, Lettering::regular(size, INK))?;
            let end = frame.across(self.shown.value(bar.speed, Dimension::Speed));
            let end = if bar.speed.is_finite() { end.min(frame.right) } else { frame.left };
            sheet.rectangle([frame.left, y - half], [end, y + half], bar.color())?;
            places.push(([end, y], size));
        }
        Ok(places)
    }

    /// What stands at the bars' ends: beside the bar where there is room, otherwise in it.
    fn draw_words(&self, sheet: &Sheet, frame: &Frame, places: &[([f64; 2], f64)]) -> Result<(), PlotError> {
        for (bar, &([end, y], size)) in self.bars.iter().zip(places) {
            // An arrow where the bar leaves the plot.
            let arrow = if bar.speed.is_finite() && end >= frame.right { " →" } else { "" };
            let words = format!("{}{arrow}", text::clean(&bar.words));
            let width = text::width(&words, size, Weight::Bold)?;
            if end + 14.0 + width < frame.right {
                let how = Lettering::bold(size, if bar.speed.is_finite() { INK } else { QUIET });
                sheet.halo(&words, [end + 14.0, y], Align::Left, how, PAPER)?;
            } else {
                sheet.halo(&words, [end - 14.0, y], Align::Right, Lettering::bold(size, PAPER), bar.color())?;
            }
        }
        Ok(())
    }
}

impl Bar {
    fn color(&self) -> RGBColor {
        if self.decides { VERMILLION } else { BLUE }
    }
}
