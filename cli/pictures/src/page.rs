//! What surrounds a plot: title, what it shows, caution, units; and the curves' names at its right-hand side.

use quenchway::maths::order::sort_by_number;
use quenchway::units::Dimension;
use quenchway_words::Shown;
use quenchway_words::blocks::{HELD, with_units};

use super::PlotError;
use super::frame::Frame;
use super::labels::spread;
use super::sheet::{Align, Lettering, Pen, Sheet};
use super::text::{self, Weight};
use super::theme::{HEIGHT, INK, LEADING, MARGIN, QUIET, SMALL, TEXT, THIN, TITLE, WIDTH};

/// On every picture: it may be all that someone on the plant floor sees.
const CAUTION: &str =
    "Estimate for planning: confirm on the line, raise speed in steps. A cool surface can hide a hot core.";

/// Draws title, description and caution; returns where the space below the description begins, px.
pub fn draw_heading(sheet: &Sheet, title: &str, description: &str) -> Result<f64, PlotError> {
    let room = f64::from(WIDTH) - 2.0 * MARGIN;
    let mut y = MARGIN + 14.0;
    let title = text::clean(title);
    let mut size = TITLE;
    let mut lines = text::wrap(&title, size, Weight::Bold, room, 2)?;
    // A long title is set smaller before it is shortened.
    while lines.join(" ") != title && size > TEXT {
        size *= 0.92;
        lines = text::wrap(&title, size, Weight::Bold, room, 2)?;
    }
    for line in lines {
        sheet.text(&line, [MARGIN, y], Align::Left, Lettering::bold(size, INK))?;
        y += size * LEADING;
    }
    // A number stays on a line with its unit.
    let described = with_units(&text::clean(description));
    for line in text::wrap(&described, TEXT, Weight::Regular, room, 2)? {
        sheet.text(&line.replace(HELD, " "), [MARGIN, y], Align::Left, Lettering::regular(TEXT, QUIET))?;
        y += TEXT * LEADING;
    }
    let caution = Lettering::regular(SMALL, QUIET);
    sheet.text(CAUTION, [MARGIN, f64::from(HEIGHT) - MARGIN], Align::Left, caution)?;
    Ok(y - 6.0)
}

/// Lower edge of every plot, px: below it are numbers, the axis name and the caution.
pub const PLOT_BOTTOM: f64 = HEIGHT as f64 - MARGIN - 128.0;
/// Left edge of every plot, px.
pub const PLOT_LEFT: f64 = 160.0;

/// Symbol of a unit on pictures.
pub fn symbol(shown: Shown, dimension: Dimension) -> &'static str {
    match shown.unit(dimension) {
        "degC" => "°C",
        "degF" => "°F",
        other => other,
    }
}

/// Number and unit on pictures.
pub fn amount(shown: Shown, si: f64, dimension: Dimension) -> String {
    format!("{} {}", shown.number(si, dimension).replace('-', "−"), symbol(shown, dimension))
}

/// A curve's name at the right-hand side of the plot, joined to the curve's end.
pub struct Entry {
    /// Height of the curve's end, px.
    pub end: f64,
    /// Its name.
    pub name: String,
    /// Its value at the end.
    pub value: String,
    /// How the curve is drawn; none for a name without a sample.
    pub pen: Option<Pen>,
}

/// From the plot to the sample of the curve's line, px.
const JOIN: f64 = 26.0;
/// Length of the sample, px.
const SAMPLE: f64 = 44.0;
/// Between sample and words, px.
const BLANK: f64 = 12.0;

/// Widest that the curves' names may become, px.
const NAMES: f64 = 330.0;

/// Room that entries, with samples of their lines or without, need at the right-hand side of the plot, px.
pub fn entries_width(entries: &[(String, String)], samples: bool) -> Result<f64, PlotError> {
    let mut widest: f64 = 0.0;
    for (name, value) in entries {
        let one_line = text::width(&joined(name, value), TEXT, Weight::Regular)?;
        let two_lines = text::width(name, TEXT, Weight::Regular)?.max(text::width(value, TEXT, Weight::Regular)?);
        widest = widest.max(if one_line <= NAMES { one_line } else { two_lines.min(NAMES) });
    }
    Ok(JOIN + if samples { SAMPLE } else { 0.0 } + BLANK + widest + MARGIN)
}

fn joined(name: &str, value: &str) -> String {
    if value.is_empty() { name.to_string() } else { format!("{name} {value}") }
}

/// Names the curves at the right-hand side; `right` is where the room for them ends.
pub fn draw_entries(sheet: &Sheet, frame: &Frame, right: f64, mut entries: Vec<Entry>) -> Result<(), PlotError> {
    entries.retain(|entry| entry.end.is_finite());
    sort_by_number(&mut entries, |entry| entry.end);
    let sample = if entries.iter().any(|entry| entry.pen.is_some()) { SAMPLE } else { 0.0 };
    let start = frame.right + JOIN + sample + BLANK;
    let room = right - start;
    let height = frame.bottom - frame.top + 60.0;
    // Three lines a name where there is room for them, then two, then one, then smaller.
    let (mut size, mut words) = (TEXT, Vec::new());
    for (smaller, most) in [(TEXT, 3), (TEXT, 2), (TEXT, 1), (SMALL, 1)] {
        size = smaller;
        words = entries.iter().map(|entry| lines(entry, size, room, most)).collect::<Result<_, _>>()?;
        if fits(&words, size, height) {
            break;
        }
    }
    // Dozens of curves: only so many names, evenly chosen.
    if !fits(&words, size, height) {
        let every = (entries.len() as f64 * (size * LEADING + GAP) / height).ceil() as usize;
        entries = entries.into_iter().step_by(every).collect();
        words = words.into_iter().step_by(every).collect();
    }
    let wishes: Vec<f64> = entries.iter().map(|entry| entry.end).collect();
    let sizes: Vec<f64> = words.iter().map(|lines| lines.len() as f64 * size * LEADING).collect();
    let centres = spread(&wishes, &sizes, GAP, frame.top - 20.0, frame.bottom + 40.0);
    for ((entry, lines), y) in entries.iter().zip(&words).zip(centres) {
        let first = frame.right + JOIN;
        let color = entry.pen.map_or(QUIET, |pen| pen.color);
        sheet.line(&[[frame.right, entry.end], [first, y]], Pen::solid(color, THIN))?;
        if let Some(pen) = entry.pen {
            sheet.line(&[[first, y], [first + SAMPLE, y]], pen)?;
        }
        let mut line_y = y - (lines.len() - 1) as f64 * size * LEADING / 2.0;
        for line in lines {
            sheet.text(line, [start, line_y], Align::Left, Lettering::regular(size, INK))?;
            line_y += size * LEADING;
        }
    }
    Ok(())
}

/// Between neighbouring names, px.
const GAP: f64 = 5.0;

fn fits(words: &[Vec<String>], size: f64, height: f64) -> bool {
    let lines: usize = words.iter().map(Vec::len).sum();
    lines as f64 * size * LEADING + GAP * words.len() as f64 <= height
}

/// Name and value in at most so many lines; the value is never shortened.
fn lines(entry: &Entry, size: f64, room: f64, most: usize) -> Result<Vec<String>, PlotError> {
    let (name, value, weight) = (&entry.name, &entry.value, Weight::Regular);
    if value.is_empty() {
        return text::wrap(name, size, weight, room, most);
    }
    if most == 1 {
        let left = room - text::width(&format!(" {value}"), size, weight)?;
        return Ok(vec![joined(&text::fit(name, size, weight, left)?, value)]);
    }
    let mut lines = text::wrap(name, size, weight, room, most - 1)?;
    let last = joined(lines.last().map_or("", String::as_str), value);
    if text::width(&last, size, weight)? <= room {
        lines.pop();
        lines.push(last);
    } else {
        lines.push(value.clone());
    }
    Ok(lines)
}
