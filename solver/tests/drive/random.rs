//! Random lines in time: the stated error against marches a hundred times tighter, and what must not change an answer.

use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};

use quenchway::case::Case;
use quenchway::case::programme::Output;
use quenchway::case::shrink;
use quenchway::line::Settings;
use quenchway::line::clock::{Clock, Course, Piece, Side};
use quenchway::line::programme::Extruder;
use quenchway::study::drive::{Driven, Method, Programme, Sight, Spoilt, drive, one};

use super::problems::{house_wire, thin_pe};

/// A line in time: case, pieces of its programme, whether its output falls behind.
#[derive(Clone, Debug)]
struct Line {
    case: Case,
    pieces: Vec<Piece>,
    lags: bool,
}

fn random(seed: u64) -> Line {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut case = if rng.random::<f64>() < 0.6 { house_wire() } else { thin_pe() };
    case.line_speed *= 0.4 + rng.random::<f64>();
    let sections = 1 + (rng.random::<f64>() * case.sections.len() as f64) as usize;
    case.sections.truncate(sections);
    case.stations.retain(|station| station.after < sections);
    for section in &mut case.sections {
        section.length *= 0.3 + 0.7 * rng.random::<f64>();
        section.film_exponent = [0.0, 0.5, 0.8][(3.0 * rng.random::<f64>()) as usize];
    }
    let offset = -0.4 * case.sections[0].length;
    for station in &mut case.stations {
        station.offset = station.offset.max(-0.9 * case.sections[station.after].length);
    }
    if case.stations.is_empty() {
        case.stations.push(quenchway::case::Station::behind("end", 0));
        case.stations.push(quenchway::case::Station::behind("middle", 0).moved(offset));
    }
    let top = case.line_speed;
    let mut speed = top * (0.2 + 0.8 * rng.random::<f64>());
    let mut pieces = vec![Piece::hold(1.0 + 9.0 * rng.random::<f64>(), speed)];
    for _ in 0..1 + (3.0 * rng.random::<f64>()) as usize {
        let kind = rng.random::<f64>();
        let to = if kind < 0.35 { 0.0 } else { top * (0.1 + 0.9 * rng.random::<f64>()) };
        let seconds = 2.0 + 40.0 * rng.random::<f64>() * rng.random::<f64>();
        if to == 0.0 {
            pieces.push(Piece::even(seconds, speed, 0.0));
            pieces.push(Piece::hold(30.0 * rng.random::<f64>(), 0.0));
            speed = top * (0.2 + 0.8 * rng.random::<f64>());
            pieces.push(Piece::even(1.0 + 30.0 * rng.random::<f64>(), 0.0, speed));
        } else {
            let course = if kind < 0.6 { Course::Percent } else { Course::Even };
            let duration = if kind > 0.95 { 0.0 } else { seconds };
            pieces.push(Piece { duration, from: speed, to, course });
            speed = to;
        }
        pieces.push(Piece::hold(20.0 * rng.random::<f64>(), speed));
    }
    pieces.push(Piece::hold(1.2 * case.line_length() / speed, speed));
    let lags = rng.random::<f64>() < 0.4;
    Line { case, pieces, lags }
}

impl Line {
    fn with<T>(&self, tolerance: f64, what: impl FnOnce(&Programme) -> T) -> T {
        let clock = Clock::new(&self.pieces).unwrap();
        let radii = shrink::radii(&self.case).unwrap();
        let outer = self.case.layers.len() - 1;
        let output = if self.lags { Output::Lag(1.5) } else { Output::Follows };
        let extruder = Extruder::new(output, &clock, self.case.line_speed);
        let area = |layer: usize, time: f64, side: Side| match self.lags {
            true if layer == outer && outer > 0 => extruder.output(time) / clock.speed_beside(time, side),
            _ => 1.0,
        };
        let end: f64 = self.pieces.iter().map(|piece| piece.duration).sum();
        let spoilt: Vec<_> = extruder
            .spoilt(0.0, end)
            .into_iter()
            .map(|(times, lump)| {
                (times.map(|time| clock.travelled(time)), if lump { Spoilt::Lump } else { Spoilt::Bare })
            })
            .filter(|([from, to], _)| to > from)
            .collect();
        let programme = Programme {
            case: &self.case,
            radii: &radii,
            clock: &clock,
            area: &area,
            spoilt: &spoilt,
            first: -self.case.line_length(),
            last: clock.travelled(end),
            end,
            tolerance,
            waters: None,
        };
        what(&programme)
    }

    fn drive(&self, tolerance: f64) -> Driven {
        self.with(tolerance, |programme| drive(programme, Method::default(), &|_| ()).unwrap())
    }
}

fn apart(a: &Sight, b: &Sight) -> f64 {
    let temperatures = a.values.iter().zip(&b.values).enumerate().filter(|(place, _)| *place != 5);
    temperatures.fold(0.0, |worst, (_, (a, b))| worst.max((a - b).abs()))
}

/// Largest true error of a drive over its stated one: at lengths midway between metres that were marched, and at some others.
fn true_over_stated(seed: u64, tolerance: f64) -> [f64; 2] {
    let line = random(seed);
    let driven = line.drive(tolerance);
    let mut rng = ChaCha8Rng::seed_from_u64(seed ^ 0x5eed);
    let mut worst = 0.0f64;
    line.with(tolerance, |programme| {
        for _ in 0..30 {
            let pair = (rng.random::<f64>() * (driven.metres.len() - 1) as f64) as usize;
            let middle = 0.5 * (driven.metres[pair].length + driven.metres[pair + 1].length);
            if programme.spoilt.iter().any(|([from, to], _)| *from <= middle && middle <= *to) {
                continue;
            }
            let tight = one(programme, middle, Side::At, &[], &Settings::rule(tolerance / 100.0)).unwrap();
            for (station, seen) in tight.seen.iter().enumerate() {
                let Some(found) = driven.at(station, middle, Side::At) else { panic!("{seed}: nothing at {middle}") };
                worst = worst.max(apart(&found, &seen.as_ref().unwrap().sight));
            }
        }
    });
    [worst / driven.error, worst / tolerance]
}

#[test]
fn the_stated_error_covers_random_lines() {
    for seed in 0..6 {
        let [stated, asked] = true_over_stated(seed, 0.02);
        assert!(stated <= 1.0 && asked <= 1.0, "{seed}: {stated} of the stated error, {asked} of the tolerance");
    }
}

#[test]
#[ignore = "some minutes: 200 random lines; six of them are in the test beside it"]
fn the_stated_error_covers_two_hundred_random_lines() {
    let mut over = Vec::new();
    let mut ratios: Vec<f64> = Vec::new();
    for seed in 1000..1200 {
        let [stated, asked] = true_over_stated(seed, 0.02);
        assert!(asked <= 1.0, "{seed}: {asked} of the tolerance");
        ratios.push(stated);
        if stated > 1.0 {
            over.push((seed, stated));
        }
    }
    ratios.sort_by(f64::total_cmp);
    println!("true over stated: median {:.3}, 0.99 {:.3}; above 1: {over:?}", ratios[100], ratios[198]);
    assert!(over.len() <= 2, "{over:?}");
}

/// What must not change an answer: within both stated errors.
fn same(name: &str, a: &Driven, b: &Driven, shift: f64, [first, last]: [f64; 2]) {
    for i in 0..60 {
        let length = first + (last - first) * (f64::from(i) + 0.37) / 60.0;
        for station in 0..a.metres[0].seen.len() {
            let [a_sees, b_sees] = [a.at(station, length, Side::At), b.at(station, length + shift, Side::At)];
            let (Some(a_sees), Some(b_sees)) = (&a_sees, &b_sees) else {
                assert_eq!(a_sees, b_sees, "{name}: only one has an answer at {length}");
                continue;
            };
            let apart = apart(a_sees, b_sees);
            assert!(apart <= a.error + b.error, "{name}: {apart} K at {length} m, station {station}");
        }
    }
}

fn invariances(seed: u64) {
    let line = random(seed);
    let driven = line.drive(0.02);
    let clock = Clock::new(&line.pieces).unwrap();
    let end: f64 = line.pieces.iter().map(|piece| piece.duration).sum();
    let range = [-line.case.line_length(), clock.travelled(end)];
    // A ramp cut into two collinear ones.
    let mut cut = line.clone();
    if let Some(index) = cut.pieces.iter().position(|piece| piece.from != piece.to && piece.duration > 0.0) {
        let Piece { duration, from, to, course } = cut.pieces[index];
        let middle = if course == Course::Even { 0.5 * (from + to) } else { (from * to).sqrt() };
        let half = |from, to| Piece { duration: 0.5 * duration, from, to, course };
        cut.pieces.splice(index..=index, [half(from, middle), half(middle, to)]);
        same("a ramp cut in two", &driven, &cut.drive(0.02), 0.0, range);
    }
    // A hold of 0 s, at a speed of its own.
    let mut held = line.clone();
    held.pieces.insert(1, Piece::hold(0.0, 0.123));
    same("a hold of 0 s", &driven, &held.drive(0.02), 0.0, range);
    // The clock shifted.
    let mut late = line.clone();
    late.pieces.insert(0, Piece::hold(7.0, line.pieces[0].from));
    same("a later clock", &driven, &late.drive(0.02), 7.0 * line.pieces[0].from, range);
    // A change appended after the last metre has left: to the bit.
    let mut longer = line.clone();
    let last = line.pieces.last().unwrap().to;
    longer.pieces.push(Piece::even(3.0, last, 2.0 * line.case.line_speed));
    let settings = Settings::rule(0.005);
    for i in 0..5 {
        let length = range[0] + (range[1] - 1.01 * line.case.line_length() - range[0]) * f64::from(i) / 4.0;
        let [before, after] = [&line, &longer]
            .map(|line| line.with(0.02, |programme| one(programme, length, Side::At, &[], &settings).unwrap()));
        assert_eq!(before, after, "{seed}: metre {length}");
    }
}

#[test]
fn what_must_not_change_an_answer_does_not() {
    (20..23).for_each(invariances);
}

#[test]
#[ignore = "some minutes: 200 random lines; three of them are in the test beside it"]
fn what_must_not_change_an_answer_does_not_on_two_hundred_lines() {
    (2000..2200).for_each(invariances);
}
