//! `quenchway converge`: the user's own case on finer meshes and shorter steps, with observed order and error index.

use std::fmt::Write as _;
use std::path::Path;

use quenchway::study::converge::{Level, Track, converge as study};

use super::Failure;
use crate::diagnostic::load;
use crate::report::tables::{table, text};

/// Levels of the study: interval sizes 1, 1/2, 1/4, 1/8 of the rule's.
const LEVELS: usize = 4;

/// The study's report. Errors: those of reading the case, and of a march that gives no answer.
pub fn converge(path: &Path, width: usize) -> Result<String, Failure> {
    let (_, case) = load(path).map_err(Failure::Input)?;
    let answer = study(&case, LEVELS).map_err(|error| Failure::March(path.to_path_buf(), error));
    let (levels, tracks) = answer?;
    let mut out =
        format!("{}\n\nLevels: each with half the interval sizes and half the steps of the one before\n", case.title);
    out += &level_table(&levels, width);
    out += "\nTemperatures in degC, errors in K\n";
    out += &track_table(&tracks, width);
    let worst = tracks.iter().map(|track| track.verdict.index).fold(0.0, f64::max);
    let _ = write!(
        out,
        "\nLargest grid convergence index on the finest level: {worst:.1e} K; solver.tolerance is {:.1e} K.\n\
         Order and index after Roache (J. Fluids Eng. 116, 1994, 405) and Celik et al. (J. Fluids Eng. 130, 2008, 078001).\n\
         The scheme is of order 4 in space, and in time of order 4 with constant density, 2 where it varies. A dash: the\n\
         levels agree to rounding, or scatter; then the index takes order 2 and the safety factor 3.\n",
        case.tolerance
    );
    Ok(out)
}

fn level_table(levels: &[Level], width: usize) -> String {
    let header = ["level", "sizes", "intervals", "steps"].map(str::to_string).to_vec();
    let mut table = table(header, width);
    for (index, level) in levels.iter().enumerate() {
        let sizes = format!("1/{:.0}", 1.0 / level.factor);
        table.add_row([(index + 1).to_string(), sizes, level.cells.to_string(), level.steps.to_string()]);
    }
    text(&table)
}

fn track_table(tracks: &[Track], width: usize) -> String {
    let mut header = vec!["temperature".to_string()];
    header.extend((1..=LEVELS).map(|level| format!("level {level}")));
    header.extend(["order", "extrapolated", "index"].map(str::to_string));
    let mut table = table(header, width);
    for track in tracks {
        let mut row = vec![crate::report::clean(&track.name)];
        row.extend(track.values.iter().map(|value| format!("{value:.4}")));
        row.push(track.verdict.order.map_or("-".to_string(), |order| format!("{order:.1}")));
        row.push(format!("{:.4}", track.verdict.extrapolated));
        row.push(format!("{:.1e}", track.verdict.index));
        table.add_row(row);
    }
    text(&table)
}
