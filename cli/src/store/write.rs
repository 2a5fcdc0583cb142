//! A run as a results file: which variable holds what.

use std::path::Path;

use hdf5_metno as hdf5;
use ndarray::{Array1, Array2, ArrayView1, ArrayView2, ArrayViewD};
use quenchway::case::Shape;
use quenchway::march::solution::Skin;
use quenchway::march::solution::{Fields, Solution};
use serde::Serialize;
use sha2::{Digest, Sha256};

use super::scale::{Dim, Label, Labelled, number_attribute, text_attribute};
use super::tables::{self, INTERFACE_INNER, INTERFACE_OUTER};
use super::{PROGRAM, Record, utc};
use super::{around, band, cooling};
use crate::build;

/// The CF version whose rules the attributes follow (Climate and Forecast metadata conventions, 2022).
pub(super) const CONVENTIONS: &str = "CF-1.10";

/// Dimensions that groups share with the root.
pub(super) struct Dims {
    pub layer: Dim,
    pub interface: Dim,
    pub section: Dim,
}

/// Writes the whole of a record to a new file.
pub(super) fn fill(path: &Path, record: &Record) -> hdf5::Result<()> {
    let (layers, joints) = (record.layer_names.len(), record.solution.fields.interface_inner.ncols());
    if layers != joints + 1 {
        return Err(format!("{layers} layer names do not go with {joints} joints").into());
    }
    let mut file = Labelled::create(path)?;
    attributes(&file, record)?;
    let fields = &record.solution.fields;
    let dims = Dims {
        layer: file.dimension(&file.root()?, "layer", layers)?,
        interface: file.dimension(&file.root()?, "interface", joints)?,
        section: file.dimension(&file.root()?, "section", record.solution.sections.len())?,
    };
    profiles(&mut file, &dims, fields, record.shape)?;
    whole_line(&mut file, &dims, record)?;
    tables::stations(&mut file, &dims, record)?;
    tables::sections(&mut file, &dims, record)?;
    band::write(&mut file, record.solution)?;
    file.finish()
}

fn attributes(file: &Labelled, record: &Record) -> hdf5::Result<()> {
    let solution = record.solution;
    let version = env!("CARGO_PKG_VERSION");
    let root = file.root()?;
    for (name, value) in [
        ("title", solution.title.as_str()),
        ("Conventions", CONVENTIONS),
        ("history", &format!("{} {PROGRAM} {version} run", utc::stamp(record.time))),
        ("source", build::PROGRAM),
        ("case_toml", record.case_text),
        ("case_sha256", &sha256(record.case_text)),
        ("resolved_case", record.resolved_case),
        ("resolved_case_sha256", &sha256(record.resolved_case)),
        ("cautions", &solution.cautions.join("\n")),
        ("warnings", &warnings(solution)),
        ("hot_gauge_station", &solution.shrink.hot_gauge_station),
        ("cold_gauge_station", &solution.shrink.cold_gauge_station),
    ] {
        text_attribute(&root, name, value)?;
    }
    cooling::write(&root, solution.cooling.as_ref())?;
    number_attribute(&root, "tolerance_K", solution.numerics.tolerance)?;
    number_attribute(&root, "error_K", solution.numerics.error)?;
    number_attribute(&root, "balance_relative_error", solution.balance.relative_error)?;
    number_attribute(&root, "cells", count(solution.numerics.cells))?;
    number_attribute(&root, "steps", count(solution.numerics.steps))
}

/// The fields along the line.
fn profiles(file: &mut Labelled, dims: &Dims, fields: &Fields, shape: Shape) -> hdf5::Result<()> {
    let root = file.root()?;
    let (mass, heat) = match shape {
        Shape::Round => ("kg m-1", "J m-1"),
        Shape::Flat => ("kg m-2", "J m-2"), // per m of line and m of width
    };
    let distance = Label::new("distance", "m", "distance from the die");
    let distance = file.coordinate(&root, distance, &fields.distance.to_vec())?;
    let node = Label::new("node", "1", "index of the node, from the axis outward; a joint has two, one a layer");
    let node = file.coordinate(&root, node, &indices(0..fields.node_mass.len()))?;

    let time = Label::new("time", "s", "age of the slice since the die");
    file.numbers(&root, time, &[distance], "", view1(&fields.time))?;
    let radius = Label::new("radius", "m", "distance of the node from the axis or mid-plane");
    file.numbers(&root, radius, &[distance, node], "", view2(&fields.radius))?;
    let node_mass = Label::new("node_mass", mass, "mass of the node: its weight in the energy balance");
    file.numbers(&root, node_mass, &[node], "", view1(&fields.node_mass))?;
    let layer_of_node = Label::new("layer_of_node", "1", "layer of the node, an index into layer_name");
    let layers = indices(fields.layer_of_node.iter().copied());
    file.numbers(&root, layer_of_node, &[node], "", ArrayView1::from(&layers).into_dyn())?;
    let section_of_point = Label::new("section_of_point", "1", "section of the point, an index into section_name");
    let sections = indices(fields.section_of_point.iter().copied());
    file.numbers(&root, section_of_point, &[distance], "time", ArrayView1::from(&sections).into_dyn())?;

    for (label, values) in [
        (Label::new("temperature", "degC", "temperature of the node"), &fields.temperature),
        (Label::new("enthalpy", "J kg-1", "enthalpy of the node above 0 degC"), &fields.enthalpy),
    ] {
        file.numbers(&root, label, &[distance, node], "time radius", view2(values))?;
    }
    for (label, values) in [
        (Label::new("interface_temperature_inner", "degC", INTERFACE_INNER), &fields.interface_inner),
        (Label::new("interface_temperature_outer", "degC", INTERFACE_OUTER), &fields.interface_outer),
    ] {
        file.numbers(&root, label, &[distance, dims.interface], "time", view2(values))?;
    }
    for (label, values) in [
        (Label::new("surface_temperature", "degC", "temperature of the outer surface"), &fields.surface),
        (Label::new("core_temperature", "degC", "temperature of the axis or inner surface"), &fields.core),
        (Label::new("mean_temperature", "degC", "mass mean temperature of the plastic"), &fields.mean),
        (Label::new("hottest_plastic_temperature", "degC", "hottest point of the plastic"), &fields.hottest),
        (Label::new("diameter", "m", "outer diameter (flat: full thickness)"), &fields.diameter),
        (Label::new("medium_temperature", "degC", "temperature of the air or water around it"), &fields.medium),
        (Label::new("film_coefficient", "W m-2 K-1", "film coefficient, radiation not included"), &fields.film),
        (Label::new("heat_flux", "W m-2", "heat flux from the surface, radiation included"), &fields.heat_flux),
        (Label::new("heat_per_length", heat, "heat given up since the die"), &fields.heat_per_length),
    ] {
        file.numbers(&root, label, &[distance], "time", view1(values))?;
    }
    around::write_along(file, distance, fields.hot_side.as_ref())?;
    band::write_along(file, distance, fields.band.as_ref())
}

/// What is told of a layer's set skin.
type SkinValue = fn(&Skin) -> Option<f64>;
const SKIN: [(Label, SkinValue); 4] = [
    (Label::with_gaps("skin_set_distance", "m", "where the outer tenth of a plastic layer's wall had set"), |skin| {
        skin.distance
    }),
    (Label::with_gaps("melt_shrink", "percent", "volume that the melt under that skin had still to lose"), |skin| {
        skin.melt_shrink
    }),
    (Label::with_gaps("surface_set_rate", "K s-1", "mean cooling rate of the outer face as it set"), |skin| {
        skin.surface_rate
    }),
    (Label::with_gaps("mid_wall_set_rate", "K s-1", "mean cooling rate of the middle of the wall as it set"), |skin| {
        skin.mid_wall_rate
    }),
];

/// What `surface_set_entry` is.
const SET_ENTRY: &str = "section at whose entry the outer face set, an index into section_name";

/// Names of layers and sections, and the numbers that hold for the whole line.
fn whole_line(file: &mut Labelled, dims: &Dims, record: &Record) -> hdf5::Result<()> {
    let root = file.root()?;
    let solution = record.solution;
    let names = record.layer_names.iter().map(String::as_str);
    file.texts(&root, "layer_name", "name of the layer, from the axis outward", dims.layer, names)?;
    let names = solution.sections.iter().map(|section| section.name.as_str());
    file.texts(&root, "section_name", "name of the section, from the die onward", dims.section, names)?;

    let set_through = record.layer_names.iter().map(|name| {
        let set = solution.set_through.iter().find(|set| set.layer == *name);
        set.and_then(|set| set.distance).unwrap_or(f64::NAN)
    });
    let label = Label::with_gaps("set_through_distance", "m", "where a plastic layer's hottest point has set");
    file.numbers(&root, label, &[dims.layer], "layer_name", view1(&set_through.collect()))?;
    for (label, value) in SKIN {
        let values = record.layer_names.iter().map(|name| {
            let skin = solution.skins.iter().find(|skin| skin.layer == *name);
            skin.and_then(value).unwrap_or(f64::NAN)
        });
        file.numbers(&root, label, &[dims.layer], "layer_name", view1(&values.collect()))?;
    }
    let entries = record.layer_names.iter().map(|name| {
        let skin = solution.skins.iter().find(|skin| skin.layer == *name);
        let entry = skin.and_then(|skin| skin.set_at_entry.as_ref());
        let section = |entry: &String| solution.sections.iter().position(|section| section.name == *entry);
        entry.and_then(section).map_or(f64::NAN, |section| section as f64)
    });
    let label = Label::with_gaps("surface_set_entry", "1", SET_ENTRY);
    file.numbers(&root, label, &[dims.layer], "layer_name", view1(&entries.collect()))?;
    let throughput = record.layer_names.iter().map(|name| {
        let flow = solution.throughput.iter().find(|flow| flow.layer == *name);
        flow.map_or(f64::NAN, |flow| flow.kg_per_h)
    });
    let label = Label::with_gaps("throughput", "kg h-1", "mass flow of the layer at the die");
    file.numbers(&root, label, &[dims.layer], "layer_name", view1(&throughput.collect()))?;

    let shrink = &solution.shrink;
    for (name, units, long_name, value) in [
        (
            "equalised_temperature",
            "degC",
            "adiabatic mix at the end of the line: what the reel settles to",
            solution.equalised,
        ),
        (
            "rebound",
            "K",
            "rise of the surface after the last water above its temperature at the exit",
            solution.rebound,
        ),
        ("chiller_duty", "W", "heat that all water takes up", solution.chiller_duty),
        ("peclet_number", "1", "lowest Peclet number of the sections", solution.peclet),
        ("heat_to_media", "W", "heat given to all media", solution.balance.heat_to_media),
        ("enthalpy_drop", "W", "enthalpy that the product lost", solution.balance.enthalpy_drop),
        ("hot_gauge_diameter", "m", "diameter at the hot gauge", shrink.hot_gauge),
        ("cold_gauge_diameter", "m", "diameter at the cold gauge", shrink.cold_gauge),
        ("finished_diameter", "m", "diameter with everything at 23 degC", shrink.finished),
        ("shrink_to_cold_gauge", "percent", "shrink from the hot to the cold gauge", shrink.to_cold_gauge),
        ("shrink_to_finished", "percent", "shrink from the hot gauge to 23 degC", shrink.to_finished),
        ("frozen_axial_strain", "percent", "largest axial strain frozen into a held layer", shrink.frozen_axial),
    ] {
        let value = ndarray::arr0(value);
        file.numbers(&root, Label::new(name, units, long_name), &[], "", value.view().into_dyn())?;
    }
    Ok(())
}

/// The warnings as the JSON of a run lists them.
fn warnings(solution: &Solution) -> String {
    let list = solution.warnings.iter().map(|warning| {
        serde_json::json!({ "kind": warning.kind(), "message": warning.to_string(), "where": warning.place() })
    });
    serde_json::Value::Array(list.collect()).to_string()
}

/// The word that stands for a choice in JSON.
pub(super) fn word(choice: &impl Serialize) -> String {
    serde_json::to_value(choice).ok().and_then(|value| value.as_str().map(String::from)).unwrap_or_default()
}

/// A text's SHA-256 in hexadecimal digits.
pub(crate) fn sha256(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

fn indices(values: impl IntoIterator<Item = usize>) -> Vec<i32> {
    values.into_iter().map(count).collect()
}

/// A count as HDF5 and netCDF hold it; no mesh and no line comes near the limit.
fn count(value: usize) -> i32 {
    i32::try_from(value).unwrap_or(i32::MAX)
}

pub(super) fn view1(values: &Array1<f64>) -> ArrayViewD<'_, f64> {
    values.view().into_dyn()
}

pub(super) fn view2(values: &Array2<f64>) -> ArrayViewD<'_, f64> {
    let view: ArrayView2<f64> = values.view();
    view.into_dyn()
}
