#![allow(clippy::unwrap_used)]

use proptest::prelude::*;

use super::*;
use crate::case::warning::Warning;
use crate::case::{
    Aim, Circulation, Contact, Contraction, DieTemperature, Direction, Flow, Medium, Plant, Quantity, Rest, Size,
};
use crate::file::resolved::resolved;
use crate::film::{Film, Inputs};
use crate::material::{Hazard, Kind, Uncertainty};
use crate::units::Celsius;

const MATERIALS: &str = r#"
[material.cu]
kind = "metal"
conductivity = "390 W/(m K)"
heat_capacity = "0.386 kJ/(kg K)"
density = "8.93 g/cm3"

["material"."soft pvc \"A\""]
kind = "plastic"
conductivity = [["0 degC", "0.165 W/(m K)"], ["200 degC", "0.17 W/(m K)"]]
heat_capacity = { points = [["20 degC", "1300 J/(kg K)"], ["85 degC", "1700 J/(kg K)"]], source = "own trial", status = "read", doubt = "one batch" }
density = [["0 degC", "1400 kg/m3"], ["75 degC", "1374 kg/m3"], ["150 degC", "1320 kg/m3"], ["220 degC", "1270 kg/m3"]]
set_temperature = { points = "80 degC", source = "own trial", status = "memory" }
hazards = ["hydrogen chloride"]
melt = { points = ["170 degC", "195 degC"], source = "data sheet" }
uncertainty = { heat_capacity = 0.07, density = 0, source = "three batches", status = "derived", doubt = "few" }
"#;

/// All that may be left out is left out.
const MINIMAL: &str = r#"
[line]
speed = "150 m/min"
[[layer]]
name = "wire"
material = "cu"
area = "2.5 mm2"
[[layer]]
name = "insulation"
material = "soft pvc \"A\""
diameter = "3.42 mm"
temperature = "188 degC"
[[section]]
name = "air gap"
medium = "air"
length = "40 cm"
temperature = "28 degC"
[[section]]
name = "trough"
medium = "water"
length = "18 m"
temperature = "61 degF"
"#;

/// Water that does not touch all round, and the keys of a line over time.
const UNEVEN_IN_TIME: &str = r#"
[line]
speed = "150 m/min"
starts_at = "20 m/min"
starts_empty = true
crosshead = "0.6 m"
[[line.change]]
name = "ramp"
to = "140 m/min"
within = "30 s"
hold = "10 s"
[[line.change]]
name = "the rest"
to = "150 m/min"
rate = "2 %/s"
[[layer]]
name = "wire"
material = "cu"
diameter = "2 mm"
temperature = "90 degC"
[[layer]]
name = "insulation"
material = "soft pvc \"A\""
diameter = "3.42 mm"
temperature = "188 degC"
contact = "perfect"
output = { lag = "4 s" }
head_volume = "0.5 L"
residence_max = "8 min"
[[section]]
name = "half"
medium = "water"
length = "2 m"
temperature = "16 degC"
film = "3000 W/(m2 K)"
film_exponent = 0.5
film_floor = "300 W/(m2 K)"
wetted = 0.5
turning = true
dry_film = "20 W/(m2 K)"
time_max = "60 s"
[[section]]
name = "streams"
medium = "water"
length = "2 m"
temperature = "16 degC"
poured = true
[[section]]
name = "one side"
medium = "water"
length = "2 m"
temperature = "16 degC"
stirred = "0.1 m/s"
film_lean = -1
one_sided = 3
[[station]]
name = "capstan"
after = "one side"
offset = "-1.8 m"
contact = "1.5 m"
diameter_min = "3.3 mm"
diameter_max = "3.5 mm"
"#;

/// A programme with a change of reel before an accumulator.
const REELS: &str = include_str!("../../../cases/drive/house-wire-reel-change.toml");

/// Every key and every form of value.
const FULL: &str = r#"
title = "all \"keys\" é"
units = "us"
[line]
speed = "492 ft/min"
[[layer]]
name = "core"
material = "soft pvc \"A\""
bore = "1.1 mm"
finished_wall = "0.8 mm"
temperature = { speed = [["100 m/min", "186 degC"], ["300 m/min", "194 degC"]] }
conductivity_factor = 1.1
heat_capacity_factor = 0.95
[[layer]]
name = "screen"
material = "cu"
wall = "5 mil"
temperature = "313.15 K"
contact = "tubed"
contraction = "free"
[[layer]]
name = "outer skin"
material = "soft pvc \"A\""
finished_diameter = "5.7 mm"
temperature = "374 degF"
contact = "88 BTU/(h ft2 degF)"
poisson_ratio = 0.48
melt_shrink_max = "10 %"
[[section]]
name = "air gap"
medium = "air"
length = "0.4 m"
temperature = "28 degC"
film = { surface = [["20 degC", "8 W/(m2 K)"], ["200 degC", "18 W/(m2 K)"]] }
emissivity = 0.9
film_factor = 1.2
[[section]]
name = "trough"
medium = "water"
length = "18 m"
temperature = "16 degC"
film = { distance = [["0 m", "3800 W/(m2 K)"], ["1 m", "2800 W/(m2 K)"], ["2 m", "1800 W/(m2 K)"], ["4 m", "1500 W/(m2 K)"]] }
[[section]]
name = "wipe"
medium = "air"
length = "2 ft"
temperature = "28 degC"
film = "25 W/(m2 K)"
[[section]]
name = "jets"
medium = "spray"
length = "2 m"
temperature = "16 degC"
water_flux = "0.5 gpm/ft2"
wetted = 1
[[section]]
name = "fan"
medium = "air"
length = "0.5 m"
temperature = "28 degC"
law = "cross-air"
velocity = "20 m/s"
[[section]]
name = "to capstan"
medium = "air"
length = "1.5 m"
temperature = "28 degC"
[[station]]
name = "hot gauge"
after = "air gap"
offset = "-0.4 m"
[[station]]
name = "capstan"
after = "to capstan"
surface_max = "45 degC"
core_max = "60 degC"
mean_max = "59 degC"
hottest_max = "70 degC"
equalised_max = "318 K"
layer_max = { "outer skin" = "60 degC", core = "176 degF" }
[band]
"layer.\"outer skin\".temperature" = "5.4 delta degF"
section.trough.film_factor = 0.35
[vary]
"line.speed" = { triangular = ["400 ft/min", "492 ft/min", "3 m/s"] }
"layer.\"outer skin\".temperature" = { normal = ["374 degF", "5.4 delta degF"] }
section.trough.film_factor = { log_normal = [1, 1.3] }
section.jets.water_flux = { log_uniform = ["0.25 gpm/ft2", "1 gpm/ft2"] }
"section.\"to capstan\".length" = { uniform = ["1 m", "6 ft"] }
[plant]
adjustable = ["trough", "air gap"]
module = "3 m"
hall_max = "200 ft"
compound_max = "180 kg/h"
chiller_max = "40 kW"
water_out_max = "303.15 K"
ramp_max = "30 m/min/s"
[solver]
tolerance = "0.09 delta degF"
geometry = "shrinking"
shape = "round"
"#;

/// A laid-up core; a conductor behind a preheater.
const CORED: &str = r#"
line.speed = "45 m/min"
[[layer]]
name = "cores"
material = "cu"
core = { cores = 3, conductor = "2.5 mm2 class 2", insulation = 'soft pvc "A"', diameter = "3.4 mm", lay = "90 mm", filler = "air" }
temperature = "24 degC"
[[layer]]
name = "jacket"
material = 'soft pvc "A"'
wall = "1.2 mm"
temperature = "178 degC"
contact = "talc"
[[section]]
name = "trough"
medium = "water"
length = "14 m"
temperature = "15 degC"
"#;
const PREHEATED: &str = r#"
line.speed = "150 m/min"
[[layer]]
name = "strand"
material = "cu"
conductor = "7 x 0.67 mm"
preheat_power = "2 kW"
entry_temperature = "22 degC"
efficiency = 0.75
[[layer]]
name = "insulation"
material = 'soft pvc "A"'
diameter = "3.42 mm"
temperature = "188 degC"
contact = "perfect"
[[section]]
name = "trough"
medium = "water"
length = "14 m"
temperature = "15 degC"
"#;

fn cored() -> String {
    format!("{CORED}{MATERIALS}")
}

fn preheated() -> String {
    format!("{PREHEATED}{MATERIALS}")
}

fn full() -> String {
    format!("{FULL}{MATERIALS}")
}

fn uneven_in_time() -> String {
    format!("{UNEVEN_IN_TIME}{MATERIALS}")
}

fn minimal() -> String {
    format!("{MINIMAL}{MATERIALS}")
}

/// The keys of the problems of a text.
fn keys_of(text: &str) -> Vec<String> {
    read(text).unwrap_err().into_iter().map(|problem| problem.key).collect()
}

#[test]
fn what_is_left_blank_is_filled_in() {
    let case = read(&minimal()).unwrap();
    assert_eq!((case.title.as_str(), case.line_speed, case.bore, case.tolerance), ("untitled", 2.5, 0.0, 0.01));
    assert_eq!((case.shape, case.geometry), (Shape::Round, Geometry::Shrinking));
    let [wire, insulation] = &case.layers[..] else { panic!() };
    let Size::Diameter(diameter) = wire.size else { panic!() };
    // pi/4 d^2 = 2.5 mm2.
    assert!((diameter - 1.784124116152771e-3).abs() < 1e-17);
    assert_eq!(wire.temperature, DieTemperature::Fixed(Celsius(25.0)));
    assert_eq!((wire.contraction, insulation.contraction), (Contraction::Free, Contraction::Held));
    assert_eq!((wire.contact, insulation.contact), (Contact::Perfect, Contact::Perfect));
    assert_eq!((insulation.conductivity_factor, insulation.heat_capacity_factor), (1.0, 1.0));
    assert_eq!(
        case.assumptions,
        [
            Warning::PreheatAssumed { layer: "wire".into(), temperature: 25.0 },
            Warning::ContactAssumed { layer: "insulation".into(), inner: "wire".into() },
        ]
    );
    let [air, water] = &case.sections[..] else { panic!() };
    assert!(matches!(air.film, Film::Law(law, _) if law.medium == Medium::Air));
    assert!(matches!(water.film, Film::Law(law, _) if law.medium == Medium::Water));
    assert_eq!((air.emissivity, water.emissivity), (0.94, 0.0));
    assert!(case.stations.is_empty());
}

#[test]
fn what_is_written_is_read() {
    let case = read(&full()).unwrap();
    let [core, screen, skin] = &case.layers[..] else { panic!() };
    assert_eq!((case.bore, core.size), (1.1 / 1e3, Size::FinishedWall(0.8 / 1e3)));
    assert_eq!(core.temperature, DieTemperature::OfSpeed(vec![[100.0 / 60.0, 186.0], [5.0, 194.0]]));
    assert_eq!((core.conductivity_factor, core.heat_capacity_factor), (1.1, 0.95));
    // No conductor lies inside the first layer, one inside the third.
    assert_eq!((core.contraction, skin.contraction), (Contraction::Free, Contraction::Held));
    assert_eq!((core.poisson_ratio, skin.poisson_ratio), (0.5, 0.48));
    assert_eq!(screen.contact, Contact::Conductance(500.0));
    assert!(matches!(skin.contact, Contact::Conductance(h) if (h - 499.687).abs() < 1e-3));
    assert_eq!(skin.material.hazards, [Hazard::HydrogenChloride]);
    assert_eq!(skin.material.set_temperature, Some(Celsius(80.0)));
    assert_eq!(skin.material.melt, Some([Celsius(170.0), Celsius(195.0)]));
    // What the file leaves out is the usual one of its kind.
    let known = Uncertainty { conductivity: 0.15, heat_capacity: 0.07, density: 0.0 };
    assert_eq!(skin.material.uncertainty, known);
    assert_eq!(screen.material.uncertainty, Uncertainty::usual(Kind::Metal));
    // The span of all curves' points.
    assert_eq!(skin.material.range, [Celsius(0.0), Celsius(220.0)]);
    assert_eq!(screen.material.range, [Celsius(-50.0), Celsius(300.0)]);
    // A given film includes radiation, unless an emissivity stands beside it.
    assert_eq!(
        case.sections.iter().map(|section| section.emissivity).collect::<Vec<_>>(),
        [0.9, 0.0, 0.0, 0.0, 0.94, 0.94]
    );
    assert_eq!((case.sections[0].film_factor, case.sections[1].film_factor), (1.2, 1.0));
    let [jets, fan] = [&case.sections[3], &case.sections[4]].map(|section| match &section.film {
        Film::Law(law, inputs) => (section.medium, law.name, *inputs),
        film => panic!("{film:?}"),
    });
    // 0.5 x 3.785412 kg/min on 0.092903 m2.
    assert_eq!((jets.0, jets.1, jets.2.velocity), (Medium::Spray, "spray", 0.0));
    assert!((jets.2.water_flux - 0.339549).abs() < 1e-6, "{}", jets.2.water_flux);
    assert_eq!(fan, (Medium::Air, "cross-air", Inputs { velocity: 20.0, ..Inputs::default() }));
    let capstan = &case.stations[1];
    assert_eq!((capstan.after, capstan.offset, capstan.limits.len()), (5, 0.0, 7));
    assert!(capstan.limits.iter().zip(Quantity::ALL).all(|(limit, quantity)| limit.quantity == quantity));
    // By the place of the layer, not by that in the file.
    let of_layers: Vec<(Quantity, f64)> =
        capstan.limits[5..].iter().map(|limit| (limit.quantity, limit.max.0)).collect();
    assert_eq!((of_layers[0].0, of_layers[1]), (Quantity::Layer(0), (Quantity::Layer(2), 60.0)));
    assert!((of_layers[0].1 - 80.0).abs() < 1e-9, "{of_layers:?}");
    assert_eq!(case.station_distance(&case.stations[0]), 0.0);
    assert!((case.tolerance - 0.05).abs() < 1e-15);
    assert!(case.assumptions.is_empty());
}

#[test]
fn sources_of_properties_are_kept() {
    let text = r#"
        kind = "plastic"
        describes = "a trial"
        conductivity = { points = "0.2 W/(m K)", source = "A", status = "derived", doubt = "B" }
        heat_capacity = { points = [["0 degC", "2 kJ/(kg K)"]], source = "C" }
        density = "1 g/cm3"
    "#;
    let described = material("trial", text).unwrap();
    assert_eq!(described.describes, "a trial");
    assert_eq!(
        described.sources,
        [
            Source { property: "conductivity", source: "A".into(), status: Status::Derived, doubt: "B".into() },
            Source { property: "heat_capacity", source: "C".into(), status: Status::Memory, doubt: String::new() },
        ]
    );
    let keys: Vec<String> =
        material("trial", "kind = 3\ncolour = 1").unwrap_err().into_iter().map(|problem| problem.key).collect();
    let missing = "material.trial";
    assert_eq!(keys, [missing, missing, missing, "material.trial.kind", "material.trial.colour"]);
}

#[test]
fn the_resolved_case_reads_back_as_the_same_case() {
    let flat = full().replace("shape = \"round\"", "shape = \"flat\"").replace("\"shrinking\"", "\"fixed\"");
    // A flat product has no circumference to wet in part.
    let flat = flat.replace("wetted = 1\n", "");
    for text in [minimal(), full(), flat, cored(), preheated(), uneven_in_time(), REELS.to_string()] {
        let mut case = read(&text).unwrap();
        let again = read(&resolved(&case)).unwrap_or_else(|problems| panic!("{problems:?}\n{}", resolved(&case)));
        assert!(again.assumptions.is_empty(), "what was assumed is written out");
        case.assumptions.clear();
        // Every number prints in as many digits as make it, so that equal text is an equal case.
        assert_eq!(format!("{again:#?}"), format!("{case:#?}"));
    }
}

#[test]
fn all_problems_come_together_and_in_order() {
    let text = minimal()
        .replace("150 m/min", "150")
        .replace("3.42 mm", "3,42 mm")
        .replace("medium = \"water\"", "medium = \"watr\"")
        .replace("length = \"40 cm\"\n", "");
    assert_eq!(
        keys_of(&text),
        ["line.speed", "layer.insulation.diameter", "section.\"air gap\"", "section.trough.medium"]
    );
}

#[test]
fn a_misspelt_key_is_not_missing_too() {
    let text = minimal()
        .replace("speed =", "sped =")
        .replace("diameter =", "diametre =")
        .replace("medium = \"air\"", "mediun = \"air\"");
    assert_eq!(keys_of(&text), ["line.sped", "layer.insulation.diametre", "section.\"air gap\".mediun"]);
}

#[test]
fn keys_of_later_work_are_unknown_now() {
    let problems = read(&minimal().replace("[line]", "[line]\npreheat_power = \"3 kW\"")).unwrap_err();
    assert_eq!((problems.len(), problems[0].label.as_str()), (1, "unknown key"));
    assert_eq!(read(&format!("{}\n[study]", minimal())).unwrap_err()[0].label, "unknown key");
}

#[test]
fn the_plant_is_read_and_written() {
    let plant = read(&full()).unwrap().plant;
    assert_eq!(plant.adjustable, [1, 0]);
    assert_eq!((plant.module, plant.hall_max), (Some(3.0), Some(60.96)));
    assert_eq!((plant.compound_max, plant.chiller_max), (Some(0.05), Some(40_000.0)));
    assert!((plant.water_out_max.unwrap().0 - 30.0).abs() < 1e-9);
    assert_eq!(read(&resolved(&read(&full()).unwrap())).unwrap().plant, plant);
    assert_eq!(read(&minimal()).unwrap().plant, Plant::default());
}

#[test]
fn sizes_are_bounded_before_they_cost_anything() {
    let nested = format!("title = {}", "[".repeat(200_000));
    let dotted = format!("{}a = 1", "a.".repeat(200_000));
    let inline = "a = { ".repeat(100_000);
    let large = format!("title = \"{}\"", "x".repeat(LARGEST));
    for text in [nested, dotted, inline, large] {
        assert_eq!(read(&text).unwrap_err().len(), 1);
    }
    let layers = "[[layer]]\nname = \"a\"\n".repeat(33);
    assert!(keys_of(&layers).contains(&"layer".to_string()));
    let points: Vec<String> = (0..1001).map(|i| format!("[\"{i} degC\", \"1 W/(m K)\"]")).collect();
    let text = minimal().replace("\"390 W/(m K)\"", &format!("[{}]", points.join(",")));
    assert_eq!(keys_of(&text), ["material.cu.conductivity"]);
}

#[test]
fn a_finished_size_is_compared_through_the_shrink_law() {
    // Cold, the 1.784 mm wire is smaller by its own contraction only, so 1.78 mm cannot hold it and its insulation.
    let text = minimal().replace("diameter = \"3.42 mm\"", "finished_diameter = \"1.78 mm\"");
    assert_eq!(keys_of(&text), ["layer.insulation.finished_diameter"]);
    assert!(read(&minimal().replace("diameter = \"3.42 mm\"", "finished_diameter = \"1.80 mm\"")).is_ok());
}

/// Sections whose water warms up, one feeding another, and a tank with two passes.
fn watered() -> String {
    let sections = r#"
[[section]]
name = "first"
medium = "water"
length = "4 m"
supply = "second"
[[section]]
name = "second"
medium = "water"
length = "6 m"
temperature = "16 degC"
flow = "20 L/min"
direction = "counter"
[[section]]
name = "tank"
medium = "water"
length = "5 m"
temperature = "14 degC"
flow = "1 kg/s"
direction = "mixed"
passes = 2
turn = "0.8 m"
turn_temperature = "30 degC"
"#;
    minimal().replacen("[[section]]", &format!("{sections}[[section]]"), 1)
}

#[test]
fn the_water_of_sections_is_read() {
    let case = read(&watered()).unwrap();
    let [first, second, tank] = [&case.sections[0], &case.sections[1], &case.sections[2]];
    assert_eq!((first.supply, second.supply, case.water_head(0)), (Some(1), None, 1));
    assert_eq!(second.circulation.unwrap().direction, Direction::Counter);
    assert!(matches!(second.circulation.unwrap().flow, Flow::Volume(flow) if (flow * 60e3 - 20.0).abs() < 1e-12));
    assert_eq!(tank.circulation, Some(Circulation { flow: Flow::Mass(1.0), direction: Direction::Mixed }));
    assert_eq!((tank.passes, tank.turn.length, tank.turn.temperature), (2, 0.8, Celsius(30.0)));
    assert_eq!(tank.span(), 10.8);
    // The resolved case reads back as the same.
    let again = read(&resolved(&case)).unwrap();
    for (before, after) in case.sections.iter().zip(&again.sections) {
        assert_eq!((before.circulation, before.supply, before.passes), (after.circulation, after.supply, after.passes));
    }
    assert_eq!(resolved(&read(&resolved(&again)).unwrap()), resolved(&again));
    // A turn-round takes the air of the nearest air section.
    let without = watered().replace("turn_temperature = \"30 degC\"\n", "");
    assert_eq!(read(&without).unwrap().sections[2].turn.temperature, Celsius(28.0));
}

#[test]
fn water_that_cannot_be_is_refused() {
    for (from, to, label) in [
        ("supply = \"second\"", "supply = \"first\"", "a circle"),
        ("supply = \"second\"", "supply = \"secnod\"", "unknown section"),
        ("supply = \"second\"", "supply = \"trough\"", "no flow there"),
        ("supply = \"second\"", "supply = \"second\"\nflow = \"1 L/min\"", "a second flow"),
        ("supply = \"second\"", "supply = \"second\"\ntemperature = \"10 degC\"", "a second supply"),
        ("flow = \"20 L/min\"\n", "", "no flow"),
        ("flow = \"20 L/min\"", "flow = \"20\"", "no unit"),
        ("direction = \"mixed\"", "direction = \"along\"", "with a flow along the trough"),
        ("passes = 2", "passes = 2.5", "not a whole number"),
        ("passes = 2", "passes = 0", "out of range"),
        ("turn = \"0.8 m\"\n", "", "no turn"),
        ("name = \"air gap\"", "name = \"air gap\"\nflow = \"1 L/min\"", "in air"),
    ] {
        let problems = read(&watered().replacen(from, to, 1)).unwrap_err();
        let found = problems.iter().filter(|problem| problem.label == label).count();
        assert_eq!(found, 1, "{to}: {problems:#?}");
    }
}

/// What may be asked for as the best.
const STAGED: &str = r#"
[stages]
aim = "cheapest"
margin = "7.5 K"
rest = "trough"
line_length = "50 m"
vary."line.speed" = ["100 m/min", "200 m/min"]
vary."layer.insulation.setting_shift" = { range = ["0 K", "4 K"], step = "0.5 K" }
[stages.limits]
insulation.melt_shrink = "3 %"
insulation.set_through = "20 m"
[stages.cost]
chiller = "0.06 /kWh"
heating = "0.1 /kWh"
metre = "0.4 /h"
speed_worth = "1.2 /h"
"#;

#[test]
fn what_is_asked_for_comes_back_as_it_was_written() {
    let text =
        include_str!("../../../cases/house-wire.toml").to_string() + "\n[solver]\nsetting = \"by-rate\"\n" + STAGED;
    let case = read(&text).unwrap_or_else(|problems| panic!("{problems:?}"));
    let stages = case.stages.clone().unwrap();
    assert_eq!((stages.aim, stages.vary.len(), stages.limits.len()), (Aim::Cheapest, 2, 2));
    assert_eq!(stages.rest, Some(Rest { section: 1, line_length: 50.0 }));
    assert_eq!((stages.vary[0].input.as_str(), stages.vary[1].step), ("line.speed", Some(0.5)));
    let prices = stages.prices.unwrap();
    assert!((prices.chiller * 3.6e6 - 0.06).abs() < 1e-12 && (prices.speed_worth - 1.2 * 60.0 / 3600.0).abs() < 1e-12);
    assert_eq!(case.setting, SettingPoint::ByRate);
    let again = read(&resolved(&case)).unwrap_or_else(|problems| panic!("{problems:?}\n{}", resolved(&case)));
    assert_eq!((again.setting, again.stages), (case.setting, Some(stages)), "{}", resolved(&case));
}

#[test]
fn every_key_has_an_example_that_is_toml() {
    for key in keys::KEYS.iter().filter(|key| !key.example.is_empty()) {
        assert!(DeTable::parse(&format!("{} = {}", key.name, key.example)).is_ok(), "{}", key.name);
        assert!(!key.describes.is_empty());
    }
    // Every key is used by a case of these tests, so that none stands in the table alone.
    let staged = format!("{STAGED}\nsetting = \"by-rate\"");
    let texts = [full(), minimal(), cored(), preheated(), watered(), uneven_in_time(), REELS.to_string(), staged];
    let used = format!("{}describes = status = doubt = range =", texts.concat());
    for key in keys::KEYS {
        assert!(used.contains(key.name), "{}", key.name);
    }
}

#[test]
fn the_schema_knows_every_key() {
    let schema = schema();
    for key in keys::KEYS {
        let place =
            if key.place == Place::Root { &schema } else { &schema["$defs"][super::schema::definition(key.place)] };
        assert_eq!(place["properties"][key.name]["description"], key.describes, "{}", key.name);
        assert_eq!(place["additionalProperties"], false);
    }
}

#[test]
fn the_schema_of_a_study_knows_every_key() {
    let schema = super::study_schema();
    let keys: Vec<_> = keys::of(Place::Study).collect();
    for key in &keys {
        assert_eq!(schema["properties"][key.name]["description"], key.describes, "{}", key.name);
    }
    assert_eq!(schema["properties"].as_object().unwrap().len(), keys.len());
    assert_eq!(schema["additionalProperties"], false);
}

/// A text with a few pieces cut out, doubled or replaced.
fn mutated() -> impl Strategy<Value = String> {
    const PIECES: [&str; 24] = [
        "",
        "\"",
        "[",
        "]",
        "[[",
        "]]",
        "=",
        "\n",
        ",",
        ".",
        "-",
        "0",
        "9e99",
        "nan",
        "{",
        "}",
        "\u{0}",
        "é",
        "mm",
        "#",
        "''",
        "\"\"\"",
        "layer",
        "1979-05-27",
    ];
    let edit = (any::<prop::sample::Index>(), 0usize..12, prop::sample::select(&PIECES[..]));
    (0usize..4, prop::collection::vec(edit, 1..6)).prop_map(|(which, edits)| {
        let mut text: Vec<char> = [full, minimal, cored, preheated][which]().chars().collect();
        for (at, cut, piece) in edits {
            let start = at.index(text.len());
            let end = (start + cut).min(text.len());
            text.splice(start..end, piece.chars());
        }
        text.into_iter().collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]
    #[test]
    fn no_text_makes_the_reader_panic(text in mutated()) {
        match read(&text) {
            Ok(case) => prop_assert!(read(&resolved(&case)).is_ok(), "{}", resolved(&case)),
            Err(problems) => {
                prop_assert!(!problems.is_empty());
                let mut last = 0;
                for problem in problems {
                    prop_assert!(!problem.message.contains("fault of the program"), "{}", problem.message);
                    let start = problem.span.as_ref().map_or(usize::MAX, |span| span.start);
                    prop_assert!(start >= last);
                    last = start;
                    if let Some(span) = problem.span {
                        prop_assert!(text.get(span).is_some());
                    }
                }
            }
        }
    }
}
