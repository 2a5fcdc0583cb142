//! Film laws at random states: finite, positive, without a jump, with the slopes that they say they have.

use proptest::prelude::*;
use quenchway::case::{Medium, Shape};
use quenchway::film::{Film, FilmState, Inputs, Law, default_law, laws};

fn states() -> impl Strategy<Value = FilmState> {
    let shape = prop_oneof![Just(Shape::Round), Just(Shape::Flat)];
    // Speed, diameter, distance and inputs evenly in their logarithms: they span many decades.
    let inputs = (-3.0..2.4, -3.0..2.0, -3.0..0.0, -1.0..1.0).prop_map(|inputs: (f64, f64, f64, f64)| Inputs {
        velocity: 10f64.powf(inputs.0),
        water_flux: 10f64.powf(inputs.1),
        stirred: 10f64.powf(inputs.2),
        lean: inputs.3,
    });
    (shape, -4.0..2.0, -5.0..0.0, -4.0..3.0, -100.0..500.0, 0.0..100.0, inputs).prop_map(
        |(shape, speed, diameter, distance, surface, medium, inputs): (Shape, f64, f64, f64, f64, f64, Inputs)| {
            FilmState {
                shape,
                speed: 10f64.powf(speed),
                diameter: 10f64.powf(diameter),
                distance: 10f64.powf(distance) - 1e-4,
                surface,
                medium,
                inputs,
            }
        },
    )
}

/// The state as a section tells it to a law: without the inputs that the law does not take.
fn told(law: &Law, state: FilmState) -> FilmState {
    let inputs = law.keys().fold(Inputs::default(), |inputs, input| input.set(inputs, input.of(&state.inputs)));
    FilmState { inputs, ..state }
}

/// The relative change of `f` across the narrowest interval that the steepest part of `low..high` can be halved down to.
fn jump(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let cuts = 40;
    let steepest = |low: f64, high: f64| {
        let at = |i: usize| low + (high - low) * i as f64 / cuts as f64;
        let change = |i: &usize| (f(at(i + 1)) - f(at(*i))).abs();
        let i = (0..cuts).max_by(|i, j| change(i).total_cmp(&change(j))).unwrap();
        (at(i), at(i + 1))
    };
    for _ in 0..8 {
        (low, high) = steepest(low, high);
    }
    (f(high) - f(low)).abs() / f(low)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn default_films_are_finite_and_positive(state in states()) {
        for law in laws() {
            let state = told(law, state);
            let film = Film::Law(law, state.inputs);
            let h = film.coefficient(&state);
            prop_assert!(h > 0.0 && h.is_finite(), "{} {state:?}: {h}", law.name);
            let (per_kelvin, per_metre) = film.slopes(&state);
            prop_assert!(per_kelvin.is_finite() && per_metre.is_finite(), "{} {state:?}", law.name);
        }
    }

    #[test]
    fn default_films_have_no_jump(state in states()) {
        for medium in Medium::ALL {
            let law = default_law(medium);
            let h = |state: FilmState| (law.coefficient)(&told(law, state));
            let power = |exponent: f64| 10f64.powf(exponent);
            let jumps = [
                jump(|x| h(FilmState { speed: power(x), ..state }), -4.0, 2.0),
                jump(|x| h(FilmState { distance: power(x) - 1e-4, ..state }), -4.0, 3.0),
                jump(|x| h(FilmState { diameter: power(x), ..state }), -5.0, 0.0),
                jump(|x| h(FilmState { surface: x, ..state }), -100.0, 500.0),
                jump(|x| h(FilmState { medium: x, ..state }), 0.0, 100.0),
            ];
            // The intervals end up 1e-12 of the range; what a continuous law changes there is below 1e-8 of it.
            prop_assert!(jumps.iter().all(|jump| *jump < 1e-7), "{medium:?} {state:?}: {jumps:?}");
        }
    }

    #[test]
    fn slopes_of_laws_predict_their_change(state in states()) {
        for law in laws() {
            let state = told(law, state);
            let film = Film::Law(law, state.inputs);
            let (per_kelvin, per_metre) = film.slopes(&state);
            let h = film.coefficient(&state);
            // Clear of the corners that are rounded over a tenth of a kelvin, and of the ends of the property tables.
            let film_temperature = 0.5 * (state.surface + state.medium);
            let clear = [0.0, 4.0, 100.0, -20.0, 250.0].iter().all(|end: &f64| (film_temperature - end).abs() > 2.0);
            if clear && (state.surface - state.medium).abs() > 2.0 {
                let step = 0.05;
                let above = FilmState { surface: state.surface + step, ..state };
                let below = FilmState { surface: state.surface - step, ..state };
                let change = film.coefficient(&above) - film.coefficient(&below);
                // Over +-0.05 K the third derivative adds a thousandth of the slope, or 1e-7 of h.
                let off = (change / (2.0 * step) - per_kelvin).abs();
                prop_assert!(off <= 2e-3 * per_kelvin.abs() + 1e-6 * h);
            }
            let step = 0.01 * (state.distance + 2.5e-3);
            let farther = FilmState { distance: state.distance + step, ..state };
            let nearer = FilmState { distance: state.distance - step, ..state };
            let change = film.coefficient(&farther) - film.coefficient(&nearer);
            let scale = per_metre.abs() + 0.1 * h / (state.distance + 2.5e-3);
            let off = (change / (2.0 * step) - per_metre).abs();
            prop_assert!(off <= 1e-2 * scale, "{} {state:?}", law.name);
        }
    }
}

proptest! {
    // Few states lie in the transition or at a corner, and each costs a microsecond.
    #![proptest_config(ProptestConfig::with_cases(20_000))]

    #[test]
    fn default_films_change_by_little_where_a_millionth_changes(state in states()) {
        for medium in Medium::ALL {
            let law = default_law(medium);
            let h = |state: FilmState| (law.coefficient)(&told(law, state));
            let more = 1.0 + 1e-6;
            // Powers, the largest of two million states of this kind: of speed 3.06 (a layer that turns turbulent with the fourth
            // power of Re_a, on a product as thin as a hair many times the film of before; 2.0 on products of 0.5 mm and more), of
            // diameter 2.08 there, of distance 0.6; a few hundredths for what was not met. In a kelvin at most 1/3 / 0.2 K at the
            // rounded corner of equal temperatures and 0.3 at that of water's greatest density.
            for (changed, bound) in [
                (FilmState { speed: state.speed * more, ..state }, 3.2e-6),
                (FilmState { distance: state.distance * more, ..state }, 1.01e-6),
                (FilmState { diameter: state.diameter * more, ..state }, 2.2e-6),
                (FilmState { surface: state.surface + 1e-6, ..state }, 2e-6),
            ] {
                let change = (h(changed) / h(state) - 1.0).abs();
                prop_assert!(change <= bound, "{medium:?} {state:?}: {change:.1e} allowed {bound:.1e}");
            }
        }
    }
}
