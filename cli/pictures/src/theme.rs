//! What every picture shares: size, colours, type sizes, widths.

use plotters::style::RGBColor;

/// Width of a finished picture, px.
pub const WIDTH: u32 = 1600;
/// Height of a finished picture, px.
pub const HEIGHT: u32 = 1000;

/// Title, px per em.
pub const TITLE: f64 = 38.0;
/// Axis names, curve names, station names, px per em.
pub const TEXT: f64 = 27.0;
/// Tick numbers, notes inside the plot, px per em.
pub const SMALL: f64 = 23.0;
/// Baseline to baseline, em.
pub const LEADING: f64 = 1.24;

/// Free border around everything, px.
pub const MARGIN: f64 = 26.0;
/// A curve.
pub const CURVE: f64 = 4.5;
/// Axes, section ends, station lines.
pub const THIN: f64 = 2.0;
/// Grid.
pub const HAIR: f64 = 1.0;

/// Text and axes.
pub const INK: RGBColor = RGBColor(30, 30, 34);
/// Less important text.
pub const QUIET: RGBColor = RGBColor(92, 92, 100);
/// Grid lines.
pub const GRID: RGBColor = RGBColor(205, 207, 212);
/// Paper.
pub const PAPER: RGBColor = RGBColor(255, 255, 255);

// The eight colours that colour-blind readers can tell apart: Okabe & Ito, "Color universal design", 2008.
/// Okabe-Ito blue.
pub const BLUE: RGBColor = RGBColor(0, 114, 178);
/// Okabe-Ito vermillion.
pub const VERMILLION: RGBColor = RGBColor(213, 94, 0);
/// Okabe-Ito bluish green.
pub const GREEN: RGBColor = RGBColor(0, 158, 115);
/// Okabe-Ito reddish purple.
pub const PURPLE: RGBColor = RGBColor(204, 121, 167);
/// Okabe-Ito orange.
pub const ORANGE: RGBColor = RGBColor(230, 159, 0);
/// Okabe-Ito sky blue.
pub const SKY: RGBColor = RGBColor(86, 180, 233);
/// Okabe-Ito black.
pub const BLACK: RGBColor = RGBColor(0, 0, 0);

/// Joints between layers, in turn; the dash changes when the colours are used up.
pub const JOINTS: [RGBColor; 4] = [GREEN, PURPLE, ORANGE, SKY];

/// Behind the plot in an air section, and its name strip.
pub const AIR: [RGBColor; 2] = [RGBColor(253, 249, 238), RGBColor(243, 229, 194)];
/// Behind the plot in a water section, and its name strip.
pub const WATER: [RGBColor; 2] = [RGBColor(237, 245, 252), RGBColor(194, 221, 243)];
/// Behind the plot in a spray section, and its name strip.
pub const SPRAY: [RGBColor; 2] = [RGBColor(236, 249, 247), RGBColor(184, 226, 220)];
/// Behind the plot in every other layer of a profile picture, and its name strip.
pub const LAYER: [[RGBColor; 2]; 2] =
    [[RGBColor(243, 243, 246), RGBColor(218, 219, 226)], [RGBColor(252, 252, 253), RGBColor(236, 237, 241)]];
