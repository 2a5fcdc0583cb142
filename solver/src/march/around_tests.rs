//! Water that does not touch all round against solutions in radius and angle, and against what its own limits say.

use std::fmt::Write;

use serde_json::Value;

use crate::case::{Case, CaseFile};
use crate::case::error::Error;
use crate::march::{self, march_by_rule};

const FIGURES: &str = include_str!("../../../tests/reference/circumference.json");

/// One of the forty cases as a case file: a metre a second, so that lengths are times.
fn case(figures: &Value) -> CaseFile {
    let mut text = "line.speed = \"1 m/s\"\nsolver.geometry = \"fixed\"\n".to_string();
    let mut materials = String::new();
    let number = |value: &Value| value.as_f64().unwrap();
    for (index, layer) in figures["layers"].as_array().unwrap().iter().enumerate() {
        let [radius, conductivity, capacity, temperature] = [0, 1, 2, 3].map(|place| number(&layer[place]));
        write!(text, "[[layer]]\nname = \"{index}\"\nmaterial = \"m{index}\"\ndiameter = \"{} m\"\ntemperature = \"{temperature} degC\"\n", 2.0 * radius).unwrap();
        if index == 0 && number(&figures["bore_radius"]) > 0.0 {
            writeln!(text, "bore = \"{} m\"", 2.0 * number(&figures["bore_radius"])).unwrap();
        }
        match layer[4].as_f64() {
            Some(contact) => writeln!(text, "contact = \"{contact} W/(m2 K)\"").unwrap(),
            None if index > 0 => text.push_str("contact = \"perfect\"\n"),
            None => {}
        }
        let kind = if conductivity > 100.0 { "metal" } else { "plastic" };
        write!(materials, "[material.m{index}]\nkind = \"{kind}\"\nconductivity = \"{conductivity} W/(m K)\"\nheat_capacity = \"{} J/(kg K)\"\ndensity = \"1000 kg/m3\"\nrange = [\"0 degC\", \"300 degC\"]\n", capacity / 1000.0).unwrap();
    }
    for (name, medium) in [("air", "air"), ("water", "water"), ("dry", "air")] {
        let [film, temperature, time] = [0, 1, 2].map(|place| number(&figures[name][place]));
        let film = if medium == "water" { number(&figures["film"]) } else { film };
        write!(text, "[[section]]\nname = \"{name}\"\nmedium = \"{medium}\"\nlength = \"{time} m\"\ntemperature = \"{temperature} degC\"\nfilm = \"{film} W/(m2 K)\"\n").unwrap();
        if medium == "water" {
            if let Some(part) = figures["wetted"].as_f64() {
                write!(text, "wetted = {part}\ndry_film = \"10 W/(m2 K)\"\n").unwrap();
            } else if figures["poured"] == Value::Bool(true) {
                text.push_str("poured = true\ndry_film = \"10 W/(m2 K)\"\n");
            } else if let Some(ratio) = figures["one_sided"].as_f64() {
                writeln!(text, "one_sided = {ratio}").unwrap();
            }
        }
    }
    text.push_str(
        "[[station]]\nname = \"exit\"\nafter = \"water\"\n[[station]]\nname = \"capstan\"\nafter = \"dry\"\n",
    );
    crate::file::read(&(text + &materials)).unwrap_or_else(|problems| panic!("{problems:?}"))
}

/// The worst of a number's differences on either side.
fn widen(span: &mut [f64; 2], difference: f64) {
    *span = [span[0].min(difference), span[1].max(difference)];
}

/// The rule against two dimensions, and the engine against the same rule marched by another program.
///
/// The bounds are those the rule was accepted with: it is fitted, so that its errors are known and not small. The last but one
/// is what other segments of time do to that program; its hot side waits for 1 K of them.
#[test]
fn the_rule_stays_near_solutions_in_radius_and_angle() {
    let figures: Value = serde_json::from_str(FIGURES).unwrap();
    let [mut core, mut surface, mut equalised, mut hot] = [[0.0; 2]; 4];
    let (mut engine, mut hot_engine) = ([0.0; 2], [0.0; 2]);
    let mut count = 0;
    for figures in figures["cases"].as_array().unwrap() {
        let (case, name) = (case(figures), format!("{} {}", figures["product"], figures["pattern"]));
        let solution = march_by_rule(&case).unwrap_or_else(|error| panic!("{name}: {error}"));
        let [exit, capstan] = [0, 1].map(|station| &solution.stations[station].point);
        let two_d = |place: &str, what: &str| figures["two_d"][place][what].as_f64().unwrap();
        widen(&mut core, capstan.core - two_d("capstan", "core"));
        widen(&mut surface, capstan.surface - two_d("capstan", "surface"));
        widen(&mut equalised, capstan.equalised - two_d("capstan", "equal"));
        let rule = &figures["rule"];
        for (what, value) in [("core", capstan.core), ("surface", capstan.surface), ("equal", capstan.equalised)] {
            let difference = value - rule["capstan"][what].as_f64().unwrap();
            println!("{name}: {what} {difference:.3}");
            widen(&mut engine, difference);
        }
        let hot_side = exit.hot_side.unwrap_or(exit.surface);
        assert_eq!(exit.hot_side.is_some(), case.is_uneven(), "{name}");
        widen(&mut hot, hot_side - two_d("exit", "s_hot"));
        let difference = hot_side - rule["hot_side_exit"].as_f64().unwrap();
        println!("{name}: hot side {difference:.3}, from 2-D {:.3}", hot_side - two_d("exit", "s_hot"));
        widen(&mut hot_engine, difference);
        count += 1;
    }
    println!("core {core:?} surface {surface:?} equalised {equalised:?} hot {hot:?} engine {engine:?} {hot_engine:?}");
    assert_eq!(count, 40);
    for span in [core, surface, equalised] {
        assert!(span[0] >= -5.0 && span[1] <= 5.0, "{span:?}");
    }
    assert!(hot[0] >= -5.0 && hot[1] <= 10.0, "{hot:?}");
    assert!(engine.iter().all(|difference| difference.abs() <= 0.2), "{engine:?} from the rule's");
    assert!(hot_engine.iter().all(|difference| difference.abs() <= 1.5), "{hot_engine:?} from the rule's");
}

fn numbers(case: &Case) -> Vec<u64> {
    let solution = march_by_rule(case).unwrap();
    let points =
        solution.stations.iter().map(|station| &station.point).chain(solution.sections.iter().map(|s| &s.exit));
    points.flat_map(|point| point.temperatures()).map(f64::to_bits).collect()
}

/// What is all round by its key is all round, to the last bit; one that turns has the mean film.
#[test]
fn all_round_by_its_key_is_all_round_to_the_last_bit() {
    let text = include_str!("../../../cases/house-wire.toml");
    let with = |keys: &str| {
        let text = text.replace("medium = \"water\"", &format!("medium = \"water\"\n{keys}"));
        crate::file::read(&text).unwrap()
    };
    let plain = numbers(&with(""));
    for keys in ["wetted = 1", "one_sided = 1", "one_sided = 4\nturning = true", "poured = false", "turning = true"] {
        assert_eq!(numbers(&with(keys)), plain, "{keys}");
    }
    assert_ne!(numbers(&with("one_sided = 1.01")), plain);
    // Half wet and turning: the mean of a film and of none to speak of.
    let half =
        march_by_rule(&with("film = \"3000 W/(m2 K)\"\nwetted = 0.5\ndry_film = \"10 W/(m2 K)\"\nturning = true"));
    let mean = march_by_rule(&with("film = \"1505 W/(m2 K)\""));
    let [half, mean] = [half.unwrap(), mean.unwrap()].map(|solution| solution.stations[2].point.core);
    // One is solved with the slopes of a given film, the other with differences of it.
    assert!((half - mean).abs() < 1e-3, "{half} {mean}");
}

/// A flat product has no circumference; the reader says so, and the march where a case was made by hand.
#[test]
fn a_flat_product_is_refused() {
    let mut flat = crate::file::read(include_str!("../../../cases/flat-slab.toml")).unwrap();
    flat.sections[0].wetting.pattern = crate::film::Pattern::Part(0.5);
    assert!(matches!(march_by_rule(&flat), Err(Error::Unphysical { reason, .. }) if reason.contains("circumference")));
}

/// The hot side within the tolerance asked for, as every reported temperature; nothing moves much with the accuracy.
#[test]
fn the_hot_side_is_as_exact_as_was_asked_for() {
    let figures: Value = serde_json::from_str(FIGURES).unwrap();
    let all = figures["cases"].as_array().unwrap();
    for figures in [&all[1], &all[5], &all[11], &all[34]] {
        let case = case(figures);
        let solution = march::march(&case).unwrap();
        assert!(solution.numerics.tolerance_met(), "{:?}", solution.warnings);
        let tight = march::march(&case.to(0.001)).unwrap();
        let [found, exact] = [&solution, &tight].map(|solution| solution.stations[0].point.hot_side.unwrap());
        assert!((found - exact).abs() <= solution.numerics.error, "{found} {exact} {}", solution.numerics.error);
    }
}
