//! The law of a moving product against figures that were computed independently for this project.

use super::moving::{ANY_AIR, ANY_WATER, BoundaryLayer};
use super::nusselt::{sublayer, turbulent_friction, white};
use super::{FilmState, Inputs, default_law, find, layers};
use crate::material::medium::Medium;
use crate::maths::exp_ln::ln;
use crate::maths::shape::Shape;

/// The law with all of the turbulent layer.
const WHOLE: BoundaryLayer = BoundaryLayer { turbulent: 1.0, ..ANY_WATER };

fn whole(state: &FilmState) -> f64 {
    layers::of_one(&WHOLE, state)
}

static WHOLE_LAYER: BoundaryLayer = WHOLE;

/// `moving-water` with all of the turbulent layer.
pub(crate) static WHOLE_LAW: super::Law = super::Law {
    name: "moving-water",
    medium: Medium::Water,
    describes: "moving-water with all of the turbulent layer",
    takes: &[],
    may_take: &[],
    coefficient: whole,
    layer: Some(&WHOLE_LAYER),
    range: "",
    bounds: &[],
    source: "",
    status: super::Status::Derived,
    doubt: "",
    examples: &[],
};

fn rows<const N: usize>(text: &str) -> impl Iterator<Item = [f64; N]> {
    let lines = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    lines.map(|line| {
        // The first column of the film table is a word.
        let line = line.replace("Water", "1").replace("Air", "0");
        let words: Vec<&str> = line.split(',').collect();
        std::array::from_fn(|i| words[i].parse().unwrap_or(f64::NAN))
    })
}

fn state(speed: f64, diameter: f64, distance: f64, surface: f64, medium: f64) -> FilmState {
    FilmState { shape: Shape::Round, speed, diameter, distance, surface, medium, inputs: Inputs::default() }
}

fn ends(layer: &BoundaryLayer, state: &FilmState) -> [f64; 2] {
    let at = |lean| layers::of_one(layer, &FilmState { inputs: Inputs { lean, ..state.inputs }, ..*state });
    [at(-1.0), at(1.0)]
}

fn close(found: f64, expected: f64, within: f64) {
    assert!((found / expected - 1.0).abs() <= within, "{found} for {expected}, {within:.0e} allowed");
}

#[test]
fn the_turbulent_layer_as_worked() {
    for [around, long, prandtl, thickness, friction, stanton, nusselt] in
        rows(include_str!("../../../validation/reference/turbulent_worked.csv"))
    {
        let found = turbulent_friction(Some(true), [around * long, around, long]);
        close(found, friction, 1e-9);
        close(libm::pow(0.0228 / found, 4.0) / around, thickness, 1e-9);
        let heat = white(found, sublayer(ln(prandtl)));
        close(heat, stanton, 1e-9);
        close(2.0 * around * heat * prandtl, nusselt, 1e-9);
    }
}

#[test]
fn the_turbulent_layer_between_two_closures() {
    let mut looked = 0;
    for [around, long, prandtl, friction, stanton, _, mixing, _, spalart, ..] in
        rows::<11>(include_str!("../../../validation/reference/turbulent_layer.csv"))
    {
        let found = turbulent_friction(Some(true), [around * long, around, long]);
        close(found, friction, 1e-6);
        close(white(found, sublayer(ln(prandtl))), stanton, 1e-6);
        if around >= 1000.0 && prandtl >= 4.0 {
            looked += 1;
            for closure in [mixing, spalart] {
                let ratio = closure / white(found, sublayer(ln(prandtl)));
                assert!((0.86..1.32).contains(&ratio), "Re_a {around}, x/a {long}, Pr {prandtl}: {ratio}");
            }
        }
    }
    assert!(looked > 60, "{looked}");
}

#[test]
fn films_and_bands_in_water() {
    for [speed, diameter, surface, water, x, h, low, high, laminar, turbulent, ..] in
        rows::<13>(include_str!("../../../validation/reference/moving_water.csv"))
    {
        let at = state(speed, diameter, x, surface, water);
        close(layers::of_one(&WHOLE, &at), h, 3e-4);
        // The band does not know what part of the turbulent layer the law itself takes.
        for layer in [&WHOLE, &ANY_WATER] {
            let [found_low, found_high] = ends(layer, &at);
            close(found_low, low, 3e-4);
            close(found_high, high, 3e-4);
        }
        let parts = layers::parts_of_one(&ANY_WATER, &at);
        close(parts[0], laminar, 3e-4);
        close(parts[1], turbulent, 3e-4);
    }
}

#[test]
fn films_of_eight_products_in_water_and_air() {
    let mut products = 0;
    for [wet, millimetres, speed, medium, surface, x, _, _, _, _, _, _, _, _, _, h, low, high] in
        rows::<18>(include_str!("../../../validation/reference/film_table.csv"))
    {
        products += 1;
        let layer = if wet == 1.0 { &WHOLE } else { &ANY_AIR };
        let at = state(speed, 1e-3 * millimetres, x, surface, medium);
        let [found_low, found_high] = ends(layer, &at);
        for (found, expected) in [(layers::of_one(layer, &at), h), (found_low, low), (found_high, high)] {
            // A thousandth, and the decimal.
            assert!((found - expected).abs() <= 1e-3 * expected + 0.0501, "{at:?}: {found} for {expected}");
        }
    }
    assert_eq!(products, 108);
}

/// The band of practice that bent the film into 1000 to 6000 W/(m2 K) is gone.
#[test]
fn no_film_is_held_at_a_usual_value() {
    let thick = state(0.05, 60e-3, 10.0, 40.0, 18.0);
    let water = find("moving-water").unwrap();
    for h in [(water.coefficient)(&thick), layers::of_one(&WHOLE, &thick)] {
        assert!((700.0..760.0).contains(&h), "{h}");
    }
    close(layers::of_one(&WHOLE, &state(10.0, 0.5e-3, 1.0, 40.0, 18.0)), 38_070.0, 1e-3);
    close(layers::of_one(&WHOLE, &state(10.0, 0.5e-3, 10.0, 40.0, 18.0)), 36_420.0, 1e-3);
}

/// Speed, distance, diameter: the film rises with the speed, steeply only where the layer turns turbulent, and so do its ends.
#[test]
fn faster_is_never_less() {
    for layer in [&ANY_WATER, &WHOLE, &ANY_AIR] {
        for diameter in [0.5e-3, 3.4e-3, 25e-3, 60e-3] {
            for x in [0.01, 1.0, 20.0] {
                let [mut last, mut steepest] = [[0.0; 3], [0.0; 3]].map(|zeros: [f64; 3]| zeros);
                for step in 0..=30 {
                    let speed = 1e-3 * libm::pow(2e4, f64::from(step) / 30.0);
                    let at = state(speed, diameter, x, 40.0, 18.0);
                    let [low, high] = ends(layer, &at);
                    for (which, h) in [layers::of_one(layer, &at), low, high].into_iter().enumerate() {
                        assert!(h >= last[which], "{which} falls at {at:?}: {h} after {}", last[which]);
                        if step > 0 {
                            let slope = libm::log(h / last[which]) / (libm::log(2e4) / 30.0);
                            steepest[which] = f64::max(steepest[which], slope);
                        }
                        last[which] = h;
                    }
                    assert!(low < last[0] && last[0] < high, "{at:?}: {low} {} {high}", last[0]);
                }
                assert!(steepest[0] < 2.1, "{diameter} {x}: {steepest:?}");
            }
        }
    }
}

/// A line that stands still has the film of still water or air; a creeping one is next to it.
#[test]
fn at_rest_free_convection() {
    for (medium, still) in [(Medium::Water, "still-water"), (Medium::Air, "still-air")] {
        for shape in [Shape::Round, Shape::Flat] {
            for (diameter, x) in [(0.1e-3, 0.0), (3e-3, 2.0), (60e-3, 40.0)] {
                let at = FilmState { shape, ..state(0.0, diameter, x, 60.0, 16.0) };
                let free = (find(still).unwrap().coefficient)(&at);
                let law = default_law(medium);
                close((law.coefficient)(&at), free, 1e-14);
                let [low, high] = law.ends(&at).unwrap();
                close(low, 0.75 * free, 1e-14);
                assert!(high >= 1.25 * free * (1.0 - 1e-14), "{high} {free}");
                let (per_kelvin, per_metre) = super::Film::Law(law, Inputs::default()).slopes(&at);
                assert!(per_kelvin.is_finite() && per_metre == 0.0, "{per_kelvin} {per_metre}");
                // Heat spreads from a long wire as from a line: the layer vanishes with the logarithm of the speed.
                let creeping = (law.coefficient)(&FilmState { speed: 1e-30, ..at });
                close(creeping, free, 1e-3);
            }
        }
    }
    close((default_law(Medium::Water).coefficient)(&state(1e-3, 9e-3, 1.0, 40.0, 18.0)), 918.0, 1e-4);
}

/// Stirred water adds Churchill and Bernstein's film to the others; in the band it takes the place of the tenth of a metre a second.
#[test]
fn stirred_water_adds_to_the_film() {
    let law = find("moving-water").unwrap();
    let across = find("cross-water").unwrap();
    for at in [state(0.2, 25e-3, 5.0, 40.0, 18.0), state(2.5, 3.4e-3, 1.0, 40.0, 18.0)] {
        let stirred = |stirred: f64| FilmState { inputs: Inputs { stirred, ..at.inputs }, ..at };
        let blown = |velocity: f64| (across.coefficient)(&FilmState { inputs: Inputs { velocity, ..at.inputs }, ..at });
        let still = (law.coefficient)(&at);
        assert_eq!((law.coefficient)(&stirred(0.0)).to_bits(), still.to_bits());
        for speed in [0.05, 0.3] {
            let h = (law.coefficient)(&stirred(speed));
            close(h, libm::cbrt(libm::pow(still, 3.0) + libm::pow(blown(speed), 3.0)), 1e-12);
            let cubes = |from: f64, share: f64| libm::cbrt(libm::pow(from, 3.0) + libm::pow(share * blown(speed), 3.0));
            let [low, high] = law.ends(&stirred(speed)).unwrap();
            let [still_low, still_high] = law.ends(&at).unwrap();
            close(low, cubes(still_low, 0.75), 1e-12);
            // Without the tenth that stands in where nothing is said.
            let alone = libm::cbrt(libm::pow(still_high, 3.0) - libm::pow(blown(super::UNSAID_STIR), 3.0));
            close(high, cubes(alone, 1.25), 1e-10);
            assert!(low < h && h < high);
        }
    }
}

/// A lean moves the film by powers: half of it is the geometric mean, twice of it goes on as far again.
#[test]
fn a_lean_moves_the_film_along_its_band() {
    let law = find("moving-water").unwrap();
    let at = state(2.5, 3.42e-3, 3.0, 60.0, 16.0);
    let leaning = |lean: f64| (law.coefficient)(&FilmState { inputs: Inputs { lean, ..at.inputs }, ..at });
    let [low, here, high] = [-1.0, 0.0, 1.0].map(leaning);
    assert_eq!(here.to_bits(), (law.coefficient)(&at).to_bits());
    close(leaning(-0.5), (low * here).sqrt(), 1e-13);
    close(leaning(0.5), (high * here).sqrt(), 1e-13);
    close(leaning(-2.0), low * low / here, 1e-13);
    close(leaning(2.0), high * high / here, 1e-13);
}

/// A band is wider to one side of its law than to the other: one standard value of a factor is the wider side, whichever that is.
#[test]
fn the_doubt_of_a_law_is_the_farther_end_of_its_band() {
    let law = find("moving-water").unwrap();
    for at in [state(2.5, 3.42e-3, 9.0, 36.0, 16.0), state(12.0, 1e-3, 9.0, 36.0, 16.0)] {
        let [low, high] = law.ends(&at).unwrap();
        let film = (law.coefficient)(&at);
        let sides = [low, high].map(|end| libm::log(end / film).abs());
        assert!((law.doubt_at(&at) - sides[0].max(sides[1])).abs() < 1e-14, "{sides:?}");
        assert!((sides[0] / sides[1] - 1.0).abs() > 0.1, "{sides:?} are alike");
    }
    assert_eq!(find("spray").unwrap().doubt_at(&state(2.5, 3.42e-3, 9.0, 36.0, 16.0)), std::f64::consts::LN_2);
}
