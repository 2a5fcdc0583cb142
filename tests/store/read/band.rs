//! How far the inputs' uncertainty moves the answer, in a results file: read back.

use hdf5_metno as hdf5;
use hdf5_metno::{File, Group};
use quenchway::case::{InputBand, Varied};
use quenchway::march::solution::{Band, FieldBand};
use quenchway::march::table::BAND;

use super::{choice, column, table, texts, whole};

const VARIED: [Varied; 5] = [Varied::Kelvin, Varied::Factor, Varied::Conductance, Varied::Lean, Varied::Mode];

/// The rows and inputs of the group `band`.
pub(super) fn read(group: &Group) -> hdf5::Result<(Vec<Band>, Vec<InputBand>)> {
    let (stations, quantities, largest) =
        (texts(group, "station_name")?, texts(group, "quantity")?, texts(group, "largest")?);
    let (paths, varied, basis) = (texts(group, "input_path")?, texts(group, "varied")?, texts(group, "basis")?);
    let (rows, inputs) = (stations.len(), paths.len());
    whole("quantity", quantities.len() == rows && largest.len() == rows)?;
    whole("varied", varied.len() == inputs && basis.len() == inputs)?;
    let (low, high) = (column(group, "low", rows)?, column(group, "high", rows)?);
    let (low_end, high_end) = (column(group, "low_end", inputs)?, column(group, "high_end", inputs)?);
    let at_low = table(group, "change_at_low_end", [rows, inputs])?;
    let at_high = table(group, "change_at_high_end", [rows, inputs])?;
    let band = |row: usize| Band {
        station: stations[row].clone(),
        quantity: quantities[row].clone(),
        low: low[row],
        high: high[row],
        largest: largest[row].clone(),
        changes: (0..inputs).map(|input| [at_low[[row, input]], at_high[[row, input]]]).collect(),
    };
    let input = |input: usize| -> hdf5::Result<InputBand> {
        Ok(InputBand {
            input: paths[input].clone(),
            varied: choice("varied", &VARIED, &varied[input])?,
            low_end: low_end[input],
            high_end: high_end[input],
            basis: basis[input].clone(),
        })
    };
    Ok(((0..rows).map(band).collect(), (0..inputs).map(input).collect::<hdf5::Result<_>>()?))
}

/// Low and high ends along the line, where the file has them.
pub(super) fn read_along(file: &File, points: usize) -> hdf5::Result<Option<FieldBand>> {
    if !file.link_exists(BAND[0].name) {
        return Ok(None);
    }
    let end = |index: usize| column(file, BAND[index].name, points);
    Ok(Some(FieldBand { surface_low: end(0)?, surface_high: end(1)?, core_low: end(2)?, core_high: end(3)? }))
}
