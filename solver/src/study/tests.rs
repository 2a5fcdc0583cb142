#![allow(clippy::unwrap_used)]

use std::path::Path;

use crate::case::{CaseFile, Contact, DieTemperature, Quantity};
use crate::file::read;
use crate::film::Film;
use crate::names::error::KeyPathError;
use crate::names::key_path::{KeyPath, all};
use crate::units::{Celsius, System};

/// Every number that can have a path: a table of film, a table of temperature, a bore, names that need quotation marks.
const EVERYTHING: &str = r#"
[line]
speed = "150 m/min"
[[layer]]
name = "tube"
material = "copper"
diameter = "3 mm"
bore = "1 mm"
temperature = { speed = [["100 m/min", "80 degC"], ["200 m/min", "100 degC"]] }
[[layer]]
name = "in.sul\"ation"
material = "hdpe"
finished_wall = "0.8 mm"
temperature = "200 degC"
contact = "pressed"
[[layer]]
name = "skin"
material = "hdpe"
wall = "0.1 mm"
temperature = "200 degC"
[[section]]
name = "air gap"
medium = "air"
length = "0.4 m"
temperature = "28 degC"
film = { surface = [["20 degC", "8 W/(m2 K)"], ["200 degC", "18 W/(m2 K)"]] }
[[section]]
name = "trough"
medium = "water"
length = "18 m"
temperature = "16 degC"
[[station]]
name = "capstan"
after = "trough"
core_max = "60 degC"
surface_max = "45 degC"
layer_max = { skin = "50 degC", "in.sul\"ation" = "65 degC" }
"#;

fn cases() -> Vec<(String, CaseFile)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases");
    let files = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let texts = files.filter(|path| path.extension().is_some_and(|ending| ending == "toml"));
    let read_file = |path: std::path::PathBuf| {
        (path.display().to_string(), read(&std::fs::read_to_string(&path).unwrap()).unwrap())
    };
    texts.map(read_file).chain([("everything".to_string(), read(EVERYTHING).unwrap())]).collect()
}

#[test]
fn every_number_of_every_case_is_found_read_and_changed() {
    let cases = cases();
    assert!(cases.len() > 5, "the cases' folder is read");
    for (name, case) in &cases {
        let variables = all(case);
        for variable in &variables {
            let path = &variable.path;
            let found = KeyPath::find(case, path).unwrap();
            let value = found.get(case);
            assert!(value >= found.bounds[0], "{name}: {path} = {value}");
            // Another value, inside the bounds and not the old one.
            let new = if path.ends_with(".passes") {
                value + 1.0
            } else if value.is_finite() && 1.01 * value + 0.001 <= found.bounds[1] {
                1.01 * value + 0.001
            } else {
                0.5 * (found.bounds[0] + found.bounds[1])
            };
            let mut changed = case.clone();
            found.set(&mut changed, new).unwrap();
            // A shifted table of temperatures is a sum, whose last digit may differ.
            assert!((found.get(&changed) / new - 1.0).abs() < 1e-14, "{name}: {path}");
            for other in variables.iter().filter(|other| other.path != *path) {
                // A table of temperatures against speed answers a changed speed.
                if path != "line.speed" && !path.ends_with(".passes") {
                    assert_eq!(other.get(&changed), other.get(case), "{name}: {path} must not move {}", other.path);
                }
            }
            let shown = found.show(value, System::Si);
            let again = found.parse_value(&shown).unwrap();
            assert!(again == value || (again / value - 1.0).abs() < 1e-5, "{name}: {path}: {shown} for {value}");
        }
    }
}

#[test]
fn the_list_is_the_numbers_of_the_case() {
    let case = read(EVERYTHING).unwrap();
    let paths: Vec<String> = all(&case).into_iter().map(|variable| variable.path).collect();
    let insulation = r#"layer."in.sul\"ation""#;
    let expected = [
        "line.speed",
        "layer.tube.diameter",
        "layer.tube.bore",
        "layer.tube.temperature",
        "layer.tube.conductivity_factor",
        "layer.tube.heat_capacity_factor",
        &format!("{insulation}.finished_wall"),
        &format!("{insulation}.temperature"),
        &format!("{insulation}.contact"),
        &format!("{insulation}.conductivity_factor"),
        &format!("{insulation}.heat_capacity_factor"),
        "layer.skin.wall",
        "layer.skin.temperature",
        "layer.skin.contact",
        "layer.skin.conductivity_factor",
        "layer.skin.heat_capacity_factor",
        "section.\"air gap\".length",
        "section.\"air gap\".temperature",
        "section.\"air gap\".film",
        "section.\"air gap\".film_factor",
        "section.\"air gap\".emissivity",
        "section.trough.length",
        "section.trough.temperature",
        "section.trough.film_factor",
        "station.capstan.offset",
        "station.capstan.surface_max",
        "station.capstan.core_max",
        "station.capstan.layer_max.skin",
        r#"station.capstan.layer_max."in.sul\"ation""#,
        "material.copper.conductivity",
        "material.copper.heat_capacity",
        "material.copper.density",
        "material.hdpe.conductivity",
        "material.hdpe.heat_capacity",
        "material.hdpe.density",
        "material.hdpe.set_temperature",
        "solver.tolerance",
    ];
    for path in expected {
        assert!(paths.iter().any(|known| known == path), "{path} is missing from {paths:#?}");
    }
}

#[test]
fn names_are_quoted_as_in_toml() {
    let case = read(EVERYTHING).unwrap();
    let same = ["section.\"air gap\".length", "section.'air gap'.length", " section . \"air\\u0020gap\" . length "];
    for text in same {
        assert_eq!(KeyPath::find(&case, text).unwrap().path, same[0], "{text}");
    }
    assert!(KeyPath::find(&case, r#"layer."in.sul\"ation".temperature"#).is_ok());
    for text in
        ["", "speed", "line", "line.speed = 1 #", "line.speed\nx", "a.b.c.d", "section.", "line.speed.x.y", "\u{0}"]
    {
        let error = KeyPath::find(&case, text).unwrap_err();
        assert!(matches!(error, KeyPathError::Syntax { .. }), "{text:?}: {error:?}");
    }
}

#[test]
fn an_error_says_what_was_probably_meant() {
    let case = read(EVERYTHING).unwrap();
    for (text, message) in [
        ("lin.speed", "lin.speed: there is no table lin; did you mean line.speed?"),
        ("line.sped", "line.sped: there is no number sped; did you mean line.speed?"),
        (
            "section.air gap.length",
            "section.air gap.length is not a key path; did you mean section.\"air gap\".length?",
        ),
        ("layer.line.speed", "layer.line.speed: there is no layer line; known are tube, in.sul\"ation and skin"),
        (
            "section.trough.lenght",
            "section.trough.lenght: there is no number lenght; did you mean section.trough.length?",
        ),
        (
            "section.trough.film",
            "section.trough.film: this case gives no single number there; numbers beside it are section.trough.length, \
             section.trough.temperature, section.trough.film_factor, section.trough.stirred and section.trough.film_lean",
        ),
        ("plant.hall_max", "plant.hall_max: this case gives no single number there; write it into the case file first"),
        ("line.tube.speed", "line.tube.speed is not a key path; did you mean line.speed?"),
        (
            "material.copper.density.x",
            "material.copper.density.x is not a key path; did you mean material.\"copper.density\".x?",
        ),
    ] {
        assert_eq!(KeyPath::find(&case, text).unwrap_err().to_string(), message);
    }
    // A layer given by its wall has no diameter to change: the message names the wall.
    let error = KeyPath::find(&case, "layer.skin.diameter").unwrap_err().to_string();
    assert!(error.contains("layer.skin.wall"), "{error}");
}

#[test]
fn values_stay_within_the_bounds_of_the_case_file() {
    let mut case = read(EVERYTHING).unwrap();
    let find = |case: &CaseFile, path: &str| KeyPath::find(case, path).unwrap();
    let water = find(&case, "section.trough.temperature");
    assert_eq!(
        water.set(&mut case, 120.0).unwrap_err().to_string(),
        "section.trough.temperature: 120 degC is outside what is possible there; it takes 0 degC to 100 degC"
    );
    assert_eq!(water.get(&case), 16.0);
    assert!(water.scale(&mut case, 1.1).unwrap_err().to_string().contains("a difference in K"));
    assert!(water.parse_value("16").unwrap_err().to_string().contains("degC, degF or K"));
    let speed = find(&case, "line.speed");
    assert!(speed.set(&mut case, f64::NAN).is_err() && speed.set(&mut case, f64::INFINITY).is_err());
    assert!(find(&case, "section.trough.film_factor").parse_value("1 m").is_err());
}

#[test]
fn tables_and_curves_vary_as_a_whole() {
    let mut case = read(EVERYTHING).unwrap();
    let find = |case: &CaseFile, path: &str| KeyPath::find(case, path).unwrap();
    let tube = find(&case, "layer.tube.temperature");
    assert_eq!(tube.get(&case), 90.0, "at 150 m/min, half-way between the points");
    tube.set(&mut case, 100.0).unwrap();
    let DieTemperature::OfSpeed(points) = &case.layers[0].temperature else { panic!() };
    assert_eq!((points[0][1], points[1][1]), (90.0, 110.0));

    let before = case.layers[1].material.heat_capacity.clone();
    let capacity = find(&case, "material.hdpe.heat_capacity");
    capacity.scale(&mut case, 1.1).unwrap();
    for layer in [1, 2] {
        let curve = &case.layers[layer].material.heat_capacity;
        for t in [0.0, 116.5, 200.0].map(Celsius) {
            assert!((curve.at(t) / before.at(t) - 1.1).abs() < 1e-14, "layer {layer}");
        }
    }
    capacity.set(&mut case, 2000.0).unwrap();
    assert_eq!(case.layers[2].material.heat_capacity.points().len(), 1);

    let air = find(&case, "section.\"air gap\".film");
    air.scale(&mut case, 2.0).unwrap();
    let Film::OfSurface(points) = &case.sections[0].film else { panic!() };
    assert_eq!((points[0][1], points[1][1]), (16.0, 36.0));
}

#[test]
fn a_perfect_contact_is_an_infinite_conductance() {
    let mut case = read(EVERYTHING).unwrap();
    let contact = KeyPath::find(&case, "layer.skin.contact").unwrap();
    assert_eq!((contact.get(&case), contact.show(f64::INFINITY, System::Si).as_str()), (f64::INFINITY, "perfect"));
    contact.set(&mut case, contact.parse_value("talc").unwrap()).unwrap();
    assert_eq!(case.layers[2].contact, Contact::Conductance(1000.0));
    contact.set(&mut case, contact.parse_value("perfect").unwrap()).unwrap();
    assert_eq!(case.layers[2].contact, Contact::Perfect);
    assert!(KeyPath::find(&case, "layer.tube.contact").is_err(), "the first layer touches nothing inside it");
}

/// Core and surface at the last station, degC, and the needed trough, m, of six cases with all of the turbulent layer in water:
/// computed independently for this project by a trial of the law in the engine of before.
#[test]
fn cases_with_the_whole_turbulent_layer() {
    let page = include_str!("../../../docs/film-laws.md").split_whitespace().collect::<Vec<_>>().join(" ");
    for (name, core, surface, trough) in [
        ("house-wire", 61.28, 32.07, 18.50),
        ("jacket-talc", 44.66, 24.80, 4.83),
        ("thick-pe-core", 27.76, 22.98, 16.48),
        ("fine-wire", 32.91, 32.35, 3.96),
        ("three-core-jacket", 37.74, 26.00, 8.07),
        ("tube", 29.52, 28.53, 5.03),
    ] {
        let path = format!("{}/../cases/{name}.toml", env!("CARGO_MANIFEST_DIR"));
        let mut case = crate::file::read(&std::fs::read_to_string(path).unwrap()).unwrap();
        for section in case.sections.iter_mut().filter(|section| section.medium.is_water()) {
            section.film = crate::film::Film::Law(&crate::film::tests::WHOLE_LAW, crate::film::Inputs::default());
        }
        // The trial was of a time when a jacket over talc counted as free to contract along the line.
        for layer in case.layers.iter_mut().skip(1).filter(|layer| layer.contact == Contact::Conductance(1000.0)) {
            layer.contraction = crate::case::Contraction::Free;
        }
        // The plastic inside a laid-up core did not count then.
        let outermost = Quantity::Layer(case.layers.len() - 1);
        for station in &mut case.stations {
            station.limits.retain(|limit| limit.quantity != Quantity::Layer(0));
            for limit in station.limits.iter_mut().filter(|limit| limit.quantity == Quantity::Hottest) {
                limit.quantity = outermost;
            }
        }
        let point = crate::march::march(&case).unwrap().stations.last().unwrap().point.clone();
        assert!((point.core - core).abs() < 0.02, "{name}: core {} for {core}", point.core);
        assert!((point.surface - surface).abs() < 0.02, "{name}: surface {} for {surface}", point.surface);
        if name == "thick-pe-core" {
            case.plant.adjustable = vec![3];
        }
        let length = super::length::needed(&case).unwrap().length;
        assert!((length - trough).abs() < 0.01, "{name}: {length} m for {trough}");
        let said = match name {
            "house-wire" => format!("the house wire needs {trough:.2} m"),
            "fine-wire" => format!("the fine wire {trough:.2} m"),
            _ => continue,
        };
        assert!(page.contains(&said), "the page does not say: {said}");
    }
}
