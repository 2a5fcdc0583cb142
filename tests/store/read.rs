//! A results file read back into what was written: nothing that the file holds may be lost or moved.

mod around;
mod band;
mod cooling;

use std::path::Path;

use hdf5::types::VarLenUnicode;
use hdf5::{File, Group, H5Type, Location};
use hdf5_metno as hdf5;
use ndarray::{Array1, Array2};
use quenchway::case::{InputBand, Medium, Quantity};
use quenchway::march::solution::Skin;
use quenchway::march::solution::{
    Band, Cooling, Fields, FlowForRise, Interface, LimitReport, PointReport, SectionReport, SetThrough, Shrink,
    StationReport, Throughput,
};
use quenchway::march::table::{LAYER_MAX, LIMITS, layer_limit, word};
use serde::Deserialize;

/// What a results file holds.
#[derive(Clone, Debug)]
pub struct Stored {
    /// The case's title.
    pub title: String,
    /// Program and version that wrote the file.
    pub source: String,
    /// When and how it was written.
    pub history: String,
    /// The case file's text, whole.
    pub case_text: String,
    /// SHA-256 of the case file's text, in hexadecimal.
    pub case_sha256: String,
    /// The case with library materials and defaults written out.
    pub resolved_case: String,
    /// SHA-256 of the resolved case, in hexadecimal.
    pub resolved_case_sha256: String,
    /// What must be kept in mind on the plant floor.
    pub cautions: Vec<String>,
    /// What the result must be read with.
    pub warnings: Vec<StoredWarning>,
    /// The tolerance asked for, K.
    pub tolerance: f64,
    /// Stated error of every reported temperature, K.
    pub error: f64,
    /// Imbalance of the energy books relative to the product's heat content.
    pub balance_relative_error: f64,
    /// Names of the layers from the axis outward.
    pub layer_names: Vec<String>,
    /// The fields along the line.
    pub fields: Fields,
    /// At each station, in the order of the case; limits in the order of [`quenchway::case::Quantity::ALL`].
    pub stations: Vec<StationReport>,
    /// For each section, from the die onward.
    pub sections: Vec<SectionReport>,
    /// Where the layers that set through do so; a layer without a distance is not listed.
    pub set_through: Vec<SetThrough>,
    /// Set skins; a layer of which nothing is known is not listed.
    pub skins: Vec<Skin>,
    /// Mass flow of each layer.
    pub throughput: Vec<Throughput>,
    /// Diameters from the hot gauge to 23 degC.
    pub shrink: Shrink,
    /// How far the inputs' uncertainty moves the temperatures at the stations.
    pub band: Vec<Band>,
    /// The uncertain inputs.
    pub band_inputs: Vec<InputBand>,
    /// Adiabatic mix at the end of the line, degC.
    pub equalised: f64,
    /// Rise of the surface after the last water above its temperature at the exit, K.
    pub rebound: f64,
    /// Heat that all water takes up, W.
    pub chiller_duty: f64,
    /// Lowest Peclet number of the sections.
    pub peclet: f64,
    /// What limits the cooling, where somebody looked.
    pub cooling: Option<Cooling>,
}

/// A warning as the file tells it.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct StoredWarning {
    /// A short fixed name.
    pub kind: String,
    /// The sentence for people.
    pub message: String,
    /// The key path of the case that it is about.
    #[serde(rename = "where")]
    pub place: String,
}

/// Reads a results file.
pub fn read(path: &Path) -> Stored {
    stored(&File::open(path).unwrap()).unwrap()
}

fn stored(file: &File) -> hdf5::Result<Stored> {
    let layer_names = texts(file, "layer_name")?;
    let per_layer = |name: &str| -> hdf5::Result<Vec<(String, f64)>> {
        Ok(layer_names.iter().cloned().zip(column(file, name, layer_names.len())?).collect())
    };
    let set_through = per_layer("set_through_distance")?.into_iter().filter(|(_, distance)| !distance.is_nan());
    let throughput = per_layer("throughput")?.into_iter().filter(|(_, kg_per_h)| !kg_per_h.is_nan());
    let cautions = attribute(file, "cautions")?;
    let warnings = serde_json::from_str(&attribute(file, "warnings")?);
    let (rows, inputs) = band::read(&file.group("band")?)?;
    let fields = fields(file)?;
    let stations = stations(&file.group("stations")?, &layer_names)?;
    let sections = sections(&file.group("sections")?, &layer_names)?;
    let skins = skins(file, &layer_names, &sections)?;
    Ok(Stored {
        title: attribute(file, "title")?,
        source: attribute(file, "source")?,
        history: attribute(file, "history")?,
        case_text: attribute(file, "case_toml")?,
        case_sha256: attribute(file, "case_sha256")?,
        resolved_case: attribute(file, "resolved_case")?,
        resolved_case_sha256: attribute(file, "resolved_case_sha256")?,
        cautions: cautions.lines().map(String::from).collect(),
        warnings: warnings.map_err(|error| hdf5::Error::from(format!("attribute warnings: {error}")))?,
        tolerance: number(file, "tolerance_K")?,
        error: number(file, "error_K")?,
        balance_relative_error: number(file, "balance_relative_error")?,
        fields,
        stations,
        sections,
        set_through: set_through.map(|(layer, distance)| SetThrough { layer, distance: Some(distance) }).collect(),
        skins,
        throughput: throughput.map(|(layer, kg_per_h)| Throughput { layer, kg_per_h }).collect(),
        shrink: Shrink {
            hot_gauge: scalar(file, "hot_gauge_diameter")?,
            cold_gauge: scalar(file, "cold_gauge_diameter")?,
            finished: scalar(file, "finished_diameter")?,
            to_cold_gauge: scalar(file, "shrink_to_cold_gauge")?,
            to_finished: scalar(file, "shrink_to_finished")?,
            frozen_axial: scalar(file, "frozen_axial_strain")?,
            hot_gauge_station: attribute(file, "hot_gauge_station")?,
            cold_gauge_station: attribute(file, "cold_gauge_station")?,
        },
        band: rows,
        band_inputs: inputs,
        equalised: scalar(file, "equalised_temperature")?,
        rebound: scalar(file, "rebound")?,
        chiller_duty: scalar(file, "chiller_duty")?,
        peclet: scalar(file, "peclet_number")?,
        cooling: cooling::read(file)?,
        layer_names,
    })
}

fn skins(file: &File, layer_names: &[String], sections: &[SectionReport]) -> hdf5::Result<Vec<Skin>> {
    let values = |name: &str| -> hdf5::Result<Vec<Option<f64>>> {
        let column: Array1<f64> = column(file, name, layer_names.len())?;
        Ok(column.into_iter().map(|value| Some(value).filter(|value| !value.is_nan())).collect())
    };
    let (distance, melt_shrink) = (values("skin_set_distance")?, values("melt_shrink")?);
    let (surface, mid_wall) = (values("surface_set_rate")?, values("mid_wall_set_rate")?);
    let (resolved, sections_set) = (values("surface_set_rate_resolved")?, values("surface_set_section")?);
    // An index of a section is a small whole number.
    let named = |index: f64| sections.get(index as usize).map(|section| section.name.clone());
    let skins = layer_names.iter().enumerate().map(|(index, layer)| Skin {
        layer: layer.clone(),
        distance: distance[index],
        melt_shrink: melt_shrink[index],
        surface_rate: surface[index],
        resolved: resolved[index].unwrap_or(f64::NAN),
        set_in: sections_set[index].and_then(named),
        mid_wall_rate: mid_wall[index],
    });
    let known = |skin: &Skin| {
        let rates = skin.surface_rate.is_some() || skin.mid_wall_rate.is_some();
        skin.distance.is_some() || rates || skin.set_in.is_some()
    };
    Ok(skins.filter(known).collect())
}

fn fields(file: &File) -> hdf5::Result<Fields> {
    let distance: Array1<f64> = file.dataset("distance")?.read_1d()?;
    let node_mass: Array1<f64> = file.dataset("node_mass")?.read_1d()?;
    let joints = file.dataset("interface")?.size();
    let (points, nodes) = (distance.len(), node_mass.len());
    Ok(Fields {
        time: column(file, "time", points)?,
        section_of_point: indices(file, "section_of_point", points)?,
        layer_of_node: indices(file, "layer_of_node", nodes)?,
        radius: table(file, "radius", [points, nodes])?,
        temperature: table(file, "temperature", [points, nodes])?,
        enthalpy: table(file, "enthalpy", [points, nodes])?,
        surface: column(file, "surface_temperature", points)?,
        hot_side: around::read_along(file, points)?,
        core: column(file, "core_temperature", points)?,
        mean: column(file, "mean_temperature", points)?,
        hottest: column(file, "hottest_plastic_temperature", points)?,
        interface_inner: table(file, "interface_temperature_inner", [points, joints])?,
        interface_outer: table(file, "interface_temperature_outer", [points, joints])?,
        diameter: column(file, "diameter", points)?,
        medium: column(file, "medium_temperature", points)?,
        film: column(file, "film_coefficient", points)?,
        heat_flux: column(file, "heat_flux", points)?,
        heat_per_length: column(file, "heat_per_length", points)?,
        band: band::read_along(file, points)?,
        distance,
        node_mass,
    })
}

fn stations(group: &Group, layer_names: &[String]) -> hdf5::Result<Vec<StationReport>> {
    let names = texts(group, "station_name")?;
    let count = names.len();
    let distance = column(group, "distance", count)?;
    let time = column(group, "time", count)?;
    let mut stations: Vec<StationReport> = (names.into_iter().zip(points(group, layer_names, count)?))
        .zip(distance.into_iter().zip(time))
        .map(|((name, point), (distance, time))| StationReport { name, distance, time, point, limits: Vec::new() })
        .collect();
    for (quantity, label, _) in LIMITS {
        for (station, max) in stations.iter_mut().zip(column(group, label.name, count)?) {
            if !max.is_nan() {
                // A limit of the surface judges its hot side.
                let hot_side = station.point.hot_side.filter(|_| quantity == Quantity::Surface);
                let value = hot_side.unwrap_or_else(|| station.point.quantity(quantity));
                station.limits.push(LimitReport::new(label.name.to_string(), max, value));
            }
        }
    }
    let of_layers = table(group, LAYER_MAX, [count, layer_names.len()])?;
    for (station, limits) in stations.iter_mut().zip(of_layers.rows()) {
        for (layer, &max) in limits.iter().enumerate().filter(|(_, max)| !max.is_nan()) {
            let value = station.point.quantity(Quantity::Layer(layer));
            station.limits.push(LimitReport::new(layer_limit(&layer_names[layer]), max, value));
        }
    }
    Ok(stations)
}

fn sections(group: &Group, layer_names: &[String]) -> hdf5::Result<Vec<SectionReport>> {
    let names = texts(group, "section_name")?;
    let count = names.len();
    let start = column(group, "start", count)?;
    let end = column(group, "end", count)?;
    let heat = column(group, "heat", count)?;
    let medium_temperature = column(group, "medium_temperature", count)?;
    let water_in = column(group, "water_in_temperature", count)?;
    let water_out = column(group, "water_out_temperature", count)?;
    let water_flow = column(group, "water_flow", count)?;
    let heat_to_water = column(group, "heat_to_water", count)?;
    let film_mean = column(group, "film_coefficient_mean", count)?;
    let biot = column(group, "biot_number", count)?;
    let boiling = column(group, "time_above_boiling", count)?;
    let media = texts(group, "medium")?;
    whole("medium", media.len() == count)?;
    let around = around::read_sections(group, count)?;
    let known = |value: f64| (!value.is_nan()).then_some(value);
    let mut sections = Vec::new();
    for (i, (name, exit)) in names.into_iter().zip(points(group, layer_names, count)?).enumerate() {
        sections.push(SectionReport {
            name,
            medium: choice("medium", &Medium::ALL, &media[i])?,
            start: start[i],
            end: end[i],
            exit,
            heat: heat[i],
            medium_temperature: medium_temperature[i],
            water_in: known(water_in[i]),
            water_out: known(water_out[i]),
            water_flow: known(water_flow[i]),
            heat_to_water: heat_to_water[i],
            flow_for_rise: FlowForRise::of(heat_to_water[i], medium_temperature[i]),
            film_mean: film_mean[i],
            around: around[i],
            biot: biot[i],
            boiling: boiling[i],
        });
    }
    Ok(sections)
}

fn points(group: &Group, layer_names: &[String], count: usize) -> hdf5::Result<Vec<PointReport>> {
    let surface = column(group, "surface_temperature", count)?;
    let core = column(group, "core_temperature", count)?;
    let mean = column(group, "mean_temperature", count)?;
    let hottest = column(group, "hottest_plastic_temperature", count)?;
    let equalised = column(group, "equalised_temperature", count)?;
    let diameter = column(group, "diameter", count)?;
    let inner = table(group, "interface_temperature_inner", [count, layer_names.len().saturating_sub(1)])?;
    let outer = table(group, "interface_temperature_outer", [count, layer_names.len().saturating_sub(1)])?;
    let layer_means = table(group, "layer_mean_temperature", [count, layer_names.len()])?;
    let layer_hottest = table(group, "layer_hottest_temperature", [count, layer_names.len()])?;
    let interfaces = |point: usize| {
        let pairs = layer_names.windows(2).enumerate().map(|(joint, pair)| Interface {
            inner_layer: pair[0].clone(),
            outer_layer: pair[1].clone(),
            inner: inner[[point, joint]],
            outer: outer[[point, joint]],
        });
        pairs.collect()
    };
    let hot_side = around::read_points(group, count)?;
    let point = |i: usize| PointReport {
        surface: surface[i],
        core: core[i],
        mean: mean[i],
        hottest: hottest[i],
        equalised: equalised[i],
        hot_side: hot_side[i],
        interfaces: interfaces(i),
        layer_means: layer_means.row(i).to_vec(),
        layer_hottest: layer_hottest.row(i).to_vec(),
        diameter: diameter[i],
    };
    Ok((0..count).map(point).collect())
}

/// The choice that a word stands for.
pub(super) fn choice<T: Copy + serde::Serialize>(what: &str, choices: &[T], text: &str) -> hdf5::Result<T> {
    let known = choices.iter().copied().find(|choice| word(choice) == text);
    known.ok_or_else(|| hdf5::Error::from(format!("{what} {text:?} is not known to this version")))
}

pub(super) fn attribute(place: &Location, name: &str) -> hdf5::Result<String> {
    let value: VarLenUnicode = place.attr(name)?.read_scalar()?;
    Ok(lossy(&value))
}

pub(super) fn number<T: H5Type>(place: &Location, name: &str) -> hdf5::Result<T> {
    place.attr(name)?.read_scalar()
}

fn scalar(group: &Group, name: &str) -> hdf5::Result<f64> {
    group.dataset(name)?.read_scalar()
}

pub(super) fn column(group: &Group, name: &str, length: usize) -> hdf5::Result<Array1<f64>> {
    let values = group.dataset(name)?.read_1d()?;
    whole(name, values.shape() == [length])?;
    Ok(values)
}

pub(super) fn table(group: &Group, name: &str, shape: [usize; 2]) -> hdf5::Result<Array2<f64>> {
    let values = group.dataset(name)?.read_2d()?;
    whole(name, values.shape() == shape)?;
    Ok(values)
}

pub(super) fn texts(group: &Group, name: &str) -> hdf5::Result<Vec<String>> {
    let values: Vec<VarLenUnicode> = group.dataset(name)?.read_raw()?;
    Ok(values.iter().map(lossy).collect())
}

fn indices(group: &Group, name: &str, length: usize) -> hdf5::Result<Vec<usize>> {
    let values: Vec<i32> = group.dataset(name)?.read_raw()?;
    whole(name, values.len() == length)?;
    let index = |value| usize::try_from(value).map_err(|_| hdf5::Error::from(format!("{name} has the index {value}")));
    values.into_iter().map(index).collect()
}

pub(super) fn whole(name: &str, fits: bool) -> hdf5::Result<()> {
    if fits { Ok(()) } else { Err(format!("{name} has another length than its dimensions").into()) }
}

/// HDF5 does not check that text marked as UTF-8 is.
fn lossy(value: &VarLenUnicode) -> String {
    String::from_utf8_lossy(value.as_bytes()).into_owned()
}
