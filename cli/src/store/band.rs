//! How far the inputs' uncertainty moves the answer, in a results file: written and read back.

use hdf5_metno as hdf5;
use hdf5_metno::{File, Group};
use ndarray::{Array1, Array2};
use quenchway::case::{InputBand, Varied};
use quenchway::march::solution::{Band, FieldBand, Solution};

use super::read::{choice, column, table, texts, whole};
use super::scale::{Dim, Label, Labelled};
use super::write::{view1, view2, word};

const VARIED: [Varied; 5] = [Varied::Kelvin, Varied::Factor, Varied::Conductance, Varied::Lean, Varied::Mode];

/// Variables along the line, in the order of [`FieldBand`].
const ALONG: [Label; 4] = [
    Label::new("surface_temperature_low", "degC", "low end of the surface temperature"),
    Label::new("surface_temperature_high", "degC", "high end of the surface temperature"),
    Label::new("core_temperature_low", "degC", "low end of the core temperature"),
    Label::new("core_temperature_high", "degC", "high end of the core temperature"),
];

/// The group `band`: a row a temperature, a column an uncertain input.
pub(super) fn write(file: &mut Labelled, solution: &Solution) -> hdf5::Result<()> {
    let group = file.group("band")?;
    let (rows, inputs) = (&solution.band, &solution.band_inputs);
    let dim = file.dimension(&group, "band", rows.len())?;
    file.texts(&group, "station_name", "name of the station", dim, rows.iter().map(|row| row.station.as_str()))?;
    file.texts(&group, "quantity", "which temperature", dim, rows.iter().map(|row| row.quantity.as_str()))?;
    let largest = rows.iter().map(|row| row.largest.as_str());
    file.texts(&group, "largest", "key path of the largest contributor", dim, largest)?;
    let low = rows.iter().map(|row| row.low).collect();
    file.numbers(&group, Label::new("low", "degC", "low end"), &[dim], "station_name quantity", view1(&low))?;
    let high = rows.iter().map(|row| row.high).collect();
    file.numbers(&group, Label::new("high", "degC", "high end"), &[dim], "station_name quantity", view1(&high))?;

    let input = file.dimension(&group, "input", inputs.len())?;
    let paths = inputs.iter().map(|input| input.input.as_str());
    file.texts(&group, "input_path", "key path of the uncertain input", input, paths)?;
    let varied: Vec<String> = inputs.iter().map(|input| word(&input.varied)).collect();
    let long_name = "what its ends are: a difference in kelvin, a factor, a conductance in W/(m2 K), standard values along the \
                     band of a law (lean) or of a mode";
    file.texts(&group, "varied", long_name, input, varied.iter().map(String::as_str))?;
    let basis = inputs.iter().map(|input| input.basis.as_str());
    file.texts(&group, "basis", "where its band comes from", input, basis)?;
    let ends = |end: fn(&InputBand) -> f64| -> Array1<f64> { inputs.iter().map(end).collect() };
    let (low, high) = (ends(|input| input.low_end), ends(|input| input.high_end));
    let label = Label::new("low_end", "1", "low end of the input, as varied says");
    file.numbers(&group, label, &[input], "input_path varied", view1(&low))?;
    let label = Label::new("high_end", "1", "high end of the input, as varied says; infinite for a perfect contact");
    file.numbers(&group, label, &[input], "input_path varied", view1(&high))?;
    for (end, label) in [
        Label::with_gaps("change_at_low_end", "K", "change of the temperature with the input at its low end"),
        Label::with_gaps("change_at_high_end", "K", "change of the temperature with the input at its high end"),
    ]
    .into_iter()
    .enumerate()
    {
        let change = |(row, input): (usize, usize)| {
            let ends: Option<&[f64; 2]> = rows[row].changes.get(input);
            ends.map_or(f64::NAN, |ends| ends[end])
        };
        let values = Array2::from_shape_fn((rows.len(), inputs.len()), change);
        file.numbers(&group, label, &[dim, input], "station_name quantity input_path", view2(&values))?;
    }
    Ok(())
}

/// Low and high ends along the line.
pub(super) fn write_along(file: &mut Labelled, distance: Dim, band: Option<&FieldBand>) -> hdf5::Result<()> {
    let Some(band) = band else { return Ok(()) };
    let root = file.root()?;
    let FieldBand { surface_low, surface_high, core_low, core_high } = band;
    for (label, values) in ALONG.into_iter().zip([surface_low, surface_high, core_low, core_high]) {
        file.numbers(&root, label, &[distance], "time", view1(values))?;
    }
    Ok(())
}

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
    if !file.link_exists(ALONG[0].name) {
        return Ok(None);
    }
    let end = |index: usize| column(file, ALONG[index].name, points);
    Ok(Some(FieldBand { surface_low: end(0)?, surface_high: end(1)?, core_low: end(2)?, core_high: end(3)? }))
}
