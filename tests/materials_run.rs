//! Every material of the library in a wire: it marches, keeps its stated error, and warns.

use quenchway::case::cautions::cautions;
use quenchway::case::warning::Warning;
use quenchway::case::{Case, DieTemperature};
use quenchway::file::Described;
use quenchway::file::library;
use quenchway::march::march;
use quenchway::material::{Hazard, Kind, Material};
use quenchway::units::{Celsius, System};

use crate::fixture;

fn find(name: &str) -> Material {
    library::find(name).unwrap()
}

/// Each material where it belongs in a wire: a metal inside LDPE, a plastic over copper at the middle of its melt range.
fn wire_of(material: &Material) -> Case {
    let mut case = fixture::house_wire();
    let metal = material.kind == Kind::Metal;
    let over = if metal { find("ldpe") } else { material.clone() };
    if metal {
        case.layers[0].material = material.clone();
    }
    let [low, high] = over.melt.unwrap();
    case.layers[1].temperature = DieTemperature::Fixed(Celsius((low.0 + high.0) / 2.0));
    case.layers[1].material = over;
    case.case
}

#[test]
fn every_material_runs_in_a_wire() {
    for Described { material, .. } in library::entries() {
        let case = wire_of(material);
        let name = &material.name;
        let solution = march(&case).unwrap_or_else(|error| panic!("{name}: {error}"));
        let last = &solution.stations.last().unwrap().point;
        // Nothing heats the wire, so it stays between the coldest medium and the hottest layer, to the stated error.
        let (allowed, hottest) = (solution.numerics.error, case.die_temperature(1).0);
        for (quantity, t) in [("surface", last.surface), ("core", last.core), ("mean", last.mean)] {
            assert!((16.0 - allowed..=hottest + allowed).contains(&t), "{name}: {quantity} {t}");
        }
        assert!(last.surface < last.core, "{name}: {} at the surface, {} in the core", last.surface, last.core);
        assert!(last.diameter < 3.42e-3, "{name} has not shrunk: {} m", last.diameter);
        assert!(solution.numerics.error <= case.tolerance, "{name}: {} K", solution.numerics.error);
        assert!(solution.warnings.iter().all(|warning| warning.kind() != "melt_temperature"), "{name}");
        // Each hazard brings its caution, and no other does.
        for (hazard, words) in [
            (Hazard::HydrogenChloride, "hydrogen chloride"),
            (Hazard::Fluoride, "polymer-fume fever"),
            (Hazard::Hydrate, "releases steam"),
            (Hazard::Peroxide, "scorches"),
        ] {
            let warned = cautions(&case).iter().any(|caution| caution.contains(words));
            assert_eq!(warned, material.hazards.contains(&hazard), "{name}: {words}");
        }
    }
}

/// The same wire at a thirty times tighter tolerance: the stated error holds for every peak of the library.
#[test]
fn every_material_keeps_its_stated_error() {
    for Described { material, .. } in library::entries() {
        let mut case = wire_of(material);
        let stated = march(&case).unwrap();
        case.tolerance /= 30.0;
        let fine = march(&case).unwrap();
        for (coarse, fine) in stated.stations.iter().zip(&fine.stations) {
            for (quantity, a, b) in [
                ("surface", coarse.point.surface, fine.point.surface),
                ("core", coarse.point.core, fine.point.core),
                ("mean", coarse.point.mean, fine.point.mean),
            ] {
                let stated = stated.numerics.error + case.tolerance;
                assert!((a - b).abs() <= stated, "{}: {quantity} {a} and {b}, {stated} K stated", material.name);
            }
        }
    }
}

/// A plastic over copper at a die temperature; the warnings about it.
fn warned(name: &str, die: f64) -> Vec<String> {
    let mut case = wire_of(&find(name));
    case.layers[1].temperature = DieTemperature::Fixed(Celsius(die));
    let about = |warning: &&Warning| warning.kind() == "melt_temperature" && warning.place() == "layer.insulation";
    march(&case).unwrap().warnings.iter().filter(about).map(Warning::to_string).collect()
}

#[test]
fn a_die_temperature_outside_the_melt_range_is_warned_of() {
    // Above it, each material says what it gives off; at its ends and inside nothing.
    for (name, words) in [
        ("pvc-insulation", "hydrogen chloride"),
        ("pvc-jacket", "hydrogen chloride"),
        ("pvc-rigid", "hydrogen chloride"),
        ("fep", "hydrogen fluoride"),
        ("hffr", "steam"),
        ("xlpe", "crosslink"),
        ("pp", "Check the temperature"),
    ] {
        let [low, high] = find(name).melt.unwrap();
        let above = warned(name, high.0 + 1.0);
        assert!(above.len() == 1 && above[0].contains("above the") && above[0].contains(words), "{name}: {above:?}");
        let below = warned(name, low.0 - 1.0);
        assert!(below.len() == 1 && below[0].contains("below the"), "{name}: {below:?}");
        assert!(below[0].ends_with("Check the temperature at the die"), "{name}: {below:?}");
        assert_eq!((warned(name, low.0), warned(name, high.0)), (Vec::new(), Vec::new()), "{name}");
    }
    // What comes already set was extruded before: the cold core of a jacketing line.
    assert_eq!(warned("ldpe", 24.0), Vec::<String>::new());
}

#[test]
fn the_warning_reads_in_both_unit_systems() {
    let warning = Warning::MeltTemperature {
        layer: "insulation".to_string(),
        material: "pvc-insulation".to_string(),
        temperature: 210.0,
        melt: [165.0, 200.0],
        hazard: Some(Hazard::HydrogenChloride),
    };
    let si = "\"insulation\" leaves the die at 210 degC, above the 165 to 200 degC at which pvc-insulation is usually \
              extruded. Overheated PVC gives off hydrogen chloride";
    assert!(warning.message(System::Si).starts_with(si), "{warning}");
    let us = warning.message(System::Us);
    assert!(us.contains("410 degF") && us.contains("329 to 392 degF"), "{us}");
}
