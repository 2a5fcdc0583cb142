//! What varies, as read and as written back.

#![allow(clippy::unwrap_used)]

use super::{read, vary};
use crate::file::resolved::resolved;
use crate::maths::distribution::Distribution;
use crate::names::key_path::KeyPath;
use crate::units::Celsius;

const HOUSE_WIRE: &str = include_str!("../../../cases/house-wire.toml");

fn with(lines: &str) -> String {
    format!("{HOUSE_WIRE}\n[vary]\n{lines}")
}

#[test]
fn every_distribution_is_read_in_si_and_within_its_bounds() {
    let case = read(&with(
        "\"layer.insulation.temperature\" = { normal = [\"370.4 degF\", \"5.4 delta degF\"] }\n\
         section.trough.film_factor = { log_uniform = [0.5, 2] }\n\
         \"section.trough.temperature\" = { uniform = [\"12 degC\", \"20 degC\"] }\n\
         \"line.speed\" = { triangular = [\"120 m/min\", \"150 m/min\", \"180 m/min\"] }\n\
         \"layer.insulation.conductivity_factor\" = { log_normal = [1, 1.15] }",
    ))
    .unwrap();
    let found: Vec<(&str, Distribution)> = case.vary.iter().map(|v| (v.input.as_str(), v.distribution)).collect();
    // The line speed first: a die temperature may follow it.
    assert_eq!(found[0], ("line.speed", Distribution::triangular(2.0, 2.5, 3.0).unwrap()));
    let (path, Distribution::LogNormal { median, factor, bounds }) = found[1] else { panic!("{found:?}") };
    assert_eq!((path, median, factor, bounds), ("layer.insulation.conductivity_factor", 1.0, 1.15, [0.01, 100.0]));
    let (path, Distribution::Normal { mean, sd, bounds }) = found[2] else { panic!("{found:?}") };
    assert_eq!(path, "layer.insulation.temperature");
    assert!((mean - 188.0).abs() < 1e-9 && (sd - 3.0).abs() < 1e-9 && bounds[0] == -100.0, "{mean} {sd} {bounds:?}");
    assert_eq!(found[3], ("section.trough.film_factor", Distribution::log_uniform(0.5, 2.0).unwrap()));
    assert_eq!(found[4], ("section.trough.temperature", Distribution::uniform(12.0, 20.0).unwrap()));
}

#[test]
fn what_varies_is_written_back() {
    let case = read(&with(
        "\"layer.insulation.temperature\" = { normal = [\"188 degC\", \"3 K\"] }\n\
         \"section.\\\"to capstan\\\".film_factor\" = { log_normal = [1, 1.3] }\n\
         \"layer.insulation.diameter\" = { uniform = [\"3.38 mm\", \"3.46 mm\"] }",
    ))
    .unwrap();
    assert_eq!(case.vary.len(), 3);
    assert_eq!(read(&resolved(&case)).unwrap().vary, case.vary);
}

#[test]
fn a_file_of_its_own_holds_nothing_else() {
    let case = read(HOUSE_WIRE).unwrap();
    let lines = "[vary]\n\"line.speed\" = { uniform = [\"100 m/min\", \"200 m/min\"] }\n";
    assert_eq!(vary(lines, &case).unwrap()[0].input, "line.speed");
    assert!(vary(&format!("title = \"a\"\n{lines}"), &case).unwrap_err()[0].message.contains("does not belong here"));
    assert!(vary("", &case).unwrap_err()[0].message.contains("there is no [vary]"));
    assert!(vary("vary = 3", &case).unwrap_err()[0].message.contains("a bare number"));
}

#[test]
fn a_curve_moves_as_a_whole() {
    let mut case = read(HOUSE_WIRE).unwrap();
    let conductivity = KeyPath::find(&case, "material.pvc-insulation.conductivity").unwrap();
    let before = case.layers[1].material.conductivity.clone();
    conductivity.move_to(&mut case, 1.1 * before.at(Celsius(23.0))).unwrap();
    for celsius in [0.0, 60.0, 190.0] {
        let ratio = case.layers[1].material.conductivity.at(Celsius(celsius)) / before.at(Celsius(celsius));
        assert!((ratio - 1.1).abs() < 1e-12, "{ratio} at {celsius}");
    }
    assert!(conductivity.move_to(&mut case, 1e9).is_err());
}
