//! The picture of a needed length: over line speed, what each limit alone needs, the range, what is built and what there is.

use plotters::style::RGBColor;
use quenchway::study::length::{LengthError, Lengths, Needed, Told, longest_in_hall, trough_length};
use quenchway::study::search::ceilings::Ceiling;
use quenchway::study::search::confirm::Range;
use quenchway::units::Dimension;
use quenchway_words::Shown;
use quenchway_words::design::words;
use quenchway_words::length::{of_passes, one_of_several_passes, printed};

use super::PlotError;
use super::callouts::Callouts;
use super::frame::{Axis, Frame};
use super::page::{Entry, PLOT_BOTTOM, PLOT_LEFT, amount, draw_entries, draw_heading, entries_width, symbol};
use super::sheet::{Align, Dash, Lettering, Pen, Place, Sheet};
use super::text;
use super::theme::{BLUE, CURVE, GREEN, INK, JOINTS, ORANGE, PURPLE, QUIET, SMALL, TEXT, THIN, VERMILLION, WIDTH};

/// Colours of the limits, in turn.
const COLORS: [RGBColor; 5] = [VERMILLION, BLUE, GREEN, PURPLE, ORANGE];
/// How much of the range's colour shows.
const VEIL: f64 = 0.13;

/// What is drawn, taken from the answer beforehand; lengths in m, speeds in m/s, absent ones not numbers.
pub struct Picture {
    title: String,
    description: String,
    speeds: Vec<f64>,
    /// What each limit alone needs.
    limits: Vec<(String, Vec<f64>)>,
    needed: Vec<f64>,
    /// In whole modules; none without a module.
    built: Option<Vec<f64>>,
    range: Vec<[f64; 2]>,
    /// Speeds that no length serves.
    unserved: Vec<f64>,
    given: f64,
    /// The longest trough that the hall holds.
    hall: Option<f64>,
    /// Speed, length and its words.
    asked: Option<(f64, f64, String)>,
    /// What the lengths are of.
    what: &'static str,
    shown: Shown,
}

impl Picture {
    /// The picture of an answer over line speeds.
    pub fn new(told: &Told<'_>, lengths: &Lengths, shown: Shown) -> Picture {
        let case = told.case;
        let answers: Vec<Option<&Needed>> = lengths.answers.iter().map(of).collect();
        let none = f64::NAN;
        let each = |value: &dyn Fn(&Needed) -> f64| -> Vec<f64> {
            answers.iter().map(|needed| needed.map_or(none, value)).collect()
        };
        let mut ceilings: Vec<&Ceiling> = Vec::new();
        for need in answers.iter().flatten().flat_map(|needed| &needed.limits) {
            if !ceilings.contains(&&need.ceiling) {
                ceilings.push(&need.ceiling);
            }
        }
        let of_limit = |ceiling: &&Ceiling| {
            // A limit that every length meets has no curve.
            let length = |needed: &Needed| {
                let need = needed.limits.iter().find(|need| need.ceiling == **ceiling);
                need.and_then(|need| need.length).filter(|&length| length > 0.0).unwrap_or(none)
            };
            (words(case, ceiling).replace('"', ""), each(&length))
        };
        let range = |range: &Range| [range.favourable.unwrap_or(none), range.unfavourable.unwrap_or(f64::INFINITY)];
        let range = answers.iter().map(|needed| needed.and_then(|n| n.range.as_ref()).map_or([none; 2], range));
        let asked = of(told.answer);
        let unserved = lengths.speeds.iter().zip(&answers).filter(|(_, needed)| needed.is_none());
        let unserved: Vec<f64> = unserved.map(|(&speed, _)| speed).collect();
        let mut description = description(told, shown);
        if !unserved.is_empty() {
            description += " × marks speeds at which no length is enough.";
        }
        Picture {
            title: case.title.clone(),
            description,
            speeds: lengths.speeds.clone(),
            limits: ceilings.iter().map(of_limit).collect(),
            needed: each(&|needed| needed.length),
            built: case.plant.module.map(|_| each(&|needed| needed.built.trough)),
            range: range.collect(),
            unserved,
            given: trough_length(case).unwrap_or(none),
            hall: longest_in_hall(case),
            asked: asked.map(|needed| (needed.speed, needed.length, printed(needed, shown).to_string())),
            what: if one_of_several_passes(case, told.sections) {
                "length of the trough, one pass"
            } else {
                "length of the trough"
            },
            shown,
        }
    }

    fn speed(&self, si: f64) -> f64 {
        self.shown.value(si, Dimension::Speed)
    }

    fn metres(&self, si: f64) -> f64 {
        self.shown.value(si, Dimension::Length)
    }

    /// Draws it.
    pub fn draw(&self, sheet: &Sheet) -> Result<(), PlotError> {
        let top = draw_heading(sheet, &self.title, &self.description)? + 26.0;
        let entries = self.entries();
        let names: Vec<(String, String)> = entries.iter().map(|(name, ..)| (name.clone(), String::new())).collect();
        let right = f64::from(WIDTH) - entries_width(&names, true)?;
        let frame = self.frame(top, right);
        self.draw_range(sheet, &frame)?;
        frame.draw_grid(sheet)?;
        let mut callouts = Callouts::new(frame);
        let mut named = Vec::new();
        for (name, values, pen) in entries {
            let places = self.places(&frame, &values);
            sheet.line(&places, pen)?;
            callouts.avoid_line(&places);
            let end = places.iter().rev().find(|place| place[1].is_finite()).map_or(f64::NAN, |place| place[1]);
            named.push(Entry { end, name, value: String::new(), pen: Some(pen) });
        }
        for place in self.places(&frame, &self.needed).iter().filter(|place| place[1].is_finite()) {
            sheet.disc(*place, 1.3 * CURVE, INK)?;
        }
        for &speed in &self.unserved {
            let at = [frame.across(self.speed(speed)), frame.top + 14.0];
            sheet.text("×", at, Align::Middle, Lettering::bold(TEXT, VERMILLION))?;
        }
        let (x, y) = (symbol(self.shown, Dimension::Speed), symbol(self.shown, Dimension::Length));
        frame.draw_axes(sheet, &format!("line speed, {x}"), &format!("{}, {y}", self.what))?;
        self.draw_asked(sheet, &frame, &mut callouts)?;
        draw_entries(sheet, &frame, f64::from(WIDTH), named)
    }

    fn frame(&self, top: f64, right: f64) -> Frame {
        let x = Axis::over(self.speeds.iter().map(|&speed| self.speed(speed)), [0.0, 0.0]);
        let needs = self.limits.iter().flat_map(|(_, values)| values);
        let ends = self.range.iter().flatten();
        let built = self.built.iter().flatten();
        let all = needs.chain(ends).chain(&self.needed).chain(built).chain([&0.0, &self.given]);
        let mut highest = all.copied().filter(|value| value.is_finite()).fold(0.0, f64::max);
        // A hall far beyond what is needed is not drawn.
        highest = self.hall.filter(|&hall| hall < 1.5 * highest).map_or(highest, |hall| highest.max(hall));
        let y = Axis::over([0.0, self.metres(highest)], [0.0, 0.08]);
        Frame { left: PLOT_LEFT, top, right, bottom: PLOT_BOTTOM, x, y }
    }

    /// Curves with their names, those on which others lie first.
    fn entries(&self) -> Vec<(String, Vec<f64>, Pen)> {
        let level = |value: f64| vec![value; self.speeds.len()];
        let broken = |color, dash| Pen { color, width: THIN + 1.0, dash };
        let mut entries = vec![("the trough of the case".to_string(), level(self.given), broken(QUIET, Dash::Dashed))];
        if let Some(hall) = self.hall {
            entries.push(("longest that the hall holds".to_string(), level(hall), broken(INK, Dash::Dashed)));
        }
        if let Some(built) = &self.built {
            entries.push(("in whole modules".to_string(), built.clone(), broken(INK, Dash::Dotted)));
        }
        for (index, (name, values)) in
            self.limits.iter().enumerate().filter(|(_, (_, v))| v.iter().any(|v| v.is_finite()))
        {
            let color = *COLORS.get(index).unwrap_or(&JOINTS[index % JOINTS.len()]);
            entries.push((text::clean(name), values.clone(), Pen::solid(color, CURVE)));
        }
        entries
    }

    fn places(&self, frame: &Frame, values: &[f64]) -> Vec<Place> {
        let place = |(&speed, &value): (&f64, &f64)| {
            let place = frame.place(self.speed(speed), self.metres(value));
            // What lies above the plot, a hall far beyond what is needed, is not drawn.
            if place[1] < frame.top - 1.0 { [f64::NAN, f64::NAN] } else { place }
        };
        self.speeds.iter().zip(values).map(place).collect()
    }

    /// The range as a veil; where no length serves the unfavourable end it reaches the upper edge.
    fn draw_range(&self, sheet: &Sheet, frame: &Frame) -> Result<(), PlotError> {
        let known: Vec<(f64, [f64; 2])> = self
            .speeds
            .iter()
            .copied()
            .zip(self.range.iter().copied())
            .filter(|(_, ends)| ends[0].is_finite())
            .collect();
        let at = |(speed, value): (f64, f64)| {
            let y = if value.is_finite() { frame.down(self.metres(value)).max(frame.top) } else { frame.top };
            [frame.across(self.speed(speed)), y]
        };
        let low = known.iter().map(|&(speed, ends)| at((speed, ends[0])));
        let high = known.iter().rev().map(|&(speed, ends)| at((speed, ends[1])));
        let outline: Vec<Place> = low.chain(high).collect();
        if outline.len() > 2 { sheet.veil(&outline, INK, VEIL) } else { Ok(()) }
    }

    /// What was asked for, and its answer.
    fn draw_asked(&self, sheet: &Sheet, frame: &Frame, callouts: &mut Callouts) -> Result<(), PlotError> {
        let Some((speed, length, words)) = &self.asked else { return Ok(()) };
        let (speed, length) = (*speed, *length);
        let place = frame.place(self.speed(speed), self.metres(length));
        if !(frame.left..=frame.right).contains(&place[0]) {
            return Ok(());
        }
        let pen = Pen { color: INK, width: THIN, dash: Dash::Dotted };
        sheet.line(&[[place[0], frame.bottom], place, [frame.left, place[1]]], pen)?;
        sheet.disc(place, 2.2 * CURVE, INK)?;
        let words = format!("{words} at {}", amount(self.shown, speed, Dimension::Speed));
        callouts.note(sheet, &words, place, 18.0, Lettering::bold(SMALL + 2.0, INK)).map(|_| ())
    }
}

fn of(answer: &Result<Needed, LengthError>) -> Option<&Needed> {
    match answer {
        Ok(needed) => Some(needed),
        Err(LengthError::OverCeiling(needed)) => Some(needed),
        Err(_) => None,
    }
}

/// The answer in one sentence.
fn description(told: &Told<'_>, shown: Shown) -> String {
    let speed = amount(shown, told.case.line_speed, Dimension::Speed);
    let Some(needed) = of(told.answer) else { return format!("No trough is long enough at {speed}.") };
    let length = of_passes(told.case, told.sections, printed(needed, shown).to_string());
    let mut text = format!("{length} of trough are needed at {speed}");
    if let Some(which) = needed.deciding {
        text += &format!(": {} decides", words(told.case, &needed.limits[which].ceiling).replace('"', ""));
    }
    match needed.range.as_ref().map(|range| (range.favourable, range.unfavourable)) {
        Some((Some(low), Some(high))) => {
            let (low, high) = (shown.down(low, Dimension::Length), shown.up(high, Dimension::Length));
            text += &format!("; between {low} and {high} with the uncertainty of the inputs (grey)");
        }
        Some((_, None)) => text += "; at the unfavourable end of the inputs' uncertainty no length is enough (grey)",
        _ => {}
    }
    text + "."
}
