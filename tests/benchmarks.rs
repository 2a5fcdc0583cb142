//! The benchmark problems P1 to P6 against converged answers of an independent program.
//!
//! Reference figures: cell-centred finite volumes with enthalpy as the state, CVODE-BDF in time, Richardson
//! extrapolation over four meshes (225 to 2800 cells), certain to `uncertainty_K` of each file; a second independent
//! program agrees. They were computed for this project; nothing of them is measured.

use std::path::Path;

use quenchway::case::Case;
use quenchway::march::march;
use quenchway::march::solution::Solution;
use serde::Deserialize;

#[derive(Deserialize)]
pub struct Expected {
    #[serde(rename = "uncertainty_K")]
    uncertainty: f64,
    pub sections: Vec<SectionEnd>,
}

#[derive(Deserialize)]
pub struct SectionEnd {
    pub axis: f64,
    pub surface: f64,
    pub interfaces: Vec<[f64; 2]>,
    pub outer_layer_mean: f64,
    outer_radius: f64,
    heat_per_metre: f64,
    surface_at: std::collections::BTreeMap<String, f64>,
    #[serde(default)]
    water_out: Option<f64>,
}

pub fn problem(name: &str) -> (Case, Expected) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../validation/benchmarks");
    let text = std::fs::read_to_string(folder.join(format!("{name}.toml"))).unwrap();
    let expected = std::fs::read_to_string(folder.join(format!("{name}.json"))).unwrap();
    (quenchway::file::read(&text).unwrap().case, serde_json::from_str(&expected).unwrap())
}

/// Largest error of a temperature (K) and of a radius (relative) of a solution.
pub fn errors(solution: &Solution, expected: &Expected) -> [f64; 2] {
    let (mut kelvin, mut radius): (f64, f64) = (0.0, 0.0);
    for (index, (section, wanted)) in solution.sections.iter().zip(&expected.sections).enumerate() {
        let exit = &section.exit;
        let mut differences = vec![
            exit.core - wanted.axis,
            exit.surface - wanted.surface,
            exit.layer_means.last().unwrap() - wanted.outer_layer_mean,
        ];
        for (interface, [inner, outer]) in exit.interfaces.iter().zip(&wanted.interfaces) {
            differences.extend([interface.inner - inner, interface.outer - outer]);
        }
        for (time, surface) in &wanted.surface_at {
            let name = format!("{time} s in section {}", index + 1);
            let station = solution.stations.iter().find(|station| station.name == name).unwrap();
            differences.push(station.point.surface - surface);
        }
        kelvin = differences.iter().fold(kelvin, |worst, d| worst.max(d.abs()));
        if let Some(water_out) = wanted.water_out {
            differences.push(section.water_out.unwrap() - water_out);
            kelvin = differences.iter().fold(kelvin, |worst, d| worst.max(d.abs()));
        }
        radius = radius.max((0.5 * exit.diameter / wanted.outer_radius - 1.0).abs());
    }
    [kelvin, radius]
}

fn check(name: &str) {
    let (case, expected) = problem(name);
    for tolerance in [0.01, 0.001] {
        let solution = march(&Case { tolerance, ..case.clone() }).unwrap();
        let [kelvin, radius] = errors(&solution, &expected);
        let stated = solution.numerics.error;
        println!("{name} at {tolerance} K: true {kelvin:.1e} K, stated {stated:.1e} K, radius {radius:.1e}");
        assert!(kelvin <= tolerance, "{name} at {tolerance} K: off by {kelvin} K");
        assert!(kelvin <= stated + expected.uncertainty, "{name} at {tolerance} K: off by {kelvin}, stated {stated}");
        assert!(stated <= tolerance, "{name}: stated {stated} K at a tolerance of {tolerance} K");
        assert!(radius <= 1e-5, "{name} at {tolerance} K: radius off by {radius}");
        assert!(solution.balance.relative_error.abs() <= 1e-12);
        for (section, wanted) in solution.sections.iter().zip(&expected.sections) {
            let heat = section.heat / case.line_speed;
            // Heat is an integral over the whole plunge: a tolerance in the mean temperature times the heat capacity
            // per metre (under 200 J/(m K) in these problems) bounds it.
            assert!((heat - wanted.heat_per_metre).abs() <= 200.0 * tolerance, "{name} {}: {heat}", section.name);
        }
    }
}

#[test]
fn p1_constant_properties() {
    check("P1");
}

#[test]
fn p2_house_wire() {
    check("P2");
}

#[test]
fn p3_jacket_with_contact() {
    check("P3");
}

#[test]
fn p4_thick_polyethylene() {
    check("P4");
}

#[test]
fn p5_warming_water() {
    // The flows of the case take up as much as those of the reference, whose water has 4180 J/(kg K).
    for (section, flow) in problem("P5").0.sections[1..3].iter().zip([0.035, 0.025]) {
        let water = section.circulation.unwrap().flow.mass(section.temperature);
        let capacity = water * quenchway::material::water::at(section.temperature.0).heat_capacity;
        assert!((capacity / (4180.0 * flow) - 1.0).abs() < 1e-12, "{capacity} W/K");
    }
    check("P5");
}

#[test]
fn p6_film_tables() {
    check("P6");
}

/// Work counts are results too: an algorithm that quietly gets slower fails here.
#[test]
fn work_by_the_rule_is_as_published() {
    // Intervals and steps of the rule at 0.01 K, as docs/numerics states them, with a tenth more allowed.
    for (name, cells, steps) in [("P1", 11, 47), ("P2", 11, 54), ("P3", 18, 46), ("P4", 39, 137), ("P6", 32, 107)] {
        let (case, _) = problem(name);
        let numerics = quenchway::march::march_by_rule(&Case { tolerance: 0.01, ..case }).unwrap().numerics;
        println!("{name}: {} cells, {} steps", numerics.cells, numerics.steps);
        assert_eq!(numerics.cells, cells, "{name}");
        assert!(numerics.steps * 10 <= steps * 11, "{name}: {} steps", numerics.steps);
    }
}
