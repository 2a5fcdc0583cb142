//! The strip above a plot: what lies along its x axis, shaded and named, with marked places; no two names overlap.

use plotters::style::RGBColor;
use quenchway::case::Medium;
use quenchway::march::solution::Solution;
use quenchway::maths::order::sort_by_number;
use quenchway::units::Dimension;
use quenchway_words::Shown;

use super::PlotError;
use super::frame::{Axis, Frame};
use super::labels::{Flag, flags};
use super::sheet::{Align, Dash, Lettering, Pen, Sheet};
use super::text::{self, Weight};
use super::theme::{AIR, HAIR, INK, MARGIN, PAPER, QUIET, SPRAY, TEXT, THIN, WATER, WIDTH};

/// Height of the strip itself, px.
const STRIP: f64 = 40.0;
/// Height of a row of names above it, px.
const ROW: f64 = 31.0;
/// Height in which leaders bend, px: the least, and as a share of the way that they go sideways.
const BEND: f64 = 17.0;
/// See above; so steep that neighbouring leaders stay apart.
const SLOPE: f64 = 0.14;
/// The most, px.
const MOST_BEND: f64 = 44.0;
/// Free room beside a name, px.
const BESIDE: f64 = 14.0;
/// Rows of names, at most.
const ROWS: usize = 3;

/// So many marks are drawn as fine lines without names.
const CROWD: usize = 60;

/// A stretch of the x axis: a section of the line or a layer of the product.
pub struct Band {
    /// Where it begins, px.
    pub left: f64,
    /// Where it ends, px.
    pub right: f64,
    /// Its name.
    pub name: String,
    /// Its shade in the plot and in the strip.
    pub shades: [RGBColor; 2],
}

/// A marked place on the x axis: a station.
pub struct Mark {
    /// Where it is, px.
    pub place: f64,
    /// Its name.
    pub name: String,
}

/// A name above the strip.
struct Label {
    anchor: f64,
    words: String,
    how: Lettering,
    /// Where its leader begins, px below the strip's upper edge.
    depth: f64,
}

/// Bands, marks and the layout of their names.
pub struct Strip {
    bands: Vec<Band>,
    marks: Vec<Mark>,
    /// Names in the strip: centre and words.
    inside: Vec<(f64, String)>,
    /// Names above it, from left to right, and their places.
    above: Vec<(Label, Flag)>,
    /// Height in which leaders bend below each row, px.
    bends: Vec<f64>,
    /// Upper edge of the strip, px.
    top: f64,
}

impl Strip {
    /// Lays out all names below `top`: in its band where it fits, otherwise above, joined by a leader.
    pub fn new(bands: Vec<Band>, marks: Vec<Mark>, top: f64) -> Result<Strip, PlotError> {
        let mut inside = Vec::new();
        let mut labels: Vec<Label> = Vec::new();
        for mark in marks.iter().filter(|_| marks.len() <= CROWD) {
            let how = Lettering::bold(TEXT, INK);
            labels.push(Label { anchor: mark.place, words: text::clean(&mark.name), how, depth: 0.0 });
        }
        for band in &bands {
            let words = text::clean(&band.name);
            let (from, to) = widest_free(band, &marks);
            let middle = (from + to) / 2.0;
            if text::width(&words, TEXT, Weight::Regular)? + 2.0 * BESIDE <= to - from {
                inside.push((middle, words));
            } else {
                labels.push(Label { anchor: middle, words, how: Lettering::regular(TEXT, QUIET), depth: 0.4 * STRIP });
            }
        }
        sort_by_number(&mut labels, |label| label.anchor);
        let places = place(&mut labels)?;
        let rows = places.iter().map(|flag| flag.row + 1).max().unwrap_or(0);
        let above: Vec<(Label, Flag)> = labels.into_iter().zip(places).collect();
        let bends: Vec<f64> = (0..rows).map(|row| bend(&above, row)).collect();
        let strip = top + bends.iter().map(|bend| ROW + bend).sum::<f64>();
        Ok(Strip { bands, marks, inside, above, bends, top: strip })
    }

    /// The sections and stations of a line.
    pub fn of_line(
        solution: &Solution,
        shown: Shown,
        axis: Axis,
        [left, right]: [f64; 2],
        top: f64,
    ) -> Result<Strip, PlotError> {
        let across = |metres: f64| {
            let share = axis.share(shown.value(metres, Dimension::Length)).clamp(0.0, 1.0);
            left + share * (right - left)
        };
        let bands = solution.sections.iter().map(|section| Band {
            left: across(section.start),
            right: across(section.end),
            name: section.name.clone(),
            shades: match section.medium {
                Medium::Air => AIR,
                Medium::Water => WATER,
                Medium::Spray => SPRAY,
            },
        });
        let stations = solution.stations.iter();
        let marks = stations.map(|station| Mark { place: across(station.distance), name: station.name.clone() });
        Strip::new(bands.collect(), marks.collect(), top)
    }

    /// Lower edge of the strip: where the plot begins, px.
    pub fn plot_top(&self) -> f64 {
        self.top + STRIP
    }

    /// Shades the bands, under everything else.
    pub fn draw_shades(&self, sheet: &Sheet, frame: &Frame) -> Result<(), PlotError> {
        for band in &self.bands {
            let [pale, full] = band.shades;
            // On whole pixels neighbours meet without a seam.
            let [left, right, top] = [band.left, band.right, frame.top].map(f64::round);
            sheet.rectangle([left, self.top], [right, top], full)?;
            sheet.rectangle([left, top], [right, frame.bottom], pale)?;
        }
        for band in self.bands.iter().skip(1) {
            sheet.line(&[[band.left, self.top], [band.left, frame.top]], Pen::solid(PAPER, THIN))?;
        }
        Ok(())
    }

    /// Lines of the marks and all names.
    pub fn draw_names(&self, sheet: &Sheet, frame: &Frame) -> Result<(), PlotError> {
        for mark in &self.marks {
            self.draw_mark(sheet, frame, mark.place)?;
        }
        for (centre, words) in &self.inside {
            let middle = (self.top + frame.top) / 2.0;
            sheet.text(words, [*centre, middle], Align::Middle, Lettering::regular(TEXT, INK))?;
        }
        self.above.iter().try_for_each(|(label, flag)| self.draw_flag(sheet, label, flag))
    }

    fn draw_mark(&self, sheet: &Sheet, frame: &Frame, x: f64) -> Result<(), PlotError> {
        if self.marks.len() > CROWD {
            return sheet.line(&[[x, self.top], [x, frame.bottom]], Pen::solid(QUIET, HAIR));
        }
        // Paper under the dashes: seen on pale and on dark ground.
        sheet.line(&[[x, frame.top], [x, frame.bottom]], Pen::solid(PAPER, THIN))?;
        sheet.line(&[[x, frame.top], [x, frame.bottom]], Pen { color: INK, width: THIN, dash: Dash::Dashed })?;
        sheet.line(&[[x, self.top], [x, frame.top]], Pen::solid(INK, THIN))?;
        let (half, upper) = (9.0, frame.top - 13.5);
        sheet.polygon(&[[x - half, upper], [x + half, upper], [x, frame.top]], INK)
    }

    fn draw_flag(&self, sheet: &Sheet, label: &Label, flag: &Flag) -> Result<(), PlotError> {
        let mut leader = vec![[label.anchor, self.top + label.depth], [label.anchor, self.top]];
        let mut floor = self.top;
        for (row, (&x, bend)) in flag.path.iter().zip(&self.bends).enumerate() {
            floor -= bend;
            leader.push([x, floor]);
            if row < flag.row {
                floor -= ROW;
                leader.push([x, floor]);
            }
        }
        sheet.line(&leader, Pen::solid(label.how.color, 0.8 * THIN))?;
        let Some(&centre) = flag.path.last() else { return Ok(()) };
        sheet.text(&label.words, [centre, floor - ROW / 2.0 - 1.0], Align::Middle, label.how)
    }
}

/// Height in which the leaders bend below a row.
fn bend(above: &[(Label, Flag)], row: usize) -> f64 {
    let sideways = above.iter().filter_map(|(label, flag)| {
        let before = if row > 0 { *flag.path.get(row - 1)? } else { label.anchor };
        Some((flag.path.get(row)? - before).abs())
    });
    (SLOPE * sideways.fold(0.0, f64::max)).clamp(BEND, MOST_BEND)
}

/// The widest piece of a band that no mark crosses.
fn widest_free(band: &Band, marks: &[Mark]) -> (f64, f64) {
    let mut cuts: Vec<f64> = marks.iter().map(|mark| mark.place).collect();
    cuts.retain(|x| *x > band.left && *x < band.right);
    cuts.extend([band.left, band.right]);
    cuts.sort_by(f64::total_cmp);
    let pieces = cuts.windows(2).map(|pair| (pair[0], pair[1]));
    pieces.max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0))).unwrap_or((band.left, band.right))
}

/// Places for all names; they are shortened only when they do not fit in all rows.
fn place(labels: &mut [Label]) -> Result<Vec<Flag>, PlotError> {
    let anchors: Vec<f64> = labels.iter().map(|label| label.anchor).collect();
    let names: Vec<String> = labels.iter().map(|label| label.words.clone()).collect();
    let (low, high) = (MARGIN, f64::from(WIDTH) - MARGIN);
    let mut room = 0.5 * (high - low);
    while room > 10.0 {
        let mut widths = Vec::new();
        for (label, name) in labels.iter_mut().zip(&names) {
            label.words = text::fit(name, label.how.size, label.how.weight, room)?;
            widths.push(label.how.width(&label.words)?);
        }
        if let Some(places) = flags(&anchors, &widths, BESIDE, low, high, ROWS) {
            return Ok(places);
        }
        room *= 0.85;
    }
    // Dozens of names that do not fit even shortened: none.
    labels.iter_mut().for_each(|label| label.words.clear());
    Ok(anchors.iter().map(|_| Flag { row: 0, path: Vec::new() }).collect())
}
