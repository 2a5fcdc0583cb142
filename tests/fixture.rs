//! Cases, and solutions marched by a plain implicit scheme that is good enough to look at.

use ndarray::{Array1, Array2};
use quenchway::case::{
    Case, Contact, Contraction, DieTemperature, Geometry, Layer, Limit, Medium, Quantity, Section, Shape, Size, Station,
};
use quenchway::film::Film;
use quenchway::material::{Curve, Kind, Material};
use quenchway::solution::{
    Balance, Fields, Interface, LimitReport, LimitedBy, Numerics, PointReport, SectionReport, SetThrough, Shrink,
    Solution, StationReport, Throughput,
};
use quenchway::units::Celsius;

/// Solid copper, 8900 kg/m3: plausible values, not checked.
pub fn copper() -> Material {
    material("copper", Kind::Metal, 390.0, 385.0, vec![[20.0, 8900.0]])
}

/// Plasticised PVC with the densities of a melt and of a solid: plausible values, not checked.
pub fn pvc() -> Material {
    let mut pvc =
        material("pvc-insulation", Kind::Plastic, 0.17, 1500.0, vec![[0.0, 1400.0], [75.0, 1374.0], [200.0, 1290.0]]);
    pvc.set_temperature = Some(Celsius(80.0));
    pvc.hazards = vec![quenchway::material::Hazard::HydrogenChloride];
    pvc
}

fn material(name: &str, kind: Kind, k: f64, cp: f64, density: Vec<[f64; 2]>) -> Material {
    Material {
        name: name.to_string(),
        kind,
        conductivity: Curve::constant(k).unwrap(),
        heat_capacity: Curve::constant(cp).unwrap(),
        density: Curve::new(density).unwrap(),
        set_temperature: None,
        range: [Celsius(0.0), Celsius(230.0)],
        hazards: Vec::new(),
    }
}

/// A layer by its outer diameter at the die, m.
pub fn layer(name: &str, material: Material, diameter: f64, temperature: f64) -> Layer {
    let contraction = if material.kind == Kind::Metal { Contraction::Free } else { Contraction::Held };
    Layer {
        name: name.to_string(),
        material,
        size: Size::Diameter(diameter),
        temperature: DieTemperature::Fixed(Celsius(temperature)),
        contact: Contact::Perfect,
        contraction,
        conductivity_factor: 1.0,
        heat_capacity_factor: 1.0,
    }
}

/// A section with a given film coefficient.
pub fn section(name: &str, medium: Medium, length: f64, temperature: f64) -> Section {
    let film = if medium == Medium::Air { 22.0 } else { 2500.0 };
    Section {
        name: name.to_string(),
        medium,
        length,
        temperature: Celsius(temperature),
        film: Film::Given(film),
        film_factor: 1.0,
        emissivity: 0.0,
    }
}

/// A station at the end of a section plus an offset.
pub fn station(name: &str, after: usize, offset: f64, limits: &[(Quantity, f64)]) -> Station {
    let limits = limits.iter().map(|&(quantity, max)| Limit { quantity, max: Celsius(max) }).collect();
    Station { name: name.to_string(), after, offset, limits }
}

/// Solid building wire, 2.5 mm2, PVC insulated, at 150 m/min.
pub fn house_wire() -> Case {
    Case {
        title: "2.5 mm2 solid building wire, line to be speeded up".to_string(),
        line_speed: 2.5,
        shape: Shape::Round,
        geometry: Geometry::Shrinking,
        bore: 0.0,
        layers: vec![layer("conductor", copper(), 1.78e-3, 90.0), layer("insulation", pvc(), 3.42e-3, 188.0)],
        sections: vec![
            section("air gap", Medium::Air, 0.4, 28.0),
            section("trough", Medium::Water, 18.0, 16.0),
            section("to capstan", Medium::Air, 1.5, 28.0),
        ],
        stations: vec![
            station("hot gauge", 0, -0.2, &[]),
            station("capstan", 2, 0.0, &[(Quantity::Surface, 45.0), (Quantity::Core, 60.0)]),
        ],
        tolerance: 0.01,
        assumptions: Vec::new(),
    }
}

/// Nodes across a layer.
const NODES: usize = 16;

/// Marches a case by implicit Euler on fixed radii, 16 nodes a layer; radii follow the density afterwards.
pub fn solution(case: &Case) -> Solution {
    let flat = case.shape == Shape::Flat;
    let nodes = NODES * case.layers.len();
    let layer_of: Vec<usize> = (0..nodes).map(|i| i / NODES).collect();
    let mut edge = case.bore / 2.0;
    let mut radius0 = Vec::new();
    for layer in &case.layers {
        let outer = match layer.size {
            Size::Diameter(d) | Size::FinishedDiameter(d) => d / 2.0,
            Size::Wall(w) | Size::FinishedWall(w) => edge + w,
        };
        radius0.extend((0..NODES).map(|i| edge + (outer - edge) * i as f64 / (NODES - 1) as f64));
        edge = outer;
    }
    let surface_area = if flat { 1.0 } else { std::f64::consts::TAU * edge };
    let area = |r: f64| if flat { r } else { std::f64::consts::PI * r * r };
    let die: Vec<f64> = layer_of.iter().map(|&l| case.die_temperature(l).0).collect();
    let density = |i: usize, t: f64| case.layers[layer_of[i]].material.density.at(Celsius(t));
    let mass: Vec<f64> = (0..nodes)
        .map(|i| {
            let inner = if i % NODES == 0 { radius0[i] } else { (radius0[i - 1] + radius0[i]) / 2.0 };
            let outer = if i % NODES == NODES - 1 { radius0[i] } else { (radius0[i] + radius0[i + 1]) / 2.0 };
            (area(outer) - area(inner)) * density(i, die[i])
        })
        .collect();
    let capacity: Vec<f64> =
        (0..nodes).map(|i| mass[i] * case.layers[layer_of[i]].material.heat_capacity.at(Celsius(50.0))).collect();
    let link: Vec<f64> = (0..nodes - 1)
        .map(|i| {
            if layer_of[i] != layer_of[i + 1] {
                let round = if flat { 1.0 } else { std::f64::consts::TAU * radius0[i] };
                return match case.layers[layer_of[i + 1]].contact {
                    Contact::Perfect => 1e6 * round,
                    Contact::Conductance(h) => h * round,
                };
            }
            let k = case.layers[layer_of[i]].material.conductivity.at(Celsius(80.0));
            let middle = (radius0[i] + radius0[i + 1]) / 2.0;
            k * if flat { 1.0 } else { std::f64::consts::TAU * middle } / (radius0[i + 1] - radius0[i])
        })
        .collect();

    let mut points: Vec<(usize, f64)> = vec![(0, 0.0)];
    for (s, section) in case.sections.iter().enumerate() {
        let start = case.section_start(s);
        let count = 80;
        points.extend((1..=count).map(|i| (s, start + section.length * (f64::from(i) / f64::from(count)).powi(3))));
    }
    for station in &case.stations {
        let at = case.station_distance(station);
        let s = (0..case.sections.len()).find(|&s| at <= case.section_start(s + 1) + 1e-9).unwrap();
        points.push((s, at));
    }
    points.sort_by(|a, b| a.1.total_cmp(&b.1));
    points.dedup_by(|a, b| (a.1 - b.1).abs() < 1e-9);

    let n = points.len();
    let joints = case.layers.len() - 1;
    let mut f = Fields {
        distance: points.iter().map(|p| p.1).collect(),
        time: points.iter().map(|p| p.1 / case.line_speed).collect(),
        section_of_point: points.iter().map(|p| p.0).collect(),
        layer_of_node: layer_of.clone(),
        node_mass: mass.iter().copied().collect(),
        radius: Array2::zeros((n, nodes)),
        temperature: Array2::zeros((n, nodes)),
        enthalpy: Array2::zeros((n, nodes)),
        surface: Array1::zeros(n),
        core: Array1::zeros(n),
        mean: Array1::zeros(n),
        hottest: Array1::zeros(n),
        interface_inner: Array2::zeros((n, joints)),
        interface_outer: Array2::zeros((n, joints)),
        diameter: Array1::zeros(n),
        medium: Array1::zeros(n),
        film: Array1::zeros(n),
        heat_flux: Array1::zeros(n),
        heat_per_length: Array1::zeros(n),
    };
    let mut t = die.clone();
    let mut heat = vec![0.0; case.sections.len()];
    for p in 0..n {
        let section = &case.sections[points[p].0];
        let Film::Given(film) = section.film else { panic!("the fixture knows given coefficients only") };
        if p > 0 {
            let steps = 20;
            let dt = (f.time[p] - f.time[p - 1]) / f64::from(steps);
            for _ in 0..steps {
                let out = film * surface_area;
                t = implicit(&t, &capacity, &link, out, section.temperature.0, dt);
                heat[points[p].0] += out * (t[nodes - 1] - section.temperature.0) * dt * case.line_speed;
            }
        }
        let mut inner_old = case.bore / 2.0;
        let mut filled = area(inner_old);
        for i in 0..nodes {
            let outer_old = radius0[i];
            let ring = area(outer_old) - area(inner_old);
            filled += ring * density(i, die[i]) / density(i, t[i]);
            f.radius[[p, i]] = if flat { filled } else { (filled / std::f64::consts::PI).sqrt() };
            inner_old = outer_old;
            f.temperature[[p, i]] = t[i];
            f.enthalpy[[p, i]] = t[i] * capacity[i] / mass[i];
        }
        let plastic: Vec<usize> =
            (0..nodes).filter(|&i| case.layers[layer_of[i]].material.kind == Kind::Plastic).collect();
        f.surface[p] = t[nodes - 1];
        f.core[p] = t[0];
        f.mean[p] =
            plastic.iter().map(|&i| t[i] * mass[i]).sum::<f64>() / plastic.iter().map(|&i| mass[i]).sum::<f64>();
        f.hottest[p] = plastic.iter().map(|&i| t[i]).fold(f64::MIN, f64::max);
        for j in 0..joints {
            f.interface_inner[[p, j]] = t[(j + 1) * NODES - 1];
            f.interface_outer[[p, j]] = t[(j + 1) * NODES];
        }
        f.diameter[p] = 2.0 * f.radius[[p, nodes - 1]];
        f.medium[p] = section.temperature.0;
        f.film[p] = film;
        f.heat_flux[p] = film * (t[nodes - 1] - section.temperature.0);
    }

    let at = |distance: f64| (0..n).find(|&p| (f.distance[p] - distance).abs() < 1e-6).unwrap();
    let total: f64 = capacity.iter().sum();
    let report = |p: usize| PointReport {
        surface: f.surface[p],
        core: f.core[p],
        mean: f.mean[p],
        hottest: f.hottest[p],
        equalised: (0..nodes).map(|i| capacity[i] * f.temperature[[p, i]]).sum::<f64>() / total,
        interfaces: (0..joints)
            .map(|j| Interface {
                inner_layer: case.layers[j].name.clone(),
                outer_layer: case.layers[j + 1].name.clone(),
                inner: f.interface_inner[[p, j]],
                outer: f.interface_outer[[p, j]],
            })
            .collect(),
        layer_means: (0..case.layers.len())
            .map(|l| (0..NODES).map(|i| f.temperature[[p, l * NODES + i]]).sum::<f64>() / NODES as f64)
            .collect(),
        diameter: f.diameter[p],
    };
    let stations: Vec<StationReport> = case
        .stations
        .iter()
        .map(|station| {
            let p = at(case.station_distance(station));
            let point = report(p);
            let value = |quantity| match quantity {
                Quantity::Surface => point.surface,
                Quantity::Core => point.core,
                Quantity::Mean => point.mean,
                Quantity::Hottest => point.hottest,
                Quantity::Equalised => point.equalised,
            };
            let limits = station.limits.iter().map(|limit| LimitReport::new(limit, value(limit.quantity))).collect();
            StationReport { name: station.name.clone(), distance: f.distance[p], time: f.time[p], point, limits }
        })
        .collect();
    let gauge = |word: &str| stations.iter().find(|station| station.name.contains(word));
    let hot = gauge("hot gauge").map_or(f.diameter[0], |station| station.point.diameter);
    let cold = gauge("cold gauge").map_or(f.diameter[n - 1], |station| station.point.diameter);
    let finished = {
        let mut filled = area(case.bore / 2.0);
        let mut inner = case.bore / 2.0;
        for i in 0..nodes {
            filled += (area(radius0[i]) - area(inner)) * density(i, die[i]) / density(i, 23.0);
            inner = radius0[i];
        }
        2.0 * if flat { filled } else { (filled / std::f64::consts::PI).sqrt() }
    };
    let whole_heat: f64 = heat.iter().sum();
    let sections = case
        .sections
        .iter()
        .enumerate()
        .map(|(s, section)| {
            let Film::Given(film) = section.film else { panic!("the fixture knows given coefficients only") };
            SectionReport {
                name: section.name.clone(),
                medium: section.medium,
                start: case.section_start(s),
                end: case.section_start(s + 1),
                exit: report(at(case.section_start(s + 1))),
                heat: heat[s],
                medium_temperature: section.temperature.0,
                water_in: None,
                water_out: None,
                film_mean: film,
                biot: film * 0.7e-3 / 0.17,
                limited_by: if film > 1000.0 { LimitedBy::Plastic } else { LimitedBy::Film },
            }
        })
        .collect();
    let set_through = case
        .layers
        .iter()
        .enumerate()
        .filter_map(|(l, layer)| layer.material.set_temperature.map(|set| (l, layer, set.0)))
        .map(|(l, layer, set)| {
            let hottest = |p: usize| (0..NODES).map(|i| f.temperature[[p, l * NODES + i]]).fold(f64::MIN, f64::max);
            let distance = (0..n).find(|&p| hottest(p) <= set).map(|p| f.distance[p]);
            SetThrough { layer: layer.name.clone(), distance }
        })
        .collect();
    Solution {
        title: case.title.clone(),
        stations: stations.clone(),
        sections,
        equalised: report(n - 1).equalised,
        rebound: 3.1,
        set_through,
        shrink: Shrink {
            hot_gauge: hot,
            cold_gauge: cold,
            finished,
            to_cold_gauge: 100.0 * (1.0 - cold / hot),
            to_finished: 100.0 * (1.0 - finished / hot),
            frozen_axial: 0.4,
            hot_gauge_station: gauge("hot gauge").map_or("the die".to_string(), |station| station.name.clone()),
            cold_gauge_station: gauge("cold gauge")
                .map_or("end of the line".to_string(), |station| station.name.clone()),
        },
        throughput: case
            .layers
            .iter()
            .enumerate()
            .map(|(l, layer)| Throughput {
                layer: layer.name.clone(),
                kg_per_h: 3600.0 * case.line_speed * mass[l * NODES..(l + 1) * NODES].iter().sum::<f64>(),
            })
            .collect(),
        limited_by: LimitedBy::Plastic,
        peclet: 4.0e5,
        band: Vec::new(),
        balance: Balance { heat_to_media: whole_heat, enthalpy_drop: whole_heat, relative_error: 1e-12 },
        numerics: Numerics { cells: nodes, steps: 20 * n, tolerance: case.tolerance, error: 0.004, wall: 0.01 },
        warnings: Vec::new(),
        cautions: vec!["Estimate for planning, to be confirmed on the line.".to_string()],
        fields: f,
    }
}

/// One implicit Euler step of a chain of capacities joined by links, the last one to a medium (Thomas algorithm).
fn implicit(t: &[f64], capacity: &[f64], link: &[f64], out: f64, medium: f64, dt: f64) -> Vec<f64> {
    let n = t.len();
    let (mut upper, mut right) = (vec![0.0; n], vec![0.0; n]);
    for i in 0..n {
        let below = if i > 0 { link[i - 1] } else { 0.0 };
        let above = if i + 1 < n { link[i] } else { 0.0 };
        let loss = if i + 1 == n { out } else { 0.0 };
        let diagonal = capacity[i] / dt + below + above + loss;
        let source = capacity[i] / dt * t[i] + loss * medium;
        let (u, r) = if i > 0 { (upper[i - 1], right[i - 1]) } else { (0.0, 0.0) };
        let pivot = diagonal - below * u;
        upper[i] = above / pivot;
        right[i] = (source + below * r) / pivot;
    }
    for i in (0..n - 1).rev() {
        right[i] += upper[i] * right[i + 1];
    }
    right
}
