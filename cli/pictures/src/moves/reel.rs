//! A change of reel over clock time: speeds of line and reel, the content with what may be in it.

use quenchway::case::programme::End;
use quenchway::study::moves::reel::Reel;
use quenchway::units::Dimension;

use super::{BETWEEN, Curve, said};
use crate::PlotError;
use crate::drive::{Level, levels};
use crate::frame::{Axis, Frame};
use crate::page::{Entry, PLOT_BOTTOM, PLOT_LEFT, draw_entries, draw_heading, entries_width, symbol};
use crate::sheet::{Align, Dash, Lettering, Pen, Place, Sheet};
use crate::theme::{BLUE, CURVE, GREEN, INK, MARGIN, TEXT, VERMILLION, WIDTH};
use quenchway_words::Shown;
use quenchway_words::moves as words;

/// Draws the picture.
pub fn reel(sheet: &Sheet, title: &str, found: &Reel, shown: Shown) -> Result<(), PlotError> {
    let top = draw_heading(sheet, title, &said(words::reel::verdict(found, shown)))? + 52.0;
    let (times, store) = (found.times(), &found.motions.stores[0]);
    let curve = |name: &str, pen: Pen, dimension: Dimension, value: &dyn Fn(f64) -> f64| Curve {
        name: name.to_string(),
        pen,
        values: times.iter().map(|&time| [time, shown.value(value(time), dimension)]).collect(),
        mark: 0,
    };
    let dashed = Pen { color: BLUE, width: CURVE, dash: Dash::Dashed };
    let speeds = [
        curve("line", Pen::solid(INK, CURVE), Dimension::Speed, &|time| found.motions.clock.speed(time)),
        curve("reel", dashed, Dimension::Speed, &|time| store.reel.speed(time)),
    ];
    let contents = [curve("content", Pen::solid(GREEN, CURVE), Dimension::Length, &|time| store.content(time))];
    let names: Vec<(String, String)> =
        speeds.iter().chain(&contents).map(|curve| (curve.name.clone(), String::new())).collect();
    let right = f64::from(WIDTH) - entries_width(&names, true)?;
    let x = Axis::new(0.0, times.last().copied().unwrap_or(1.0));
    let height = PLOT_BOTTOM - top - BETWEEN;
    let mut upper = top;
    let lines: Vec<(f64, String)> = found.built.as_ref().map_or(Vec::new(), |built| {
        vec![
            (built.capacity, "capacity".to_string()),
            match found.place {
                End::Exit => (built.capacity - built.reserve, "capacity less the reserve".to_string()),
                End::Entry => (built.reserve, "reserve".to_string()),
            },
        ]
    });
    for (curves, share, title, dimension, lines) in [
        (&speeds[..], 0.5, "Speeds", Dimension::Speed, &[][..]),
        (&contents[..], 0.5, "In the accumulator", Dimension::Length, &lines[..]),
    ] {
        let values = curves.iter().flat_map(|curve| &curve.values).map(|value| value[1]);
        let more = lines.iter().map(|(value, _)| shown.value(*value, dimension)).chain([0.0]);
        // Room for the name of the highest level.
        let y = Axis::over(values.chain(more), [0.0, if lines.is_empty() { 0.14 } else { 0.3 }]);
        let frame = Frame { left: PLOT_LEFT, top: upper, right, bottom: upper + share * height, x, y };
        upper = frame.bottom + BETWEEN;
        frame.draw_grid(sheet)?;
        let (mut entries, mut drawn) = (Vec::new(), Vec::new());
        for curve in curves {
            let places: Vec<Place> = curve.values.iter().map(|&[x, y]| frame.place(x, y)).collect();
            sheet.line(&places, curve.pen)?;
            drawn.push(places.clone());
            let end = places.last().map_or(f64::NAN, |place| place[1]);
            entries.push(Entry { end, name: curve.name.clone(), value: String::new(), pen: Some(curve.pen) });
        }
        let named = lines.iter().map(|(value, name)| Level {
            at: shown.value(*value, dimension),
            name: name.clone(),
            color: VERMILLION,
        });
        levels(sheet, &frame, &named.collect::<Vec<Level>>(), &drawn)?;
        frame.draw_bare_axes(sheet)?;
        let words = format!("{title}, {}", symbol(shown, dimension));
        sheet.text(&words, [frame.left, frame.top - 22.0], Align::Left, Lettering::bold(TEXT, INK))?;
        draw_entries(sheet, &frame, f64::from(WIDTH) - MARGIN, entries)?;
        if dimension == Dimension::Length {
            let below = [(frame.left + frame.right) / 2.0, frame.bottom + 66.0];
            let words = "time since the programme began, s";
            sheet.text(words, below, Align::Middle, Lettering::regular(TEXT, INK))?;
        }
    }
    Ok(())
}
