//! Water that does not touch all round, in a results file that has any: read back.

use hdf5_metno as hdf5;
use hdf5_metno::Group;
use ndarray::Array1;
use quenchway::march::solution::AroundReport;
use quenchway::march::table::{FILM, HOT_SIDE};

use super::column;

/// As it was written.
pub(super) fn read_along(group: &Group, points: usize) -> hdf5::Result<Option<Array1<f64>>> {
    group.link_exists(HOT_SIDE.name).then(|| column(group, HOT_SIDE.name, points)).transpose()
}

/// As it was written.
pub(super) fn read_points(group: &Group, count: usize) -> hdf5::Result<Vec<Option<f64>>> {
    let Some(values) = read_along(group, count)? else { return Ok(vec![None; count]) };
    Ok(values.iter().map(|value| Some(*value).filter(|value| !value.is_nan())).collect())
}

/// As they were written.
pub(super) fn read_sections(group: &Group, count: usize) -> hdf5::Result<Vec<Option<AroundReport>>> {
    if !group.link_exists(FILM[0].name) {
        return Ok(vec![None; count]);
    }
    let (film, all_round) = (column(group, FILM[0].name, count)?, column(group, FILM[1].name, count)?);
    let both = film.into_iter().zip(all_round);
    Ok(both.map(|(film, all_round)| (!film.is_nan()).then_some(AroundReport { film, all_round })).collect())
}
