//! The map as a labelled table of the results file.

use quenchway::march::output::udunits;
use quenchway::study::map::{Axis as Along, Map};

use crate::store::{Axis, Table, Variable};

const Y: usize = 0;
const X: usize = 1;

/// The unit of an axis' values.
pub(super) fn unit(axis: &Along) -> &'static str {
    axis.variable.dimension.map_or("1", udunits)
}

/// Axes by their key paths, what is shown, the excess over every limit, the status of every point.
pub(super) fn table(found: &Map) -> Table {
    let axis = |along: &Along| {
        Axis::numbers(&plain(&along.variable.path), unit(along), &along.variable.path, along.values.clone())
    };
    let over =
        |name: &str, units: &str, words: &str, values: Vec<f64>| Variable::numbers(name, units, words, &[Y, X], values);
    let mut variables =
        vec![over(&plain(&found.show.name), found.show.units, &found.show.describes, found.shown.clone())];
    for (ceiling, excess) in found.ceilings.iter().zip(&found.excess) {
        let units = match udunits(ceiling.dimension()) {
            "degC" => "K",
            other => other,
        };
        let words = format!("excess of {} over its limit, met at or below zero", ceiling.name);
        variables.push(over(&format!("{}_excess", plain(&ceiling.name)), units, &words, excess.clone()));
    }
    let words = "0 where there is an answer, otherwise the line of status_reason that says why there is none";
    variables.push(over("status", "1", words, found.status.iter().map(|&status| f64::from(status)).collect()));
    let causes: Vec<&str> = found.failures.causes.iter().map(|(cause, _)| cause.as_str()).collect();
    let limits: Vec<&str> = found.ceilings.iter().map(|ceiling| ceiling.name.as_str()).collect();
    let mut numbers = vec![
        ("base_x".to_string(), found.base.place[0]),
        ("base_y".to_string(), found.base.place[1]),
        ("base_value".to_string(), found.base.shown),
        ("points_checked".to_string(), found.check.points as f64),
        ("measured_error".to_string(), found.check.shown),
        ("stated_error_K".to_string(), found.check.stated),
        ("points_allowed".to_string(), found.count_allowed() as f64),
    ];
    numbers.retain(|(_, value)| value.is_finite());
    Table {
        cautions: found.base.solution.cautions.clone(),
        texts: vec![
            ("x".to_string(), found.x.variable.path.clone()),
            ("y".to_string(), found.y.variable.path.clone()),
            ("show".to_string(), found.show.name.clone()),
            ("limits".to_string(), limits.join("\n")),
            ("status_reason".to_string(), causes.join("\n")),
        ],
        numbers,
        axes: vec![axis(&found.y), axis(&found.x)],
        variables,
        ..Table::default()
    }
}

/// A name that HDF5 readers take as a variable.
fn plain(name: &str) -> String {
    let kept = name.chars().filter(|c| *c != '"').map(|c| if c.is_ascii_alphanumeric() { c } else { '_' });
    kept.collect()
}
