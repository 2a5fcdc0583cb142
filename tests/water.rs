//! Water that warms up: books, series, passes, and flows that nobody could cool with.

use std::fmt::Write;

use quenchway::case::error::Error;
use quenchway::case::{Case, Direction, Flow};
use quenchway::march::solution::Solution;
use quenchway::march::{march, march_by_rule};

const HEAD: &str = "[line]\nspeed = \"40 m/min\"\n[[layer]]\nname = \"conductor\"\nmaterial = \"copper\"\ndiameter = \"2 mm\"\n\
                    temperature = \"90 degC\"\n[[layer]]\nname = \"insulation\"\nmaterial = \"pvc-insulation\"\n\
                    diameter = \"5 mm\"\ntemperature = \"185 degC\"\ncontact = \"perfect\"\n";

/// A wire through these sections, each a name, a length in m and its further keys.
fn case(sections: &[(&str, f64, &str)]) -> Case {
    let mut text = HEAD.to_string();
    for (name, length, keys) in sections {
        let film = "film = \"2000 W/(m2 K)\"";
        write!(text, "[[section]]\nname = \"{name}\"\nmedium = \"water\"\nlength = \"{length} m\"\n{film}\n{keys}\n")
            .unwrap();
    }
    quenchway::file::read(&text).unwrap_or_else(|problems| panic!("{problems:#?}")).case
}

fn fresh(direction: &str, flow: &str) -> String {
    format!("temperature = \"15 degC\"\nflow = \"{flow}\"\ndirection = \"{direction}\"")
}

fn fed(direction: &str, by: &str) -> String {
    format!("supply = \"{by}\"\ndirection = \"{direction}\"")
}

/// Difference of all temperatures at the ends of two lines, K, and what they state of their errors.
fn at_the_end(a: &Solution, b: &Solution) -> [f64; 2] {
    let (one, two) = (&a.sections.last().unwrap().exit, &b.sections.last().unwrap().exit);
    let pairs = one.temperatures().into_iter().zip(two.temperatures());
    let worst = pairs.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    [worst, a.numerics.error + b.numerics.error]
}

#[test]
fn the_books_of_every_section_close() {
    for direction in ["along", "counter", "mixed"] {
        for flow in ["60 L/min", "5 L/min", "1.2 L/min"] {
            let case = case(&[("trough", 12.0, &fresh(direction, flow))]);
            let solution = march(&case).unwrap();
            let section = &solution.sections[0];
            let (inlet, outlet) = (section.water_in.unwrap(), section.water_out.unwrap());
            let capacity = section.water_flow.unwrap() * quenchway::material::water::at(15.0).heat_capacity;
            let taken = capacity * (outlet - inlet);
            // The water's root is solved to rounding: 1e-10 of its heat.
            assert!((taken / section.heat_to_water - 1.0).abs() < 1e-10, "{direction} {flow}: {taken} W");
            assert!(outlet > inlet && inlet == 15.0);
            assert!(solution.balance.relative_error.abs() < 1e-12);
            assert_eq!(solution.chiller_duty, section.heat_to_water);
            assert_eq!(solution.warnings.iter().filter(|warning| warning.kind() == "tolerance_missed").count(), 0);
        }
    }
}

#[test]
fn a_volume_flow_is_the_mass_flow_at_the_supply() {
    let volume = case(&[("trough", 12.0, &fresh("counter", "6 L/min"))]);
    let Some(Flow::Volume(flow)) = volume.sections[0].circulation.map(|water| water.flow) else { panic!("no volume") };
    let mass = flow * quenchway::material::water::at(15.0).density;
    let weighed = case(&[("trough", 12.0, &fresh("counter", &format!("{mass} kg/s")))]);
    assert_eq!(
        march_by_rule(&volume).unwrap().sections[0].water_out,
        march_by_rule(&weighed).unwrap().sections[0].water_out
    );
}

#[test]
fn a_large_flow_is_water_that_stays_at_its_temperature() {
    let held = march(&case(&[("trough", 12.0, "temperature = \"15 degC\"")])).unwrap();
    for direction in ["along", "counter", "mixed"] {
        let flowing = march(&case(&[("trough", 12.0, &fresh(direction, "1e5 L/min"))])).unwrap();
        let [difference, stated] = at_the_end(&held, &flowing);
        // 5 kW into 1667 kg/s: 0.7 mK of rise.
        assert!(difference <= stated + 1e-3, "{direction}: {difference} K");
        assert!(
            held.sections[0].flow_for_rise.unwrap().one > 10.0 * held.sections[0].flow_for_rise.unwrap().five / 2.1
        );
    }
}

#[test]
fn a_trough_in_series_is_one_trough() {
    let one = march(&case(&[("trough", 12.0, &fresh("counter", "4 L/min"))])).unwrap();
    let two = case(&[("first", 5.0, &fed("counter", "second")), ("second", 7.0, &fresh("counter", "4 L/min"))]);
    let three = case(&[
        ("first", 3.0, &fed("counter", "second")),
        ("second", 2.0, &fed("counter", "third")),
        ("third", 7.0, &fresh("counter", "4 L/min")),
    ]);
    for case in [two, three] {
        let cut = march(&case).unwrap();
        let [difference, stated] = at_the_end(&one, &cut);
        assert!(difference <= stated, "{difference} K apart, {stated} K stated");
        let outlets = (one.sections[0].water_out.unwrap(), cut.sections[0].water_out.unwrap());
        assert!((outlets.0 - outlets.1).abs() <= stated, "{outlets:?}");
        // Handed on to rounding.
        for pair in cut.sections.windows(2) {
            assert!((pair[0].water_in.unwrap() - pair[1].water_out.unwrap()).abs() < 1e-9);
        }
    }
    let one = march(&case(&[("trough", 12.0, &fresh("along", "4 L/min"))])).unwrap();
    let two =
        march(&case(&[("first", 5.0, &fresh("along", "4 L/min")), ("second", 7.0, &fed("along", "first"))])).unwrap();
    let [difference, stated] = at_the_end(&one, &two);
    assert!(difference <= stated, "{difference} K apart, {stated} K stated");
}

#[test]
fn a_tank_of_three_passes_is_three_lengths_of_tank() {
    let mut long = case(&[("tank", 12.0, &fresh("mixed", "4 L/min"))]);
    let passes = case(&[("tank", 4.0, &(fresh("mixed", "4 L/min") + "\npasses = 3\nturn = \"0 m\""))]);
    let (a, b) = (march(&long).unwrap(), march(&passes).unwrap());
    let [difference, stated] = at_the_end(&a, &b);
    assert!(difference <= stated, "{difference} K apart, {stated} K stated");
    assert_eq!(passes.line_length(), 12.0);
    // Time in the air of the turns cools too, and makes the line longer.
    let turns =
        march(&case(&[("tank", 4.0, &(fresh("mixed", "4 L/min") + "\npasses = 3\nturn = \"1.5 m\""))])).unwrap();
    assert_eq!(turns.sections[0].end, 15.0);
    assert!(turns.sections[0].exit.core < b.sections[0].exit.core - 1.0);
    assert!(turns.sections[0].heat > turns.sections[0].heat_to_water);
    // Counter-current beats the mixed tank, whose water is warm everywhere.
    long.sections[0].circulation.as_mut().unwrap().direction = Direction::Counter;
    assert!(march(&long).unwrap().sections[0].exit.mean < a.sections[0].exit.mean);
}

#[test]
fn too_little_water_is_an_error_with_its_reason() {
    match march(&case(&[("trough", 12.0, &fresh("counter", "0.3 L/min"))])) {
        Err(Error::WaterNotLiquid { section, outlet, .. }) => {
            assert!(section == "trough" && outlet > 100.0, "{section} {outlet}");
        }
        other => panic!("{:?}", other.map(|solution| solution.sections[0].water_out)),
    }
    // Along the product, and mixed, both end at one temperature below boiling.
    for direction in ["along", "mixed"] {
        let solution = march(&case(&[("trough", 12.0, &fresh(direction, "0.3 L/min"))])).unwrap();
        assert!((80.0..100.0).contains(&solution.sections[0].water_out.unwrap()));
    }
    // A trickle has the product's temperature everywhere: its own would grow by e^1000 on the way.
    match march(&case(&[("trough", 12.0, &fresh("counter", "0.01 L/min"))])) {
        Err(Error::WaterTrickles { needed, .. }) => assert!(needed > 1e-4, "{needed} kg/s"),
        other => panic!("{:?}", other.map(|solution| solution.sections[0].water_out)),
    }
}
