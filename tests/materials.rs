//! The material library against published values, and what `quenchway materials` prints of it.

use quenchway::cautions::cautions;
use quenchway::input::Described;
use quenchway::library;
use quenchway::march::march;
use quenchway::material::{Hazard, Kind, Material};
use quenchway::units::Celsius;
use quenchway_cli::commands::materials::materials;

use crate::fixture;

fn find(name: &str) -> Material {
    library::find(name).unwrap()
}

/// Melt densities at zero pressure, kg/m3: Tait fits in R. P. Danner, M. S. High, Handbook of Polymer Solution
/// Thermodynamics, 1993, as tabulated in the Python package polykin 0.8.0, worked out at these temperatures.
const MELTS: [(&str, f64, f64); 13] = [
    ("ldpe", 125.0, 795.07),
    ("ldpe", 130.0, 791.75),
    ("ldpe", 140.0, 785.34),
    ("ldpe", 150.0, 779.23),
    ("ldpe", 160.0, 773.40),
    ("ldpe", 175.0, 765.16),
    ("ldpe", 180.0, 762.54),
    ("ldpe", 190.0, 757.50),
    ("hdpe", 150.0, 783.46),
    ("hdpe", 160.0, 777.50),
    ("hdpe", 175.0, 768.48),
    ("hdpe", 180.0, 765.46),
    ("hdpe", 190.0, 759.38),
];

#[test]
fn polyethylene_melts_have_their_published_density() {
    for (name, t, density) in MELTS {
        let found = find(name).density.at(Celsius(t));
        // Straight lines between points at most 25 K apart under a curve of 1.6e-9 m3/(kg K2), and four digits: 0.02 percent.
        assert!((found / density - 1.0).abs() < 2e-4, "{name} at {t} degC: {found}, {density} expected");
    }
}

/// Lowest and highest published value at 20 degC, and where they are from.
const AT_20: [(&str, [[f64; 2]; 3], &str); 6] = [
    (
        "pvc-insulation",
        [[0.14, 0.20], [1000.0, 1674.0], [1200.0, 1500.0]],
        "k: DIN EN 12524:2000, IEC 60287-2-1; c_p and rho: DIN EN 12524:2000, IEC 60287-1-1:2006 as tabulated publicly",
    ),
    ("pvc-jacket", [[0.14, 0.20], [1000.0, 1674.0], [1200.0, 1500.0]], "the same"),
    (
        "ldpe",
        [[0.286, 0.36], [1900.0, 2300.0], [910.0, 930.0]],
        "k: IEC 60287-2-1, data sheets; c_p: data sheets; rho: DIN EN 12524:2000 with 1 percent",
    ),
    (
        "hdpe",
        [[0.286, 0.53], [1800.0, 2700.0], [940.0, 980.0]],
        "k: IEC 60287-2-1, a producer of thermal analysers; c_p the same; rho: the same, DIN EN 12524:2000",
    ),
    ("copper", [[380.0, 401.0], [380.0, 385.0], [8890.0, 8960.0]], "DIN EN 12524:2000; NIST-JANAF; handbooks"),
    ("aluminium", [[220.0, 240.0], [880.0, 900.0], [2700.0, 2705.0]], "handbooks; DIN EN 12524:2000; NIST-JANAF"),
];

#[test]
fn values_at_20_degc_lie_within_the_published_spread() {
    for (name, spreads, source) in AT_20 {
        let material = find(name);
        let curves = [&material.conductivity, &material.heat_capacity, &material.density];
        for (property, (curve, [low, high])) in curves.iter().zip(spreads).enumerate() {
            let value = curve.at(Celsius(20.0));
            assert!((low..=high).contains(&value), "{name}, property {property}: {value}, {low} to {high} ({source})");
        }
    }
    assert_eq!(AT_20.len(), library::names().len(), "a material without published values to compare with");
}

#[test]
fn volumetric_heat_capacities_agree_with_the_cable_standards() {
    // IEC 60853-2 and standard cable tables, as reproduced on a public page. The metals are measured to a percent; for
    // PVC the standard has one value for every compound.
    for (name, expected, within) in [
        ("pvc-insulation", 1.7e6, 0.1),
        ("pvc-jacket", 1.7e6, 0.1),
        ("copper", 3.45e6, 0.01),
        ("aluminium", 2.42e6, 0.01),
    ] {
        let material = find(name);
        let found = material.density.at(Celsius(20.0)) * material.heat_capacity.at(Celsius(20.0));
        assert!((found / expected - 1.0f64).abs() < within, "{name}: {found:.3e}, {expected:.3e} expected");
    }
}

#[test]
fn volumetric_heat_capacities_of_polyethylene_lie_between_the_standards() {
    // At 20 degC, from the lowest published value to the highest: 980 kg/m3 times 1800 J/(kg K) in DIN EN 12524:2000, and
    // 2.4e6 J/(m3 K) in IEC 60853-2, which has one value for every polyethylene.
    for name in ["ldpe", "hdpe"] {
        let material = find(name);
        let found = material.density.at(Celsius(20.0)) * material.heat_capacity.at(Celsius(20.0));
        assert!((980.0 * 1800.0..=2.4e6).contains(&found), "{name}: {found:.3e}");
    }
}

#[test]
fn every_material_runs_in_a_wire() {
    for Described { material, .. } in library::entries() {
        let mut case = fixture::house_wire();
        let metal = material.kind == Kind::Metal;
        case.layers[1].material = find(if metal { "ldpe" } else { "pvc-insulation" });
        case.layers[usize::from(!metal)].material = material.clone();
        let name = &material.name;
        let solution = march(&case).unwrap_or_else(|error| panic!("{name}: {error}"));
        let last = &solution.stations.last().unwrap().point;
        // Nothing heats the wire, so it stays between the coldest medium and the hottest layer, to the stated error.
        let allowed = solution.numerics.error;
        for (quantity, t) in [("surface", last.surface), ("core", last.core), ("mean", last.mean)] {
            assert!((16.0 - allowed..=188.0 + allowed).contains(&t), "{name}: {quantity} {t}");
        }
        assert!(last.surface < last.core, "{name}: {} at the surface, {} in the core", last.surface, last.core);
        assert!(last.diameter < 3.42e-3, "{name} has not shrunk: {} m", last.diameter);
        let warned = cautions(&case).iter().any(|caution| caution.contains("hydrogen chloride"));
        assert_eq!(warned, name.starts_with("pvc"), "{name}: caution about hydrogen chloride");
    }
}

/// Heat given off between two temperatures, J/kg, by the trapezoidal rule in steps of 0.01 K.
fn heat(material: &Material, low: f64, high: f64) -> f64 {
    let steps = ((high - low) / 0.01).round() as usize;
    let at = |i: usize| material.heat_capacity.at(Celsius(low + 0.01 * i as f64));
    (0..steps).map(|i| 0.005 * (at(i) + at(i + 1))).sum()
}

#[test]
fn polyethylenes_give_off_their_heat_of_crystallisation() {
    // Above what the solid and the melt would give off with straight lines through the values on both sides of the peak.
    for (name, peak, latent) in [("ldpe", [80.0, 110.0], 125e3), ("hdpe", [100.0, 130.0], 190e3)] {
        let material = find(name);
        let [low, high] = peak;
        let sensible =
            0.5 * (material.heat_capacity.at(Celsius(low)) + material.heat_capacity.at(Celsius(high))) * (high - low);
        let found = heat(&material, low, high) - sensible;
        // The base line bends by some 100 J/(kg K) over 30 K: a percent of the latent heat.
        assert!((found / latent - 1.0).abs() < 0.01, "{name}: {found} J/kg above the base line");
    }
}

#[test]
fn polyethylenes_conduct_less_as_they_warm() {
    for name in ["ldpe", "hdpe"] {
        let values: Vec<f64> = find(name).conductivity.points().iter().map(|point| point[1]).collect();
        assert!(values.windows(2).all(|pair| pair[1] <= pair[0]) && values[0] > 1.2 * values[values.len() - 1]);
    }
}

#[test]
fn every_material_gets_lighter_as_it_warms() {
    for described in library::entries() {
        let points = described.material.density.points();
        let falls = points.windows(2).all(|pair| pair[1][1] < pair[0][1]);
        assert!(points.len() > 1 && falls, "{}: a shrink of nothing or of the wrong sign", described.material.name);
    }
}

#[test]
fn ranges_cover_a_line_from_the_die_to_cold_water() {
    for described in library::entries() {
        let material = &described.material;
        let [low, high] = material.range;
        assert!(low.0 <= 5.0 && high.0 >= 200.0, "{}", material.name);
        assert_eq!(material.set_temperature.is_some(), material.kind == Kind::Plastic, "{}", material.name);
        let overheats = material.name.starts_with("pvc");
        assert_eq!(material.hazards.contains(&Hazard::HydrogenChloride), overheats, "{}", material.name);
    }
}

#[test]
fn the_list_has_every_material() {
    let list = materials(None, 100).unwrap();
    for described in library::entries() {
        let material = &described.material;
        let row = list.lines().find(|line| line.trim_start().starts_with(&material.name)).unwrap();
        let density = format!("{:.0}", material.density.at(Celsius(190.0)));
        assert!(row.contains(&density), "{row}");
        assert!(list.contains(described.describes.split(' ').next().unwrap()), "{list}");
    }
    // One caution under each of the two PVC compounds and under nothing else.
    let cautions: Vec<&str> = list.lines().filter(|line| line.contains("Caution: ")).collect();
    assert!(cautions.len() == 2 && cautions.iter().all(|line| line.contains("hydrogen chloride")), "{list}");
    assert!(list.lines().all(|line| line.chars().count() <= 100), "{list}");
}

#[test]
fn a_record_has_every_point_source_and_doubt() {
    for described in library::entries() {
        let material = &described.material;
        // Wide enough that nothing is broken over lines.
        let record = materials(Some(&material.name), 2000).unwrap();
        for curve in [&material.conductivity, &material.heat_capacity, &material.density] {
            for [_, value] in curve.points() {
                assert!(record.contains(&value.to_string()), "{}: {value} is not in\n{record}", material.name);
            }
        }
        for source in &described.sources {
            assert!(record.contains(&source.source) && record.contains(&source.doubt), "{record}");
        }
        let sources = record.lines().filter(|line| line.starts_with("  source: ")).count();
        assert_eq!(sources, described.sources.len(), "{record}");
    }
    let pvc = materials(Some("pvc-insulation"), 80).unwrap();
    assert!(pvc.contains("hydrogen chloride") && pvc.contains("derived") && pvc.contains("from memory, not checked"));
    assert!(pvc.lines().all(|line| line.chars().count() <= 80), "{pvc}");
}

#[test]
fn an_unknown_material_is_answered_with_those_there_are() {
    let message = materials(Some("alluminum"), 80).unwrap_err();
    assert!(message.starts_with("error: the library has no material \"alluminum\"\n"), "{message}");
    assert!(message.contains("did you mean aluminium? it has "), "{message}");
    for name in library::names() {
        assert!(message.contains(name), "{message}");
    }
    let message = materials(Some("unobtainium"), 80).unwrap_err();
    assert!(message.contains("help: it has ") && !message.contains("did you mean"), "{message}");
}
