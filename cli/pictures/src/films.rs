//! The film laws over line speed: water above, air below, both axes logarithmic.

use plotters::style::RGBColor;
use quenchway::film::{FilmState, Law};

use super::PlotError;
use super::frame::{Axis, Frame};
use super::page::{Entry, PLOT_BOTTOM, PLOT_LEFT, draw_entries, draw_heading, entries_width};
use super::png::Words;
use super::sheet::{self, Align, Dash, Lettering, Pen, Place, Sheet};
use super::theme::{
    AIR, BLACK, BLUE, CURVE, GREEN, GRID, HAIR, INK, MARGIN, ORANGE, PURPLE, SKY, SMALL, TEXT, THIN, VERMILLION, WATER,
    WIDTH,
};

/// Line speeds from end to end, m/min.
const SPEEDS: [f64; 2] = [3.0, 3000.0];
/// Points of a curve.
const POINTS: usize = 400;
/// Colours of the curves of a panel, in turn.
const COLORS: [RGBColor; 7] = [BLUE, VERMILLION, GREEN, PURPLE, ORANGE, BLACK, SKY];
/// Between the two panels: numbers of the upper one's axis and its title, px.
const BETWEEN: f64 = 96.0;

/// The laws, drawn: the bytes of a PNG file; `state` is what each is asked for, but for the speed.
///
/// # Errors
///
/// Drawing or encoding fails.
pub fn encoded(
    laws: &[&'static Law],
    state: impl Fn(&Law) -> FilmState,
    program: &'static str,
) -> Result<Vec<u8>, PlotError> {
    let words = Words {
        program,
        title: "Film laws over line speed".to_string(),
        description: "Film coefficients of every law in water and in air".to_string(),
        warning: "Estimates for planning: confirm on the line.".to_string(),
    };
    let curves: Vec<Curve> = laws.iter().map(|law| Curve::new(law, &state(law))).collect();
    sheet::encoded(&words, |sheet| draw(sheet, &curves))
}

/// A law over line speed.
struct Curve {
    law: &'static Law,
    state: FilmState,
    /// log10 of the speed in m/min, log10 of the film coefficient, whether the law holds there.
    points: Vec<(f64, f64, bool)>,
}

impl Curve {
    fn new(law: &'static Law, state: &FilmState) -> Curve {
        let [low, high] = SPEEDS.map(f64::log10);
        let points = (0..=POINTS).map(|i| {
            let x = low + (high - low) * i as f64 / POINTS as f64;
            let state = FilmState { speed: 10f64.powf(x) / 60.0, ..*state };
            (x, (law.coefficient)(&state).log10(), law.outside(&state).next().is_none())
        });
        Curve { law, state: *state, points: points.collect() }
    }
}

fn draw(sheet: &Sheet, curves: &[Curve]) -> Result<(), PlotError> {
    let top = draw_heading(sheet, "Film laws over line speed", &description(curves))?;
    let (water, air): (Vec<&Curve>, Vec<&Curve>) = curves.iter().partition(|curve| curve.law.medium.is_water());
    let panels: Vec<_> = [("in water", water, WATER), ("in air, without radiation", air, AIR)]
        .into_iter()
        .filter(|p| !p.1.is_empty())
        .collect();
    let names: Vec<(String, String)> = curves.iter().map(|curve| (curve.law.name.to_string(), String::new())).collect();
    let right = f64::from(WIDTH) - entries_width(&names, true)?;
    let first = top + 40.0;
    // The larger share to the panel with more names.
    let weights: Vec<f64> = panels.iter().map(|panel| 3.0 + panel.1.len() as f64).collect();
    let room = PLOT_BOTTOM - first - BETWEEN * (panels.len() - 1) as f64;
    let mut upper = first;
    for ((title, curves, shades), weight) in panels.iter().zip(&weights) {
        let height = room * weight / weights.iter().sum::<f64>();
        let frame = frame(curves, upper, upper + height, right);
        panel(sheet, &frame, title, curves, shades[0])?;
        upper += height + BETWEEN;
    }
    let names = Lettering::regular(TEXT, INK);
    sheet.text("line speed, m/min", [(PLOT_LEFT + right) / 2.0, PLOT_BOTTOM + 66.0], Align::Middle, names)?;
    sheet.upward("film coefficient, W/(m² K)", [46.0, (first + PLOT_BOTTOM) / 2.0], names)
}

fn frame(curves: &[&Curve], top: f64, bottom: f64, right: f64) -> Frame {
    let [low, high] = SPEEDS.map(f64::log10);
    let films = curves.iter().flat_map(|curve| curve.points.iter().map(|point| point.1));
    Frame { left: PLOT_LEFT, top, right, bottom, x: Axis::new(low, high), y: Axis::over(films, [0.06, 0.06]) }
}

fn description(curves: &[Curve]) -> String {
    let Some(first) = curves.first() else { return String::new() };
    let FilmState { diameter, distance, surface, .. } = first.state;
    let medium = |water: bool, name: &str| {
        let found = curves.iter().find(|curve| curve.law.medium.is_water() == water);
        found.map_or(String::new(), |curve| format!(", {name} {} °C", curve.state.medium))
    };
    let told = |value: fn(&FilmState) -> f64, water: bool| {
        let mut taken = curves.iter().filter(|curve| curve.law.medium.is_water() == water);
        taken.find(|curve| value(&curve.state) > 0.0).map(|curve| value(&curve.state))
    };
    let streams = [(true, "water"), (false, "air")].map(|(water, name)| {
        told(|state| state.inputs.velocity, water).map_or(String::new(), |v| format!(", {name} stream {v} m/s"))
    });
    let flux = told(|state| state.inputs.water_flux, true).map_or(String::new(), |g| format!(", spray {g} kg/(m² s)"));
    format!(
        "{} mm product, {distance} m after the section's entry, surface {surface} °C{}{}{}{flux}. Dotted: outside the range \
         in which the law holds",
        1e3 * diameter,
        medium(true, "water"),
        medium(false, "air"),
        streams.concat(),
    )
}

fn panel(sheet: &Sheet, frame: &Frame, title: &str, curves: &[&Curve], shade: RGBColor) -> Result<(), PlotError> {
    sheet.rectangle([frame.left, frame.top], [frame.right, frame.bottom], shade)?;
    axes(sheet, frame)?;
    sheet.text(title, [frame.left, frame.top - 22.0], Align::Left, Lettering::bold(TEXT, INK))?;
    let mut entries = Vec::new();
    for (curve, color) in curves.iter().zip(COLORS.into_iter().cycle()) {
        // A point belongs to both of its pieces, so that the curve has no gap where its dash changes.
        for piece in curve.points.chunk_by(|a, b| a.2 == b.2) {
            let end = piece.last().map_or(0.0, |point| point.0);
            let next = curve.points.iter().find(|point| point.0 > end);
            let places: Vec<Place> = piece.iter().chain(next).map(|&(x, y, _)| frame.place(x, y)).collect();
            let dash = if piece[0].2 { Dash::Solid } else { Dash::Dotted };
            sheet.line(&places, Pen { color, width: CURVE, dash })?;
        }
        let end = curve.points.last().map_or(f64::NAN, |point| frame.down(point.1));
        let pen = Some(Pen::solid(color, CURVE));
        entries.push(Entry { end, name: curve.law.name.to_string(), value: String::new(), pen });
    }
    draw_entries(sheet, frame, f64::from(WIDTH) - MARGIN, entries)
}

/// Lines and numbers at 1, 2 and 5 times powers of ten.
fn axes(sheet: &Sheet, frame: &Frame) -> Result<(), PlotError> {
    let numbers = Lettering::regular(SMALL, INK);
    let [low, high] = SPEEDS.map(f64::log10);
    for tick in ticks(low, high) {
        let x = frame.across(tick.log10());
        sheet.line(&[[x, frame.top], [x, frame.bottom]], Pen::solid(GRID, HAIR))?;
        sheet.text(&tick.to_string(), [x, frame.bottom + 27.0], Align::Middle, numbers)?;
    }
    for tick in ticks(frame.y.value(0.0), frame.y.value(1.0)) {
        let y = frame.down(tick.log10());
        sheet.line(&[[frame.left, y], [frame.right, y]], Pen::solid(GRID, HAIR))?;
        sheet.text(&tick.to_string(), [frame.left - 15.0, y], Align::Right, numbers)?;
    }
    let corner = [frame.left, frame.bottom];
    sheet.line(&[[frame.left, frame.top], corner, [frame.right, frame.bottom]], Pen::solid(INK, THIN))
}

/// 1, 2 and 5 times powers of ten between two powers of ten.
fn ticks(low: f64, high: f64) -> Vec<f64> {
    let decades = (low.floor() as i32)..=(high.ceil() as i32);
    let all = decades.flat_map(|decade| [1.0, 2.0, 5.0].map(|times| times * 10f64.powi(decade)));
    all.filter(|tick| (low..=high).contains(&tick.log10())).collect()
}

#[cfg(test)]
mod tests {
    use super::ticks;

    #[test]
    fn ticks_are_round_numbers_within_the_axis() {
        assert_eq!(ticks(0.4, 2.1), [5.0, 10.0, 20.0, 50.0, 100.0]);
    }
}
