//! Order in time of one metre by equal steps, given films and constant density: 4 on holds and at a standstill, 3 on a ramp with a
//! film that follows the speed.

use quenchway::case::{Case, DieTemperature, shrink};
use quenchway::line::Settings;
use quenchway::line::clock::{Clock, Piece, Side};
use quenchway::material::Curve;
use quenchway::study::drive::{Programme, one};
use quenchway::units::Celsius;

use super::problems::house_wire;

/// What a metre that leaves the die at 0 s has at the end of a line of one section, by equal steps of so many seconds.
fn marched(case: &Case, clock: &Clock, step: f64) -> Vec<f64> {
    let (area, radii) = (|_: usize, _: f64, _: Side| 1.0, shrink::radii(case).unwrap());
    let (first, last, end, tolerance) = (0.0, 1.0, 100.0, 0.01);
    let programme =
        Programme { case, radii: &radii, clock, area: &area, spoilt: &[], first, last, end, tolerance, waters: None };
    // A mesh that does not change with the step.
    let settings = Settings { fixed_step: Some(step), ..Settings::rule(0.02) };
    one(&programme, 0.0, Side::At, &[], &settings).unwrap().seen[0].as_ref().unwrap().sight.values[..3].to_vec()
}

/// The order from three steps, each half of the one before it.
fn order(case: &Case, clock: &Clock, step: f64) -> f64 {
    let [a, b, c] = [1.0, 0.5, 0.25].map(|share| marched(case, clock, share * step));
    let apart = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    (apart(&a, &b) / apart(&b, &c)).log2()
}

/// One section, its end a station; constant properties, so that nothing but the time step errs.
fn line(length: f64, exponent: f64) -> Case {
    let mut case = house_wire();
    case.sections.truncate(1);
    case.sections[0].length = length;
    (case.sections[0].film, case.sections[0].film_exponent) = (quenchway::film::Film::Given(60.0), exponent);
    case.sections[0].film_floor = 0.0;
    case.stations.truncate(1);
    case.stations[0].offset = 0.0;
    for (layer, [conductivity, capacity]) in case.layers.iter_mut().zip([[390.0, 386.0], [0.17, 1500.0]]) {
        layer.material.conductivity = Curve::constant(conductivity).unwrap();
        layer.material.heat_capacity = Curve::constant(capacity).unwrap();
        layer.temperature = DieTemperature::Fixed(Celsius(188.0));
    }
    case
}

#[test]
fn the_order_in_time_is_four_on_holds_and_three_on_ramps() {
    // Every corner falls on a step.
    let hold = Clock::new(&[Piece::hold(4.0, 1.0), Piece::hold(0.0, 1.0), Piece::hold(4.0, 0.5)]).unwrap();
    let found = order(&line(6.0, 0.8), &hold, 0.25);
    assert!(found > 3.8, "holds: {found}");
    let ramp = Clock::new(&[Piece::even(8.0, 0.5, 2.5)]).unwrap();
    let found = order(&line(12.0, 0.8), &ramp, 0.25);
    assert!(found > 2.8, "ramp: {found}");
    let percent = Clock::new(&[Piece::percent(8.0, 0.5, 2.5)]).unwrap();
    let found = order(&line(percent.travelled(8.0), 0.8), &percent, 0.25);
    assert!(found > 2.8, "percent ramp: {found}");
    // Jump to a stop and a jump from it, so that nothing but the standstill is tested.
    let stop = Clock::new(&[Piece::hold(1.0, 1.0), Piece::hold(6.0, 0.0), Piece::hold(1.0, 1.0)]).unwrap();
    let mut still = line(2.0, 0.8);
    still.sections[0].film_floor = 30.0;
    let found = order(&still, &stop, 0.25);
    assert!(found > 3.8, "standstill: {found}");
}
