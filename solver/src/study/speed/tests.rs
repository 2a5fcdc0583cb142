//! The fastest speed against closed form, against marches on both sides of it, and where there is none; ranges and levers.
#![allow(clippy::unwrap_used)]

use super::{SpeedError, Speeds, over_passes, over_speeds, top_speed, top_speed_as, with_passes, with_speed};
use crate::case::{CaseFile, DieTemperature, Limit, Plant, Quantity};
use crate::march::march;
use crate::study::band::add_band;
use crate::study::length::{needed_as, with_length};
use crate::study::search::confirm::{Asked, Range};
use crate::study::search::levers::levers;
use crate::units::{Celsius, System};

const RANGE: Asked = Asked { range: true, print: None };

fn case(name: &str) -> CaseFile {
    let path = format!("{}/../cases/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let case = crate::file::read(&std::fs::read_to_string(path).unwrap()).unwrap();
    // What the plant allows is each test's own.
    CaseFile { plant: Plant::default(), ..case }
}

/// Largest excess over any limit.
fn excess(case: &CaseFile) -> f64 {
    let solution = march(case).unwrap();
    let limits = solution.stations.iter().flat_map(|station| &station.limits);
    limits.map(|limit| -limit.margin).fold(f64::NEG_INFINITY, f64::max)
}

fn order(speeds: &Speeds) -> Vec<&str> {
    speeds.ceilings.iter().map(|ceiling| ceiling.ceiling.name.as_str()).collect()
}

/// The same bar as for the length: v = L/(rho c R/(2 h) ln((T0 - Tw)/(T - Tw))).
#[test]
fn a_lumped_body_runs_as_fast_as_the_exponential_allows() {
    let text = r#"
        line.speed = "30 m/min"
        [[layer]]
        name = "bar"
        material = "metal"
        diameter = "2 mm"
        temperature = "120 degC"
        [[section]]
        name = "trough"
        medium = "water"
        length = "3 m"
        temperature = "20 degC"
        film = "1000 W/(m2 K)"
        [[station]]
        name = "end"
        after = "trough"
        core_max = "45 degC"
        [material.metal]
        kind = "metal"
        conductivity = "2000 W/(m K)"
        heat_capacity = "400 J/(kg K)"
        density = "9 g/cm3"
        [solver]
        geometry = "fixed"
    "#;
    let case = crate::file::read(text).unwrap();
    let exact = 3.0 / (1.8 * libm::log(100.0 / 25.0));
    let found = top_speed(&case).unwrap();
    // As for the length: half the Biot number of 5e-4, and the search's width of 1e-4.
    assert!((found.top / exact - 1.0).abs() < 6e-4, "{} for {exact}", found.top);
}

#[test]
fn every_ceiling_is_met_there_and_not_a_little_faster() {
    for name in ["house-wire", "jacket-talc", "multi-pass-wire"] {
        let case = case(name);
        let found = top_speed(&case).unwrap();
        assert!(excess(&with_speed(&case, found.top)) <= 0.0, "{name}");
        assert!(excess(&with_speed(&case, 1.005 * found.top)) > 0.0, "{name} runs faster than {}", found.top);
        assert_eq!(found.ceilings[0].speed, Some(found.top));
        assert!(found.ceilings.windows(2).all(|pair| pair[0].speed <= pair[1].speed), "{:?}", order(&found));
    }
}

#[test]
fn the_lowest_of_all_ceilings_decides() {
    let mut case = case("multi-pass-wire");
    let bare = top_speed(&case).unwrap();
    let compound = bare.solution.throughput[1].kg_per_h / 3600.0;
    // Melt is proportional to the speed: three quarters of it at three quarters of the speed.
    case.plant.compound_max = Some(0.75 * compound);
    case.plant.water_out_max = Some(Celsius(40.0));
    case.plant.chiller_max = Some(1e6);
    let found = top_speed(&case).unwrap();
    assert!((found.top / bare.top - 0.75).abs() < 2e-4, "{} {}", found.top, bare.top);
    assert_eq!(order(&found)[0], "plant.compound_max");
    // Each ceiling's own speed: there its value is the ceiling.
    for ceiling in found.ceilings.iter().filter(|ceiling| !ceiling.open) {
        let at = with_speed(&case, ceiling.speed.unwrap());
        let value = ceiling.ceiling.value(&at, &march(&at).unwrap());
        assert!((value / ceiling.ceiling.max - 1.0).abs() < 1e-3, "{}: {value}", ceiling.ceiling.name);
    }
    assert_eq!(found.ceilings.len(), 5);
    case.plant.chiller_max = Some(2e3);
    let cold = top_speed(&case).unwrap();
    assert_eq!(order(&cold)[0], "plant.chiller_max");
    assert!((cold.solution.chiller_duty / 2e3 - 1.0).abs() < 1e-3);
}

#[test]
fn die_temperatures_follow_the_speed() {
    let mut case = case("house-wire");
    let fixed = top_speed(&case).unwrap();
    // The compound leaves hotter the faster the line: 188 degC only at the speed that was the fastest.
    let table = |factor: f64, temperature: f64| [fixed.top * factor, temperature];
    case.layers[1].temperature = DieTemperature::OfSpeed(vec![table(0.5, 168.0), table(1.0, 188.0), table(1.5, 208.0)]);
    let followed = top_speed(&case).unwrap();
    assert!((followed.top / fixed.top - 1.0).abs() < 1e-3);
    assert!((followed.case.die_temperature(1).0 - 188.0).abs() < 0.05 && followed.beyond_table.is_empty());
    case.layers[1].temperature = DieTemperature::OfSpeed(vec![table(0.3, 178.0), table(0.5, 180.0)]);
    let beyond = top_speed(&case).unwrap();
    assert_eq!(beyond.beyond_table, ["insulation"]);
    assert!(beyond.top > fixed.top);
}

#[test]
fn no_speed_is_said_with_its_reason() {
    let mut case = case("house-wire");
    case.stations[2].limits.push(Limit { quantity: Quantity::Equalised, max: Celsius(15.0) });
    let SpeedError::NoSpeed { worst, ceilings, .. } = top_speed(&case).unwrap_err() else { panic!() };
    assert_eq!((ceilings[worst].ceiling.name.as_str(), ceilings[worst].speed), ("capstan.equalised", None));
    case.stations[2].limits.clear();
    assert!(matches!(top_speed(&case).unwrap_err(), SpeedError::NoCeilings));
    case.plant.compound_max = Some(1e6);
    let error = top_speed(&case).unwrap_err();
    assert!(matches!(error, SpeedError::NoCeilingReached { error: None, .. }), "{error}");
    // A gauge that only a fast line leaves hot enough below its limit: a preheater of constant power overheats a slow one.
    case.layers[0].temperature = DieTemperature::OfSpeed(vec![[1.0, 300.0], [20.0, 20.0]]);
    case.stations[0].limits = vec![Limit { quantity: Quantity::Core, max: Celsius(150.0) }];
    case.stations[2].limits = vec![Limit { quantity: Quantity::Core, max: Celsius(60.0) }];
    let error = top_speed(&case).unwrap_err();
    assert!(matches!(error, SpeedError::NoSpeed { .. }), "{error}");
    assert!(error.to_string().contains("met only at faster speeds"), "{error}");
}

/// At each end the limit is reached with the half width of the band at that very place.
#[test]
fn the_range_is_consistent_with_the_band_at_its_ends() {
    let case = case("house-wire");
    let reached = |case: &CaseFile| {
        let mut solution = march(case).unwrap();
        add_band(case, &mut solution).unwrap();
        let core = solution.band.iter().find(|band| band.station == "capstan" && band.quantity == "core").unwrap();
        [core.low, core.high]
    };
    let length = needed_as(&case, RANGE).unwrap();
    let range = length.range.unwrap();
    let [shorter, longer] = [range.favourable.unwrap(), range.unfavourable.unwrap()];
    assert!(shorter < length.length && length.length < longer, "{range:?}");
    // A thousandth of the length is a few hundredths of a kelvin, solves for bands are good to as much.
    assert!((reached(&with_length(&case, longer).unwrap())[1] - 60.0).abs() < 0.2);
    assert!((reached(&with_length(&case, shorter).unwrap())[0] - 60.0).abs() < 0.2);
    let speed = top_speed_as(&case, RANGE).unwrap();
    let range = speed.range.unwrap();
    let [faster, slower] = [range.favourable.unwrap(), range.unfavourable.unwrap()];
    assert!(slower < speed.top && speed.top < faster, "{range:?}");
    assert!((reached(&with_speed(&case, slower))[1] - 60.0).abs() < 0.2);
    assert!((reached(&with_speed(&case, faster))[0] - 60.0).abs() < 0.2);
    assert_eq!(range.largest, "material.pvc-insulation.conductivity");
    // Water of 16 +- 1 degC: a limit of 16.5 degC for the mixed product is met, but not for the unfavourable end.
    let mut tight = case;
    tight.stations[2].limits = vec![Limit { quantity: Quantity::Equalised, max: Celsius(16.6) }];
    let range = needed_as(&tight, RANGE).unwrap().range.unwrap();
    assert!(range.unfavourable.is_none() && range.favourable.is_some(), "{range:?}");
}

/// The range does not depend on how far from it the case begins: its ends may lie beyond what the answer alone looks at.
#[test]
fn the_range_is_the_same_from_wherever_the_search_begins() {
    let wire = case("house-wire");
    let ends = |range: Range| [range.favourable.unwrap(), range.unfavourable.unwrap()];
    let near = |a: [f64; 2], b: [f64; 2]| a.iter().zip(b).all(|(a, b)| (a / b - 1.0).abs() < 5e-3);
    let speeds: Vec<[f64; 2]> = [100.0, 138.5, 158.0, 194.0]
        .iter()
        .map(|speed| ends(top_speed_as(&with_speed(&wire, speed / 60.0), RANGE).unwrap().range.unwrap()))
        .collect();
    assert!(speeds.iter().all(|&these| near(these, speeds[0])), "{speeds:?}");
    let lengths: Vec<[f64; 2]> = [14.0, 19.0, 27.0]
        .iter()
        .map(|&length| ends(needed_as(&with_length(&wire, length).unwrap(), RANGE).unwrap().range.unwrap()))
        .collect();
    assert!(lengths.iter().all(|&these| near(these, lengths[0])), "{lengths:?}");
}

#[test]
fn more_passes_run_faster() {
    let case = case("multi-pass-wire");
    let tops: Vec<f64> =
        over_passes(&case, &[6, 7, 8], Asked::default()).into_iter().map(|answer| answer.unwrap().top).collect();
    assert!(tops[0] < tops[1] && tops[1] < tops[2], "{tops:?}");
    assert_eq!(tops[1], top_speed(&case).unwrap().top);
    let wire = self::case("house-wire");
    assert!(matches!(with_passes(&wire, 2).unwrap_err(), SpeedError::NoTurn { .. }));
    assert_eq!(with_passes(&wire, 1).unwrap().sections[1].passes, 1);
    assert!(matches!(with_passes(&self::case("thick-pe-core"), 2).unwrap_err(), SpeedError::Passes(_)));
}

#[test]
fn length_and_speed_are_two_answers_to_one_question() {
    let case = case("house-wire");
    let speeds = [2.0, 2.5, 4.0];
    let lengths = over_speeds(&case, &speeds, Asked::default());
    assert_eq!(lengths.speeds, speeds);
    for (speed, answer) in speeds.into_iter().zip(lengths.answers) {
        let needed = answer.unwrap();
        let back = top_speed(&with_length(&case, needed.length).unwrap()).unwrap();
        assert!((back.top / speed - 1.0).abs() < 1e-3, "{} for {speed}", back.top);
    }
}

/// Each lever that does is the least change that does; the slower line is the fastest speed.
#[test]
fn levers_are_tried_on_the_case() {
    let case = case("house-wire");
    let found = levers(&case, System::Si);
    let lever = |words: &str| found.iter().find(|lever| lever.words == words).unwrap();
    let slower = lever("a slower line");
    let top = top_speed(&case).unwrap().top;
    // The share of the way is enclosed to a hundredth: 1.4 % of the speed.
    assert!(slower.meets && slower.to <= top * 1.001 && slower.to > 0.985 * top, "{} {top}", slower.to);
    let colder = lever("colder water");
    assert_eq!((colder.paths.as_slice(), colder.from), (&["section.trough.temperature".to_string()][..], 16.0));
    let with_water = |temperature: f64| {
        let mut case = case.clone();
        case.sections[1].temperature = Celsius(temperature);
        excess(&case)
    };
    assert!(colder.meets && with_water(colder.to) <= 0.05 && with_water(colder.to + 0.3) > 0.0, "{colder:?}");
    // What is printed does: not less of it than was found, and all limits met by a careful march.
    for system in [System::Si, System::Us] {
        let colder = levers(&case, system).into_iter().find(|lever| lever.words == "colder water").unwrap();
        let printed = colder.variable.parse_value(&colder.printed).unwrap();
        assert!(printed <= colder.to && printed > colder.to - 0.1 * (16.0 - colder.to), "{colder:?}");
        assert!(with_water(printed) <= 0.0, "{colder:?}");
    }
    let cooler = lever("a cooler conductor at the die");
    assert!(cooler.meets && cooler.to < 90.0 && cooler.to > 20.0);
    assert!(levers(&with_speed(&case, 1.0), System::Si).iter().all(|lever| lever.meets));
}
