#![allow(clippy::unwrap_used)]
//! Points, ceilings, failures, threads, and the measured error.

use super::points::spread;
use super::*;
use crate::file::read;
use crate::march::march_by_rule;
use crate::names::key_path::KeyPath;

const HOUSE_WIRE: &str = include_str!("../../../../cases/house-wire.toml");
const SERIES: &str = include_str!("../../../../cases/pe-core-series-water.toml");

fn axis(case: &CaseFile, path: &str, low: f64, high: f64, count: usize) -> Axis {
    let step = (high - low) / (count - 1) as f64;
    let values = (0..count).map(|index| low + step * index as f64).collect();
    Axis { variable: KeyPath::find(case, path).unwrap(), values }
}

fn speed_and_length(case: &CaseFile, columns: usize, rows: usize) -> Map {
    let (x, y) = (axis(case, "line.speed", 1.5, 6.0, columns), axis(case, "section.trough.length", 5.0, 40.0, rows));
    let show = Output::find(case, "capstan.core").unwrap();
    map(case, x, y, show, &|_| {}).unwrap()
}

#[test]
fn every_point_is_the_march_of_its_own_case() {
    let case = read(HOUSE_WIRE).unwrap();
    let found = speed_and_length(&case, 5, 4);
    assert_eq!(
        found.ceilings.iter().map(|ceiling| ceiling.name.as_str()).collect::<Vec<_>>(),
        ["capstan.surface", "capstan.core"]
    );
    for (index, core) in found.shown.iter().enumerate() {
        let mut point = case.clone();
        point.line_speed = found.x.values[index % 5];
        point.sections[1].length = found.y.values[index / 5];
        let solution = march_by_rule(&point).unwrap();
        let station = &solution.stations[2].point;
        // Points march side by side, in another order of the same arithmetic: rounding.
        assert!((core - station.core).abs() < 1e-9, "{core} for {}", station.core);
        assert!((found.excess[0][index] - (station.surface - 45.0)).abs() < 1e-9);
        assert_eq!(found.excess[1][index], core - 60.0);
        assert_eq!(found.allowed(index), Some(station.surface <= 45.0 && station.core <= 60.0));
    }
    let allowed = found.count_allowed();
    assert!(allowed > 0 && allowed < 20, "{allowed}");
    assert_eq!(found.place(7, System::Si), ["225 m/min", "16.6667 m"]);
    assert_eq!(found.base.place, [2.5, 18.0]);
    assert_eq!(found.base.shown, march(&case).unwrap().stations[2].point.core);
    assert!(found.holds_base());
}

#[test]
fn a_limit_on_an_axis_moves_its_own_ceiling() {
    let case = read(HOUSE_WIRE).unwrap();
    let (x, y) = (axis(&case, "station.capstan.core_max", 50.0, 80.0, 4), axis(&case, "line.speed", 2.0, 3.0, 2));
    let show = Output::find(&case, "capstan.core").unwrap();
    let found = map(&case, x, y, show, &|_| {}).unwrap();
    for column in 0..4 {
        assert_eq!(found.shown[column], found.shown[0]);
        assert_eq!(found.excess[1][column], found.shown[0] - (50.0 + 10.0 * column as f64));
    }
}

/// The plant's ceilings too: what the careful marches say of compound, chiller and hall is what was drawn.
#[test]
fn ceilings_of_the_plant_are_those_of_the_solution() {
    let mut case = read(SERIES).unwrap();
    let celsius = crate::units::Celsius;
    case.plant.compound_max = Some(0.02);
    case.plant.chiller_max = Some(12e3);
    case.plant.water_out_max = Some(celsius(62.0));
    case.plant.hall_max = Some(40.0);
    let (x, y) = (axis(&case, "line.speed", 0.3, 0.6, 3), axis(&case, "section.\"first trough\".length", 8.0, 20.0, 2));
    let show = Output::find(&case, "line.chiller_duty").unwrap();
    let found = map(&case, x, y, show, &|_| {}).unwrap();
    let names: Vec<&str> = found.ceilings.iter().skip(2).map(|ceiling| ceiling.name.as_str()).collect();
    let water = ["\"warm tank\".water_out", "\"first trough\".water_out", "\"second trough\".water_out"];
    assert_eq!(names, [&["plant.compound_max", "plant.chiller_max"][..], &water, &["plant.hall_max"]].concat());
    let mut last = case.clone();
    last.line_speed = 0.6;
    last.sections[2].length = 20.0;
    let solution = march_by_rule(&last).unwrap();
    let compound = solution.throughput[1].kg_per_h / 3600.0;
    assert!((found.excess[2][5] / (compound - 0.02) - 1.0).abs() < 1e-12, "{} for {compound}", found.excess[2][5]);
    assert!((found.excess[3][5] - (solution.chiller_duty - 12e3)).abs() < 1e-6);
    assert!((found.excess[5][5] - (solution.sections[2].water_out.unwrap() - 62.0)).abs() < 1e-9);
    assert_eq!(found.excess[7][5], 0.5 + 3.0 + 20.0 + 18.0 + 2.0 - 40.0);
    // kg/s, W and m: sums in another order, and what the rule's temperatures leave of the heat.
    let [compound, chiller] = [found.check.ceilings[2], found.check.ceilings[3]];
    assert!(compound < 1e-15 && chiller < 5.0 && found.check.ceilings[7] == 0.0, "{:?}", found.check);
}

/// The speed is set first, so that the die temperature is the axis' value at every speed.
#[test]
fn a_die_temperature_that_follows_the_speed_takes_the_axis_value() {
    let mut case = read(HOUSE_WIRE).unwrap();
    case.layers[1].temperature = crate::case::DieTemperature::OfSpeed(vec![[1.0, 180.0], [4.0, 200.0]]);
    let (x, y) = (axis(&case, "layer.insulation.temperature", 170.0, 200.0, 3), axis(&case, "line.speed", 1.5, 3.5, 3));
    let show = Output::find(&case, "capstan.core").unwrap();
    let found = map(&case, x, y, show, &|_| {}).unwrap();
    for (index, core) in found.shown.iter().enumerate() {
        let mut point = case.clone();
        point.line_speed = found.y.values[index / 3];
        point.layers[1].temperature =
            crate::case::DieTemperature::Fixed(crate::units::Celsius(found.x.values[index % 3]));
        let expected = march_by_rule(&point).unwrap().stations[2].point.core;
        // The table is shifted there by a sum: rounding.
        assert!((core - expected).abs() < 1e-9, "{index}: {core} for {expected}");
    }
}

#[test]
fn a_map_is_the_same_on_any_number_of_threads() {
    let case = read(SERIES).unwrap();
    let made = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        let (x, y) =
            (axis(&case, "line.speed", 0.3, 0.6, 3), axis(&case, "section.\"second trough\".flow", 1e-4, 4e-4, 2));
        let show = Output::find(&case, "first trough.water_out").unwrap();
        let done = std::sync::atomic::AtomicUsize::new(0);
        let count = |more: usize| {
            done.fetch_add(more, std::sync::atomic::Ordering::Relaxed);
        };
        let found = pool.install(|| map(&case, x, y, show, &count)).unwrap();
        assert_eq!(done.into_inner(), 6, "every point is told of");
        found
    };
    let (one, three) = (made(1), made(3));
    let bits =
        |map: &Map| map.shown.iter().chain(map.excess.iter().flatten()).map(|v| v.to_bits()).collect::<Vec<u64>>();
    assert_eq!(bits(&one), bits(&three));
    assert_eq!((one.check, one.status), (three.check, three.status));
}

#[test]
fn points_without_an_answer_are_blank_and_counted() {
    let case = read(HOUSE_WIRE).unwrap();
    // The insulation has no wall where it is not larger than the conductor.
    let (x, y) = (axis(&case, "layer.insulation.diameter", 1.2e-3, 3.6e-3, 5), axis(&case, "line.speed", 2.0, 3.0, 2));
    let show = Output::find(&case, "capstan.core").unwrap();
    let found = map(&case, x, y, show, &|_| {}).unwrap();
    assert_eq!(found.status, [1, 0, 0, 0, 0, 1, 0, 0, 0, 0]);
    assert!(found.shown[0].is_nan() && found.excess[0][5].is_nan() && found.shown[1].is_finite());
    assert_eq!((found.allowed(0), found.failures.total()), (None, 2));
    let (cause, count) = &found.failures.causes[0];
    assert!(cause.contains("has no wall") && *count == 2, "{cause}");
    assert_eq!(found.check.points, 4, "two of the six that are checked have no answer");
}

/// The stated error of a rule's march is its tolerance: what is measured lies below it.
#[test]
fn the_measured_error_is_that_of_the_points_checked() {
    let mut case = read(HOUSE_WIRE).unwrap();
    let fine = speed_and_length(&case, 5, 4);
    assert_eq!((fine.check.points, fine.check.unsolved), (9, 0));
    assert!(fine.check.shown > 0.0 && fine.check.shown < case.tolerance, "{:?}", fine.check);
    assert!(fine.check.ceilings[1] == fine.check.shown && fine.check.stated <= case.tolerance);
    case.tolerance = 0.1;
    let coarse = speed_and_length(&case, 5, 4);
    assert!(coarse.check.shown > fine.check.shown && coarse.check.shown < 0.1, "{:?}", coarse.check);
}

#[test]
fn one_point_in_a_hundred_is_checked_and_the_ends_always() {
    assert_eq!(spread(2), [0, 1]);
    assert_eq!(spread(3), [0, 1, 2]);
    assert_eq!(spread(20), [0, 10, 19]);
    assert_eq!(spread(60), [0, 12, 24, 35, 47, 59]);
    let many = spread(200);
    assert_eq!((many.len(), many[0], many[19]), (20, 0, 199));
}

#[test]
fn axes_that_make_no_map_are_refused() {
    let case = read(HOUSE_WIRE).unwrap();
    let show = || Output::find(&case, "capstan.core").unwrap();
    let says = |x: Axis, y: Axis, words: &str| {
        let message = map(&case, x, y, show(), &|_| {}).unwrap_err().to_string();
        assert!(message.contains(words), "{message}");
    };
    let speed = |low, high| axis(&case, "line.speed", low, high, 2);
    let length = || axis(&case, "section.trough.length", 5.0, 40.0, 2);
    says(speed(1.0, 2.0), speed(1.0, 2.0), "both axes are line.speed");
    says(speed(2.0, 1.0), length(), "an axis takes 2 to 200 that rise");
    says(speed(-1.0, 2.0), length(), "line.speed: -60 m/min is outside");
    says(
        axis(&case, "layer.insulation.diameter", 1.0e-3, 1.5e-3, 2),
        length(),
        "no point of the map has an answer: layer",
    );
}
