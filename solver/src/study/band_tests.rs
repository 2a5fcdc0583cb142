#![allow(clippy::unwrap_used)]

use std::path::Path;

use super::band::add_band;
use super::key_path::KeyPath;
use super::usual::{USUAL, inputs};
use crate::case::{Case, Varied};
use crate::input::read;
use crate::march::{march, march_by_rule};

fn text(name: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases").join(name)).unwrap()
}

fn core_at_capstan(case: &Case) -> f64 {
    let solution = march_by_rule(case).unwrap();
    solution.stations.iter().find(|station| station.name == "capstan").unwrap().point.core
}

#[test]
fn inputs_move_the_house_wire_by_the_known_amounts() {
    let case = read(&text("house-wire-given-films.toml")).unwrap();
    let base = core_at_capstan(&case);
    for (path, values) in [
        ("material.pvc-curves.conductivity", vec!["0.145 W/(m K)", "0.17 W/(m K)", "0.20 W/(m K)"]),
        ("section.trough.film", vec!["2500 W/(m2 K)", "1500 W/(m2 K)"]),
        ("layer.conductor.temperature", vec!["25 degC", "120 degC"]),
        ("layer.insulation.contact", vec!["1000 W/(m2 K)", "500 W/(m2 K)"]),
    ] {
        let variable = KeyPath::find(&case, path).unwrap();
        for value in values {
            let mut changed = case.clone();
            variable.set(&mut changed, variable.parse_value(value).unwrap()).unwrap();
            println!("{path} {value} {:+.2}", core_at_capstan(&changed) - base);
        }
    }
    for f in [0.85, 1.15] {
        for path in
            ["material.pvc-curves.heat_capacity", "material.pvc-curves.density", "material.pvc-curves.conductivity"]
        {
            let mut changed = case.clone();
            KeyPath::find(&case, path).unwrap().scale(&mut changed, f).unwrap();
            println!("{path} {f} {:+.2}", core_at_capstan(&changed) - base);
        }
    }
    println!("{base}");
    for name in ["house-wire-given-films.toml", "house-wire.toml", "thick-pe-core.toml", "jacket-talc.toml"] {
        let case = read(&text(name)).unwrap();
        let mut solution = march(&case).unwrap();
        let start = std::time::Instant::now();
        add_band(&case, &mut solution).unwrap();
        println!("{name} {:?}", start.elapsed());
        let start = std::time::Instant::now();
        let mut quick = march_by_rule(&case).unwrap();
        add_band(&case, &mut quick).unwrap();
        println!("{name} without fields {:?}", start.elapsed());
        for row in &solution.band {
            println!("{} {} {:.1} {:.1} {}", row.station, row.quantity, row.low, row.high, row.largest);
        }
        let row = solution.band.last().unwrap();
        for (input, change) in solution.band_inputs.iter().zip(&row.changes) {
            println!("   {input:?} {change:.2?}");
        }
        println!("{:?}", solution.warnings.len());
    }
    let _ = (inputs(&case), USUAL, Varied::Factor);
}
