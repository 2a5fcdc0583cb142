//! The paper of a picture: areas, lines and letters with smooth edges. Only this file knows the drawing library.

use std::cell::RefCell;

use plotters::style::RGBColor;
use tiny_skia::{
    Color, FillRule, LineCap, LineJoin, Paint, PathBuilder, Pixmap, Shader, Stroke, StrokeDash, Transform,
};

use super::PlotError;
use super::text::{self, Weight};
use super::theme::{HEIGHT, PAPER, WIDTH};

/// A place on the picture, px from its upper left corner.
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
pub struct Sheet {
    pixels: RefCell<Pixmap>,
}

/// Draws a picture by `draw`: the bytes of a PNG file.
pub fn encoded(
    words: &super::png::Words,
    draw: impl FnOnce(&Sheet) -> Result<(), PlotError>,
) -> Result<Vec<u8>, PlotError> {
    let mut pixels = Pixmap::new(WIDTH, HEIGHT).ok_or_else(|| PlotError("the paper has no size".to_string()))?;
    pixels.fill(opaque(PAPER));
    let sheet = Sheet { pixels: RefCell::new(pixels) };
    draw(&sheet)?;
    let pixels = sheet.pixels.into_inner();
    let mut rgb = vec![0; 3 * WIDTH as usize * HEIGHT as usize];
    for (to, from) in rgb.chunks_exact_mut(3).zip(pixels.data().chunks_exact(4)) {
        to.copy_from_slice(&from[..3]);
    }
    super::png::encode(&rgb, [WIDTH, HEIGHT], words)
}

impl Sheet {
    /// A filled rectangle between two corners.
    pub fn rectangle(&self, from: Place, to: Place, color: RGBColor) -> Result<(), PlotError> {
        self.polygon(&[from, [to[0], from[1]], to, [from[0], to[1]]], color)
    }

    /// A filled polygon; none where a corner is not a number.
    pub fn polygon(&self, corners: &[Place], color: RGBColor) -> Result<(), PlotError> {
        self.veil(corners, color, 1.0)
    }

    /// A filled polygon that what lies under it shows through; `opacity` from 0 to 1.
    pub fn veil(&self, corners: &[Place], color: RGBColor, opacity: f64) -> Result<(), PlotError> {
        let mut path = PathBuilder::new();
        trace(&mut path, corners);
        path.close();
        self.fill(path, color, opacity)
    }

    /// A filled disc.
    pub fn disc(&self, centre: Place, radius: f64, color: RGBColor) -> Result<(), PlotError> {
        let mut path = PathBuilder::new();
        let [x, y] = near(centre);
        path.push_circle(x, y, radius as f32);
        self.fill(path, color, 1.0)
    }

    fn fill(&self, path: PathBuilder, color: RGBColor, opacity: f64) -> Result<(), PlotError> {
        // What has no area or no place has no path.
        if let Some(path) = path.finish() {
            let mut color = opaque(color);
            color.set_alpha(opacity as f32);
            let mut pixels = self.pixels.borrow_mut();
            pixels.fill_path(&path, &paint(color), FillRule::Winding, Transform::identity(), None);
        }
        Ok(())
    }

    /// A line through places; it is interrupted at places that are not finite numbers.
    pub fn line(&self, places: &[Place], pen: Pen) -> Result<(), PlotError> {
        let mut path = PathBuilder::new();
        if let &[from, to] = places
            && let Some(axis) = (0..2).find(|&axis| from[axis] == to[axis])
        {
            // Upright or level, it lies on whole pixels: sharp.
            let mut ends = [from, to];
            let edge = (from[axis] - pen.width / 2.0).round();
            ends.iter_mut().for_each(|end| end[axis] = edge + pen.width / 2.0);
            trace(&mut path, &ends);
            return self.stroke(path, pen, LineCap::Butt);
        }
        for run in places.split(|place| !(place[0].is_finite() && place[1].is_finite())) {
            trace(&mut path, run);
        }
        self.stroke(path, pen, LineCap::Butt)
    }

    /// Straight pieces with round ends, of which those that meet look like one line.
    pub fn pieces(&self, pieces: impl IntoIterator<Item = [Place; 2]>, pen: Pen) -> Result<(), PlotError> {
        let mut path = PathBuilder::new();
        pieces.into_iter().for_each(|ends| trace(&mut path, &ends));
        self.stroke(path, pen, LineCap::Round)
    }

    fn stroke(&self, path: PathBuilder, pen: Pen, line_cap: LineCap) -> Result<(), PlotError> {
        let dash = match pen.dash {
            Dash::Solid => None,
            Dash::Dashed => Some([3.4, 2.0]),
            Dash::Dotted => Some([1.0, 1.2]),
        };
        let dash = dash.map(|widths| widths.map(|width| (width * pen.width.max(2.5)) as f32));
        let stroke = Stroke {
            width: pen.width as f32,
            line_cap,
            line_join: LineJoin::Round,
            dash: dash.and_then(|lengths| StrokeDash::new(lengths.to_vec(), 0.0)),
            ..Stroke::default()
        };
        if let Some(path) = path.finish() {
            let mut pixels = self.pixels.borrow_mut();
            pixels.stroke_path(&path, &paint(opaque(pen.color)), &stroke, Transform::identity(), None);
        }
        Ok(())
    }

    /// A line of text; `place` is at half the height of a capital letter.
    pub fn text(&self, words: &str, place: Place, align: Align, how: Lettering) -> Result<(), PlotError> {
        self.letters(words, place, align, how, |x, y| (x, y))
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
        // Set on a page that is turned by a quarter: its x runs up, its y to the right.
        self.letters(words, [-place[1], place[0]], Align::Middle, how, |x, y| (y, -1 - x))
    }

    /// Sets letters as if the paper had no edges; `pixel` says where a pixel of theirs lies on it.
    fn letters(
        &self,
        words: &str,
        place: Place,
        align: Align,
        how: Lettering,
        pixel: impl Fn(i32, i32) -> (i32, i32),
    ) -> Result<(), PlotError> {
        let left = match align {
            Align::Left => place[0],
            Align::Middle => place[0] - how.width(words)? / 2.0,
            Align::Right => place[0] - how.width(words)?,
        };
        let origin = [left, place[1] + text::CAPITAL * how.size / 2.0];
        let mut pixels = self.pixels.borrow_mut();
        text::dots(words, origin, how.size, how.weight, |x, y, coverage| {
            let (x, y) = pixel(x, y);
            blend(&mut pixels, x, y, how.color, coverage);
        })
    }

    /// Fills a rectangle pixel by pixel: `color` is asked in the middle of each, none leaves the paper as it is. Where
    /// neighbours differ it is asked nine times, so that edges are smooth; column after column, left to right.
    pub fn raster(
        &self,
        from: Place,
        to: Place,
        mut color: impl FnMut(f64, f64) -> Option<RGBColor>,
    ) -> Result<(), PlotError> {
        let ends = |axis: usize, size: u32| {
            let whole = |place: Place| place[axis].round().clamp(0.0, f64::from(size)) as usize;
            whole(from)..whole(to).max(whole(from))
        };
        let (columns, rows) = (ends(0, WIDTH), ends(1, HEIGHT));
        let middle = |index: usize| index as f64 + 0.5;
        let asked: Vec<Vec<Option<RGBColor>>> =
            columns.clone().map(|x| rows.clone().map(|y| color(middle(x), middle(y))).collect()).collect();
        let mut pixels = self.pixels.borrow_mut();
        for (column, x) in columns.enumerate() {
            let is_edge = |row: &usize| {
                let beside = [column.wrapping_sub(1), column + 1].map(|beside| Some(asked.get(beside)?[*row]));
                let over = [row.wrapping_sub(1), row + 1].map(|over| asked[column].get(over).copied());
                beside.into_iter().chain(over).flatten().any(|other| differ(other, asked[column][*row]))
            };
            let (edges, plain): (Vec<usize>, Vec<usize>) = (0..rows.len()).partition(is_edge);
            for row in plain {
                if let Some(color) = asked[column][row] {
                    blend(&mut pixels, x as i32, (rows.start + row) as i32, color, 1.0);
                }
            }
            let mut shares: Vec<Vec<RGBColor>> = vec![Vec::with_capacity(9); edges.len()];
            for right in THIRDS {
                for (row, shares) in edges.iter().zip(&mut shares) {
                    let y = middle(rows.start + row);
                    shares.extend(THIRDS.iter().filter_map(|down| color(middle(x) + right, y + down)));
                }
            }
            for (row, shares) in edges.iter().zip(&shares).filter(|(_, shares)| !shares.is_empty()) {
                let mean = mean(shares);
                blend(&mut pixels, x as i32, (rows.start + row) as i32, mean, shares.len() as f64 / 9.0);
            }
        }
        Ok(())
    }
}

/// Middles of the thirds of a pixel, px from its own.
const THIRDS: [f64; 3] = [-1.0 / 3.0, 0.0, 1.0 / 3.0];

/// Whether there is an edge between neighbouring pixels, and not a shade.
fn differ(one: Option<RGBColor>, other: Option<RGBColor>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => {
            [(one.0, other.0), (one.1, other.1), (one.2, other.2)].iter().any(|(a, b)| a.abs_diff(*b) > 8)
        }
        _ => one.is_some() != other.is_some(),
    }
}

fn mean(colors: &[RGBColor]) -> RGBColor {
    let of = |channel: fn(&RGBColor) -> u8| {
        let sum: usize = colors.iter().map(|color| usize::from(channel(color))).sum();
        ((2 * sum + colors.len()) / (2 * colors.len())) as u8
    };
    RGBColor(of(|color| color.0), of(|color| color.1), of(|color| color.2))
}

/// Mixes a colour into a pixel; nothing where there is no paper.
fn blend(pixels: &mut Pixmap, x: i32, y: i32, color: RGBColor, share: f64) {
    if !(0..WIDTH as i32).contains(&x) || !(0..HEIGHT as i32).contains(&y) {
        return;
    }
    let first = 4 * (y as usize * WIDTH as usize + x as usize);
    for (channel, value) in pixels.data_mut()[first..].iter_mut().zip([color.0, color.1, color.2]) {
        let under = f64::from(*channel);
        *channel = (under + share * (f64::from(value) - under)).round() as u8;
    }
}

/// A path through all places.
fn trace(path: &mut PathBuilder, places: &[Place]) {
    for (index, [x, y]) in places.iter().copied().map(near).enumerate() {
        if index == 0 { path.move_to(x, y) } else { path.line_to(x, y) }
    }
}

/// Places far outside are brought near: the library counts in 32 bits.
fn near(place: Place) -> [f32; 2] {
    place.map(|value| value.clamp(-10_000.0, 10_000.0) as f32)
}

fn opaque(color: RGBColor) -> Color {
    Color::from_rgba8(color.0, color.1, color.2, 255)
}

fn paint(color: Color) -> Paint<'static> {
    Paint { shader: Shader::SolidColor(color), ..Paint::default() }
}
