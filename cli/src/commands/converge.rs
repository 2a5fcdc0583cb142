//! `quenchway converge`: the user's own case on finer meshes and shorter steps, with observed order and error index.

use std::fmt::Write as _;

use quenchway::study::converge::{Level, Track, converge as study};
use quenchway::units::Dimension;
use quenchway_words::Shown;
use quenchway_words::blocks::Grid;
use serde_json::{Value, json};

use super::study::document;
use super::{Answer, Failure};
use crate::args::{ConvergeArgs, Units};
use crate::diagnostic::load;
use crate::report::{ruled, terminal};

/// Levels of the study: interval sizes 1, 1/2, 1/4, 1/8 of the rule's.
const LEVELS: usize = 4;

/// The study's answer. Errors: those of reading the case, and of a march that gives no answer.
pub fn converge(args: &ConvergeArgs, width: usize) -> Result<Answer, Failure> {
    let (text, case) = load(&args.case).map_err(Failure::Input)?;
    let answer = study(&case, LEVELS).map_err(|error| Failure::March(args.case.clone(), error));
    let (levels, tracks) = answer?;
    if args.json {
        return document(&case.title, &text, &json(&levels, &tracks, case.tolerance)).map(Answer::report);
    }
    let shown = Shown { system: Units::of(args.units, &case) };
    let kelvin = |value: f64| shown.value(value, Dimension::TemperatureDifference);
    let (degrees, differences) = (shown.unit(Dimension::Temperature), shown.unit(Dimension::TemperatureDifference));
    let fill = |words: &str| terminal::fill(words, width) + "\n";
    let mut out = fill(&quenchway_words::clean(&case.title));
    out += "\n";
    out += &fill("Levels: each with half the interval sizes and half the steps of the one before");
    out += &level_table(&levels, width);
    let _ = write!(out, "\nTemperatures in {degrees}, errors in {differences}\n");
    out += &track_table(&tracks, shown, width);
    let worst = tracks.iter().map(|track| track.verdict.index).fold(0.0, f64::max);
    out += "\n";
    out += &fill(&format!(
        "Largest grid convergence index on the finest level: {:.1e} {differences}; solver.tolerance is {:.1e} {differences}.",
        kelvin(worst),
        kelvin(case.tolerance)
    ));
    out += &fill(
        "Order and index after Roache (J. Fluids Eng. 116, 1994, 405) and Celik et al. (J. Fluids Eng. 130, 2008, 078001). \
         The scheme is of order 4 in space, and in time of order 4 with constant density, 2 where it varies. A dash: the \
         levels agree to rounding, or scatter; then the index takes order 2 and the safety factor 3.",
    );
    Ok(Answer::report(out))
}

/// What `--json` prints: SI, the unit in the key.
fn json(levels: &[Level], tracks: &[Track], tolerance: f64) -> Value {
    let level =
        |level: &Level| json!({ "size_factor": 1.0 / level.factor, "intervals": level.cells, "steps": level.steps });
    let track = |track: &Track| {
        json!({
            "temperature": track.name, "values_degC": track.values, "order": track.verdict.order,
            "extrapolated_degC": track.verdict.extrapolated, "index_K": track.verdict.index,
        })
    };
    json!({
        "levels": levels.iter().map(level).collect::<Vec<_>>(),
        "temperatures": tracks.iter().map(track).collect::<Vec<_>>(),
        "tolerance_K": tolerance,
    })
}

fn level_table(levels: &[Level], width: usize) -> String {
    let mut table = Grid::new(["level", "sizes", "intervals", "steps"].map(str::to_string).to_vec());
    for (index, level) in levels.iter().enumerate() {
        let sizes = format!("1/{:.0}", 1.0 / level.factor);
        table.row(vec![(index + 1).to_string(), sizes, level.cells.to_string(), level.steps.to_string()]);
    }
    ruled::text(&table, width)
}

fn track_table(tracks: &[Track], shown: Shown, width: usize) -> String {
    let mut header = vec!["temperature".to_string()];
    header.extend((1..=LEVELS).map(|level| format!("level {level}")));
    header.extend(["order", "extrapolated", "index"].map(str::to_string));
    let mut table = Grid::new(header);
    let degrees = |value: f64| format!("{:.4}", shown.value(value, Dimension::Temperature));
    for track in tracks {
        let mut row = vec![quenchway_words::clean(&track.name)];
        row.extend(track.values.iter().map(|value| degrees(*value)));
        row.push(track.verdict.order.map_or("-".to_string(), |order| format!("{order:.1}")));
        row.push(degrees(track.verdict.extrapolated));
        row.push(format!("{:.1e}", shown.value(track.verdict.index, Dimension::TemperatureDifference)));
        table.row(row);
    }
    ruled::text(&table, width)
}
