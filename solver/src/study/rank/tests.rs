//! Ranks against differences worked by hand, and what is left out or told.

#![allow(clippy::unwrap_used)]

use super::*;
use crate::march::solution::LimitedBy;
use crate::names::key_path::KeyPath;
use crate::study::length::needed;

const HOUSE_WIRE: &str = include_str!("../../../../cases/house-wire.toml");

fn house_wire() -> CaseFile {
    crate::file::read(HOUSE_WIRE).unwrap()
}

fn of<'a>(effects: &'a [Effect], path: &str) -> &'a Effect {
    effects.iter().find(|effect| effect.input == path).unwrap_or_else(|| panic!("{path} is not ranked"))
}

#[test]
fn effects_are_the_differences_of_two_runs() {
    let case = house_wire();
    let rank = rank(&case).unwrap();
    assert_eq!((rank.targets.len(), rank.deciding), (2, 1));
    let core = |path: &str, value: f64| {
        let mut case = case.clone();
        KeyPath::find(&case, path).unwrap().move_to(&mut case, value).unwrap();
        (march_by_rule(&case).unwrap().stations[2].point.core, needed(&case).unwrap().length)
    };
    let (low, high) = (core("line.speed", 2.25), core("line.speed", 2.75));
    let speed = of(&rank.numbers, "line.speed");
    assert_eq!(speed.changes[1], 0.5 * (high.0 - low.0));
    // Confirmed lengths are met with care, these by a line between two searches: both to a ten thousandth of 20 m.
    assert!((speed.length.unwrap() - 0.5 * (high.1 - low.1)).abs() < 6e-3, "{:?} {low:?} {high:?}", speed.length);
    let water = of(&rank.numbers, "section.trough.temperature");
    let (low, high) = (core("section.trough.temperature", 6.0), core("section.trough.temperature", 26.0));
    assert_eq!(water.changes[1], 0.5 * (high.0 - low.0));
    assert!((rank.length.clone().unwrap() - needed(&case).unwrap().length).abs() < 6e-3);
}

#[test]
fn elasticities_are_relative_changes() {
    let rank = rank(&house_wire()).unwrap();
    let core = rank.targets[1].value - 16.0;
    assert_eq!(rank.coldest, 16.0);
    let speed = of(&rank.numbers, "line.speed");
    assert!((speed.elasticity[1].unwrap() - speed.changes[1] / core / 0.1).abs() < 1e-12);
    // Diffusion knows time and wall only by t/w^2, so that all three pull together; the sign of each is known.
    for (path, sign) in [
        ("line.speed", 1.0),
        ("section.trough.length", -1.0),
        ("layer.insulation.diameter", 1.0),
        ("layer.insulation.temperature", 1.0),
        ("material.pvc-insulation.conductivity", -1.0),
        ("material.copper.heat_capacity", 1.0),
    ] {
        assert!(of(&rank.numbers, path).elasticity[1].unwrap() * sign > 0.1, "{path}");
    }
    // The coldest medium has no temperature above itself.
    assert_eq!(of(&rank.numbers, "section.trough.temperature").elasticity[1], None);
}

#[test]
fn a_product_of_factors_has_elasticities_that_agree() {
    // Stretching every length and the speed by one factor changes nothing but the time per length of a film law; with given
    // films nothing at all: the elasticities of speed and lengths sum to zero.
    let case = crate::file::read(include_str!("../../../../cases/house-wire-given-films.toml")).unwrap();
    let rank = rank(&case).unwrap();
    // A given coefficient is ranked, not its factor beside it, and counts as the film.
    assert!(rank.film_and_plastic[0] < -0.1, "{:?}", rank.film_and_plastic);
    let mut sum = of(&rank.numbers, "line.speed").elasticity[rank.deciding].unwrap();
    let scale = sum;
    for section in &case.sections {
        let path = format!("section.{}.length", key(&section.name));
        sum += of(&rank.numbers, &path).elasticity[rank.deciding].unwrap();
    }
    // Central differences over ten percent each way: second-order remainders of a tenth squared.
    assert!(sum.abs() < 0.03 * scale, "{sum} of {scale}");
}

#[test]
fn the_plastic_limits_the_house_wire() {
    let rank = rank(&house_wire()).unwrap();
    let [film, plastic] = rank.film_and_plastic;
    let cooling = rank.cooling.as_ref().unwrap();
    assert!(matches!(cooling.now.limited_by, LimitedBy::Plastic | LimitedBy::MostlyPlastic), "{cooling:?}");
    assert_eq!(cooling.temperature, rank.targets[rank.deciding].name);
    assert!(film < 0.0 && plastic < 5.0 * film, "{film} {plastic}");
    assert!(rank.numbers.windows(2).all(|pair| pair[0].changes[1].abs() >= pair[1].changes[1].abs()));
    assert!(rank.usual && of(&rank.uncertain, "material.pvc-insulation.conductivity").changes[1] < -3.0);
    let paths =
        ["solver.tolerance", "layer.insulation.contact", "station.capstan.core_max", "material.copper.set_temperature"];
    assert!(paths.iter().all(|path| rank.numbers.iter().all(|effect| effect.input != *path)));
}

#[test]
fn an_end_without_an_answer_leaves_the_other() {
    // 10 % off the outer diameter leaves no wall.
    let text = HOUSE_WIRE.replace("diameter = \"3.42 mm\"", "diameter = \"1.9 mm\"");
    let case = crate::file::read(&text).unwrap();
    let rank = rank(&case).unwrap();
    let outer = of(&rank.numbers, "layer.insulation.diameter");
    assert!(outer.failed.as_ref().unwrap().contains("no wall"));
    let mut wider = case.clone();
    KeyPath::find(&case, "layer.insulation.diameter").unwrap().move_to(&mut wider, 1.1 * 1.9e-3).unwrap();
    let [here, there] = [&case, &wider].map(|case| march_by_rule(case).unwrap().stations[2].point.core);
    assert!((outer.changes[1] - (there - here)).abs() < 1e-9);
}

#[test]
fn without_limits_surface_and_core_are_ranked_and_no_length() {
    let text: String =
        HOUSE_WIRE.lines().filter(|line| !line.contains("_max")).map(|line| format!("{line}\n")).collect();
    let rank = rank(&crate::file::read(&text).unwrap()).unwrap();
    let names: Vec<&str> = rank.targets.iter().map(|target| target.name.as_str()).collect();
    assert_eq!(names, ["capstan.surface", "capstan.core"]);
    assert!(rank.length.unwrap_err().contains("limit"));
    assert!(rank.numbers.iter().all(|effect| effect.length.is_none()));
    let mut nowhere = house_wire();
    nowhere.stations.clear();
    assert_eq!(super::rank(&nowhere).unwrap_err(), RankError::NoStations);
}

#[test]
fn a_limit_on_the_melt_under_the_skin_is_ranked() {
    let mut case = crate::file::read(include_str!("../../../../cases/thick-pe-core.toml")).unwrap();
    case.sections[1].temperature = crate::units::Celsius(90.0);
    case.plant.adjustable = vec![1];
    let melt = |case: &CaseFile| march_by_rule(case).unwrap().skins[0].melt_shrink.unwrap();
    case.layers[1].melt_shrink_max = Some(melt(&case) + 0.1);
    let found = rank(&case).unwrap();
    let target = &found.targets[found.deciding];
    assert_eq!((target.name.as_str(), target.dimension), ("insulation.melt_shrink", Dimension::Share));
    let at = |factor: f64| {
        let mut line = case.clone();
        line.line_speed *= factor;
        melt(&line)
    };
    let speed = of(&found.numbers, "line.speed");
    let by_hand = 0.5 * (at(1.1) - at(0.9));
    assert!((speed.changes[found.deciding] / by_hand - 1.0).abs() < 1e-9, "{by_hand}");
    // The trough that the limits need is that of this one.
    let length = found.length.clone().unwrap();
    assert!((length / needed(&case).unwrap().length - 1.0).abs() < 0.01, "{length}");
    let told = serde_json::to_value(target).unwrap();
    assert!(told["value_percent"].as_f64() == Some(target.value) && told.get("value_degC").is_none(), "{told}");
}
