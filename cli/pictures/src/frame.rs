//! Axes: from values to places, ticks, grid, names.

use plotters::coord::ranged1d::{BoldPoints, Ranged};
use plotters::coord::types::RangedCoordf64;

use super::PlotError;
use super::sheet::{Align, Lettering, Pen, Place, Sheet};
use super::text::{self, Weight};
use super::theme::{GRID, HAIR, INK, SMALL, TEXT, THIN};

/// One axis: the values at its two ends.
#[derive(Clone, Copy, Debug)]
pub struct Axis {
    low: f64,
    high: f64,
}

impl Axis {
    /// From `low` to `high`; a range that is empty or not finite is widened to something that can be drawn.
    pub fn new(low: f64, high: f64) -> Axis {
        let (low, high) = if low.is_finite() && high.is_finite() { (low, high) } else { (0.0, 1.0) };
        let least = 1e-9 * low.abs().max(high.abs()).max(1e-9);
        if high - low > least { Axis { low, high } } else { Axis { low: low - 1e3 * least, high: low + 1e3 * least } }
    }

    /// Over all finite values, with `room` of the span left free at the lower and the upper end.
    pub fn over(values: impl IntoIterator<Item = f64>, room: [f64; 2]) -> Axis {
        let finite = values.into_iter().filter(|value| value.is_finite());
        let (low, high) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        let span = high - low;
        Axis::new(low - room[0] * span, high + room[1] * span)
    }

    /// Values of the ticks, about `most` at most, and the decimals that tell them apart.
    pub fn ticks(&self, most: usize) -> (Vec<f64>, usize) {
        let axis: RangedCoordf64 = (self.low..self.high).into();
        let ticks = axis.key_points(BoldPoints(most));
        let step = ticks.windows(2).map(|pair| pair[1] - pair[0]).fold(f64::INFINITY, f64::min);
        let told = |decimals: &usize| {
            let unit = 10f64.powi(*decimals as i32);
            ticks.iter().all(|tick| ((tick * unit).round() / unit - tick).abs() < 1e-3 * step)
        };
        let decimals = (0..9).find(told).unwrap_or(9);
        (ticks, decimals)
    }

    /// Where a value lies, 0 at the low end and 1 at the high end.
    pub fn share(&self, value: f64) -> f64 {
        (value - self.low) / (self.high - self.low)
    }

    /// The value at a share.
    pub fn value(&self, share: f64) -> f64 {
        self.low + share * (self.high - self.low)
    }
}

/// The rectangle of a plot with its two axes.
#[derive(Clone, Copy, Debug)]
pub struct Frame {
    /// Left edge, px.
    pub left: f64,
    /// Upper edge, px.
    pub top: f64,
    /// Right edge, px.
    pub right: f64,
    /// Lower edge, px.
    pub bottom: f64,
    /// Rightward.
    pub x: Axis,
    /// Upward.
    pub y: Axis,
}

impl Frame {
    /// Where an x value lies, px.
    pub fn across(&self, x: f64) -> f64 {
        self.left + self.x.share(x) * (self.right - self.left)
    }

    /// Where a y value lies, px.
    pub fn down(&self, y: f64) -> f64 {
        self.bottom - self.y.share(y) * (self.bottom - self.top)
    }

    /// Where a pair of values lies.
    pub fn place(&self, x: f64, y: f64) -> Place {
        [self.across(x), self.down(y)]
    }

    /// Grid lines, under the curves.
    pub fn draw_grid(&self, sheet: &Sheet) -> Result<(), PlotError> {
        self.draw_grid_at(sheet, &self.numbered()?)
    }

    /// The same with given ticks along x.
    pub fn draw_grid_at(&self, sheet: &Sheet, ticks: &[(f64, String)]) -> Result<(), PlotError> {
        let pen = Pen::solid(GRID, HAIR);
        for tick in self.y_ticks().0 {
            sheet.line(&[[self.left, self.down(tick)], [self.right, self.down(tick)]], pen)?;
        }
        for (tick, _) in ticks {
            sheet.line(&[[self.across(*tick), self.top], [self.across(*tick), self.bottom]], pen)?;
        }
        Ok(())
    }

    /// The ticks along x with their numbers.
    fn numbered(&self) -> Result<Vec<(f64, String)>, PlotError> {
        let (ticks, decimals) = self.x_ticks()?;
        Ok(ticks.into_iter().map(|tick| (tick, number(tick, decimals))).collect())
    }

    /// Ticks along x, as many as have room for their numbers beside each other.
    fn x_ticks(&self) -> Result<(Vec<f64>, usize), PlotError> {
        let mut most = X_TICKS;
        loop {
            let (ticks, decimals) = self.x.ticks(most);
            let widths = ticks.iter().map(|&tick| text::width(&number(tick, decimals), SMALL, Weight::Regular));
            let widest = widths.collect::<Result<Vec<f64>, _>>()?.into_iter().fold(0.0, f64::max);
            let apart = ticks.windows(2).map(|pair| self.across(pair[1]) - self.across(pair[0]));
            if most <= 2 || apart.fold(f64::INFINITY, f64::min) >= widest + BETWEEN {
                return Ok((ticks, decimals));
            }
            most -= 1;
        }
    }

    /// Ticks along y, as many as have room for their numbers one above the other.
    fn y_ticks(&self) -> (Vec<f64>, usize) {
        let fit = |most: &usize| {
            let apart = self.y.ticks(*most).0.windows(2).map(|pair| self.down(pair[0]) - self.down(pair[1])).next();
            apart.is_none_or(|apart| apart >= SMALL + 4.0)
        };
        self.y.ticks((2..=Y_TICKS).rev().find(fit).unwrap_or(2))
    }

    /// Axes, ticks, numbers and names, over the curves.
    pub fn draw_axes(&self, sheet: &Sheet, x_name: &str, y_name: &str) -> Result<(), PlotError> {
        self.draw_bare_axes(sheet)?;
        let names = Lettering::regular(TEXT, INK);
        sheet.text(x_name, [(self.left + self.right) / 2.0, self.bottom + 66.0], Align::Middle, names)?;
        sheet.upward(y_name, [46.0, (self.top + self.bottom) / 2.0], names)
    }

    /// Axes, ticks and numbers without names, over the curves.
    pub fn draw_bare_axes(&self, sheet: &Sheet) -> Result<(), PlotError> {
        self.draw_bare_axes_at(sheet, &self.numbered()?)
    }

    /// The same with given ticks along x.
    pub fn draw_bare_axes_at(&self, sheet: &Sheet, ticks: &[(f64, String)]) -> Result<(), PlotError> {
        let pen = Pen::solid(INK, THIN);
        let numbers = Lettering::regular(SMALL, INK);
        sheet.line(&[[self.left, self.top], [self.left, self.bottom], [self.right, self.bottom]], pen)?;
        for (tick, words) in ticks {
            let x = self.across(*tick);
            sheet.line(&[[x, self.bottom], [x, self.bottom + TICK]], pen)?;
            sheet.text(words, [x, self.bottom + TICK + 18.0], Align::Middle, numbers)?;
        }
        let (ticks, decimals) = self.y_ticks();
        for tick in ticks {
            let y = self.down(tick);
            sheet.line(&[[self.left - TICK, y], [self.left, y]], pen)?;
            sheet.text(&number(tick, decimals), [self.left - TICK - 6.0, y], Align::Right, numbers)?;
        }
        Ok(())
    }
}

/// Length of a tick, px.
const TICK: f64 = 9.0;
/// Room between the numbers of two ticks along x, px.
const BETWEEN: f64 = 14.0;
/// Ticks along x, at most.
const X_TICKS: usize = 11;
/// Ticks along y, at most.
const Y_TICKS: usize = 9;

/// A tick's number with a true minus sign, zero without one.
pub fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(zero) if zero.chars().all(|c| c == '0' || c == '.') => zero.to_string(),
        Some(digits) => format!("−{digits}"),
        None => text,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_told_apart_by_their_decimals() {
        for (low, high, expected) in [(0.0, 200.0, 0), (0.0, 1.7, 1), (3.33, 3.42, 2), (0.1312, 0.1345, 4)] {
            let (ticks, decimals) = Axis::new(low, high).ticks(9);
            // The library may go one beyond what it is asked for.
            assert!((4..=10).contains(&ticks.len()), "{low} to {high}: {ticks:?}");
            assert!(decimals <= expected, "{low} to {high}: {decimals} decimals for {ticks:?}");
            let mut words: Vec<String> = ticks.iter().map(|&tick| number(tick, decimals)).collect();
            words.dedup();
            assert_eq!(words.len(), ticks.len(), "{words:?}");
        }
    }

    #[test]
    fn numbers_have_a_true_minus_and_no_negative_zero() {
        assert_eq!(number(-12.5, 1), "−12.5");
        assert_eq!(number(-1e-12, 1), "0.0");
    }

    #[test]
    fn numbers_along_x_do_not_touch() {
        let frame = |width: f64| {
            let y = Axis::new(0.0, 1.0);
            Frame { left: 0.0, top: 0.0, right: width, bottom: 100.0, x: Axis::new(360.0, 1440.0), y }
        };
        for width in [300.0, 648.0, 1600.0] {
            let (ticks, decimals) = frame(width).x_ticks().unwrap();
            let apart = frame(width).across(ticks[1]) - frame(width).across(ticks[0]);
            let wide = text::width(&number(ticks[ticks.len() - 1], decimals), SMALL, Weight::Regular).unwrap();
            assert!(apart > wide, "{width}: {apart} px for {wide} px");
        }
        let count = |width: f64| frame(width).x_ticks().unwrap().0.len();
        assert!(count(1600.0) > 8 && count(300.0) < count(648.0));
    }

    #[test]
    fn numbers_along_y_do_not_touch() {
        let axis = Axis::new(0.0, 135.0);
        let frame = |height: f64| Frame { left: 0.0, top: 0.0, right: 100.0, bottom: height, x: axis, y: axis };
        for height in [90.0, 112.0, 300.0, 700.0] {
            let ticks = frame(height).y_ticks().0;
            assert!(ticks.len() >= 2, "{height}: {ticks:?}");
            assert!(frame(height).down(ticks[0]) - frame(height).down(ticks[1]) > SMALL, "{height}: {ticks:?}");
        }
        assert!(frame(700.0).y_ticks().0.len() > frame(112.0).y_ticks().0.len());
    }

    #[test]
    fn an_axis_over_nothing_can_still_be_drawn() {
        for axis in [Axis::over([], [0.1, 0.1]), Axis::over([f64::NAN], [0.1, 0.1]), Axis::over([16.0; 3], [0.1, 0.1])]
        {
            assert!(axis.share(16.0).is_finite());
            assert!(axis.ticks(9).0.iter().all(|tick| tick.is_finite()));
        }
    }
}
