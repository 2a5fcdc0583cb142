//! The diameter along the line, with the gauges and the diameter at 23 degC.

use quenchway::case::{CaseFile, Shape};
use quenchway::march::solution::Solution;
use quenchway::units::Dimension;
use quenchway_words::Shown;

use super::PlotError;
use super::callouts::Callouts;
use super::frame::{Axis, Frame, number};
use super::page::{Entry, PLOT_BOTTOM, PLOT_LEFT, amount, draw_entries, draw_heading, entries_width, symbol};
use super::sheet::{Dash, Lettering, Pen, Place, Sheet};
use super::strip::Strip;
use super::text;
use super::theme::{BLUE, CURVE, GREEN, INK, MARGIN, SMALL, VERMILLION, WIDTH};

/// The temperature at which a product counts as finished, degC.
const FINISHED: f64 = 23.0;

/// Draws the picture.
pub fn draw(sheet: &Sheet, case: &CaseFile, solution: &Solution, shown: Shown) -> Result<(), PlotError> {
    let (fields, shrink) = (&solution.fields, &solution.shrink);
    let what = if case.shape == Shape::Flat { "thickness" } else { "diameter" };
    let top = draw_heading(sheet, &case.title, &description(case, solution, what, shown))?;
    let size = |metres: f64| shown.value(metres, Dimension::Diameter);
    let last = fields.diameter.last().copied().unwrap_or(f64::NAN);
    let cold = format!("at {}", shown.limit(FINISHED).replace("deg", "°"));
    let curves = [(what.to_string(), last), (cold, shrink.finished)];
    let names = curves.clone().map(|(name, value)| (name, amount(shown, value, Dimension::Diameter)));
    let x = Axis::over(fields.distance.iter().map(|&metres| shown.value(metres, Dimension::Length)), [0.0, 0.0]);
    let right = f64::from(WIDTH) - entries_width(&names, true)?;
    let strip = Strip::of_line(solution, shown, x, [PLOT_LEFT, right], top)?;
    let y = Axis::over(fields.diameter.iter().copied().chain([shrink.finished]).map(size), [0.12, 0.12]);
    let frame = Frame { left: PLOT_LEFT, top: strip.plot_top(), right, bottom: PLOT_BOTTOM, x, y };

    strip.draw_shades(sheet, &frame)?;
    frame.draw_grid(sheet)?;
    strip.draw_names(sheet, &frame)?;
    let pens = [Pen::solid(BLUE, CURVE), Pen { color: GREEN, width: 0.8 * CURVE, dash: Dash::Dashed }];
    let along: Vec<Place> = fields
        .distance
        .iter()
        .zip(&fields.diameter)
        .map(|(&metres, &diameter)| frame.place(shown.value(metres, Dimension::Length), size(diameter)))
        .collect();
    let finished = frame.down(size(shrink.finished));
    let mut callouts = Callouts::new(frame);
    for (places, pen) in [(vec![[frame.left, finished], [frame.right, finished]], pens[1]), (along, pens[0])] {
        sheet.line(&places, pen)?;
        callouts.avoid_line(&places);
    }
    for station in &solution.stations {
        callouts.avoid_upright(frame.across(shown.value(station.distance, Dimension::Length)));
    }
    let end = fields.distance.last().copied().unwrap_or(0.0);
    let gauges =
        [(&shrink.hot_gauge_station, shrink.hot_gauge, 0.0), (&shrink.cold_gauge_station, shrink.cold_gauge, end)];
    for (name, diameter, otherwise) in gauges {
        let station = solution.stations.iter().find(|station| station.name == *name);
        let metres = station.map_or(otherwise, |station| station.distance);
        let place = frame.place(shown.value(metres, Dimension::Length), size(diameter));
        sheet.disc(place, 10.0, VERMILLION)?;
        callouts.avoid_box([place[0] - 12.0, place[1] - 12.0], [place[0] + 12.0, place[1] + 12.0]);
        let words = format!("{}: {}", text::clean(name), amount(shown, diameter, Dimension::Diameter));
        callouts.note(sheet, &words, place, 18.0, Lettering::bold(SMALL, INK))?;
    }
    let x_name = format!("distance from the die, {}", symbol(shown, Dimension::Length));
    frame.draw_axes(sheet, &x_name, &format!("{what}, {}", symbol(shown, Dimension::Diameter)))?;
    let entries = curves.iter().zip(names).zip(pens).map(|(((_, end), (name, value)), pen)| Entry {
        end: frame.down(size(*end)),
        name,
        value,
        pen: Some(pen),
    });
    draw_entries(sheet, &frame, f64::from(WIDTH) - MARGIN, entries.collect())
}

fn description(case: &CaseFile, solution: &Solution, what: &str, shown: Shown) -> String {
    let shrink = &solution.shrink;
    format!(
        "Outer {what} at {}; from {} to {} {} %, to {} {} %",
        amount(shown, case.line_speed, Dimension::Speed),
        text::clean(&shrink.hot_gauge_station),
        text::clean(&shrink.cold_gauge_station),
        number(-shrink.to_cold_gauge, 2),
        shown.limit(FINISHED).replace("deg", "°"),
        number(-shrink.to_finished, 2),
    )
}
