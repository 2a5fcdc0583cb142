//! Alone and in lanes, and beside the law itself.
#![allow(clippy::unwrap_used)]

use super::*;
use crate::film::{self, ENTRY_OFFSET, FilmState};
use crate::maths::vector::{Eight, Instructions, Path};

/// Films of every law that is a layer, alone and in lanes, to the same bits; their slopes against those of the law; warm
/// water and its slope, too.
#[test]
fn alone_and_in_lanes_the_same_films() {
    let text = include_str!("../../../../cases/house-wire.toml");
    let base = crate::file::read(text).unwrap().sections[1].clone();
    let mut laws = 0;
    for law in film::laws().iter().filter(|law| law.layer.is_some()) {
        laws += 1;
        let velocity = if law.takes.is_empty() { 0.0 } else { 0.7 };
        let stirs: &[f64] = if law.medium.is_water() { &[0.0, 0.2] } else { &[0.0] };
        let leans = [0.0, -1.0, 1.5].into_iter().flat_map(|lean| stirs.iter().map(move |&stirred| (lean, stirred)));
        for (lean, stirred) in leans {
            let inputs = Inputs { velocity, stirred, lean, ..Inputs::default() };
            let section = crate::case::Section {
                medium: law.medium,
                film: film::Film::Law(law, inputs),
                film_factor: 1.3,
                ..base.clone()
            };
            for (shape, speed, diameter) in
                [(Shape::Round, 0.05, 80e-3), (Shape::Round, 25.0, 0.4e-3), (Shape::Flat, 2.5, 3e-3)]
            {
                for warming in [0.0, 2e-4] {
                    let surface = section.surface(shape, speed, diameter).in_medium(17.0, warming, 500.0);
                    compare(&surface, law.name);
                }
            }
        }
    }
    assert_eq!(laws, 4);
}

/// A lane that neither leans nor is stirred has the same bits beside lanes that do.
#[test]
fn a_lane_does_not_see_its_neighbours() {
    let law = film::find("moving-water").unwrap();
    let layer = law.layer.unwrap();
    let mut layers = Films::<Eight>::default();
    for lane in 0..8 {
        let told = lane % 2 == 1;
        let (stirred, lean) = if told { (0.1, -0.5 * lane as f64) } else { (0.0, 0.0) };
        layers.set(lane, (layer, &Inputs { stirred, lean, ..Inputs::default() }), Shape::Round, [2.5, 3.42e-3]);
        layers.factor[lane] = 1.0;
        (layers.entry[lane], layers.warming[lane], layers.entry_heat[lane]) = (16.0, 0.0, 0.0);
    }
    let places = [Eight::all(60.0), Eight::all(0.0), Eight::all(3.0), Eight::all(2.5)];
    let found = films(Instructions::of(Path::Scalar), &layers, &places);
    let (shape, inputs) = (Shape::Round, Inputs::default());
    let alone = FilmState { shape, speed: 2.5, diameter: 3.42e-3, distance: 3.0, surface: 60.0, medium: 16.0, inputs };
    for lane in 0..8 {
        let same = found[lane].to_bits() == of_one(layer, &alone).to_bits();
        assert!(same == (lane % 2 == 0), "lane {lane}: {}", found[lane]);
    }
}

fn compare(surface: &Surface, name: &str) {
    let mut layers = Films::<Eight>::default();
    (0..8).for_each(|lane| layers.surround(lane, surface));
    let t = Eight(std::array::from_fn(|lane| 10.0 + 22.0 * lane as f64));
    let q = Eight(std::array::from_fn(|lane| 300.0 + 4000.0 * lane as f64));
    for x in [0.0, 0.3, 18.0] {
        let places = [t, q, Eight::all(x), Eight::all(surface.speed())];
        let film = films(Instructions::of(Path::Scalar), &layers, &places);
        let found = slopes(Instructions::of(Path::Scalar), &layers, &places);
        for lane in 0..8 {
            let [t, q, x, _] = places.map(|row| row[lane]);
            let film_here = surface.film(t, q, x);
            let films = [film[lane], found.film[lane]];
            assert!(films == [film_here; 2], "{name} at {t} {x}: {films:?} {film_here}");
            let expected = surface.slopes(t, q, x);
            let warm = (t - surface.medium(q)).abs();
            let per_kelvin = found.per_kelvin[lane] + surface.radiation_slope(t);
            // Differences of the same films: only what is made of them is rounded otherwise.
            let over_kelvins = 1e-13 * film_here;
            let over_metres = 1e-13 * film_here * warm / (x + ENTRY_OFFSET);
            for (found, expected, within) in [
                (per_kelvin, expected.per_kelvin, over_kelvins),
                (found.per_metre[lane], expected.per_metre, over_metres),
                (found.per_heat[lane], expected.per_heat, surface.warming() * over_kelvins),
            ] {
                assert!((found - expected).abs() <= within, "{name} at {t} {x}: {found} {expected} {within}");
            }
        }
    }
}
