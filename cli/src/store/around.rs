//! Water that does not touch all round, in a results file that has any: written and read back.

use hdf5_metno as hdf5;
use hdf5_metno::Group;
use ndarray::Array1;
use quenchway::march::solution::{AroundReport, PointReport, SectionReport};

use super::read::column;
use super::scale::{Dim, Label, Labelled};
use super::write::view1;

const HOT_SIDE: Label = Label::with_gaps(
    "hot_side_temperature",
    "degC",
    "hot side of the surface, behind water that does not touch all round",
);
const FILM: [Label; 2] = [
    Label::with_gaps("film_coefficient_where_wet", "W m-2 K-1", "film coefficient where the water touches, at the end"),
    Label::with_gaps("film_coefficient_all_round", "W m-2 K-1", "film all round that would cool as much, at the end"),
];

/// The hot side along the line.
pub(super) fn write_along(file: &mut Labelled, distance: Dim, hot_side: Option<&Array1<f64>>) -> hdf5::Result<()> {
    let Some(values) = hot_side else { return Ok(()) };
    file.numbers(&file.root()?, HOT_SIDE, &[distance], "time", view1(values))
}

/// As it was written.
pub(super) fn read_along(group: &Group, points: usize) -> hdf5::Result<Option<Array1<f64>>> {
    group.link_exists(HOT_SIDE.name).then(|| column(group, HOT_SIDE.name, points)).transpose()
}

/// The hot side at places.
pub(super) fn write_points(
    file: &mut Labelled,
    group: &Group,
    (dim, coordinates): (Dim, &str),
    points: &[&PointReport],
) -> hdf5::Result<()> {
    if points.iter().all(|point| point.hot_side.is_none()) {
        return Ok(());
    }
    let values = points.iter().map(|point| point.hot_side.unwrap_or(f64::NAN)).collect();
    file.numbers(group, HOT_SIDE, &[dim], coordinates, view1(&values))
}

/// As it was written.
pub(super) fn read_points(group: &Group, count: usize) -> hdf5::Result<Vec<Option<f64>>> {
    let Some(values) = read_along(group, count)? else { return Ok(vec![None; count]) };
    Ok(values.iter().map(|value| Some(*value).filter(|value| !value.is_nan())).collect())
}

/// Both films of every section.
pub(super) fn write_sections(
    file: &mut Labelled,
    group: &Group,
    dim: Dim,
    sections: &[SectionReport],
) -> hdf5::Result<()> {
    if sections.iter().all(|section| section.around.is_none()) {
        return Ok(());
    }
    let values: [fn(&AroundReport) -> f64; 2] = [|around| around.film, |around| around.all_round];
    for (label, value) in FILM.into_iter().zip(values) {
        let values = sections.iter().map(|section| section.around.as_ref().map_or(f64::NAN, value)).collect();
        file.numbers(group, label, &[dim], "section_name", view1(&values))?;
    }
    Ok(())
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
