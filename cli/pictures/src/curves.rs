//! Curves of the library's materials: conductivity, heat capacity, density and enthalpy against temperature.

use plotters::style::RGBColor;
use quenchway::file::library;
use quenchway::material::{Kind, Material};
use quenchway::units::Celsius;

use super::PlotError;
use super::frame::{Axis, Frame};
use super::page::draw_heading;
use super::png::Words;
use super::sheet::{self, Align, Dash, Lettering, Pen, Place, Sheet};
use super::theme::{
    BLACK, BLUE, CURVE, GREEN, HEIGHT, INK, MARGIN, ORANGE, PURPLE, SKY, SMALL, TEXT, VERMILLION, WIDTH,
};

/// One picture: end of its file name, title, and which materials it shows.
struct Group {
    name: &'static str,
    title: &'static str,
    has: fn(&Material) -> bool,
}

/// Every material is in one group.
const GROUPS: [Group; 4] = [
    Group { name: "pvc", title: "PVC", has: is_pvc },
    Group { name: "polyethylene", title: "Polyethylene", has: is_polyethylene },
    Group { name: "plastics", title: "Other plastics", has: |material| !named(material) },
    Group { name: "metals", title: "Metals and glass", has: |material| material.kind == Kind::Metal },
];

fn is_pvc(material: &Material) -> bool {
    material.name.starts_with("pvc")
}

fn is_polyethylene(material: &Material) -> bool {
    ["ldpe", "lldpe", "hdpe", "xlpe", "pe-foam"].contains(&material.name.as_str())
}

/// Whether a material has a picture by its name or kind.
fn named(material: &Material) -> bool {
    is_pvc(material) || is_polyethylene(material) || material.kind == Kind::Metal
}

/// File names of all pictures, in the order in which they are drawn.
pub fn names() -> Vec<String> {
    GROUPS.iter().map(|group| format!("materials-{}.png", group.name)).collect()
}

/// The curves of the whole library, drawn: the bytes of a PNG file for each of [`names`].
///
/// # Errors
///
/// Drawing or encoding fails.
pub fn encoded(program: &'static str) -> Result<Vec<Vec<u8>>, PlotError> {
    let one = |group: &Group| {
        let materials: Vec<&Material> =
            library::entries().iter().map(|entry| &entry.material).filter(|material| (group.has)(material)).collect();
        let words = Words {
            program,
            title: format!("{} in the material library", group.title),
            description: description(&materials),
            warning: "Typical values, to be replaced by the compound maker's.".to_string(),
        };
        sheet::encoded(&words, |sheet| draw(sheet, &words, &materials))
    };
    GROUPS.iter().map(one).collect()
}

fn description(materials: &[&Material]) -> String {
    let high = |material: &&Material| material.heat_capacity.points().iter().any(|point| point[1] > 1e3 * CUT);
    let cut = if materials.iter().any(high) {
        format!(
            "; peaks of the heat capacity are heat of crystallisation, cut at {CUT} kJ/(kg K): all of it is in the enthalpy"
        )
    } else {
        String::new()
    };
    format!("Typical values against temperature in °C; enthalpy from 23 °C on{cut}")
}

/// A property as it is drawn.
struct Panel {
    name: &'static str,
    at: fn(&Material, Celsius) -> f64,
}

const PANELS: [Panel; 4] = [
    Panel { name: "conductivity, W/(m K)", at: |material, t| material.conductivity.at(t) },
    Panel { name: "heat capacity, kJ/(kg K)", at: |material, t| (material.heat_capacity.at(t) / 1e3).min(CUT) },
    Panel { name: "density, kg/m³", at: |material, t| material.density.at(t) },
    Panel { name: "enthalpy, kJ/kg", at: |material, t| material.heat_capacity.integral(Celsius(23.0), t) / 1e3 },
];

/// Where peaks of the heat capacity are cut, kJ/(kg K): a peak of HDPE reaches 30 and would flatten all else.
const CUT: f64 = 6.0;
/// Between points of a curve, K.
const STEP: f64 = 0.5;
/// Colours in turn; black last.
const COLORS: [RGBColor; 7] = [BLUE, VERMILLION, GREEN, PURPLE, ORANGE, SKY, BLACK];
/// Left of a panel for its numbers, px.
const NUMBERS: f64 = 110.0;
/// Above a panel for its name, px.
const ABOVE: f64 = 44.0;
/// Below a panel for its numbers, px.
const BELOW: f64 = 52.0;
/// Length of a sample of a line in the key, px.
const SAMPLE: f64 = 54.0;

fn draw(sheet: &Sheet, words: &Words, materials: &[&Material]) -> Result<(), PlotError> {
    let top = draw_heading(sheet, &words.title, &words.description)?;
    let top = draw_key(sheet, materials, top + 14.0)?;
    let (width, bottom) = ((f64::from(WIDTH) - 2.0 * MARGIN) / 2.0, f64::from(HEIGHT) - 2.0 * MARGIN - 12.0);
    let height = (bottom - top) / 2.0;
    for (index, panel) in PANELS.iter().enumerate() {
        let (column, row) = ((index % 2) as f64, (index / 2) as f64);
        let frame = |x: Axis, y: Axis| Frame {
            left: MARGIN + column * width + NUMBERS,
            top: top + row * height + ABOVE,
            right: MARGIN + (column + 1.0) * width - 16.0,
            bottom: top + (row + 1.0) * height - BELOW,
            x,
            y,
        };
        draw_panel(sheet, panel, materials, frame)?;
    }
    Ok(())
}

/// Names beside samples of their lines, in rows; returns where the space below begins, px.
fn draw_key(sheet: &Sheet, materials: &[&Material], top: f64) -> Result<f64, PlotError> {
    let how = Lettering::regular(TEXT, INK);
    let (mut x, mut y) = (MARGIN, top);
    for (index, material) in materials.iter().enumerate() {
        let wide = SAMPLE + 12.0 + how.width(&material.name)?;
        if x + wide > f64::from(WIDTH) - MARGIN {
            (x, y) = (MARGIN, y + 36.0);
        }
        sheet.line(&[[x, y], [x + SAMPLE, y]], pen(index))?;
        sheet.text(&material.name, [x + SAMPLE + 12.0, y], Align::Left, how)?;
        x += wide + 44.0;
    }
    Ok(y + 22.0)
}

fn pen(index: usize) -> Pen {
    // Of two curves that lie on each other the lower one shows between the dashes and beside the thinner line.
    let dash = if index % 2 == 1 { Dash::Dashed } else { Dash::Solid };
    Pen { color: COLORS[index % COLORS.len()], width: CURVE * (1.5 - 0.15 * index as f64), dash }
}

fn draw_panel(
    sheet: &Sheet,
    panel: &Panel,
    materials: &[&Material],
    frame: impl Fn(Axis, Axis) -> Frame,
) -> Result<(), PlotError> {
    let curves: Vec<Vec<[f64; 2]>> = materials.iter().map(|material| curve(panel, material)).collect();
    let values = |axis: usize| curves.iter().flatten().map(move |point| point[axis]);
    let frame = frame(Axis::over(values(0), [0.0, 0.0]), Axis::over(values(1).chain([0.0]), [0.0, 0.06]));
    frame.draw_grid(sheet)?;
    for (index, curve) in curves.iter().enumerate() {
        let places: Vec<Place> = curve.iter().map(|&[t, value]| frame.place(t, value)).collect();
        sheet.line(&places, pen(index))?;
    }
    frame.draw_bare_axes(sheet)?;
    let name = Lettering::bold(SMALL, INK);
    sheet.text(panel.name, [frame.left, frame.top - 20.0], Align::Left, name)
}

/// A property over the range in which the material is meant to be used.
fn curve(panel: &Panel, material: &Material) -> Vec<[f64; 2]> {
    let [low, high] = material.range.map(|end| end.0);
    let steps = ((high - low) / STEP).ceil().max(1.0) as usize;
    let point = |i: usize| low + (high - low) * i as f64 / steps as f64;
    (0..=steps).map(point).map(|t| [t, (panel.at)(material, Celsius(t))]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_material_is_in_one_picture() {
        for entry in library::entries() {
            let pictures = GROUPS.iter().filter(|group| (group.has)(&entry.material)).count();
            assert_eq!(pictures, 1, "{}", entry.material.name);
        }
        // As many as can be told apart by colour and dash.
        for group in &GROUPS {
            let count = library::entries().iter().filter(|entry| (group.has)(&entry.material)).count();
            assert!((1..=COLORS.len()).contains(&count), "{}: {count}", group.name);
        }
    }
}
