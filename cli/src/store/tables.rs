//! The tables of a results file: stations and sections.

use hdf5_metno as hdf5;
use ndarray::{Array1, Array2};
use quenchway::case::Quantity;
use quenchway::march::solution::{LimitReport, PointReport, SectionReport};
use quenchway::units::words::key;

use super::Record;
use super::around;
use super::scale::{Dim, Label, Labelled};
use super::write::{Dims, view1, view2, word};

pub(super) const INTERFACE_INNER: &str =
    "outer face of the layer inside the joint; joint 0 lies between layers 0 and 1";
pub(super) const INTERFACE_OUTER: &str =
    "inner face of the layer outside the joint; joint 0 lies between layers 0 and 1";

/// The group `stations`: every number of the station table.
pub(super) fn stations(file: &mut Labelled, dims: &Dims, record: &Record) -> hdf5::Result<()> {
    let group = file.group("stations")?;
    let stations = &record.solution.stations;
    let dim = file.dimension(&group, "station", stations.len())?;
    let names = stations.iter().map(|station| station.name.as_str());
    file.texts(&group, "station_name", "name of the station", dim, names)?;
    let distance = stations.iter().map(|station| station.distance);
    let label = Label::new("distance", "m", "distance from the die");
    file.numbers(&group, label, &[dim], "station_name", view1(&distance.collect()))?;
    let time = stations.iter().map(|station| station.time);
    let label = Label::new("time", "s", "age of the slice since the die");
    file.numbers(&group, label, &[dim], "station_name", view1(&time.collect()))?;
    let points: Vec<&PointReport> = stations.iter().map(|station| &station.point).collect();
    write_points(file, &group, (dim, "station_name distance"), dims, record, &points)?;

    for (_, max, margin) in LIMITS {
        let limits = || stations.iter().map(|station| station.limits.iter().find(|limit| limit.name == max.name));
        let highest: Array1<f64> = limits().map(|limit| limit.map_or(f64::NAN, |limit| limit.limit)).collect();
        file.numbers(&group, max, &[dim], "station_name distance", view1(&highest))?;
        let left: Array1<f64> = limits().map(|limit| limit.map_or(f64::NAN, |limit| limit.margin)).collect();
        file.numbers(&group, margin, &[dim], "station_name distance", view1(&left))?;
    }
    let of_layers = |value: fn(&LimitReport) -> f64| {
        Array2::from_shape_fn((stations.len(), record.layer_names.len()), |(station, layer)| {
            let key = layer_limit(&record.layer_names[layer]);
            stations[station].limits.iter().find(|limit| limit.name == key).map_or(f64::NAN, value)
        })
    };
    let label = Label::with_gaps(LAYER_MAX, "degC", "highest temperature allowed anywhere in the layer");
    file.numbers(&group, label, &[dim, dims.layer], "station_name distance", view2(&of_layers(|limit| limit.limit)))?;
    let label = Label::with_gaps("layer_margin", "K", "layer_max minus the temperature of the layer's hottest point");
    file.numbers(&group, label, &[dim, dims.layer], "station_name distance", view2(&of_layers(|limit| limit.margin)))
}

/// The variable of the limits of single layers.
pub(super) const LAYER_MAX: &str = "layer_max";

/// The key of a layer's limit.
pub(super) fn layer_limit(layer: &str) -> String {
    format!("{LAYER_MAX}.{}", key(layer))
}

/// The limits that a station may set, each with the labels of its highest value and of its margin.
pub(super) const LIMITS: [(Quantity, Label, Label); 5] = [
    (
        Quantity::Surface,
        Label::with_gaps("surface_max", "degC", "highest surface temperature allowed"),
        Label::with_gaps("surface_margin", "K", "surface_max minus the surface temperature"),
    ),
    (
        Quantity::Core,
        Label::with_gaps("core_max", "degC", "highest core temperature allowed"),
        Label::with_gaps("core_margin", "K", "core_max minus the core temperature"),
    ),
    (
        Quantity::Mean,
        Label::with_gaps("mean_max", "degC", "highest mean temperature of the plastic allowed"),
        Label::with_gaps("mean_margin", "K", "mean_max minus the mean temperature of the plastic"),
    ),
    (
        Quantity::Hottest,
        Label::with_gaps("hottest_max", "degC", "highest temperature of the plastic allowed anywhere in it"),
        Label::with_gaps("hottest_margin", "K", "hottest_max minus the hottest temperature of the plastic"),
    ),
    (
        Quantity::Equalised,
        Label::with_gaps("equalised_max", "degC", "highest temperature of the adiabatic mix allowed"),
        Label::with_gaps("equalised_margin", "K", "equalised_max minus the temperature of the adiabatic mix"),
    ),
];

/// The group `sections`: every number of the section table.
pub(super) fn sections(file: &mut Labelled, dims: &Dims, record: &Record) -> hdf5::Result<()> {
    let group = file.group("sections")?;
    let sections = &record.solution.sections;
    let dim = dims.section;
    let names = sections.iter().map(|section| section.name.as_str());
    file.texts(&group, "section_name", "name of the section, from the die onward", dim, names)?;
    let media: Vec<String> = sections.iter().map(|section| word(&section.medium)).collect();
    file.texts(&group, "medium", "what surrounds the product", dim, media.iter().map(String::as_str))?;
    type Value = fn(&SectionReport) -> f64;
    let columns: [(Label, Value); 11] = [
        (Label::new("start", "m", "distance of its start from the die"), |section| section.start),
        (Label::new("end", "m", "distance of its end from the die"), |section| section.end),
        (Label::new("heat", "W", "heat given to the medium by the running line"), |section| section.heat),
        (Label::new("medium_temperature", "degC", "temperature of the medium"), |section| section.medium_temperature),
        (Label::with_gaps("water_in_temperature", "degC", "temperature of the water at its inlet"), |section| {
            section.water_in.unwrap_or(f64::NAN)
        }),
        (Label::with_gaps("water_out_temperature", "degC", "temperature of the water at its outlet"), |section| {
            section.water_out.unwrap_or(f64::NAN)
        }),
        (Label::with_gaps("water_flow", "kg s-1", "mass flow of the water"), |section| {
            section.water_flow.unwrap_or(f64::NAN)
        }),
        (Label::new("heat_to_water", "W", "heat given to the water by the running line"), |section| {
            section.heat_to_water
        }),
        (
            Label::new("film_coefficient_mean", "W m-2 K-1", "mean film coefficient, radiation not included"),
            |section| section.film_mean,
        ),
        (Label::new("biot_number", "1", "conduction resistance of the plastic over that of the film"), |section| {
            section.biot
        }),
        (Label::new("time_above_boiling", "s", "time that the surface was above 100 degC in water"), |section| {
            section.boiling
        }),
    ];
    for (label, value) in columns {
        let values: Array1<f64> = sections.iter().map(value).collect();
        file.numbers(&group, label, &[dim], "section_name", view1(&values))?;
    }
    around::write_sections(file, &group, dim, sections)?;
    let exits: Vec<&PointReport> = sections.iter().map(|section| &section.exit).collect();
    write_points(file, &group, (dim, "section_name end"), dims, record, &exits)
}

/// The product's state at places along the line.
fn write_points(
    file: &mut Labelled,
    group: &hdf5::Group,
    (dim, coordinates): (Dim, &str),
    dims: &Dims,
    record: &Record,
    points: &[&PointReport],
) -> hdf5::Result<()> {
    type Value = fn(&PointReport) -> f64;
    let columns: [(Label, Value); 6] = [
        (Label::new("surface_temperature", "degC", "temperature of the outer surface"), |point| point.surface),
        (Label::new("core_temperature", "degC", "temperature of the axis or inner surface"), |point| point.core),
        (Label::new("mean_temperature", "degC", "mass mean temperature of the plastic"), |point| point.mean),
        (Label::new("hottest_plastic_temperature", "degC", "hottest point of the plastic"), |point| point.hottest),
        (Label::new("equalised_temperature", "degC", "adiabatic mix of the whole product"), |point| point.equalised),
        (Label::new("diameter", "m", "outer diameter (flat: full thickness)"), |point| point.diameter),
    ];
    for (label, value) in columns {
        let values: Array1<f64> = points.iter().map(|point| value(point)).collect();
        file.numbers(group, label, &[dim], coordinates, view1(&values))?;
    }
    around::write_points(file, group, (dim, coordinates), points)?;
    let joints = record.solution.fields.interface_inner.ncols();
    let at = |point: usize, joint: usize| points[point].interfaces.get(joint);
    let inner = Array2::from_shape_fn((points.len(), joints), |(p, j)| at(p, j).map_or(f64::NAN, |joint| joint.inner));
    let outer = Array2::from_shape_fn((points.len(), joints), |(p, j)| at(p, j).map_or(f64::NAN, |joint| joint.outer));
    for (label, values) in [
        (Label::new("interface_temperature_inner", "degC", INTERFACE_INNER), &inner),
        (Label::new("interface_temperature_outer", "degC", INTERFACE_OUTER), &outer),
    ] {
        file.numbers(group, label, &[dim, dims.interface], coordinates, view2(values))?;
    }
    type OfLayers = fn(&PointReport) -> &[f64];
    let of_layers: [(Label, OfLayers); 2] = [
        (Label::new("layer_mean_temperature", "degC", "mass mean temperature of the layer"), |point| {
            &point.layer_means
        }),
        (Label::new("layer_hottest_temperature", "degC", "hottest point of the layer"), |point| &point.layer_hottest),
    ];
    for (label, values) in of_layers {
        let values = Array2::from_shape_fn((points.len(), record.layer_names.len()), |(point, layer)| {
            values(points[point]).get(layer).copied().unwrap_or(f64::NAN)
        });
        file.numbers(group, label, &[dim, dims.layer], coordinates, view2(&values))?;
    }
    Ok(())
}
