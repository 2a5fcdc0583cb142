//! Cases that no case file can hold but a program can build: refused with a reason, never marched.

use quenchway::case::error::Error;
use quenchway::case::shrink;
use quenchway::case::{Case, Size};
use quenchway::line::Settings;
use quenchway::march::{books, march, march_with};

use crate::fixture;

fn refused(what: &str, change: impl Fn(&mut Case)) {
    let mut case = fixture::house_wire();
    change(&mut case);
    let result = std::panic::catch_unwind(|| march(&case));
    match result {
        Ok(Err(Error::Unphysical { .. })) => {}
        Ok(Err(other)) => panic!("{what}: {other}"),
        Ok(Ok(_)) => panic!("{what} was marched"),
        Err(_) => panic!("{what} panicked"),
    }
}

#[test]
fn impossible_cases_are_refused() {
    refused("no layers", |case| case.layers.clear());
    refused("no sections", |case| {
        case.sections.clear();
        case.stations.clear();
    });
    for value in [0.0, -1.0, f64::INFINITY, f64::NAN] {
        refused("a speed", |case| case.line_speed = value);
        refused("a tolerance", |case| case.tolerance = value);
        refused("a length", |case| case.sections[1].length = value);
    }
    refused("a station beyond the end", |case| case.stations[1].offset = 0.3);
    refused("a station before the die", |case| case.stations[0].offset = -0.6);
    refused("a station after no section", |case| case.stations[1].after = 3);
    for wall in [0.0, -1e-4, f64::INFINITY, f64::NAN] {
        refused("a wall", |case| case.layers[1].size = Size::Wall(wall));
        refused("a finished wall", |case| case.layers[1].size = Size::FinishedWall(wall));
    }
}

#[test]
fn stations_at_both_ends_of_the_line_are_on_it() {
    let mut case = fixture::house_wire();
    case.stations[0].offset = -case.sections[0].length;
    let solution = march(&case).unwrap();
    assert_eq!(solution.stations[0].distance, 0.0);
    assert_eq!(solution.stations[0].point.surface, 188.0);
    // As it enters: the core has not felt the plastic yet.
    assert_eq!(solution.stations[0].point.core, 90.0);
    assert_eq!(solution.stations[1].distance, 0.4 + 18.0 + 1.5);
}

/// Steps that cannot be taken end the march with what happened, not with a hang.
#[test]
fn steps_that_vanish_or_are_no_numbers_are_said() {
    let case = fixture::house_wire();
    let settings = |step: f64| Settings { fixed_step: Some(step), ..Settings::rule(0.01) };
    let fails = |step: f64| march_with(&case, &settings(step)).map(|_| ());
    assert!(matches!(fails(f64::NAN), Err(Error::NotFinite { .. })), "{:?}", fails(f64::NAN));
    // The first section takes 0.16 s, then 10 s: a hundredth of a millionth of a millionth of it moves no clock.
    assert!(matches!(fails(1.5e-15), Err(Error::StepVanished { .. })));
    let mut long = case.clone();
    long.sections[0].length = 25.0;
    let vanished = march_with(&long, &settings(5e-14)).map(|_| ());
    assert!(matches!(vanished, Err(Error::StepVanished { .. })), "{vanished:?}");
}

/// A heat that is missing from the books shows relative to the content above the coldest medium.
#[test]
fn books_are_relative_to_the_heat_content() {
    let mut case = fixture::house_wire();
    // Room temperature metal and a plastic barely above the water: judged as if it cooled by ten kelvins.
    for (die, content) in [([90.0, 188.0], [90.0 - 16.0, 188.0 - 16.0]), ([16.0, 16.1], [0.0, 0.1])] {
        for (layer, t) in case.layers.iter_mut().zip(die) {
            layer.temperature = quenchway::case::DieTemperature::Fixed(quenchway::units::Celsius(t));
        }
        case.sections.iter_mut().for_each(|section| section.temperature = quenchway::units::Celsius(16.0));
        let (_, mut run) = march_with(&case, &Settings::rule(0.01)).unwrap();
        let radii = shrink::radii(&case).unwrap().hot;
        let capacity = |index: usize, inner: f64| {
            let material = &case.layers[index].material;
            let rho = material.density.at(case.die_temperature(index));
            0.5 * rho * material.heat_capacity.at(case.die_temperature(index)) * (radii[index].powi(2) - inner * inner)
        };
        let masses = [capacity(0, 0.0), capacity(1, radii[0])];
        let above: f64 = masses.iter().zip(content).map(|(c, kelvin)| c * kelvin).sum();
        let widest = (die[1] - 16.0f64).max(10.0);
        let scale = above.max(0.1 * (masses[0] + masses[1]) * widest);
        let heat = run.slice.heat_index();
        let missing = 0.01 * scale;
        run.state[heat] += missing;
        let [_, _, relative] = books(&case, &run);
        // Of constant heat capacities exact but for rounding.
        assert!((relative + 0.01).abs() < 1e-11, "{die:?}: {relative}");
    }
}

/// Sizes given finished are those of the product that was given hot.
#[test]
fn finished_sizes_are_the_hot_ones_seen_cold() {
    let hot = fixture::house_wire();
    let mut three = hot.clone();
    three.layers.push(fixture::layer("jacket", fixture::pvc(), 5e-3, 180.0));
    let radii = shrink::radii(&three).unwrap();
    let cold = &radii.finished;
    let given = [
        [
            Size::FinishedDiameter(2.0 * cold[0]),
            Size::FinishedWall(cold[1] - cold[0]),
            Size::FinishedDiameter(2.0 * cold[2]),
        ],
        [Size::Wall(radii.hot[0]), Size::FinishedDiameter(2.0 * cold[1]), Size::FinishedWall(cold[2] - cold[1])],
        [Size::FinishedWall(cold[0]), Size::Wall(radii.hot[1] - radii.hot[0]), Size::Diameter(2.0 * radii.hot[2])],
    ];
    for sizes in given {
        for (layer, size) in three.layers.iter_mut().zip(sizes) {
            layer.size = size;
        }
        let again = shrink::radii(&three).unwrap();
        for (a, b) in again.hot.iter().chain(&again.finished).zip(radii.hot.iter().chain(&radii.finished)) {
            // Squares, quotients and roots: rounding only.
            assert!((a / b - 1.0).abs() < 1e-13, "{sizes:?}: {a} {b}");
        }
    }
    // The copper is at one density, the plastic shrinks.
    assert!(cold[2] < 0.98 * radii.hot[2]);
}
