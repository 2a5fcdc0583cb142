//! Water with a mass of its own in a stirred tank, against figures of an independent program (R7).

use quenchway::case::{CaseFile, Quantity};
use quenchway::study::drive::Measure;
use quenchway::study::drive::answer::{Answer, answer, heat_over_time};

const FIGURES: &str = include_str!("../validation/reference/line_in_time/tank.json");
const CASE: &str = include_str!("../validation/reference/line_in_time/R7.toml");

fn case(tolerance: f64) -> CaseFile {
    let mut case = quenchway::file::read(CASE).unwrap_or_else(|problems| panic!("{problems:?}")).to(tolerance);
    // 5 kg of water at the temperature of the supply.
    case.sections[0].volume = Some(5.0 / quenchway::material::water::at(16.0).density);
    case
}

fn driven(case: &CaseFile) -> Answer {
    answer(case, None, false, &|_| {}).unwrap()
}

/// Rows of the figures: time, water, wire at the exit, heat since the start.
fn rows() -> Vec<[f64; 4]> {
    let figures: serde_json::Value = serde_json::from_str(FIGURES).unwrap();
    let number = |row: &serde_json::Value, key: &str| row[key].as_f64().unwrap();
    let keys = ["t_s", "water_degC", "wire_at_trough_exit_degC", "heat_to_water_since_start_J"];
    figures["rows"].as_array().unwrap().iter().map(|row| keys.map(|key| number(row, key))).collect()
}

#[test]
fn the_water_of_a_stirred_tank_follows_the_load() {
    for tolerance in [0.01, 0.001] {
        let found = driven(&case(tolerance));
        assert!(found.numerics.error <= tolerance && found.numerics.tolerance_met, "{:?}", found.numerics);
        let over = found.waters.as_ref().unwrap().0[0].as_ref().unwrap();
        let mut worst = [0.0f64; 2];
        for [time, water, wire, _] in rows() {
            let seen = found.driven.seen(0, time).map(|(_, sight)| sight.of(Measure::Temperature(Quantity::Mean)));
            let apart = [(over.at(time) - water).abs(), (seen.unwrap() - wire).abs()];
            assert!(apart.iter().all(|apart| *apart <= found.numerics.error), "{time} s: {apart:?} at {tolerance} K");
            worst = [worst[0].max(apart[0]), worst[1].max(apart[1])];
        }
        println!("{tolerance} K: {worst:?} of {}, {} waves", found.numerics.error, found.numerics.waves);
        let water = &found.water[0];
        // Mass over flow; the books of the water are those of the heat from the metres.
        assert!((water.residence_s.unwrap() - 100.0).abs() < 1e-9, "{water:?}");
        assert!(water.books.unwrap() <= 1e-6, "{water:?}");
        assert!((3..=8).contains(&found.numerics.waves), "{}", found.numerics.waves);
    }
}

/// Before the programme the tank is where a steady line has it: independent of its volume.
#[test]
fn without_a_volume_both_ends_are_told() {
    let mut case = case(0.01);
    case.sections[0].volume = None;
    case.stations[0].limits = Vec::new();
    let found = driven(&case);
    let water = &found.water[0];
    let [first, ..] = rows()[..] else { panic!() };
    assert!((water.before - first[1]).abs() < 0.003, "{water:?}");
    // The line stands: the supply. At 2.5 m/s the steady line has 24.92187 degC, by the same program and checked with the engine.
    let [low, high] = water.ends.unwrap();
    assert!(low == 16.0 && (high - 24.92187).abs() < 0.003, "{water:?}");
    assert!(water.residence_s.is_none() && found.numerics.waves == 0);
}

#[test]
fn water_that_travels_is_refused_with_a_reason() {
    for direction in ["along", "counter"] {
        let text = CASE.replace("\"mixed\"", &format!("\"{direction}\""));
        let case = quenchway::file::read(&text).unwrap();
        let refused = answer(&case, None, false, &|_| {}).unwrap_err().to_string();
        crate::line_words::short_sentences(&refused).unwrap();
        assert!(refused.contains("couples place and time") && refused.contains("mixed"), "{refused}");
    }
}

/// A heavy load on little water: the waves answer to it, and the water settles where the balance is.
#[test]
fn a_load_that_is_more_than_the_flow_settles() {
    let text = CASE.replace("0.05 kg/s", "0.003 kg/s");
    let case = quenchway::file::read(&text).unwrap().to(0.05);
    let found = driven(&case);
    assert!(found.numerics.tolerance_met && found.water[0].books.unwrap() < 1e-6, "{:?}", found.water);
    assert!(found.water[0].highest[0] > 40.0 && found.water[0].highest[0] < 95.0, "{:?}", found.water);
}

/// For pictures to some percent: before the programme the heat of each section is that of the steady run, and in a standstill the
/// water has soon taken all.
#[test]
fn the_heat_of_the_sections_begins_as_that_of_a_run() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases/drive/house-wire-stop.toml");
    let case = quenchway::file::read(&std::fs::read_to_string(path).unwrap()).unwrap().to(0.1);
    let found = answer(&case, Some(1.0), false, &|_| {}).unwrap();
    let heat = heat_over_time(&case, &found).unwrap();
    let steady = quenchway::march::march(&case).unwrap();
    for (over_time, section) in heat.iter().zip(&steady.sections) {
        assert!(
            (over_time[0] / section.heat - 1.0).abs() < 0.03,
            "{}: {} {}",
            section.name,
            over_time[0],
            section.heat
        );
    }
    // The rows are seconds: at 74 s the line has stood for 59.
    assert!(heat[1][74].abs() < 0.02 * heat[1][0], "{} {}", heat[1][74], heat[1][0]);
    assert!(heat[1][129] > 0.9 * heat[1][0]);
}

#[test]
fn a_volume_is_written_out_and_read_back() {
    let case = case(0.01);
    let again = quenchway::file::read(&quenchway::file::resolved::resolved(&case)).unwrap();
    let [written, read] = [&case, &again].map(|case| case.sections[0].volume.unwrap());
    assert!((read / written - 1.0).abs() < 1e-9 && written > 5e-3, "{written} {read}");
}
