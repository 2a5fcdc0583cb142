//! Every file in `cases/` runs, is listed, keeps its numbers, and agrees with what is known of it from elsewhere.

use std::path::Path;

use quenchway::case::Case;
use quenchway::march::march;
use quenchway::march::solution::{Solution, StationReport};

fn folder() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases")
}

fn read(name: &str) -> Case {
    let text = std::fs::read_to_string(folder().join(format!("{name}.toml"))).unwrap();
    quenchway::file::read(&text).unwrap_or_else(|problems| panic!("{name}: {problems:#?}")).case
}

/// A case and, of its last station: surface and core (degC), diameter (mm), and the heat of each section (W).
struct Kept {
    name: &'static str,
    surface: f64,
    core: f64,
    diameter: f64,
    heat: &'static [f64],
}

const KEPT: [Kept; 13] = [
    Kept { name: "flat-slab", surface: 105.769, core: 151.329, diameter: 4.0, heat: &[455382.7] },
    Kept {
        name: "house-wire-given-films",
        surface: 35.307,
        core: 64.197,
        diameter: 3.34116,
        heat: &[14.9, 5383.3, 0.7],
    },
    Kept { name: "house-wire", surface: 32.537, core: 61.858, diameter: 3.33106, heat: &[23.3, 5278.2, -0.2] },
    Kept { name: "jacket-talc", surface: 25.193, core: 44.883, diameter: 9.05913, heat: &[53.0, 5367.3, -1.9] },
    Kept {
        name: "thick-pe-core",
        surface: 23.654,
        core: 28.854,
        diameter: 10.40430,
        heat: &[63.5, 7845.8, 7014.8, 8714.4, -3.0],
    },
    Kept {
        name: "staged-pe-core",
        surface: 22.810,
        core: 27.104,
        diameter: 10.40209,
        heat: &[63.5, 7845.8, 15841.8, -3.7],
    },
    Kept { name: "fine-wire", surface: 33.291, core: 33.901, diameter: 0.85842, heat: &[6.3, 3392.6, 0.4] },
    Kept { name: "multi-pass-wire", surface: 23.055, core: 39.458, diameter: 2.73841, heat: &[29.5, 13869.0, -5.2] },
    Kept {
        name: "pe-core-series-water",
        surface: 23.362,
        core: 31.719,
        diameter: 8.00611,
        heat: &[59.7, 3068.8, 5087.7, 2187.4, -2.1],
    },
    Kept { name: "spray-jacket", surface: 34.748, core: 32.665, diameter: 11.57074, heat: &[83.1, 10733.8, -3.8, 8.0] },
    Kept { name: "poured-jacket", surface: 31.753, core: 45.189, diameter: 11.6425, heat: &[49.5, 3155.6, 3.3] },
    Kept { name: "tube", surface: 31.187, core: 32.369, diameter: 9.70625, heat: &[12.3, 5054.9, 1.5] },
    Kept { name: "three-core-jacket", surface: 26.456, core: 37.803, diameter: 9.79453, heat: &[46.0, 8594.8, -1.3] },
];

/// The library's example stands in its package, which holds no file outside of it.
#[test]
fn the_example_of_the_library_is_the_house_wire() {
    assert_eq!(quenchway::file::EXAMPLE, std::fs::read_to_string(folder().join("house-wire.toml")).unwrap());
}

#[test]
fn every_case_runs_is_listed_and_keeps_its_numbers() {
    let listed = std::fs::read_to_string(folder().join("README.md")).unwrap();
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder()).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|extension| extension == "toml") {
            files.push(path.file_stem().unwrap().to_str().unwrap().to_string());
        }
    }
    files.sort();
    let mut kept: Vec<&str> = KEPT.iter().map(|kept| kept.name).collect();
    kept.sort_unstable();
    assert_eq!(files, kept, "a case without kept numbers, or numbers without a case");
    for kept in &KEPT {
        assert!(listed.contains(&format!("`{}.toml`", kept.name)), "{} is not in cases/README.md", kept.name);
        let solution = march(&read(kept.name)).unwrap();
        let last = &solution.stations.last().unwrap().point;
        // Kept to a thousandth of a kelvin: half a unit of it, and the stated error of this run and of the kept one.
        let allowed = 0.0005 + 2.0 * solution.numerics.error;
        assert!((last.surface - kept.surface).abs() <= allowed, "{}: surface {}", kept.name, last.surface);
        assert!((last.core - kept.core).abs() <= allowed, "{}: core {}", kept.name, last.core);
        let diameter = last.diameter * 1e3;
        // Density changes by at most 1.2e-3 of its value per kelvin in these curves.
        assert!((diameter / kept.diameter - 1.0).abs() <= 2e-6 + 1.2e-3 * allowed, "{}: {diameter} mm", kept.name);
        // The page on numerics says that the energy closes so.
        assert!(solution.balance.relative_error.abs() <= 2e-15, "{}: {:?}", kept.name, solution.balance);
        assert_eq!(solution.sections.len(), kept.heat.len(), "{}", kept.name);
        for (section, heat) in solution.sections.iter().zip(kept.heat) {
            assert!((section.heat - heat).abs() <= 0.051 + 1e-4 * heat.abs(), "{}: {} W", kept.name, section.heat);
        }
    }
}

fn station<'a>(solution: &'a Solution, name: &str) -> &'a StationReport {
    solution.stations.iter().find(|station| station.name == name).unwrap()
}

/// Plane wall, Bi = 1, full series (Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, section 3.11; digits
/// computed with 40-digit arithmetic): Fo, centre, surface, mean as shares of the first excess temperature.
const PLANE_WALL: [(f64, f64, f64, f64); 3] = [
    (0.02, 0.999999958726, 0.858479616467, 0.981943471372),
    (0.1, 0.993108254805, 0.723577238669, 0.919596747499),
    (0.5, 0.772526383424, 0.504521927896, 0.681104565447),
];

#[test]
fn the_flat_slab_agrees_with_its_series() {
    let solution = march(&read("flat-slab")).unwrap();
    for (fo, centre, surface, mean) in PLANE_WALL {
        let point = &station(&solution, &format!("Fo {fo}")).point;
        let allowed = solution.numerics.error;
        for (name, got, share) in
            [("centre", point.core, centre), ("surface", point.surface, surface), ("mean", point.mean, mean)]
        {
            let wanted = 20.0 + 170.0 * share;
            assert!((got - wanted).abs() <= allowed, "Fo {fo} {name}: {got} instead of {wanted}, stated {allowed}");
        }
    }
}

/// The house wire with given films, beside an independent program (finite volumes, run for this project with the same
/// curves): at 150 m/min core 64.2 and surface 35.3 degC at the capstan, 3.414 mm behind the air gap, 3.341 mm at the
/// capstan; at 90 m/min core 39.0, surface 28.1.
#[test]
fn the_house_wire_agrees_with_an_independent_program() {
    let case = read("house-wire-given-films");
    for (speed, core, surface) in [(150.0, 64.2, 35.3), (90.0, 39.0, 28.1)] {
        let solution = march(&Case { line_speed: speed / 60.0, ..case.clone() }).unwrap();
        let capstan = &station(&solution, "capstan").point;
        // Half a unit of the last printed digit and the stated error.
        let allowed = 0.05 + solution.numerics.error;
        assert!((capstan.core - core).abs() <= allowed, "{speed} m/min: core {}", capstan.core);
        assert!((capstan.surface - surface).abs() <= allowed, "{speed} m/min: surface {}", capstan.surface);
        if speed == 150.0 {
            let hot = solution.sections[0].exit.diameter;
            assert!((hot - 3.414e-3).abs() <= 0.5e-6, "{hot} m");
            assert!((capstan.diameter - 3.341e-3).abs() <= 0.5e-6, "{} m", capstan.diameter);
        }
    }
}
