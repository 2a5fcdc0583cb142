//! Pictures: they decode, have their size, and every curve is there.

use std::path::{Path, PathBuf};

use crate::fixture::{self, layer, section, station};
use quenchway::case::{Case, Contact, Medium, Quantity, Shape};
use quenchway::units::System;
use quenchway_cli::plot::draw_all;

/// Draws a case where the pictures can be looked at after the test: `target/tmp/pictures`.
fn drawn(stem: &str, case: &Case, system: System) -> Vec<PathBuf> {
    let dir = Path::new(env!("CARGO_TARGET_TMPDIR")).join("pictures");
    std::fs::create_dir_all(&dir).unwrap();
    draw_all(&dir, stem, case, &fixture::solution(case), system).unwrap()
}

/// Eight sections and ten stations, with long and foreign names.
fn crowded() -> Case {
    let mut case = fixture::house_wire();
    case.title =
        "Überlange Bezeichnung einer Ader für Prüfzwecke: Leitung Ø 3,4 mm, Isolierung aus weichgemachtem PVC, \
                  drei Tröge und zwei Bläser, zweite Schicht, Anlage 7, Werkzeugsatz Δ-12, Versuch Nr. 0815 vom Freitag"
            .to_string();
    case.sections = vec![
        section("air gap", Medium::Air, 0.4, 28.0),
        section("heißes Wasser", Medium::Water, 2.0, 60.0),
        section("Lücke 1", Medium::Air, 0.3, 28.0),
        section("trough 2", Medium::Water, 6.0, 30.0),
        section("Lücke 2", Medium::Air, 0.3, 28.0),
        section("kalter Trog", Medium::Water, 9.0, 14.0),
        section("air wipe", Medium::Air, 0.2, 25.0),
        section("to capstan", Medium::Air, 2.5, 28.0),
    ];
    case.stations = vec![
        station("hot gauge", 0, -0.2, &[]),
        station("Vorwärmer-Kontrolle", 1, 0.0, &[(Quantity::Surface, 110.0)]),
        station("gap 1", 2, 0.0, &[]),
        station("Durchhang", 3, -3.0, &[(Quantity::Mean, 120.0)]),
        station("after trough 2", 3, 0.0, &[]),
        station("cold gauge", 5, -0.5, &[]),
        station("wipe end", 6, 0.0, &[(Quantity::Surface, 40.0)]),
        station("Drucker", 7, -1.6, &[]),
        station("spark tester", 7, -0.9, &[]),
        station("capstan", 7, 0.0, &[(Quantity::Surface, 45.0), (Quantity::Core, 60.0), (Quantity::Hottest, 65.0)]),
    ];
    case
}

/// A cable of 60 mm with five layers and two poor contacts, slow.
fn thick() -> Case {
    let mut case = fixture::house_wire();
    case.title = "Power cable, 60 mm over the jacket".to_string();
    case.line_speed = 6.0 / 60.0;
    case.layers = vec![
        layer("stranded conductor", fixture::copper(), 20e-3, 60.0),
        layer("inner screen", fixture::pvc(), 21.5e-3, 190.0),
        layer("insulation", fixture::pvc(), 42e-3, 190.0),
        layer("tape and wire screen", fixture::copper(), 46e-3, 25.0),
        layer("jacket", fixture::pvc(), 60e-3, 190.0),
    ];
    case.layers[3].contact = Contact::Conductance(150.0);
    case.layers[4].contact = Contact::Conductance(400.0);
    case.sections = vec![section("air gap", Medium::Air, 1.0, 28.0), section("trough", Medium::Water, 60.0, 18.0)];
    case.stations = vec![station("end of trough", 1, 0.0, &[(Quantity::Core, 70.0)])];
    case
}

#[test]
fn look() {
    drawn("house", &fixture::house_wire(), System::Si);
    drawn("crowded", &crowded(), System::Si);
    drawn("thick", &thick(), System::Us);
    let mut tape = fixture::house_wire();
    tape.title = "Tape".to_string();
    tape.shape = Shape::Flat;
    tape.layers = vec![layer("tape", fixture::pvc(), 4e-3, 190.0)];
    tape.stations.clear();
    drawn("tape", &tape, System::Si);
    let mut tube = fixture::house_wire();
    tube.title = "Tube".to_string();
    tube.bore = 6e-3;
    tube.line_speed = 0.5;
    tube.layers = vec![layer("tube", fixture::pvc(), 9e-3, 190.0)];
    tube.stations.remove(0);
    drawn("tube", &tube, System::Us);
}
