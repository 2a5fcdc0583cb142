//! The paper of a picture: drawn three times too large, filtered down, written as PNG. Only this file and the ticks of
//! `frame` know the drawing library.

use std::path::Path;

use image::{ImageBuffer, RgbImage};
use plotters::coord::Shift;
use plotters::element::DashedPathElement;
use plotters::prelude::{BitMapBackend, Circle, Color, DrawingArea, IntoDrawingArea, PathElement, Polygon, RGBColor};

use super::PlotError;
use super::text::{self, Weight};
use super::theme::{HEIGHT, PAPER, WIDTH};

/// Drawn so much larger than finished: lines and letters come out smooth.
const SCALE: f64 = 3.0;

/// A place on the finished picture, px from its upper left corner.
pub type Place = [f64; 2];

/// How a line is broken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dash {
    /// Unbroken.
    Solid,
    /// Long pieces.
    Dashed,
    /// Short pieces.
    Dotted,
}

/// A pen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pen {
    /// Its colour.
    pub color: RGBColor,
    /// Its width, px.
    pub width: f64,
    /// How its lines are broken.
    pub dash: Dash,
}

impl Pen {
    /// A pen for unbroken lines.
    pub fn solid(color: RGBColor, width: f64) -> Pen {
        Pen { color, width, dash: Dash::Solid }
    }
}

/// Where a text stands relative to its place, horizontally; vertically the place is the middle of a capital letter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// The text begins at the place.
    Left,
    /// The text's middle is at the place.
    Middle,
    /// The text ends at the place.
    Right,
}

/// How a text looks.
#[derive(Clone, Copy, Debug)]
pub struct Lettering {
    /// px per em.
    pub size: f64,
    /// Weight.
    pub weight: Weight,
    /// Colour.
    pub color: RGBColor,
}

impl Lettering {
    /// Regular weight.
    pub fn regular(size: f64, color: RGBColor) -> Lettering {
        Lettering { size, weight: Weight::Regular, color }
    }

    /// Bold weight.
    pub fn bold(size: f64, color: RGBColor) -> Lettering {
        Lettering { size, weight: Weight::Bold, color }
    }

    /// Width of a line of text, px.
    pub fn width(&self, words: &str) -> Result<f64, PlotError> {
        text::width(words, self.size, self.weight)
    }
}

/// The paper while it is drawn on.
pub struct Sheet<'a> {
    area: DrawingArea<BitMapBackend<'a>, Shift>,
}

/// Draws a picture by `draw` and writes it to `path`.
pub fn picture(
    path: &Path,
    words: &super::png::Words,
    draw: impl FnOnce(&Sheet) -> Result<(), PlotError>,
) -> Result<(), PlotError> {
    super::png::write(path, &encoded(words, draw)?)
}

/// Draws a picture by `draw`: the bytes of a PNG file.
pub fn encoded(
    words: &super::png::Words,
    draw: impl FnOnce(&Sheet) -> Result<(), PlotError>,
) -> Result<Vec<u8>, PlotError> {
    let large = (WIDTH * SCALE as u32, HEIGHT * SCALE as u32);
    let mut pixels = vec![0; large.0 as usize * large.1 as usize * 3];
    {
        let area = BitMapBackend::with_buffer(&mut pixels, large).into_drawing_area();
        area.fill(&PAPER).map_err(broken)?;
        let sheet = Sheet { area };
        draw(&sheet)?;
        sheet.area.present().map_err(broken)?;
    }
    let image: RgbImage = ImageBuffer::from_raw(large.0, large.1, pixels)
        .ok_or_else(|| PlotError::Draw("the picture does not fill its buffer".to_string()))?;
    // Shrunk by a whole number, a thumbnail is the plain mean of the pixels under each.
    super::png::encode(&image::imageops::thumbnail(&image, WIDTH, HEIGHT), words)
}

impl Sheet<'_> {
    /// A filled rectangle between two corners.
    pub fn rectangle(&self, from: Place, to: Place, color: RGBColor) -> Result<(), PlotError> {
        self.polygon(&[from, [to[0], from[1]], to, [from[0], to[1]]], color)
    }

    /// A filled polygon.
    pub fn polygon(&self, corners: &[Place], color: RGBColor) -> Result<(), PlotError> {
        let corners: Vec<(i32, i32)> = corners.iter().map(|&corner| large(corner)).collect();
        self.area.draw(&Polygon::new(corners, color.filled())).map_err(broken)
    }

    /// A filled polygon that what lies under it shows through; `opacity` from 0 to 1.
    pub fn veil(&self, corners: &[Place], color: RGBColor, opacity: f64) -> Result<(), PlotError> {
        let corners: Vec<(i32, i32)> = corners.iter().map(|&corner| large(corner)).collect();
        self.area.draw(&Polygon::new(corners, color.mix(opacity).filled())).map_err(broken)
    }

    /// A filled disc.
    pub fn disc(&self, centre: Place, radius: f64, color: RGBColor) -> Result<(), PlotError> {
        self.area.draw(&Circle::new(large(centre), (radius * SCALE) as i32, color.filled())).map_err(broken)
    }

    /// A line through places; it is interrupted at places that are not finite numbers.
    pub fn line(&self, places: &[Place], pen: Pen) -> Result<(), PlotError> {
        for run in places.split(|place| !(place[0].is_finite() && place[1].is_finite())) {
            let mut points: Vec<(i32, i32)> = Vec::with_capacity(run.len());
            for (i, &place) in run.iter().enumerate() {
                let point = large(place);
                // Pieces shorter than the grid of pixels have no direction: the pen would shiver.
                let far = points.last().is_none_or(|last| {
                    (point.0 - last.0).pow(2) + (point.1 - last.1).pow(2) >= 16
                        || (i + 1 == run.len() && point != *last)
                });
                if far {
                    points.push(point);
                }
            }
            if points.len() > 1 {
                self.stroke(points, pen)?;
            }
        }
        Ok(())
    }

    fn stroke(&self, points: Vec<(i32, i32)>, pen: Pen) -> Result<(), PlotError> {
        let style = pen.color.stroke_width((pen.width * SCALE).round() as u32);
        let pieces = match pen.dash {
            Dash::Solid => return self.area.draw(&PathElement::new(points, style)).map_err(broken),
            Dash::Dashed => [3.4, 2.0],
            Dash::Dotted => [1.0, 1.2],
        };
        let [dash, gap] = pieces.map(|widths| (widths * pen.width.max(2.5) * SCALE) as i32);
        self.area.draw(&DashedPathElement::new(points, dash, gap, style)).map_err(broken)
    }

    /// A line of text; `place` is at half the height of a capital letter.
    pub fn text(&self, words: &str, place: Place, align: Align, how: Lettering) -> Result<(), PlotError> {
        let [x, y] = self.origin(words, place, align, how)?;
        self.letters(words, how, |dx, dy| (x + dx, y + dy))
    }

    /// A line of text with a rim of another colour around its letters.
    pub fn halo(
        &self,
        words: &str,
        place: Place,
        align: Align,
        how: Lettering,
        rim: RGBColor,
    ) -> Result<(), PlotError> {
        for turn in 0..12 {
            let (sin, cos) = (f64::from(turn) * std::f64::consts::TAU / 12.0).sin_cos();
            self.text(words, [place[0] + 3.0 * cos, place[1] + 3.0 * sin], align, Lettering { color: rim, ..how })?;
        }
        self.text(words, place, align, how)
    }

    /// A line of text that reads upward; `place` is its middle.
    pub fn upward(&self, words: &str, place: Place, how: Lettering) -> Result<(), PlotError> {
        let turned = [place[1], place[0]];
        let [along, across] = self.origin(words, turned, Align::Middle, how)?;
        let middle = (place[1] * SCALE).round() as i32;
        self.letters(words, how, |dx, dy| (across + dy, 2 * middle - (along + dx)))
    }

    /// Left end of the baseline, large pixels.
    fn origin(&self, words: &str, place: Place, align: Align, how: Lettering) -> Result<[i32; 2], PlotError> {
        let width = how.width(words)?;
        let left = match align {
            Align::Left => place[0],
            Align::Middle => place[0] - width / 2.0,
            Align::Right => place[0] - width,
        };
        let (x, y) = large([left, place[1] + text::CAPITAL * how.size / 2.0]);
        Ok([x, y])
    }

    fn letters(&self, words: &str, how: Lettering, at: impl Fn(i32, i32) -> (i32, i32)) -> Result<(), PlotError> {
        text::dots(words, how.size * SCALE, how.weight, |dx, dy, coverage| {
            self.area.draw_pixel(at(dx, dy), &how.color.mix(coverage)).map_err(broken)
        })
    }

    /// Fills a rectangle pixel by pixel: `color` is asked at each place, none leaves the paper as it is.
    pub fn raster(
        &self,
        from: Place,
        to: Place,
        mut color: impl FnMut(f64, f64) -> Option<RGBColor>,
    ) -> Result<(), PlotError> {
        let ((left, top), (right, bottom)) = (large(from), large(to));
        for x in left..right {
            for y in top..bottom {
                let place = [(f64::from(x) + 0.5) / SCALE, (f64::from(y) + 0.5) / SCALE];
                if let Some(color) = color(place[0], place[1]) {
                    self.area.draw_pixel((x, y), &color).map_err(broken)?;
                }
            }
        }
        Ok(())
    }
}

/// Pixels of the large drawing; places far outside are brought near, the library counts in 32 bits.
fn large(place: Place) -> (i32, i32) {
    let [x, y] = place.map(|value| (value * SCALE).round().clamp(-30_000.0, 30_000.0) as i32);
    (x, y)
}

fn broken(error: impl std::fmt::Display) -> PlotError {
    PlotError::Draw(error.to_string())
}
