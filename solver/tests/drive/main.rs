//! The line in time against figures of an independent program, and against itself.

#![allow(clippy::unwrap_used, clippy::panic)]

mod problems;

use problems::{Figure, Problem};
use quenchway::case::Quantity;
use quenchway::line::clock::Side;
use quenchway::study::drive::{Driven, Measure, Method, Sight};

const READ: [Quantity; 3] = [Quantity::Surface, Quantity::Core, Quantity::Mean];

/// What the drive says of a figure.
fn found(driven: &Driven, figure: &Figure) -> Option<Sight> {
    match figure.kind.as_str() {
        "metre" => driven.at(figure.station, figure.at, Side::At),
        "before" => driven.at(figure.station, figure.at, Side::Before),
        "behind" => driven.at(figure.station, figure.at, Side::Behind),
        _ => driven.seen(figure.station, figure.at).map(|(_, sight)| sight),
    }
}

/// Every figure within the tolerance and the stated error; returns the largest difference.
fn compare(problem: &Problem, tolerance: f64) -> f64 {
    let start = std::time::Instant::now();
    let driven = problem.drive(tolerance, Method::default());
    let wall = start.elapsed().as_secs_f64();
    let mut worst = 0.0f64;
    for figure in &problem.figures {
        let Some(sight) = found(&driven, figure) else { panic!("nothing for {figure:?}") };
        let apart = READ
            .iter()
            .zip(figure.values)
            .map(|(&quantity, value)| (sight.of(Measure::Temperature(quantity)) - value).abs());
        let apart = apart.fold(0.0, f64::max);
        if apart > driven.error.min(tolerance) {
            println!("{figure:?} {apart} {:?}", &sight.values[..3]);
        }
        worst = worst.max(apart);
    }
    println!(
        "tolerance {tolerance}: {worst:.2e} of {:.2e}, {} metres, {} pieces, {wall:.3} s",
        driven.error,
        driven.metres.len(),
        driven.pieces.len()
    );
    assert!(driven.met && worst <= driven.error && worst <= tolerance, "{worst} of {}", driven.error);
    worst
}

#[test]
fn a_ramp_of_a_house_wire() {
    for tolerance in [0.01, 0.001] {
        compare(&problems::ramp(60.0), tolerance);
    }
}

#[test]
fn a_stop_of_a_house_wire() {
    for tolerance in [0.01, 0.001] {
        compare(&problems::stop(60.0), tolerance);
    }
}

#[test]
fn a_thick_core_slows_down() {
    for tolerance in [0.01, 0.001] {
        compare(&problems::thick_core(), tolerance);
    }
}

#[test]
fn a_bare_wire_with_a_jump_of_the_speed() {
    for tolerance in [0.01, 0.001] {
        compare(&problems::bare_wire(), tolerance);
    }
}
