//! The water's card as a picture: heat, flow for a given rise, outlet temperature, and what the direction does, over speed.

use plotters::style::RGBColor;
use quenchway::study::water::{ASSUMED_RISE, Taken, Water};
use quenchway::units::Dimension;
use quenchway_words::Shown;
use quenchway_words::water as words;

use super::PlotError;
use super::callouts::Callouts;
use super::frame::{Axis, Frame};
use super::page::{amount, draw_heading, symbol};
use super::sheet::{Align, Dash, Lettering, Pen, Place, Sheet};
use super::text::{self, Weight};
use super::theme::{
    BLUE, CURVE, GREEN, HEIGHT, INK, LEADING, MARGIN, ORANGE, PURPLE, QUIET, SMALL, TEXT, VERMILLION, WIDTH,
};

/// Colours of the sections, in turn.
const COLORS: [RGBColor; 5] = [BLUE, VERMILLION, GREEN, PURPLE, ORANGE];
/// Left edge of the left panels, px.
const LEFT: f64 = 110.0;
/// Between the panels, px.
const BETWEEN: [f64; 2] = [150.0, 122.0];
/// Lower edge of the lower panels, px.
const BOTTOM: f64 = HEIGHT as f64 - MARGIN - 94.0;
/// Heading of the panel of the water's temperature.
const OUTLET: &str = "Water outlet";
/// From a sample of a line to its name, px.
const SAMPLE: f64 = 58.0;

type OfTaken = fn(&Taken) -> f64;

/// A curve: its points over line speed, its pen, and its name where it is written beside it.
struct Curve {
    values: Vec<f64>,
    pen: Pen,
    name: Option<String>,
}

/// Draws the card.
pub fn draw(sheet: &Sheet, title: &str, found: &Water, shown: Shown) -> Result<(), PlotError> {
    let speed = |index: usize| amount(shown, found.at_speeds[index].speed, Dimension::Speed);
    let mut about = format!("Cooling water from {} to {}", speed(0), speed(found.at_speeds.len() - 1));
    if found.assumed.contains(&true) {
        let rise = words::kelvin(ASSUMED_RISE, shown).replace("deg", "°");
        about += &format!("; where no flow is given, compared at the flow for {rise} of rise");
    }
    let top = draw_heading(sheet, title, &about)?;
    let top = legend(sheet, found, top + 18.0)? + 66.0;
    let right = f64::from(WIDTH) - MARGIN - 16.0;
    let width = (right - LEFT - BETWEEN[0]) / 2.0;
    let height = (BOTTOM - top - BETWEEN[1]) / 2.0;
    let place = text::clean(&found.place);
    let last = match found.directed {
        true => (format!("Counter instead of along, at {place}"), Dimension::TemperatureDifference, differences(found)),
        false => (format!("Product at {place}"), Dimension::Temperature, product(found)),
    };
    let panels = [
        ("Heat to the water".to_string(), Dimension::Power, heats(found)),
        ("Flow of all water for a rise".to_string(), Dimension::VolumeFlow, flows(found, shown)),
        (OUTLET.to_string(), Dimension::Temperature, outlets(found)),
        last,
    ];
    for (index, (name, dimension, curves)) in panels.into_iter().enumerate() {
        let (column, row) = (f64::from(index as u8 % 2), f64::from(index as u8 / 2));
        let left = LEFT + column * (width + BETWEEN[0]);
        let upper = top + row * (height + BETWEEN[1]);
        let x = Axis::over(found.at_speeds.iter().map(|row| shown.value(row.speed, Dimension::Speed)), [0.0, 0.0]);
        let values = curves.iter().flat_map(|curve| &curve.values).map(|&value| shown.value(value, dimension));
        // Heat, flow and difference are measured from nothing.
        let zero = (dimension != Dimension::Temperature).then_some(0.0);
        // Water is seen from where it enters: a hundredth of a kelvin is no curve.
        let entering = found.at_speeds.iter().flat_map(|row| row.ways.iter().filter_map(|told| told.taken.as_ref()));
        let entering = entering.flat_map(|taken| &taken.sections).map(|section| shown.value(section.inlet, dimension));
        let entering = entering.filter(|_| name == OUTLET);
        let y = Axis::over(values.chain(zero).chain(entering), [0.06, 0.1]);
        let frame = Frame { left, top: upper, right: left + width, bottom: upper + height, x, y };
        panel(sheet, &frame, found, &curves, dimension, shown)?;
        let unit = symbol(shown, dimension);
        // The unit is not shortened.
        let room = width - text::width(&format!(", {unit}"), TEXT, Weight::Bold)?;
        let heading = format!("{}, {unit}", text::fit(&name, TEXT, Weight::Bold, room)?);
        sheet.text(&heading, [left, upper - 22.0], Align::Left, Lettering::bold(TEXT, INK))?;
        if row > 0.0 {
            let words = format!("line speed, {}", symbol(shown, Dimension::Speed));
            let below = [left + width / 2.0, frame.bottom + 58.0];
            sheet.text(&words, below, Align::Middle, Lettering::regular(TEXT, INK))?;
        }
    }
    Ok(())
}

/// Colours and kinds of lines; returns where the last row ends.
fn legend(sheet: &Sheet, found: &Water, top: f64) -> Result<f64, PlotError> {
    let (mut x, mut y) = (MARGIN, top);
    let room = f64::from(WIDTH) - MARGIN;
    let kinds = [("water as given", Dash::Solid), ("along", Dash::Dotted), ("counter", Dash::Dashed)];
    let sections = found.sections.iter().enumerate();
    let entries = sections.map(|(index, name)| (text::clean(name), pen(index, Dash::Solid)));
    let kinds = kinds.map(|(name, dash)| (name.to_string(), Pen { color: QUIET, width: CURVE, dash }));
    for (name, pen) in entries.chain(kinds) {
        let name = text::fit(&name, TEXT, Weight::Regular, 0.4 * room)?;
        let width = SAMPLE + text::width(&name, TEXT, Weight::Regular)? + 40.0;
        if x + width > room && x > MARGIN {
            (x, y) = (MARGIN, y + TEXT * LEADING);
        }
        sheet.line(&[[x, y], [x + SAMPLE - 12.0, y]], pen)?;
        sheet.text(&name, [x + SAMPLE, y], Align::Left, Lettering::regular(TEXT, INK))?;
        x += width;
    }
    Ok(y)
}

fn pen(section: usize, dash: Dash) -> Pen {
    Pen { color: COLORS[section % COLORS.len()], width: CURVE, dash }
}

fn panel(
    sheet: &Sheet,
    frame: &Frame,
    found: &Water,
    curves: &[Curve],
    dimension: Dimension,
    shown: Shown,
) -> Result<(), PlotError> {
    frame.draw_grid(sheet)?;
    let mut callouts = Callouts::new(*frame);
    let mut drawn: Vec<Vec<Place>> = Vec::new();
    for curve in curves {
        let speeds = found.at_speeds.iter().map(|row| shown.value(row.speed, Dimension::Speed));
        let places: Vec<Place> =
            speeds.zip(&curve.values).map(|(x, &y)| frame.place(x, shown.value(y, dimension))).collect();
        sheet.line(&places, curve.pen)?;
        if curve.pen.dash == Dash::Solid {
            for place in places.iter().filter(|place| place[1].is_finite()) {
                sheet.disc(*place, 1.2 * CURVE, curve.pen.color)?;
            }
        }
        callouts.avoid_line(&places);
        drawn.push(places);
    }
    frame.draw_bare_axes(sheet)?;
    for (curve, places) in curves.iter().zip(&drawn) {
        let Some(name) = &curve.name else { continue };
        let mut finite: Vec<Place> = places.iter().filter(|place| place[1].is_finite()).copied().collect();
        // From the right, where the curves are apart.
        finite.reverse();
        callouts.note_best(sheet, name, &finite, 12.0, Lettering::bold(SMALL, curve.pen.color))?;
    }
    Ok(())
}

fn each(found: &Water, way: usize, value: impl Fn(&Taken) -> Option<f64>) -> Vec<f64> {
    let of = |row: &quenchway::study::water::AtSpeed| row.ways[way].taken.as_ref().and_then(&value).unwrap_or(f64::NAN);
    found.at_speeds.iter().map(of).collect()
}

/// Heat to each section, and of several their sum.
fn heats(found: &Water) -> Vec<Curve> {
    let one = |index: usize| Curve {
        values: each(found, 0, |taken| Some(taken.sections[index].heat)),
        pen: pen(index, Dash::Solid),
        name: None,
    };
    let mut curves: Vec<Curve> = (0..found.sections.len()).map(one).collect();
    if curves.len() > 1 {
        let values = each(found, 0, |taken| Some(taken.chiller_duty));
        curves.push(Curve { values, pen: Pen::solid(INK, CURVE), name: Some("all water: chiller".to_string()) });
    }
    curves
}

/// Flow of all water for three rises.
fn flows(found: &Water, shown: Shown) -> Vec<Curve> {
    let curve = |rise: f64| Curve {
        values: each(found, 0, |taken| Some(words::flow_of_all(taken, rise))),
        pen: Pen::solid(INK, CURVE),
        name: Some(words::kelvin(rise, shown).replace("deg", "°")),
    };
    shown.rises().map(curve).into()
}

/// Outlet of each section, as given where it has a flow, along and counter.
fn outlets(found: &Water) -> Vec<Curve> {
    let mut curves = Vec::new();
    for (way, dash) in [(0, Dash::Solid), (1, Dash::Dotted), (2, Dash::Dashed)] {
        for index in 0..found.sections.len() {
            let values = each(found, way, |taken| taken.sections[index].outlet);
            curves.push(Curve { values, pen: pen(index, dash), name: None });
        }
    }
    curves
}

/// What is told of the product.
const PRODUCT: [(&str, OfTaken, RGBColor); 3] = [
    ("core", |taken| taken.core, VERMILLION),
    ("surface", |taken| taken.surface, BLUE),
    ("equalised", |taken| taken.equalised, INK),
];

/// The product, the water as given.
fn product(found: &Water) -> Vec<Curve> {
    let curve = |(name, value, color): (&str, OfTaken, RGBColor)| Curve {
        values: each(found, 0, |taken| Some(value(taken))),
        pen: Pen::solid(color, CURVE),
        name: Some(name.to_string()),
    };
    PRODUCT.map(curve).into()
}

/// Counter less along.
fn differences(found: &Water) -> Vec<Curve> {
    let curve = |(name, value, color): (&str, OfTaken, RGBColor)| {
        let [along, counter] = [1, 2].map(|way| each(found, way, |taken| Some(value(taken))));
        let values = along.iter().zip(&counter).map(|(along, counter)| counter - along).collect();
        Curve { values, pen: Pen::solid(color, CURVE), name: Some(name.to_string()) }
    };
    PRODUCT.map(curve).into()
}
