//! The gauges' card as a picture, to be read from a few steps away: three readings, where the gauges stand, what the line
//! speed does.

use plotters::style::RGBColor;
use quenchway::case::{Medium, Shape};
use quenchway::study::gauges::{Gauge, Gauges};
use quenchway::units::Dimension;
use quenchway_words::Shown;
use quenchway_words::gauges::{over, range, trim, what};

use super::PlotError;
use super::page::{amount, draw_heading, symbol};
use super::sheet::{Align, Dash, Lettering, Pen, Sheet};
use super::text::{self, Weight};
use super::theme::{
    AIR, BLUE, GREEN, HEIGHT, INK, LEADING, MARGIN, PAPER, QUIET, SMALL, SPRAY, TEXT, THIN, VERMILLION, WATER, WIDTH,
};

/// Ground of a box.
const GROUND: RGBColor = RGBColor(243, 245, 248);
/// Between boxes, px.
const BETWEEN: f64 = 24.0;
/// Height of a reading's box, px.
const BOX: f64 = 300.0;
/// A reading, px per em.
const READING: f64 = 92.0;
/// Height of the line's strip, px.
const STRIP: f64 = 58.0;
/// Left and right edge of everything, px.
const EDGES: [f64; 2] = [MARGIN, WIDTH as f64 - MARGIN];

/// Draws the card.
pub fn draw(sheet: &Sheet, title: &str, shape: Shape, found: &Gauges, shown: Shown) -> Result<(), PlotError> {
    let speed = amount(shown, found.speed, Dimension::Speed);
    let melts: Vec<String> = (found.melts.iter())
        .map(|melt| format!("{} {}", text::clean(&melt.layer), amount(shown, melt.flow, Dimension::MassFlow)))
        .collect();
    let per_width = if shape == Shape::Flat { " per m of width" } else { "" };
    let about = format!("Gauges at {speed}, output {}{per_width}", melts.join(", "));
    let top = draw_heading(sheet, title, &about)? + 24.0;
    boxes(sheet, shape, found, shown, top)?;
    line(sheet, found, shown, top + BOX + 74.0)?;
    speeds(sheet, shape, found, shown, f64::from(HEIGHT) - MARGIN - 250.0)
}

/// The three readings.
fn boxes(sheet: &Sheet, shape: Shape, found: &Gauges, shown: Shown, top: f64) -> Result<(), PlotError> {
    let celsius = |value: f64| amount(shown, value, Dimension::Temperature);
    let warm = |gauge: &Gauge| {
        let off = over(shown, gauge).replace('-', "−");
        let range = range(gauge, shown).map_or(String::new(), |range| format!("held or free: {range}"));
        [
            format!("{off} from finished"),
            format!("surface {}, mean {}", celsius(gauge.surface), celsius(gauge.mean)),
            range,
        ]
    };
    let whose = if found.of_case { "as the case has it" } else { "as wanted" };
    let at_die = format!("{} at the die: {}", what(shape), amount(shown, found.at_die, Dimension::Diameter));
    let finished = format!("finished, at {}", shown.limit(23.0).replace("deg", "°"));
    let width = (EDGES[1] - EDGES[0] - 2.0 * BETWEEN) / 3.0;
    let readings = [
        ("hot gauge: set to".to_string(), found.hot.reading, warm(&found.hot), VERMILLION),
        ("cold gauge: will read".to_string(), found.cold.reading, warm(&found.cold), BLUE),
        (finished, found.wanted, [whose.to_string(), at_die, String::new()], GREEN),
    ];
    for (index, (name, reading, notes, color)) in readings.into_iter().enumerate() {
        let left = EDGES[0] + index as f64 * (width + BETWEEN);
        sheet.rectangle([left, top], [left + width, top + BOX], GROUND)?;
        sheet.rectangle([left, top], [left + 12.0, top + BOX], color)?;
        let x = left + 36.0;
        sheet.text(&name, [x, top + 34.0], Align::Left, Lettering::bold(TEXT + 3.0, INK))?;
        let number = shown.number(reading, Dimension::Diameter);
        // A cable of many digits is written smaller.
        let unit = symbol(shown, Dimension::Diameter);
        let [digits, letters] =
            [Lettering::bold(READING, INK).width(&number)?, Lettering::bold(0.45 * READING, INK).width(unit)?];
        let size = READING * ((width - 70.0) / (digits + letters)).min(1.0);
        sheet.text(&number, [x, top + 116.0], Align::Left, Lettering::bold(size, INK))?;
        let after = [x + digits * size / READING + 14.0, top + 116.0 + 0.24 * size];
        sheet.text(unit, after, Align::Left, Lettering::bold(0.45 * size, QUIET))?;
        for (line, words) in notes.iter().enumerate().filter(|(_, words)| !words.is_empty()) {
            let words = text::fit(words, TEXT, Weight::Regular, width - 48.0)?;
            let y = top + 194.0 + line as f64 * TEXT * LEADING * 1.1;
            sheet.text(&words, [x, y], Align::Left, Lettering::regular(TEXT, INK))?;
        }
    }
    Ok(())
}

/// The line with its gauges and the time between them.
fn line(sheet: &Sheet, found: &Gauges, shown: Shown, top: f64) -> Result<(), PlotError> {
    let sections = &found.solution.sections;
    let end = sections.last().map_or(1.0, |section| section.end);
    let [left, right] = [EDGES[0] + 64.0, EDGES[1] - 20.0];
    let across = |metres: f64| left + metres / end * (right - left);
    for section in sections {
        let shade = match section.medium {
            Medium::Air => AIR[1],
            Medium::Water => WATER[1],
            Medium::Spray => SPRAY[1],
        };
        let (from, to) = (across(section.start), across(section.end));
        sheet.rectangle([from, top], [to, top + STRIP], shade)?;
        if section.start > 0.0 {
            sheet.line(&[[from, top], [from, top + STRIP]], Pen::solid(PAPER, THIN))?;
        }
        let name = text::clean(&section.name);
        if text::width(&name, TEXT, Weight::Regular)? + 20.0 < to - from {
            let middle = [(from + to) / 2.0, top + STRIP / 2.0];
            sheet.text(&name, middle, Align::Middle, Lettering::regular(TEXT, INK))?;
        }
    }
    sheet.text("die", [left - 12.0, top + STRIP / 2.0], Align::Right, Lettering::regular(TEXT, INK))?;
    let places = [across(found.hot.distance), across(found.cold.distance)];
    let below = top + STRIP + 40.0;
    let name = Lettering::bold(TEXT, INK);
    let [hot, cold] = [name.width("hot gauge")?, name.width("cold gauge")?];
    // Side by side where the gauges stand close together.
    let first = (places[0] - 11.0).min(EDGES[1] - hot - cold - BETWEEN);
    let second = (places[1] + 11.0 - cold).max(first + hot + BETWEEN);
    for (x, color, words, left) in
        [(places[0], VERMILLION, "hot gauge", first), (places[1], BLUE, "cold gauge", second)]
    {
        sheet.line(&[[x, top - 8.0], [x, below + 12.0]], Pen::solid(color, 2.0 * THIN))?;
        sheet.polygon(&[[x - 11.0, top - 24.0], [x + 11.0, top - 24.0], [x, top - 6.0]], color)?;
        sheet.text(words, [left, top - 44.0], Align::Left, name)?;
    }
    sheet.line(&[[places[0], below], [places[1], below]], Pen { color: QUIET, width: THIN, dash: Dash::Dashed })?;
    let delay = format!("{} from the hot to the cold gauge", amount(shown, found.delay, Dimension::Time));
    let half = name.width(&delay)? / 2.0;
    let middle = ((places[0] + places[1]) / 2.0).clamp(EDGES[0] + half, EDGES[1] - half);
    sheet.text(&delay, [middle, below + 30.0], Align::Middle, name)
}

/// What the line speed does at constant output: a table, and what to do for one step less.
fn speeds(sheet: &Sheet, shape: Shape, found: &Gauges, shown: Shown, top: f64) -> Result<(), PlotError> {
    let heading = Lettering::bold(TEXT, INK);
    sheet.text("Line speed at constant output", [EDGES[0], top], Align::Left, heading)?;
    let unit = symbol(shown, Dimension::Diameter);
    let columns = [EDGES[0] + 250.0, EDGES[0] + 420.0, EDGES[0] + 590.0, EDGES[0] + 760.0];
    let names = ["line speed".to_string(), "hot".to_string(), "cold".to_string(), "finished".to_string()];
    let units = [symbol(shown, Dimension::Speed), unit, unit, unit];
    let (regular, quiet) = (Lettering::regular(TEXT, INK), Lettering::regular(SMALL, QUIET));
    for ((x, name), unit) in columns.iter().zip(names).zip(units) {
        sheet.text(&name, [*x, top + 44.0], Align::Right, regular)?;
        sheet.text(unit, [*x, top + 72.0], Align::Right, quiet)?;
    }
    sheet.line(&[[EDGES[0], top + 90.0], [columns[3], top + 90.0]], Pen::solid(QUIET, THIN))?;
    let decimals = shown.decimals(Dimension::Diameter) + 1;
    for ((row, at), word) in found.at_speeds.iter().enumerate().zip(["−1 %", "now", "+1 %"]) {
        let y = top + 114.0 + row as f64 * TEXT * LEADING * 1.08;
        let size = |metres: f64| format!("{:.decimals$}", shown.value(metres, Dimension::Diameter));
        let speed = format!("{:.1}", shown.value(at.speed, Dimension::Speed));
        sheet.text(word, [EDGES[0], y], Align::Left, regular)?;
        for (x, words) in columns.iter().zip([speed, size(at.hot), size(at.cold), size(at.finished)]) {
            sheet.text(&words, [*x, y], Align::Right, regular)?;
        }
    }
    let [step, percent, speed] = trim(found, shown);
    let what = what(shape);
    let words = [
        format!("{step} less of finished {what}:"),
        format!("line {percent} ({speed}) faster,"),
        "the output as it is; or the output".to_string(),
        format!("{percent} lower, the speed as it is."),
        format!("Then wait {}: only then", amount(shown, found.cold.time, Dimension::Time)),
        "the cold gauge tells what it did.".to_string(),
    ];
    let left = columns[3] + 64.0;
    for (line, words) in words.iter().enumerate() {
        let how = if line == 0 { heading } else { regular };
        let words = text::fit(words, how.size, how.weight, EDGES[1] - left)?;
        sheet.text(&words, [left, top + line as f64 * TEXT * LEADING * 1.12], Align::Left, how)?;
    }
    Ok(())
}
