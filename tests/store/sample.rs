//! Made-up answers for the tests of the results file.

use ndarray::{Array1, Array2, Axis, concatenate, s};
use quenchway::case::warning::Warning;
use quenchway::case::{InputBand, Medium, Quantity, Varied};
use quenchway::march::solution::Skin;
use quenchway::march::solution::{
    AroundReport, Balance, Band, Cooling, Doubled, FieldBand, Fields, FlowForRise, Interface, LimitReport, LimitedBy,
    Numerics, PointReport, SectionReport, SetThrough, Shrink, Solution, StationReport, Throughput,
};

/// A plausible answer, made up and not computed: 230 points, an air gap and a trough, decaying profiles.
pub fn sample(layers: usize) -> Solution {
    const SPEED: f64 = 2.5;
    let water = Array1::linspace(0.4, 20.4, 151).slice_move(s![1..]);
    let distance = concatenate![Axis(0), Array1::linspace(0.0, 0.4, 80), water];
    let time = &distance / SPEED;
    let per_layer = 20;
    let nodes = per_layer * layers;
    let layer_of_node: Vec<usize> = (0..nodes).map(|node| node / per_layer).collect();
    // The two nodes of a joint have one radius.
    let hot_radius: Vec<f64> =
        (0..nodes).map(|node| 1e-3 * ((node - node / per_layer) as f64) / (nodes - layers) as f64).collect();
    let node_mass = Array1::from_shape_fn(nodes, |node| 1e-4 * (1.0 + node as f64));
    let capacity = |node: usize| if layer_of_node[node] == 0 { 390.0 } else { 1900.0 };
    let temperature = Array2::from_shape_fn((distance.len(), nodes), |(point, node)| {
        let across = (node as f64 / nodes as f64).powi(2);
        16.0 + 170.0 * (-0.3 * time[point]).exp() * (1.0 - 0.6 * across * (1.0 - (-5.0 * time[point]).exp()))
    });
    let radius = Array2::from_shape_fn(temperature.dim(), |(point, node)| {
        hot_radius[node] * (1.0 + 1e-4 * (temperature[[point, 0]] - 186.0))
    });
    let enthalpy = Array2::from_shape_fn(temperature.dim(), |at| capacity(at.1) * temperature[at]);
    let stored = enthalpy.dot(&node_mass);
    let interface = Array2::from_shape_fn((distance.len(), layers - 1), |(point, joint)| {
        temperature[[point, per_layer * (joint + 1)]]
    });
    let fields = Fields {
        time,
        section_of_point: distance.iter().map(|&at| usize::from(at > 0.4)).collect(),
        layer_of_node,
        radius,
        surface: temperature.column(nodes - 1).to_owned(),
        hot_side: (layers > 1).then(|| temperature.column(nodes - 1).to_owned() + 3.0),
        core: temperature.column(0).to_owned(),
        mean: temperature.mean_axis(Axis(1)).unwrap(),
        hottest: temperature.column(0).to_owned(),
        interface_inner: &interface + 0.5,
        interface_outer: interface,
        diameter: Array1::from_elem(distance.len(), 2e-3),
        medium: distance.mapv(|at| if at > 0.4 { 16.0 } else { 28.0 }),
        film: distance.mapv(|at| if at > 0.4 { 3000.0 } else { 25.0 }),
        heat_flux: distance.mapv(|at| 3e5 * (-at).exp()),
        heat_per_length: stored.mapv(|now| stored[0] - now),
        band: (layers > 1).then(|| FieldBand {
            surface_low: &distance * -0.1,
            surface_high: &distance * 0.2,
            core_low: &distance * -0.3,
            core_high: &distance * 0.4,
        }),
        node_mass,
        temperature,
        enthalpy,
        distance,
    };
    let names = layer_names(layers);
    let point = |index: usize| PointReport {
        surface: fields.surface[index],
        core: fields.core[index],
        mean: fields.mean[index],
        hottest: fields.hottest[index],
        equalised: fields.mean[index] - 1.0,
        hot_side: fields.hot_side.as_ref().filter(|_| index > 79).map(|hot_side| hot_side[index]),
        interfaces: (0..layers - 1)
            .map(|joint| Interface {
                inner_layer: names[joint].clone(),
                outer_layer: names[joint + 1].clone(),
                inner: fields.interface_inner[[index, joint]],
                outer: fields.interface_outer[[index, joint]],
            })
            .collect(),
        layer_means: (0..layers).map(|layer| 50.0 + layer as f64).collect(),
        layer_hottest: (0..layers).map(|layer| 60.0 + layer as f64).collect(),
        diameter: fields.diameter[index],
    };
    let last = fields.distance.len() - 1;
    let station = |index: usize, name: &str| StationReport {
        name: name.to_string(),
        distance: fields.distance[index],
        time: fields.time[index],
        point: point(index),
        limits: Vec::new(),
    };
    let mut stations = [station(60, "hot gauge"), station(last, "capstan \"ß\"")];
    let limit = |name: &str, max, value| LimitReport::new(name.to_string(), max, value);
    stations[1].limits = vec![
        limit("surface_max", 45.0, stations[1].point.quantity(Quantity::HotSide)),
        limit("core_max", 20.0, stations[1].point.core),
        limit("layer_max.conductor", 55.0, stations[1].point.layer_hottest[0]),
    ];
    let section = |name: &str, medium, ends: [usize; 2], water: [Option<f64>; 2]| SectionReport {
        name: name.to_string(),
        medium,
        start: fields.distance[ends[0]],
        end: fields.distance[ends[1]],
        exit: point(ends[1]),
        heat: SPEED * (fields.heat_per_length[ends[1]] - fields.heat_per_length[ends[0]]),
        medium_temperature: fields.medium[ends[1]],
        water_in: water[0],
        water_out: water[1],
        water_flow: water[0].map(|_| 0.25),
        heat_to_water: if medium == Medium::Water { 5000.0 } else { 0.0 },
        flow_for_rise: FlowForRise::of(if medium == Medium::Water { 5000.0 } else { 0.0 }, fields.medium[ends[1]]),
        film_mean: fields.film[ends[1]],
        around: (layers > 1 && medium == Medium::Water).then_some(AroundReport { film: 3000.0, all_round: 212.5 }),
        biot: 1.7,
        boiling: 0.0,
    };
    Solution {
        title: "sample – 2.5 mm²".to_string(),
        stations: stations.to_vec(),
        sections: vec![
            section("air gap", Medium::Air, [0, 79], [None, None]),
            section("trough", Medium::Water, [79, last], [Some(16.0), Some(18.5)]),
        ],
        equalised: 31.25,
        rebound: 4.5,
        set_through: vec![SetThrough { layer: names[layers - 1].clone(), distance: Some(7.25) }],
        skins: vec![Skin {
            layer: names[layers - 1].clone(),
            distance: Some(2.75),
            melt_shrink: Some(3.5),
            surface_rate: Some(1532.0),
            resolved: 1600.0,
            set_in: Some("trough".to_string()),
            mid_wall_rate: Some(8.125),
        }],
        shrink: Shrink {
            hot_gauge: 2.0e-3,
            cold_gauge: 1.97e-3,
            finished: 1.96e-3,
            to_cold_gauge: 1.5,
            to_finished: 2.0,
            frozen_axial: 0.7,
            hot_gauge_station: "hot gauge".to_string(),
            cold_gauge_station: "end of the line".to_string(),
        },
        throughput: names.iter().map(|name| Throughput { layer: name.clone(), kg_per_h: 66.5 }).collect(),
        cooling: (layers > 1).then(|| Cooling {
            temperature: "capstan.core".to_string(),
            now: doubled(0.25, LimitedBy::Both),
            low: Some(doubled(0.75, LimitedBy::Film)),
        }),
        chiller_duty: 5000.0,
        peclet: 1.5e4,
        band: vec![Band {
            station: "capstan \"ß\"".to_string(),
            quantity: "core".to_string(),
            low: 52.0,
            high: 67.0,
            largest: "layer.conductor.temperature".to_string(),
            changes: vec![[-2.5, 2.5], [f64::NAN, 7.0]],
        }],
        band_inputs: vec![
            InputBand {
                input: "layer.conductor.temperature".to_string(),
                varied: Varied::Kelvin,
                low_end: -10.0,
                high_end: 10.0,
                basis: "given by the case".to_string(),
            },
            InputBand {
                input: "layer.\"isolação Å\".contact".to_string(),
                varied: Varied::Conductance,
                low_end: 1000.0,
                high_end: f64::INFINITY,
                basis: "common practice, no source".to_string(),
            },
        ],
        balance: Balance { heat_to_media: 8e3, enthalpy_drop: 8e3, relative_error: 3e-15 },
        numerics: Numerics {
            cells: nodes - layers,
            steps: 812,
            tolerance: 0.01,
            error: 0.004,
            boiling_error: None,
            wall: 0.02,
        },
        warnings: vec![Warning::ContactAssumed { layer: "insulation".to_string(), inner: "conductor".to_string() }],
        cautions: vec!["Estimates for planning.".to_string(), "A cool surface can hide a hot core.".to_string()],
        fields,
    }
}

/// One bare layer, no stations, nothing to warn of: every dimension that can be empty is.
pub fn bare() -> Solution {
    Solution {
        stations: Vec::new(),
        warnings: Vec::new(),
        band: Vec::new(),
        band_inputs: Vec::new(),
        set_through: Vec::new(),
        skins: Vec::new(),
        ..sample(1)
    }
}

/// The first names of layers.
pub fn layer_names(layers: usize) -> Vec<String> {
    ["conductor", "isolação Å"][..layers].iter().map(|name| name.to_string()).collect()
}

fn doubled(worth: f64, limited_by: LimitedBy) -> Doubled {
    let film_share = Some(2.0 * worth / (1.0 + worth));
    Doubled { value: 62.5, film_doubled: 60.0, longer: 61.5, worth: Some(worth), film_share, limited_by }
}
