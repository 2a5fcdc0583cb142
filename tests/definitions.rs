//! Every number of a report recomputed from its definition: from the case, and from the fields along the line.

use std::sync::LazyLock;

use quenchway::case::shrink;
use quenchway::case::warning::Warning;
use quenchway::case::{Case, Contact, Contraction, DieTemperature, Direction, Geometry, Medium, Shape, Size};
use quenchway::film::surface::STEFAN_BOLTZMANN;
use quenchway::film::{Film, FilmState, Inputs, default_law};
use quenchway::line::Settings;
use quenchway::march::solution::{PointReport, SectionReport, Solution};
use quenchway::march::{difference, march, march_with};
use quenchway::material::Kind;
use quenchway::units::Celsius;
use quenchway_validation::random;

use crate::fixture;

/// Every kind of curve, contact, film and section on one line: a preheated copper core, two plastics with a contact,
/// films against distance and surface, radiation, two waters with air between them, factors, gauges.
fn plant() -> Case {
    let mut case = fixture::house_wire();
    case.tolerance = 0.01;
    case.line_speed = 0.8;
    case.layers[1].conductivity_factor = 1.1;
    case.layers[1].temperature = DieTemperature::OfSpeed(vec![[0.5, 180.0], [2.0, 192.0]]);
    let mut jacket = fixture::layer("jacket", fixture::pvc(), 5.2e-3, 176.0);
    jacket.heat_capacity_factor = 0.9;
    jacket.contact = Contact::Conductance(1500.0);
    jacket.contraction = Contraction::Free;
    jacket.material.set_temperature = Some(Celsius(60.0));
    case.layers.push(jacket);
    let mut air = fixture::section("air gap", Medium::Air, 0.9, 31.0);
    air.film = Film::OfDistance(vec![[0.1, 60.0], [0.4, 25.0], [0.8, 32.0], [4.0, 90.0]]);
    air.emissivity = 0.9;
    let mut warm = fixture::section("warm water", Medium::Water, 1.7, 55.0);
    warm.film = Film::OfSurface(vec![[30.0, 900.0], [150.0, 2100.0]]);
    warm.film_factor = 1.3;
    let mut gap = fixture::section("gap", Medium::Air, 0.6, 25.0);
    gap.emissivity = 0.8;
    gap.film = Film::Law(default_law(Medium::Air), Inputs::default());
    let cold = fixture::section("cold water", Medium::Water, 6.0, 15.0);
    let mut last = fixture::section("to capstan", Medium::Air, 5.0, 26.0);
    last.emissivity = 0.9;
    case.sections = vec![air, warm, gap, cold, last];
    case.stations = vec![
        fixture::station("die", 0, -0.9, &[]),
        fixture::station("Hot gauge", 0, -0.15, &[]),
        fixture::station("a quarter of the cold water", 3, -4.5, &[]),
        fixture::station("cold Gauge", 3, 1.0, &[]),
        fixture::station("capstan", 4, 0.0, &[]),
    ];
    case.case
}

/// The plant's line as a flat product with a gap between its halves.
fn strip() -> Case {
    let mut case = plant();
    case.shape = Shape::Flat;
    case.bore = 0.4e-3;
    case.layers.remove(0);
    case.layers[0].contact = Contact::Perfect;
    case.layers[0].contraction = Contraction::Free;
    case.layers[0].size = Size::Diameter(1.9e-3);
    case.layers[1].size = Size::Diameter(3.1e-3);
    case
}

/// The strip about a metal tape, one node wide.
fn tape() -> Case {
    let mut case = strip();
    let mut metal = fixture::layer("tape", fixture::copper(), 0.8e-3, 70.0);
    metal.material.density = quenchway::material::Curve::new(vec![[0.0, 8900.0], [200.0, 8600.0]]).unwrap();
    case.layers.insert(0, metal);
    case.layers[1].contact = Contact::Conductance(2500.0);
    case
}

/// The plant's wire about a copper tube.
fn tube() -> Case {
    let mut case = plant();
    case.bore = 1.2e-3;
    case.layers[1].contact = Contact::Conductance(4000.0);
    case
}

/// The plant's line as a hose: no core, a bore, the inner layer split off by a contact.
fn hose() -> Case {
    let mut case = plant();
    case.bore = 1.78e-3;
    case.layers.remove(0);
    case.layers[0].contact = Contact::Perfect;
    case.geometry = Geometry::Fixed;
    case
}

fn solved(case: &Case) -> Solution {
    march(case).unwrap_or_else(|error| panic!("{}: {error}", case.title))
}

/// The designed cases and twenty random ones, solved once.
static CASES: LazyLock<Vec<(Case, Solution)>> = LazyLock::new(|| {
    let designed = [plant(), strip(), tape(), tube(), hose()];
    designed.into_iter().chain((2000..2020).map(random::case)).map(|case| (case.clone(), solved(&case))).collect()
});

fn near(found: f64, expected: f64, relative: f64, what: &str) {
    assert!((found - expected).abs() <= relative * expected.abs().max(1e-12), "{what}: {found}, expected {expected}");
}

/// Rows of the fields in a section: its entry, which is the end of the section before, and its own points.
fn rows(solution: &Solution, section: usize) -> Vec<usize> {
    let of = &solution.fields.section_of_point;
    let first = of.iter().position(|&s| s == section).unwrap();
    let last = of.iter().rposition(|&s| s == section).unwrap();
    (first.saturating_sub(1)..=last).collect()
}

/// Temperature of the medium at a row: what is given, or the supply and what the product gave off up to there.
fn medium(case: &Case, solution: &Solution, section: usize, row: usize) -> f64 {
    let of = &case.sections[section];
    let Some(water) = of.circulation else { return of.temperature.0 };
    let capacity = water.flow.mass(of.temperature) * quenchway::material::water::at(of.temperature.0).heat_capacity;
    let heat = &solution.fields.heat_per_length;
    let [entry, .., end] = rows(solution, section)[..] else { panic!("{}: no rows", of.name) };
    let rise = |from: usize, to: usize| case.line_speed * (heat[to] - heat[from]) / capacity;
    match water.direction {
        Direction::Along => of.temperature.0 + rise(entry, row),
        Direction::Counter => of.temperature.0 + rise(row, end),
        Direction::Mixed => of.temperature.0 + rise(entry, end),
    }
}

/// The convective and the radiative film coefficient at a row, as if in `section`.
fn films(case: &Case, solution: &Solution, section: usize, row: usize) -> [f64; 2] {
    let of = &case.sections[section];
    let surface = solution.fields.surface[row];
    let state = FilmState {
        shape: case.shape,
        speed: case.line_speed,
        diameter: 2.0 * shrink::radii(case).unwrap().hot[case.layers.len() - 1],
        distance: solution.fields.distance[row] - case.section_start(section),
        surface,
        medium: medium(case, solution, section, row),
        inputs: Inputs::default(),
    };
    let emissivity = if of.medium == Medium::Air { of.emissivity } else { 0.0 };
    let [hot, cold] = [surface, state.medium].map(|t| t + 273.15);
    let radiation = emissivity * STEFAN_BOLTZMANN * (hot.powi(4) - cold.powi(4)) / (hot - cold);
    [of.film_factor * of.film.coefficient(&state), radiation]
}

/// Time mean of a function of the rows of a section by the trapezoidal rule.
fn mean(solution: &Solution, rows: &[usize], value: impl Fn(usize) -> f64) -> f64 {
    let time = &solution.fields.time;
    let sum: f64 = rows.windows(2).map(|w| 0.5 * (value(w[0]) + value(w[1])) * (time[w[1]] - time[w[0]])).sum();
    sum / (time[rows[rows.len() - 1]] - time[rows[0]])
}

fn area(case: &Case, inner: f64, outer: f64) -> f64 {
    match case.shape {
        Shape::Round => std::f64::consts::PI * (outer * outer - inner * inner),
        Shape::Flat => 2.0 * (outer - inner),
    }
}

/// Inner and outer radius of a layer at the die.
fn edges(case: &Case, layer: usize) -> [f64; 2] {
    let hot = shrink::radii(case).unwrap().hot;
    [if layer == 0 { case.bore / 2.0 } else { hot[layer - 1] }, hot[layer]]
}

#[test]
fn places_heats_and_flows_follow_from_the_line() {
    for (case, solution) in CASES.iter() {
        let (fields, title) = (&solution.fields, &case.title);
        let mut total = 0.0;
        for (index, (section, report)) in case.sections.iter().zip(&solution.sections).enumerate() {
            let rows = rows(solution, index);
            let (entry, end) = (rows[0], rows[rows.len() - 1]);
            let start: f64 = case.sections[..index].iter().map(|section| section.length).sum();
            // Sums of a few lengths and ratios of them: rounding only.
            near(report.start, start, 1e-13, title);
            near(report.end, start + section.length, 1e-13, title);
            near(fields.distance[end], report.end, 1e-12, title);
            near(fields.time[end], report.end / case.line_speed, 1e-12, title);
            near(fields.surface[end], report.exit.surface, 1e-12, title);
            near(fields.mean[end], report.exit.mean, 1e-12, title);
            near(fields.hottest[end], report.exit.hottest, 1e-12, title);
            near(fields.diameter[end], report.exit.diameter, 1e-12, title);
            assert_eq!(report.medium_temperature, section.temperature.0);
            let heat = (fields.heat_per_length[end] - fields.heat_per_length[entry]) * case.line_speed;
            near(report.heat, heat, 1e-9, title);
            total += heat;
        }
        near(solution.balance.heat_to_media, total, 1e-9, title);
        near(solution.balance.enthalpy_drop, total, 1e-9, title);
        for (station, report) in case.stations.iter().zip(&solution.stations) {
            let distance = solution.sections[station.after].end + station.offset;
            near(report.distance, distance, 1e-12, title);
            near(report.time, distance / case.line_speed, 1e-12, title);
        }
        for (index, (layer, flow)) in case.layers.iter().zip(&solution.throughput).enumerate() {
            let [inner, outer] = edges(case, index);
            let density = layer.material.density.at(case.die_temperature(index));
            let expected = density * area(case, inner, outer) * case.line_speed * 3600.0;
            near(flow.kg_per_h, expected, 1e-12, title);
        }
    }
}

#[test]
fn films_and_biot_numbers_follow_from_the_fields() {
    for (case, solution) in CASES.iter() {
        let title = &case.title;
        for (index, report) in solution.sections.iter().enumerate() {
            let rows = rows(solution, index);
            for &row in &rows[1..] {
                let [film, radiation] = films(case, solution, index, row);
                let excess = solution.fields.surface[row] - solution.fields.medium[row];
                let expected = medium(case, solution, index, row);
                match case.sections[index].circulation {
                    None => assert_eq!(solution.fields.medium[row], expected),
                    // Sums of heats to rounding, closed to 1e-11 of the rise.
                    Some(_) => near(solution.fields.medium[row], expected, 1e-10, title),
                }
                near(solution.fields.film[row], film, 1e-9, title);
                let flux = solution.fields.heat_flux[row];
                // A difference of two temperatures to rounding, each of some hundred kelvins.
                assert!((flux - (film + radiation) * excess).abs() < 1e-9 * (film + radiation) * 100.0, "{title}");
            }
            let film = mean(solution, &rows, |row| films(case, solution, index, row)[0]);
            // Some sixty points a section, close together where the film changes: the trapezoidal rule leaves 5e-4.
            near(report.film_mean, film, 5e-4, &format!("{title} section {index}"));
            let radiation = mean(solution, &rows, |row| films(case, solution, index, row)[1]);
            let biot = biot(case, &report.exit, film + radiation);
            near(report.biot, biot, 1e-3, &format!("{title} section {index}"));
        }
    }
}

/// Conduction resistance of the plastics over that of the film.
fn biot(case: &Case, exit: &PointReport, film: f64) -> f64 {
    let any_plastic = case.layers.iter().any(|layer| layer.material.kind == Kind::Plastic);
    let mut resistance = 0.0;
    for (index, layer) in case.layers.iter().enumerate() {
        if any_plastic && layer.material.kind != Kind::Plastic {
            continue;
        }
        let k = layer.conductivity_factor * layer.material.conductivity.at(Celsius(exit.layer_means[index]));
        let [inner, outer] = edges(case, index);
        resistance += match case.shape {
            Shape::Flat => (outer - inner) / k,
            Shape::Round if inner == 0.0 => 1.0 / (4.0 * k),
            Shape::Round => (outer / inner).ln() / k,
        };
    }
    let radius = edges(case, case.layers.len() - 1)[1];
    film * resistance * if case.shape == Shape::Flat { 1.0 } else { radius }
}

#[test]
fn rebound_is_the_peak_after_the_last_water() {
    let mut rebounds = 0;
    for (case, solution) in CASES.iter() {
        let last = case.sections.iter().rposition(|section| section.medium.is_water());
        let Some(last) = last.filter(|&last| last + 1 < case.sections.len()) else {
            assert_eq!(solution.rebound, 0.0, "{}: no dry stretch after water", case.title);
            continue;
        };
        let fields = &solution.fields;
        let dry = (0..fields.distance.len()).filter(|&row| fields.section_of_point[row] > last);
        let peak = dry.map(|row| fields.surface[row]).fold(f64::NEG_INFINITY, f64::max);
        let expected = (peak - solution.sections[last].exit.surface).max(0.0);
        // Sixty points a section here, eight a step there: between them a peak of some kelvins is met to a part in 300.
        assert!(
            (solution.rebound - expected).abs() <= 3e-3 * expected + 1e-9,
            "{}: {} {expected}",
            case.title,
            solution.rebound
        );
        rebounds += usize::from(expected > 0.5);
    }
    assert!(rebounds >= 4, "{rebounds} cases with a rebound");
}

#[test]
fn layers_set_where_their_hottest_point_passes_the_set_temperature() {
    let mut crossings = 0;
    for (case, solution) in CASES.iter() {
        let fields = &solution.fields;
        let plastics: Vec<usize> =
            (0..case.layers.len()).filter(|&index| case.layers[index].material.kind == Kind::Plastic).collect();
        assert_eq!(solution.set_through.len(), plastics.len());
        for (&layer, report) in plastics.iter().zip(&solution.set_through) {
            let set = case.layers[layer].material.set_temperature.unwrap().0;
            assert_eq!(report.layer, case.layers[layer].name);
            let nodes: Vec<usize> =
                (0..fields.layer_of_node.len()).filter(|&node| fields.layer_of_node[node] == layer).collect();
            let hottest = |row: usize| nodes.iter().map(|&n| fields.temperature[[row, n]]).fold(f64::MIN, f64::max);
            let rows = fields.distance.len();
            let above = (0..rows).rposition(|row| hottest(row) > set);
            match (report.distance, above) {
                (Some(distance), None) => assert_eq!(distance, 0.0, "{}", case.title),
                (None, Some(row)) => assert_eq!(row, rows - 1, "{}", case.title),
                (Some(distance), Some(row)) => {
                    // Between two points of the fields: one of their intervals is the finest that they can say.
                    let (from, to) = (fields.distance[row], fields.distance[row + 1]);
                    let beyond = 0.2 * (to - from);
                    let slack = from - beyond..=to + beyond;
                    assert!(slack.contains(&distance), "{}: {distance} not in {slack:?}", case.title);
                    let (a, b) = (hottest(row), hottest(row + 1));
                    let linear = from + (to - from) * (a - set) / (a - b);
                    assert!((distance - linear).abs() < 0.15 * (to - from), "{}: {distance} {linear}", case.title);
                    crossings += 1;
                }
                (None, None) => panic!("{}: set, but not said where", case.title),
            }
            let warned = solution
                .warnings
                .iter()
                .any(|warning| matches!(warning, Warning::NotSet { layer, .. } if *layer == report.layer));
            assert_eq!(warned, report.distance.is_none(), "{}", case.title);
        }
    }
    assert!(crossings >= 8, "{crossings} layers set on the way");
}

#[test]
fn shrink_follows_from_the_gauges_and_the_densities() {
    for (case, solution) in CASES.iter() {
        let report = &solution.shrink;
        let gauge = |word: &str| {
            let named = |name: &str| name.to_lowercase().contains(word) && name.to_lowercase().contains("gauge");
            solution.stations.iter().find(|station| named(&station.name))
        };
        let hot = gauge("hot").map_or(solution.fields.diameter[0], |station| station.point.diameter);
        let cold = gauge("cold").map_or(solution.sections.last().unwrap().exit.diameter, |s| s.point.diameter);
        let mut s = if case.shape == Shape::Round { case.bore * case.bore / 4.0 } else { case.bore / 2.0 };
        let mut strain: f64 = 0.0;
        for (index, layer) in case.layers.iter().enumerate() {
            let [inner, outer] = edges(case, index);
            let ratio =
                layer.material.density.at(case.die_temperature(index)) / layer.material.density.at(Celsius(23.0));
            let power = match (case.geometry, layer.contraction, case.shape) {
                (Geometry::Fixed, _, _) => 0.0,
                (_, Contraction::Held, _) => 1.0,
                (_, Contraction::Free, Shape::Round) => 2.0 / 3.0,
                (_, Contraction::Free, Shape::Flat) => 1.0 / 3.0,
            };
            let size = if case.shape == Shape::Round { outer * outer - inner * inner } else { outer - inner };
            s += size * ratio.powf(power);
            if let (Kind::Plastic, Contraction::Held, Some(set)) =
                (layer.material.kind, layer.contraction, layer.material.set_temperature)
            {
                let density = &layer.material.density;
                strain = strain.max((density.at(Celsius(23.0)) / density.at(set)).ln() / 3.0);
            }
        }
        let finished = 2.0 * if case.shape == Shape::Round { s.sqrt() } else { s };
        let title = &case.title;
        // Powers and roots of a few terms: rounding only.
        near(report.hot_gauge, hot, 1e-12, title);
        near(report.cold_gauge, cold, 1e-12, title);
        near(report.finished, finished, 1e-12, title);
        assert!((report.to_cold_gauge - 100.0 * (1.0 - cold / hot)).abs() < 1e-10, "{title}");
        assert!((report.to_finished - 100.0 * (1.0 - finished / hot)).abs() < 1e-10, "{title}");
        assert!((report.frozen_axial - 100.0 * strain).abs() < 1e-10, "{title}");
    }
}

#[test]
fn peclet_is_the_lowest_of_the_sections() {
    for (case, solution) in CASES.iter() {
        let diffusivity = |index: usize| {
            let (layer, die) = (&case.layers[index], case.die_temperature(index));
            let m = &layer.material;
            let (k, c) = (m.conductivity.at(die), m.heat_capacity.at(die));
            layer.conductivity_factor * k / (layer.heat_capacity_factor * c * m.density.at(die))
        };
        let fastest = (0..case.layers.len()).map(diffusivity).fold(0.0, f64::max);
        let shortest = case.sections.iter().map(|section| section.length).fold(f64::INFINITY, f64::min);
        let peclet = case.line_speed * shortest / fastest;
        near(solution.peclet, peclet, 1e-12, &case.title);
        let warned = solution.warnings.iter().any(|warning| matches!(warning, Warning::SlowLine { .. }));
        // What is below 100 conducts along the line, says the theory page.
        assert_eq!(warned, peclet < 100.0, "{}", case.title);
    }
}

/// Mean, equalised temperature and means of the layers from the nodes of the fields.
#[test]
fn means_are_weighed_by_mass() {
    for (case, solution) in CASES.iter() {
        let fields = &solution.fields;
        let row = fields.distance.len() - 1;
        let exit = &solution.sections[solution.sections.len() - 1].exit;
        let mean_of = |layers: &dyn Fn(usize) -> bool| {
            let nodes = || (0..fields.layer_of_node.len()).filter(|&node| layers(fields.layer_of_node[node]));
            let mass: f64 = nodes().map(|node| fields.node_mass[node]).sum();
            nodes().map(|node| fields.node_mass[node] * fields.temperature[[row, node]]).sum::<f64>() / mass
        };
        for (layer, mean) in exit.layer_means.iter().enumerate() {
            near(*mean, mean_of(&|of| of == layer), 1e-9, &case.title);
        }
        let plastic = |layer: usize| case.layers[layer].material.kind == Kind::Plastic;
        near(exit.mean, mean_of(&|layer| plastic(layer)), 1e-9, &case.title);
        assert!(exit.hottest >= exit.mean, "{}", case.title);
        enthalpies_belong_to_temperatures(case, solution, row);
        // The equalised product has the heat content of the real one: cool it from the die to that temperature.
        let lost: f64 = (0..case.layers.len())
            .map(|index| {
                let [inner, outer] = edges(case, index);
                let layer = &case.layers[index];
                let mass = layer.material.density.at(case.die_temperature(index)) * area(case, inner, outer);
                let c = &layer.material.heat_capacity;
                let (from, to) = (exit.equalised, case.die_temperature(index).0);
                let n = 20000;
                let step = (to - from) / n as f64;
                let sum: f64 = (0..n).map(|i| c.at(Celsius(from + (i as f64 + 0.5) * step))).sum();
                mass * layer.heat_capacity_factor * sum * step
            })
            .sum();
        // The midpoint rule over the kinks of the curves with steps of 0.01 K leaves less than 1e-7.
        near(lost, fields.heat_per_length[row], 1e-6, &case.title);
    }
}

/// Every node has the enthalpy of its temperature, counted from 0 degC.
fn enthalpies_belong_to_temperatures(case: &Case, solution: &Solution, row: usize) {
    let fields = &solution.fields;
    for (node, &layer) in fields.layer_of_node.iter().enumerate() {
        let (t, c) = (fields.temperature[[row, node]], &case.layers[layer].material.heat_capacity);
        let step = t / 2000.0;
        let sum: f64 = (0..2000).map(|i| c.at(Celsius((f64::from(i) + 0.5) * step)) * step).sum();
        let enthalpy = case.layers[layer].heat_capacity_factor * sum;
        // The midpoint rule over kinks in steps of 0.1 K, and the straight line through a metal core's mean.
        near(fields.enthalpy[[row, node]], enthalpy, 2e-5, &format!("{} node {node}", case.title));
    }
}

/// A station at the die itself sees every layer uniform at its own temperature and at its size.
#[test]
fn a_station_at_the_die_sees_what_enters() {
    for (case, solution) in CASES.iter() {
        let Some(die) = solution.stations.iter().find(|station| station.name == "die") else { continue };
        let (mut heat, mut all) = (0.0, 0.0);
        for (index, layer) in case.layers.iter().enumerate() {
            let t = case.die_temperature(index);
            assert_eq!(die.point.layer_means[index], t.0);
            if layer.material.kind == Kind::Plastic {
                let [inner, outer] = edges(case, index);
                let mass = layer.material.density.at(t) * area(case, inner, outer);
                (heat, all) = (heat + mass * t.0, all + mass);
            }
        }
        let last = case.layers.len() - 1;
        assert_eq!((die.point.core, die.point.surface), (case.die_temperature(0).0, case.die_temperature(last).0));
        near(die.point.mean, heat / all, 1e-12, &case.title);
        near(die.point.diameter, 2.0 * edges(case, last)[1], 1e-12, &case.title);
        for (joint, interface) in die.point.interfaces.iter().enumerate() {
            assert_eq!(
                (interface.inner, interface.outer),
                (case.die_temperature(joint).0, case.die_temperature(joint + 1).0)
            );
        }
    }
}

/// Metal cores here are one node, which fields list as three.
#[test]
fn metal_cores_of_the_designed_cases_are_lumped() {
    let lumped = |(case, solution): &&(Case, Solution)| {
        let nodes = solution.fields.layer_of_node.iter().filter(|&&layer| layer == 0).count();
        case.layers[0].material.kind == Kind::Metal && nodes == 3
    };
    let shapes: Vec<Shape> = CASES.iter().take(5).filter(lumped).map(|(case, _)| case.shape).collect();
    assert_eq!(shapes, [Shape::Round, Shape::Flat, Shape::Round]);
}

/// Points of the fields lie apart, one a place, and enough of them: a station takes the place of its nearest point.
#[test]
fn points_of_the_fields_lie_apart() {
    for (case, solution) in CASES.iter() {
        let fields = &solution.fields;
        for row in 1..fields.distance.len() {
            let length = case.sections[fields.section_of_point[row]].length;
            let gap = fields.distance[row] - fields.distance[row - 1];
            // A millionth of the section, in which rounding takes some of the last digits.
            assert!(gap > 0.999e-6 * length, "{} row {row}: {gap} m", case.title);
        }
        for report in &solution.stations {
            assert!(fields.distance.iter().any(|distance| *distance == report.distance), "{}", report.name);
        }
        let enough = 240.max(60 * case.sections.len());
        assert!(fields.distance.len() >= enough, "{}: {} points", case.title, fields.distance.len());
    }
}

/// Interfaces of the fields are the faces of the layers, one a joint; at the die each layer at its own temperature.
#[test]
fn interfaces_are_the_faces_of_the_layers() {
    for (case, solution) in CASES.iter() {
        let fields = &solution.fields;
        let joints = case.layers.len() - 1;
        assert_eq!((fields.interface_inner.ncols(), fields.interface_outer.ncols()), (joints, joints));
        for joint in 0..joints {
            let of = &fields.layer_of_node;
            let inner = of.iter().rposition(|&layer| layer == joint).unwrap();
            let outer = of.iter().position(|&layer| layer == joint + 1).unwrap();
            for row in [0, 1, fields.distance.len() - 1] {
                near(fields.interface_inner[[row, joint]], fields.temperature[[row, inner]], 1e-12, &case.title);
                near(fields.interface_outer[[row, joint]], fields.temperature[[row, outer]], 1e-12, &case.title);
            }
            assert_eq!(fields.interface_outer[[0, joint]], case.die_temperature(joint + 1).0);
            assert_eq!(fields.interface_inner[[0, joint]], case.die_temperature(joint).0);
        }
    }
}

/// The stated error is a measured one, not the tolerance again.
#[test]
fn the_stated_error_is_below_the_tolerance() {
    let mut better = 0;
    for (case, solution) in CASES.iter() {
        let error = solution.numerics.error;
        assert!(error <= case.tolerance, "{}: {error}, {:?}", case.title, solution.warnings);
        better += usize::from(error < 0.7 * case.tolerance);
    }
    assert!(better > CASES.len() / 2, "{better} of {} below 0.7 of the tolerance", CASES.len());
}

/// Two runs that disagree by more than the tolerance are followed by a third, an eighth of the second in tolerance.
#[test]
fn a_pair_that_disagrees_is_tightened() {
    let tolerance = 0.002;
    let case = Case { tolerance, ..plant() };
    let runs = [1.0, 8.0, 64.0].map(|ratio| march_with(&case, &Settings::tightened(tolerance, ratio)).unwrap().1);
    let apart = |a: usize, b: usize| 1.5 * difference(&case, &runs[a], &runs[b]);
    assert!(apart(0, 1) > tolerance && apart(1, 2) < tolerance, "{} {}", apart(0, 1), apart(1, 2));
    let solution = solved(&case);
    // Not less than an eighth of what the first two differed by, nor than a fifth of the tolerance.
    assert_eq!(solution.numerics.error, apart(1, 2).max(apart(0, 1) / 1.5 / 8.0).max(0.2 * tolerance));
    assert_eq!(solution.numerics.steps, runs[2].steps[0]);
}

/// A product that warms is hottest at its surface.
#[test]
fn the_hottest_point_may_be_the_surface() {
    let mut case = plant();
    case.layers.iter_mut().for_each(|layer| layer.temperature = DieTemperature::Fixed(Celsius(30.0)));
    case.sections.truncate(2);
    case.stations.clear();
    case.sections.iter_mut().for_each(|section| section.temperature = Celsius(90.0));
    let exit = &solved(&case).sections[1].exit;
    assert_eq!(exit.hottest, exit.surface);
    assert!(exit.surface > exit.mean + 0.01);
}

/// Radii of the nodes from the masses inside them: a ring of mass m takes the area that its density at that temperature
/// and its contraction give it.
#[test]
fn radii_follow_from_the_masses_inside() {
    for (case, solution) in CASES.iter() {
        let fields = &solution.fields;
        for row in [1, fields.distance.len() / 3, fields.distance.len() - 1] {
            let mut s = if case.shape == Shape::Round { case.bore * case.bore / 4.0 } else { case.bore / 2.0 };
            let turn = if case.shape == Shape::Round { std::f64::consts::PI } else { 2.0 };
            for layer in 0..case.layers.len() {
                let nodes: Vec<usize> =
                    (0..fields.layer_of_node.len()).filter(|&node| fields.layer_of_node[node] == layer).collect();
                let of = &case.layers[layer];
                let density = of.material.density.at(case.die_temperature(layer));
                let power = shrink::exponent(of.contraction, case.shape, case.geometry);
                // Three nodes an interval: the mass between two vertices is 6/4 of the middle's.
                for triple in nodes.windows(3).step_by(2) {
                    let t = [0, 1, 2].map(|i| fields.temperature[[row, triple[i]]]);
                    let volume = 1.5 * fields.node_mass[triple[1]] / density / turn;
                    let a = t.map(|t| (density / of.material.density.at(Celsius(t))).powf(power));
                    near(fields.radius[[row, triple[0]]], root(case, s), 1e-6, &case.title);
                    // The parabola through the three area ratios, integrated to the middle and to the end of the mass.
                    let part = |to: f64| {
                        let (b, c) = (4.0 * a[1] - 3.0 * a[0] - a[2], 2.0 * (a[0] - 2.0 * a[1] + a[2]));
                        volume * to * (a[0] + to * (b / 2.0 + to * c / 3.0))
                    };
                    let metal = of.material.kind == Kind::Metal;
                    if metal && nodes.len() == 3 {
                        // A core of one node: its middle halves the area.
                        near(fields.radius[[row, triple[1]]], root(case, s + 0.5 * part(1.0)), 1e-6, &case.title);
                    } else {
                        near(fields.radius[[row, triple[1]]], root(case, s + part(0.5)), 1e-6, &case.title);
                    }
                    s += part(1.0);
                    near(fields.radius[[row, triple[2]]], root(case, s), 1e-6, &case.title);
                }
            }
            near(fields.diameter[row], 2.0 * root(case, s), 1e-6, &case.title);
        }
    }
}

fn root(case: &Case, s: f64) -> f64 {
    if case.shape == Shape::Round { s.sqrt() } else { s }
}

/// Time above 100 degC in water from the fields: on the way down, and on the way up under hot pressurised water.
#[test]
fn boiling_is_the_time_above_100_degrees_in_water() {
    let mut down = plant();
    down.sections[1].film = Film::Given(300.0);
    down.sections[1].length = 6.0;
    let mut up = plant();
    up.layers.iter_mut().for_each(|layer| layer.temperature = DieTemperature::Fixed(Celsius(30.0)));
    up.sections[1].temperature = Celsius(130.0);
    // Long steps, so that the part of a step before the crossing counts.
    up.tolerance = 1.0;
    for case in [down, up] {
        let solution = solved(&case);
        let (fields, rows) = (&solution.fields, rows(&solution, 1));
        let mut above = 0.0;
        for pair in rows.windows(2) {
            let [a, b] = [pair[0], pair[1]].map(|row| fields.surface[row] - 100.0);
            let dt = fields.time[pair[1]] - fields.time[pair[0]];
            above += match (a > 0.0, b > 0.0) {
                (true, true) => dt,
                (false, false) => 0.0,
                (true, false) => dt * a / (a - b),
                (false, true) => dt * b / (b - a),
            };
        }
        let report: &SectionReport = &solution.sections[1];
        // A straight line over one of sixty intervals instead of the curve.
        near(report.boiling, above, 5e-3, &case.title);
        assert!(above > 0.1, "{above} s above 100 degC");
        let warned = solution.warnings.iter().any(|warning| {
            matches!(warning, Warning::Boiling { time, distance, .. } if *time == report.boiling
                && (distance - time * case.line_speed).abs() < 1e-12)
        });
        assert!(warned);
        assert!(solution.sections.iter().all(|s| s.medium == Medium::Water || s.boiling == 0.0));
    }
}

/// What leaves a material's range is said with the farthest temperature that was reached.
#[test]
fn ranges_are_judged_by_the_extremes_met() {
    let (mut hot, mut cold, mut both) = (plant(), plant(), plant());
    hot.layers[1].material.range = [Celsius(0.0), Celsius(150.0)];
    cold.layers[1].material.range = [Celsius(100.0), Celsius(230.0)];
    both.layers[1].material.range = [Celsius(100.0), Celsius(110.0)];
    for (case, reaches_hot) in [(hot, true), (cold, false), (both, true)] {
        let solution = solved(&case);
        let fields = &solution.fields;
        let nodes = || (0..fields.layer_of_node.len()).filter(|&node| fields.layer_of_node[node] == 1);
        let all =
            || (0..fields.distance.len()).flat_map(|row| nodes().map(move |node| fields.temperature[[row, node]]));
        // Never above what enters; the least is a flat minimum at the end, where steps and output points differ by little.
        let (expected, slack) =
            if reaches_hot { (case.die_temperature(1).0, 1e-9) } else { (all().fold(f64::MAX, f64::min), 0.02) };
        let found = solution.warnings.iter().find_map(|warning| match warning {
            Warning::OutsideRange { layer, reached, .. } if layer == "insulation" => Some(*reached),
            _ => None,
        });
        assert!((found.unwrap() - expected).abs() < slack, "{found:?} {expected}");
    }
    let mut bare = plant();
    bare.layers.truncate(2);
    bare.layers.remove(0);
    bare.layers[0].contact = Contact::Perfect;
    bare.layers[0].material.range = [Celsius(0.0), bare.die_temperature(0)];
    let at_its_end = solved(&bare);
    assert!(
        !at_its_end.warnings.iter().any(|warning| matches!(warning, Warning::OutsideRange { .. })),
        "{:?}",
        at_its_end.warnings
    );
    let mut within = plant();
    within.layers[1].material.range = [Celsius(5.0), Celsius(230.0)];
    let none = solved(&within);
    assert!(!none.warnings.iter().any(|warning| matches!(warning, Warning::OutsideRange { .. })));
}
