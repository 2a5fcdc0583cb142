//! Product on wheels: against a dense march of single metres, and the work that it takes.

use std::sync::atomic::{AtomicUsize, Ordering};

use quenchway::line::Settings;
use quenchway::line::clock::Side;
use quenchway::study::drive::{Driven, Method, drive, one};

use crate::problems::{Problem, ramp, stop, thick_core};
use crate::{CORE, SURFACE};

/// Looks at a metre on a wheel.
const LOOKS: usize = 400;
/// Metres that are marched by themselves, for each wheel.
const METRES: usize = 12;

/// A drive, and how many metres were marched for it.
fn counted(problem: &Problem, tolerance: f64) -> (Driven, usize) {
    let count = AtomicUsize::new(0);
    let watch = |now: usize| count.store(now, Ordering::Relaxed);
    let driven = problem.with(tolerance, |programme| drive(programme, Method::default(), &watch).unwrap());
    (driven, count.into_inner())
}

/// The highest of a row of values: the top of a parabola through the three around the largest.
fn top(values: &[f64]) -> f64 {
    let best = (0..values.len()).max_by(|&a, &b| values[a].total_cmp(&values[b])).unwrap();
    if best == 0 || best + 1 == values.len() {
        return values[best];
    }
    let [a, b, c] = [values[best - 1], values[best], values[best + 1]];
    b - (c - a) * (c - a) / (8.0 * (a - 2.0 * b + c))
}

/// Looks are dense after a corner: a long standstill has its peak in its first seconds.
fn cube(share: f64) -> f64 {
    share * share * share
}

/// The highest surface and core of one metre on a wheel, by 400 looks at its time between corners of the speed.
fn dense(problem: &Problem, station: usize, length: f64, side: Side) -> Option<[f64; 2]> {
    let (case, clock) = (&problem.case, &problem.clock);
    let distance = case.station_distance(&case.stations[station]);
    let until = (distance + case.stations[station].contact).min(case.line_length());
    let arrives = clock.arrives(length + distance, side);
    let leaves = clock.leaves(length + until, side);
    let leaves = if leaves.is_finite() { leaves } else { problem.end };
    let mut cuts = vec![arrives, leaves];
    cuts.extend(clock.corners().iter().filter(|corner| arrives < **corner && **corner < leaves));
    cuts.sort_by(f64::total_cmp);
    let mut highest: Option<[f64; 2]> = None;
    for pair in cuts.windows(2).filter(|pair| pair[1] > pair[0] + 1e-9) {
        let looks: Vec<f64> = (0..=LOOKS)
            .map(|i| pair[0] + (pair[1] - pair[0]) * (1e-9 + (1.0 - 2e-9) * cube(i as f64 / LOOKS as f64)))
            .collect();
        let settings = Settings::rule(3e-4);
        let metre = problem.with(0.01, |programme| one(programme, length, side, &looks, &settings).unwrap());
        let came = &metre.seen[station].as_ref()?.sight;
        for (place, measure) in [SURFACE, CORE].into_iter().enumerate() {
            let values: Vec<f64> = metre.looks.iter().map(|look| look.as_ref().unwrap().of(measure)).collect();
            let found = highest.get_or_insert([f64::MIN; 2]);
            found[place] = found[place].max(top(&values)).max(came.of(measure));
        }
    }
    highest
}

/// Which stations have a wheel, and how long it is, m.
type Wheels = Vec<(usize, f64)>;

/// The problems: a station's index and what lies on its wheel, m.
fn problems() -> Vec<(&'static str, Problem, Wheels)> {
    let mut for_ever = stop(3000.0);
    for_ever.end = 400.0;
    vec![
        ("stop", stop(60.0), vec![(3, 0.3)]),
        ("short stop", stop(5.0), vec![(3, 0.25)]),
        ("ramp", ramp(60.0), vec![(3, 0.3)]),
        ("longer than the rest", stop(20.0), vec![(3, 50.0)]),
        ("out of the water", stop(20.0), vec![(2, 1.0)]),
        ("several", stop(20.0), vec![(0, 0.1), (2, 0.4), (3, 0.2)]),
        ("stands at the end", for_ever, vec![(3, 0.2)]),
        ("slow-down", thick_core(), vec![(3, 0.4)]),
    ]
}

/// Every wheel sees each metre at its warmest: as a dense march of that metre alone says, within the tolerance and the stated error.
#[test]
fn a_wheel_says_what_a_dense_march_says() {
    for (name, mut problem, wheels) in problems() {
        wheels.iter().for_each(|&(station, contact)| problem.case.stations[station].contact = contact);
        let (driven, count) = counted(&problem, 0.01);
        let mut plain = problem.case.clone();
        plain.stations.iter_mut().for_each(|station| station.contact = 0.0);
        let plain = Problem { case: plain, clock: problem.clock.clone(), figures: Vec::new(), ..problem };
        let (_, without) = counted(&plain, 0.01);
        let mut worst = 0.0f64;
        for &(station, _) in &wheels {
            let distance = problem.case.station_distance(&problem.case.stations[station]);
            let [first, last] = [-distance, problem.clock.travelled(problem.end) - distance];
            // Evenly strewn, and both sides of where the wheel's ends stood.
            let strewn = (1..=METRES).map(|i| (first + (last - first) * (0.618_034 * i as f64).fract(), Side::At));
            let end = (distance + problem.case.stations[station].contact).min(problem.case.line_length());
            let stood = problem
                .clock
                .standstills()
                .iter()
                .flat_map(|stand| [distance, 0.5 * (distance + end), end].map(|place| stand.travelled - place));
            let beside = stood.flat_map(|metre| [Side::Before, Side::Behind].map(|side| (metre, side)));
            for (metre, side) in strewn.chain(beside).filter(|(metre, _)| (first..last).contains(metre)) {
                let Some(expected) = dense(&problem, station, metre, side) else { continue };
                let Some(sight) = driven.at(station, metre, side) else { panic!("{name}: no {metre}") };
                for (measure, expected) in [SURFACE, CORE].into_iter().zip(expected) {
                    let apart = (sight.largest(measure) - expected).abs();
                    assert!(
                        apart <= driven.error && driven.error <= 0.01,
                        "{name}, station {station}, metre {metre} {side:?}, {measure:?}: {apart} of {}, {expected}",
                        driven.error
                    );
                    worst = worst.max(apart);
                }
            }
        }
        println!("{name}: {worst:.1e} of {:.1e}; {count} metres, {without} without a wheel", driven.error);
        // A wheel adds the breaks of its end to those of its station; its parts may be halved three times, everything anew.
        assert!(count <= 5 * without, "{name}: {count} metres, {without} without a wheel");
    }
}
