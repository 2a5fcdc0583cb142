//! What a run says about itself: laws estimated, from memory, outside their range; temperatures outside the hull; which
//! sections count as water.

use quenchway::case::warning::Warning;
use quenchway::case::{Case, Medium};
use quenchway::film::RangeQuantity;
use quenchway::march::solution::Solution;
use quenchway::march::warnings;
use quenchway::march::{march, march_by_rule};
use quenchway::units::System;

use crate::fixture;

/// The house wire's layers at a speed on a line of these sections.
fn case(speed: &str, sections: &[&str]) -> Case {
    let layers = r#"
        [[layer]]
        name = "conductor"
        material = "copper"
        diameter = "1.78 mm"
        temperature = "90 degC"
        [[layer]]
        name = "insulation"
        material = "pvc-insulation"
        diameter = "3.42 mm"
        temperature = "188 degC"
        contact = "perfect"
    "#;
    let sections: String = sections.iter().map(|section| format!("[[section]]\n{section}\n")).collect();
    let text = format!("[line]\nspeed = \"{speed}\"\n{layers}\n{sections}");
    quenchway::file::read(&text).unwrap_or_else(|problems| panic!("{problems:?}")).case
}

const GAP: &str = "name = \"gap\"\nmedium = \"air\"\nlength = \"0.4 m\"\ntemperature = \"28 degC\"";
const JETS: &str = "name = \"jets\"\nmedium = \"spray\"\nlength = \"12 m\"\ntemperature = \"16 degC\"";
const WIPE: &str =
    "name = \"wipe\"\nmedium = \"air\"\nlength = \"0.2 m\"\ntemperature = \"28 degC\"\nlaw = \"cross-air\"";
const DRY: &str = "name = \"dry\"\nmedium = \"air\"\nlength = \"3 m\"\ntemperature = \"28 degC\"";
/// So long that the layer along the wire was not looked at that far.
const LONG: &str = "name = \"dry\"\nmedium = \"air\"\nlength = \"60 m\"\ntemperature = \"28 degC\"";

fn outside(solution: &Solution) -> Vec<(&str, RangeQuantity, f64)> {
    let told = |warning| match warning {
        &Warning::FilmOutsideRange { ref section, quantity, value, .. } => Some((section.as_str(), quantity, value)),
        _ => None,
    };
    solution.warnings.iter().filter_map(told).collect()
}

#[test]
fn jets_within_their_range_are_only_estimated_and_from_memory() {
    let jets = format!("{JETS}\nwater_flux = \"4 L/(m2 s)\"\nwetted = 1");
    let wipe = format!("{WIPE}\nvelocity = \"20 m/s\"");
    let solution = march(&case("150 m/min", &[GAP, &jets, &wipe, DRY])).unwrap();
    assert_eq!(outside(&solution), []);
    let kinds = |place: &str| -> Vec<&str> {
        solution.warnings.iter().filter(|warning| warning.place() == place).map(Warning::kind).collect()
    };
    assert_eq!(kinds("section.jets"), ["film_estimated", "film_from_memory"]);
    assert_eq!(kinds("section.wipe"), ["film_estimated"]);
    // 20.344 k/D (G D/mu)^0.659 with water at a film temperature between 16 and 60 degC.
    assert!((10_000.0..20_000.0).contains(&solution.sections[1].film_mean), "{}", solution.sections[1].film_mean);
}

#[test]
fn a_law_outside_its_range_is_told_with_the_value_met() {
    let jets = format!("{JETS}\nwater_flux = \"0.5 L/(m2 s)\"");
    let solution = march(&case("900 m/min", &[GAP, &jets, LONG])).unwrap();
    let found = outside(&solution);
    let [("jets", RangeQuantity::ReynoldsSpray, spray), ("dry", RangeQuantity::LengthOverRadius, along)] = found[..]
    else {
        panic!("{found:?}")
    };
    // 0.5 kg/(m2 s) times 20 mm over the 9e-4 Pa s of water at 25 degC, the coldest film met.
    assert!((10.0..13.0).contains(&spray), "{spray}");
    // 60 m over 1.71 mm. In the gap, 0.4 m, it stays below 30,000.
    assert!((along - 60.0 / 1.71e-3).abs() < 1.0, "{along}");
}

#[test]
fn a_run_by_rule_looks_at_the_ends_of_its_sections() {
    let solution = march_by_rule(&case("900 m/min", &[GAP, LONG])).unwrap();
    let found = outside(&solution);
    let [("dry", RangeQuantity::LengthOverRadius, value)] = found[..] else { panic!("{found:?}") };
    assert!((value - 60.0 / 1.71e-3).abs() < 1.0, "{value}");
}

#[test]
fn a_spray_is_water_in_every_respect() {
    let jets = format!("{JETS}\nwater_flux = \"4 L/(m2 s)\"");
    let spray = case("150 m/min", &[GAP, &jets, DRY]);
    assert!(Medium::Spray.is_water());
    assert_eq!(spray.sections[1].emissivity, 0.0);
    let solution = march(&spray).unwrap();
    let mut water = spray.clone();
    water.sections[1].medium = Medium::Water;
    let other = march(&water).unwrap();
    // The same film under either name: the same rebound behind it, the same limit, the same heat.
    assert!(solution.rebound > 1.0);
    assert_eq!(solution.rebound.to_bits(), other.rebound.to_bits());
    assert_eq!(solution.sections[1].heat.to_bits(), other.sections[1].heat.to_bits());
    // Cut off behind the gap the last water is gone, and with it the rebound.
    assert_eq!(march(&case("150 m/min", &[GAP, DRY])).unwrap().rebound, 0.0);
}

#[test]
fn a_reported_temperature_outside_the_hull_is_unresolved() {
    let house = fixture::house_wire();
    let solution = fixture::solution(&house);
    let kinds: Vec<&str> = solution.warnings.iter().map(Warning::kind).collect();
    assert!(!kinds.contains(&"unresolved"), "{kinds:?}");
    let error = solution.numerics.error;
    let look = |beyond: f64| {
        let mut stations = solution.stations.clone();
        // Below the trough's 16 degC.
        stations[1].point.core = 16.0 - beyond;
        warnings::resolution(&house, &stations, &solution.sections, error)
    };
    assert_eq!(look(0.9 * error), None);
    let warning = look(2.0 * error).unwrap();
    assert_eq!(warning.place(), "station.capstan");
    let Warning::Unresolved { reached, hull, .. } = warning else { panic!("{warning:?}") };
    assert_eq!((reached, hull), (16.0 - 2.0 * error, [16.0, 188.0]));
}

#[test]
fn ranges_read_as_ranges_in_either_system() {
    let warning = |quantity, value, range| Warning::FilmOutsideRange {
        section: "jets".to_string(),
        law: "spray",
        quantity,
        value,
        range,
    };
    let reynolds = warning(RangeQuantity::ReynoldsAlong, 1.94e6, [0.0, 5e5]).message(System::Si);
    assert!(reynolds.contains("Reynolds number on the distance 1.9e6. It holds up to 5e5."), "{reynolds}");
    let spray = warning(RangeQuantity::ReynoldsSpray, 17.2, [65.0, 285.0]).message(System::Si);
    assert!(spray.contains("spray Reynolds number 17. It holds from 65 to 285."), "{spray}");
    let open = warning(RangeQuantity::PecletAcross, 0.05, [0.2, f64::INFINITY]).message(System::Si);
    assert!(open.contains(" 5e-2. It holds from 0.2 on."), "{open}");
    let film = warning(RangeQuantity::FilmTemperature, 120.0, [0.0, 100.0]).message(System::Us);
    assert!(film.contains("film temperature 248 degF. It holds from 32 degF to 212 degF."), "{film}");
}

/// Of a case the warnings of its trough that tell what decides the film.
fn decides(case: &Case) -> Vec<Warning> {
    let solution = march(case).unwrap();
    let of = |warning: &&Warning| {
        warning.section() == Some("trough")
            && matches!(warning.kind(), "film_transition" | "stirring_decides" | "air_may_be_dragged_in")
    };
    solution.warnings.iter().filter(of).cloned().collect()
}

#[test]
fn what_decides_a_film_and_is_not_in_its_law_is_told() {
    let trough = |more: &str| {
        format!("name = \"trough\"\nmedium = \"water\"\nlength = \"10 m\"\ntemperature = \"18 degC\"\n{more}")
    };
    let at = |speed: f64, diameter: f64, more: &str| {
        let mut case = case("150 m/min", &[GAP, &trough(more)]);
        case.line_speed = speed;
        case.layers[0].size = quenchway::case::Size::Diameter(0.52 * diameter);
        case.layers[1].size = quenchway::case::Size::Diameter(diameter);
        case
    };
    // The house wire: nothing of all that.
    assert_eq!(decides(&at(2.5, 3.42e-3, "")), []);
    // 25 mm at 0.2 m/s: water that moves at 0.1 m/s across takes more than the law at rest, but where the case says how it moves.
    let [Warning::StirringDecides { film, stirred, .. }] = decides(&at(0.2, 25e-3, ""))[..] else { panic!("25 mm") };
    assert!(film < 1000.0 && stirred > 1.3 * film && stirred < 2500.0, "{film} {stirred}");
    assert_eq!(decides(&at(0.2, 25e-3, "stirred = \"0.1 m/s\"")), []);
    // 0.9 mm at 1 m/s, Re_a 450: between the layers for most of the trough.
    let thin = decides(&at(0.9, 0.9e-3, ""));
    let Some(Warning::FilmTransition { laminar, turbulent, .. }) = thin.first() else { panic!("{thin:?}") };
    assert!(3.0 * laminar < *turbulent, "{laminar} {turbulent}");
    // 0.93 mm at 12 m/s.
    let [Warning::AirMayBeDraggedIn { speed, .. }] = decides(&at(12.0, 0.93e-3, ""))[..] else { panic!("12 m/s") };
    assert_eq!(speed, 12.0);
    assert_eq!(decides(&at(12.0, 0.93e-3, "film = \"8000 W/(m2 K)\"")), []);
}

#[test]
fn the_film_that_is_estimated_is_told_with_its_band() {
    let trough = "name = \"trough\"\nmedium = \"water\"\nlength = \"18 m\"\ntemperature = \"16 degC\"";
    let solution = march(&case("150 m/min", &[GAP, trough, DRY])).unwrap();
    let of = |warning: &Warning| match warning {
        Warning::FilmEstimated { section, means, .. } if section == "trough" => *means,
        _ => None,
    };
    let [film, low, high] = solution.warnings.iter().find_map(of).unwrap();
    assert!(0.6 * film < low && low < 0.9 * film && 1.2 * film < high && high < 1.8 * film, "{low} {film} {high}");
    // The mean of the table of sections.
    let mean = solution.sections[1].film_mean;
    assert!((film / mean - 1.0).abs() < 1e-12, "{film} {mean}");
}
