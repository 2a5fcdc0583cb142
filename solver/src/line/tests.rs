//! The pieces of the march that choose steps and find crossings.

#![allow(clippy::unwrap_used)]

use super::Settings;
use super::itinerary::{Stop, legs, stops};
use super::step::crossing;
use super::trip::fit;
use crate::film::Film;

#[test]
fn steps_land_exactly_and_leave_no_sliver() {
    // (wanted, remaining) -> (step, cut short).
    for (wanted, remaining, step, cut) in [
        (1.2, 1.0, 1.0, true),
        (1.0, 1.0, 1.0, false),
        (1.0 - 1e-10, 1.0, 1.0, false),
        (1.0 - 1e-8, 1.0, 0.5, true),
        (4.0 - 1e-8, 4.0, 2.0, true),
        (0.9, 1.0, 0.5, true),
        (0.51, 1.0, 0.5, true),
        (0.5, 1.0, 0.5, false),
        (0.3, 1.0, 0.3, false),
    ] {
        assert_eq!(fit(wanted, remaining), (step, cut), "{wanted} of {remaining}");
    }
}

#[test]
fn crossings_are_found_in_a_few_looks() {
    type Function = fn(f64) -> f64;
    // A line, a steep end, a steep start, a late corner, and one that rises: where, and how often looked at.
    let cases: [(Function, f64, usize); 6] = [
        (|x| 0.3 - x, 0.3, 2),
        (|x| 0.5 - x.powi(9), 0.5f64.powf(1.0 / 9.0), 16),
        (|x| (1.0 - x).powi(9) - 0.5, 1.0 - 0.5f64.powf(1.0 / 9.0), 16),
        (|x| if x < 0.9 { 1.0 } else { 10.0 * (0.95 - x) + 0.5 }, 1.0, 1),
        (|x| x * x * x - 0.2, 0.2f64.powf(1.0 / 3.0), 14),
        (|x| (-6.0 * x).exp() - 0.1, 10.0f64.ln() / 6.0, 14),
    ];
    for (index, (f, expected, looks)) in cases.into_iter().enumerate() {
        let mut count = 0;
        let counted = |x: f64| {
            count += 1;
            f(x)
        };
        let found = crossing(counted, f(0.0), f(1.0));
        assert!((found - expected).abs() < 2e-9, "{index}: {found} instead of {expected}");
        assert!(count <= looks, "{index}: {count} looks");
    }
    // No change of sign: the end of the step.
    assert_eq!(crossing(|_| 1.0, 2.0, 1.0), 1.0);
    assert_eq!(crossing(|_| -1.0, -2.0, -1.0), 1.0);
}

#[test]
fn a_tightened_run_has_finer_meshes_and_steps() {
    let settings = Settings::tightened(0.01, 16.0);
    assert_eq!((settings.fineness.accuracy, settings.fineness.factor), (0.01, 0.5));
    assert!((settings.step_tolerance - 20.0 * 0.01 / 16.0).abs() < 1e-15);
}

#[test]
fn the_clock_stops_at_kinks_inside_a_section_only() {
    let mut case = crate::file::read(include_str!("../../../validation/benchmarks/P1.toml")).unwrap();
    let length = case.sections[0].length;
    case.stations.clear();
    let points = [0.0, 0.3 * length, 0.7 * length, length, 2.0 * length];
    case.sections[0].film = Film::OfDistance(points.map(|x| [x, 100.0 + x]).to_vec());
    let expected = [(0.3 * length, Stop::Kink), (0.7 * length, Stop::Kink), (length, Stop::End)];
    let leg = legs(&case).next().unwrap();
    let found = stops(&case, &leg, |place| 2.0 * place);
    assert!(found.iter().all(|landing| landing.time == 2.0 * landing.place));
    assert_eq!(found.iter().map(|landing| (landing.place, landing.stop)).collect::<Vec<_>>(), expected);
}
