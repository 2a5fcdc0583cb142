//! The picture of a rank: a bar an input, for the temperature that decides.

use quenchway::case::CaseFile;
use quenchway::names::key_path::KeyPath;
use quenchway::study::rank::{Effect, Rank};
use quenchway::units::Dimension;
use quenchway_words::Shown;
use quenchway_words::rank::{change, change_of, length};

use super::PlotError;
use super::page::{draw_heading, symbol};
use super::sheet::{Align, Lettering, Pen, Sheet};
use super::text::{self, Weight};
use super::theme::{BLUE, HEIGHT, INK, MARGIN, QUIET, SMALL, TEXT, THIN, VERMILLION, WIDTH};

/// Most bars of a panel.
const MOST: usize = 14;
/// Between the panels, px.
const BETWEEN: f64 = 44.0;
/// Share of a panel's width that the names take at most.
const NAMES: f64 = 0.47;
/// Width of a column of numbers, px.
const NUMBER: f64 = 96.0;
/// Tallest row, px.
const ROW: f64 = 60.0;

/// What is drawn, taken from the rank beforehand.
pub struct Picture {
    title: String,
    /// What the picture shows, in words.
    pub description: String,
    panels: [Panel; 2],
    /// Unit of the changes.
    unit: &'static str,
    /// Unit of the trough's changes, where there are any.
    lengths: Option<&'static str>,
}

/// A list of bars.
struct Panel {
    title: String,
    bars: Vec<Bar>,
    /// Inputs that found no room.
    left_out: usize,
}

/// One input.
struct Bar {
    name: String,
    /// K, degF or percent.
    value: f64,
    /// The change of the temperature, and that of the trough, as numbers.
    change: String,
    length: String,
}

impl Picture {
    /// The picture of a rank.
    pub fn new(case: &CaseFile, rank: &Rank, shown: Shown) -> Picture {
        let deciding = rank.targets.get(rank.deciding);
        let target = deciding.map_or(String::new(), |target| target.name.clone());
        let of = deciding.map_or(Dimension::Temperature, |target| target.dimension);
        let unit = symbol(shown, change_of(of));
        let panel = |title: String, effects: &[Effect]| {
            let noise = deciding.map_or(rank.noise, |target| rank.noise_of(target));
            let felt = effects.iter().filter(|effect| effect.changes[rank.deciding].abs() > noise);
            let bars: Vec<Bar> = felt
                .map(|effect| {
                    let by = effect.changes[rank.deciding];
                    Bar {
                        name: effect.input.clone(),
                        value: shown.value(by, change_of(of)),
                        change: change(of, by, shown).replace('-', "−"),
                        length: length(effect.length, shown).replace('-', "−"),
                    }
                })
                .collect();
            let left_out = bars.len().saturating_sub(MOST);
            Panel { title, bars: bars.into_iter().take(MOST).collect(), left_out }
        };
        let step = shown.value(quenchway::study::rank::KELVIN, Dimension::TemperatureDifference);
        let step = format!("{step:.0} {}", symbol(shown, Dimension::TemperatureDifference));
        let panels = [
            panel(format!("Per 10 % or {step} more"), &rank.numbers),
            panel("Per standard value more".to_string(), &rank.uncertain),
        ];
        let lengths = rank.length.is_ok().then(|| symbol(shown, Dimension::Length));
        let trough = lengths.map_or(String::new(), |unit| format!(", and to the trough that the limits need, {unit}"));
        let description = format!("What each input does to {target}, {unit} (bars){trough}");
        Picture { title: case.title.clone(), description, panels, unit, lengths }
    }

    /// Draws it.
    pub fn draw(&self, sheet: &Sheet) -> Result<(), PlotError> {
        let top = draw_heading(sheet, &self.title, &self.description)? + 20.0;
        let width = (f64::from(WIDTH) - 2.0 * MARGIN - BETWEEN) / 2.0;
        for (place, panel) in self.panels.iter().enumerate() {
            let left = MARGIN + place as f64 * (width + BETWEEN);
            self.bars(sheet, panel, [left, left + width], top)?;
        }
        Ok(())
    }

    fn bars(&self, sheet: &Sheet, panel: &Panel, [left, right]: [f64; 2], top: f64) -> Result<(), PlotError> {
        sheet.text(&panel.title, [left, top + 22.0], Align::Left, Lettering::bold(TEXT, INK))?;
        let first = top + 66.0;
        let bottom = f64::from(HEIGHT) - MARGIN - 96.0;
        let quiet = Lettering::regular(SMALL, QUIET);
        if panel.bars.is_empty() {
            let words = "nothing that could be told from the error";
            return sheet.text(words, [left, first + 20.0], Align::Left, quiet);
        }
        let with_length = self.lengths.is_some();
        let columns = [right - if with_length { NUMBER } else { 0.0 }, right];
        let begin_of_numbers = columns[0] - NUMBER + 6.0;
        sheet.text(self.unit, [columns[0], top + 22.0], Align::Right, quiet)?;
        if let Some(unit) = self.lengths {
            sheet.text(unit, [columns[1], top + 22.0], Align::Right, quiet)?;
        }
        let names = short(&panel.bars, NAMES * (right - left))?;
        let widths: Vec<f64> =
            names.iter().map(|name| text::width(name, SMALL, Weight::Regular)).collect::<Result<_, _>>()?;
        let begin = left + widths.into_iter().fold(0.0, f64::max) + 18.0;
        let ends = panel.bars.iter().fold([0.0_f64, 0.0], |[low, high], bar| [low.min(bar.value), high.max(bar.value)]);
        let scale = (begin_of_numbers - begin).max(40.0) / (ends[1] - ends[0]);
        let zero = begin - ends[0] * scale;
        let row = ((bottom - first) / panel.bars.len() as f64).min(ROW);
        for (place, (bar, name)) in panel.bars.iter().zip(&names).enumerate() {
            let middle = first + (place as f64 + 0.5) * row;
            let half = 0.32 * row;
            let end = zero + bar.value * scale;
            let color = if bar.value > 0.0 { VERMILLION } else { BLUE };
            let [from, to] = [zero.min(end), zero.max(end).max(zero.min(end) + 1.0)];
            sheet.rectangle([from, middle - half], [to, middle + half], color)?;
            let how = Lettering::regular(SMALL, INK);
            sheet.text(name, [left, middle], Align::Left, how)?;
            sheet.text(&bar.change, [columns[0], middle], Align::Right, how)?;
            if with_length {
                sheet.text(&bar.length, [columns[1], middle], Align::Right, how)?;
            }
        }
        let last = first + panel.bars.len() as f64 * row;
        sheet.line(&[[zero, first - 6.0], [zero, last + 6.0]], Pen::solid(INK, THIN))?;
        if panel.left_out > 0 {
            let words = format!("and {} more", panel.left_out);
            sheet.text(&words, [left, last + 24.0], Align::Left, quiet)?;
        }
        Ok(())
    }
}

/// The names of a panel's bars in the room that they have: without their first step where one of them is too long.
fn short(bars: &[Bar], room: f64) -> Result<Vec<String>, PlotError> {
    let whole: Vec<String> = bars.iter().map(|bar| one_line(&text::clean(&bar.name))).collect();
    let widest = whole.iter().map(|name| text::width(name, SMALL, Weight::Regular));
    let widest = widest.collect::<Result<Vec<f64>, _>>()?.into_iter().fold(0.0, f64::max);
    let tail = |name: &String| match name.split_once('.') {
        Some((table, tail)) if widest > room && table != "line" => tail.to_string(),
        _ => name.clone(),
    };
    whole.iter().map(|name| text::fit(&tail(name), SMALL, Weight::Regular, room)).collect()
}

/// Several paths that move together as the first of them and a count.
fn one_line(paths: &str) -> String {
    // A name may hold a comma and a blank.
    match &KeyPath::parse_list(paths)[..] {
        [first, others @ ..] if !others.is_empty() => format!("{first} +{}", others.len()),
        _ => paths.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::one_line;

    #[test]
    fn a_name_with_a_comma_is_one_path() {
        let core = r#"material."3 laid-up cores, copper and pvc".density"#;
        assert_eq!(one_line(core), core);
        assert_eq!(one_line("section.a.film_factor, section.b.film_factor"), "section.a.film_factor +1");
        assert_eq!(one_line(&format!("{core}, line.speed, section.a.length")), format!("{core} +2"));
    }
}
