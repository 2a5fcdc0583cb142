#![allow(clippy::unwrap_used)]
//! Readings, mass, the closed form of the sensitivity, and questions without an answer.

use super::*;
use crate::case::{DieTemperature, Shape};
use crate::file::read;
use crate::march::march_by_rule;
use crate::units::Celsius;

const HOUSE_WIRE: &str = include_str!("../../../../cases/house-wire.toml");
const JACKET: &str = include_str!("../../../../cases/jacket-talc.toml");

#[test]
fn the_line_sized_at_the_die_reads_what_was_foretold() {
    let mut case = read(HOUSE_WIRE).unwrap();
    let found = gauges(&case, Some(3.3e-3)).unwrap();
    assert_eq!((found.wanted, found.of_case), (3.3e-3, false));
    case.layers[1].size = Size::Diameter(found.at_die);
    let shrink = march(&case).unwrap().shrink;
    // Sizes go through areas and back: rounding.
    assert!((shrink.finished - 3.3e-3).abs() < 1e-15);
    // Two careful marches of one line: what they state of their error, 0.01 K, moves 3 mm by some 1e-8 m.
    assert!((shrink.hot_gauge - found.hot.reading).abs() < 2e-8, "{shrink:?}");
    assert!((shrink.cold_gauge - found.cold.reading).abs() < 2e-8, "{shrink:?}");
    assert!((found.cold.over_finished - (found.cold.reading - 3.3e-3)).abs() < 1e-12);
    // Without a wish it is the case as it stands.
    let as_it_is = gauges(&read(HOUSE_WIRE).unwrap(), None).unwrap();
    assert!(as_it_is.of_case && (as_it_is.at_die - 3.42e-3).abs() < 1e-15);
}

#[test]
fn the_melts_mass_flow_is_that_of_the_case_at_every_speed() {
    let mut case = read(JACKET).unwrap();
    let hotter = |speed: f64| [speed, 178.0 + 200.0 * (speed - case.line_speed)];
    let points = vec![hotter(0.5), hotter(1.0)];
    case.layers[1].temperature = DieTemperature::OfSpeed(points);
    let flows = |case: &Case| -> Vec<f64> {
        march_by_rule(case).unwrap().throughput.iter().map(|flow| flow.kg_per_h).collect()
    };
    let before = flows(&case);
    for factor in [0.99, 1.01, 1.2] {
        let changed = at_constant_output(&case, factor * case.line_speed).unwrap();
        let after = flows(&changed);
        // The jacket is the melt; the cable inside comes as it is and passes faster.
        assert!((after[1] / before[1] - 1.0).abs() < 1e-12, "{factor}: {after:?} of {before:?}");
        assert!((after[0] / before[0] - factor).abs() < 1e-12, "{factor}: {after:?} of {before:?}");
    }
    let names: Vec<String> = gauges(&case, None).unwrap().melts.into_iter().map(|melt| melt.layer).collect();
    assert_eq!(names, ["jacket"]);
}

/// D^2 = d^2 + A0 a v0/v, a the area ratio to 23 degC: dD/d ln v = -(D^2 - d^2)/(2 D). Flat: D = d + A0 a v0/v.
#[test]
fn the_sensitivity_is_that_of_mass_conservation() {
    let mut case = read(HOUSE_WIRE).unwrap();
    for shape in [Shape::Round, Shape::Flat] {
        case.shape = shape;
        let found = gauges(&case, Some(3.35e-3)).unwrap();
        let radii = shrink::radii(&at_constant_output(&case, case.line_speed).unwrap()).unwrap();
        let (inside, outside) = (2.0 * radii.finished[0], found.wanted);
        let exact = match shape {
            Shape::Round => -(outside * outside - inside * inside) / (2.0 * outside),
            Shape::Flat => -(outside - inside),
        };
        // A central difference over 1 % on either side leaves about its square.
        assert!((100.0 * found.per_percent.finished / exact - 1.0).abs() < 2e-4, "{shape:?}: {found:?}");
        let faster = found.speed_for(-1e-5);
        assert!((faster * exact / -1e-5 - 1.0).abs() < 2e-4 && faster > 0.0);
        // Gauges see the same melt, not yet shrunk.
        assert!(found.per_percent.hot < found.per_percent.cold && found.per_percent.cold < 0.0);
    }
}

#[test]
fn the_delay_is_the_way_between_the_gauges() {
    let case = read(JACKET).unwrap();
    let found = gauges(&case, None).unwrap();
    // 0.5 m and 16.0 m after the die, 45 m/min.
    assert!((found.delay - 15.5 / 0.75).abs() < 1e-9, "{}", found.delay);
    assert_eq!(found.cold.station.as_deref(), Some("cold gauge"));
    let mut bare = case.clone();
    bare.stations.clear();
    let found = gauges(&bare, None).unwrap();
    assert_eq!((found.hot.station, found.hot.distance, found.hot.reading), (None, 0.0, found.at_die));
    assert_eq!((found.cold.station, found.cold.distance), (None, 16.5));
}

#[test]
fn a_question_without_an_answer_says_why() {
    let case = read(HOUSE_WIRE).unwrap();
    let says = |case: &Case, wanted: f64, words: &str| {
        let message = gauges(case, Some(wanted)).unwrap_err().to_string();
        assert!(message.contains(words), "{message}");
    };
    says(&case, 1.5e-3, "takes more than 1.778 mm and up to 1000 mm");
    says(&case, f64::NAN, "is not possible");
    says(&case, 3.0, "is not possible");
    let mut set = case.clone();
    set.layers[1].temperature = DieTemperature::Fixed(Celsius(60.0));
    says(&set, 3.35e-3, "leaves the die already set");
    let mut turned = read(JACKET).unwrap();
    turned.stations[0].name = "cold gauge".to_string();
    turned.stations[1].name = "hot gauge".to_string();
    says(&turned, 9e-3, "the cold one must come later");
    let mut hot = case;
    hot.layers[1].temperature = DieTemperature::Fixed(Celsius(f64::NAN));
    assert!(gauges(&hot, None).is_err());
}

/// Held and free for one finished size: each is what the case with that contraction is told, and both ends are said.
#[test]
fn a_layer_that_does_not_stick_has_a_range() {
    let case = read(JACKET).unwrap();
    let held = gauges(&case, None).unwrap();
    assert_eq!((held.outer_layer.as_str(), held.contraction, held.contraction_is_sure), ("jacket", "held", false));
    let mut freed = case.clone();
    freed.layers[1].contraction = Contraction::Free;
    let free = gauges(&freed, Some(held.wanted)).unwrap();
    let other = held.other_contraction.unwrap();
    assert_eq!(other.contraction, "free");
    // Two careful marches of one line, as above.
    for (a, b) in [(other.hot, free.hot.reading), (other.cold, free.cold.reading), (other.at_die, free.at_die)] {
        assert!((a - b).abs() < 2e-8, "{a} {b}");
    }
    let back = free.other_contraction.unwrap();
    assert!(back.contraction == "held" && (back.hot - held.hot.reading).abs() < 2e-8, "{back:?}");
    // Free shows two thirds of the volume change in the cross-section: it is nearer to its finished size while it is hot.
    assert_eq!(held.hot.range, [other.hot, held.hot.reading]);
    assert_eq!(free.cold.range, [free.cold.reading, back.cold]);
    let share = free.hot.over_finished / held.hot.over_finished;
    assert!((share - 2.0 / 3.0).abs() < 0.02, "{share}");
}

#[test]
fn what_sticks_and_what_holds_nothing_has_no_range() {
    let wire = gauges(&read(HOUSE_WIRE).unwrap(), None).unwrap();
    assert!(wire.contraction_is_sure && wire.contraction == "held");
    assert_eq!(wire.hot.range, [wire.hot.reading; 2]);
    assert!(wire.other_contraction.unwrap().hot < wire.hot.reading);
    let tube = gauges(&read(include_str!("../../../../cases/tube.toml")).unwrap(), None).unwrap();
    assert!(tube.contraction_is_sure && tube.contraction == "free");
    let mut fixed = read(HOUSE_WIRE).unwrap();
    fixed.geometry = Geometry::Fixed;
    assert!(gauges(&fixed, None).unwrap().other_contraction.is_none());
}
