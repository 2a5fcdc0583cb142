//! Film laws: what the published correlations give for a product on a line, one row each.

use super::{FilmState, Law, Numbers, WorkedFilm};
use super::{nusselt_free_horizontal_churchill_chu, nusselt_moving_laminar_sakiadis, nusselt_moving_turbulent_colburn};
use crate::case::{Medium, Shape};
use crate::fluid::Fluid;
use crate::{air, water};
use libm::cbrt;

/// Added to the distance from a section's entry, m.
///
/// For h proportional to x^(-1/2) the mean over the first 10 mm is the local value at 2.5 mm. So h at the entry is that
/// mean instead of infinity, and h has no kink behind it. Over those 10 mm themselves a little less heat flows than the
/// layer would take.
pub const ENTRY_OFFSET: f64 = 2.5e-3;

/// Film coefficients of immersed cooling that are usual, W/(m2 K): common practice, no source.
pub const BAND_OF_PRACTICE: [f64; 2] = [1000.0, 6000.0];

/// Acceleration of gravity, m/s2 (standard value: 3rd General Conference on Weights and Measures, 1901).
const GRAVITY: f64 = 9.80665;

/// Reynolds number on the distance at which half of the layer counts as turbulent; order of magnitude after Tsou, Sparrow
/// and Goldstein 1967 (from memory, not checked).
const TRANSITION: f64 = 5e5;

/// Every film law.
pub fn laws() -> &'static [Law] {
    &LAWS
}

/// The law of that name.
pub fn find(name: &str) -> Option<&'static Law> {
    LAWS.iter().find(|law| law.name == name)
}

/// The law of a section that names none.
pub fn default_law(medium: Medium) -> &'static Law {
    match medium {
        Medium::Water => &LAWS[0],
        Medium::Air => &LAWS[1],
    }
}

/// A product moving through still water, W/(m2 K).
///
/// h = band((h_f^3 + h_n^3)^(1/3)), where h_n is free convection about a horizontal cylinder and h_f the boundary layer
/// that starts at the section's entry: laminar with the curvature of a round product, turbulent as if flat, the latter
/// with the weight 1/(1 + (5e5/Re_x)^4). The band is [`BAND_OF_PRACTICE`], rounded so that h keeps its derivatives. The
/// distance counts from [`ENTRY_OFFSET`] before the entry, the water's properties are those at the mean of surface and
/// medium.
///
/// Good to a factor of two.
fn moving_water(state: &FilmState) -> f64 {
    let water = water::at(0.5 * (state.surface + state.medium));
    let forced = forced(&water, state, true);
    within(BAND_OF_PRACTICE, cube_sum(forced, free(&water, state)))
}

/// A product moving through still air, W/(m2 K): (h_f^3 + h_n^3)^(1/3) with a laminar boundary layer h_f.
fn moving_air(state: &FilmState) -> f64 {
    let air = air::at(0.5 * (state.surface + state.medium));
    cube_sum(forced(&air, state, false), free(&air, state))
}

/// Free convection alone in water, W/(m2 K).
fn still_water(state: &FilmState) -> f64 {
    free(&water::at(0.5 * (state.surface + state.medium)), state)
}

/// Free convection alone in air, W/(m2 K).
fn still_air(state: &FilmState) -> f64 {
    free(&air::at(0.5 * (state.surface + state.medium)), state)
}

/// Free convection about a horizontal cylinder; a flat product counts as a cylinder of its thickness.
fn free(fluid: &Fluid, state: &FilmState) -> f64 {
    // Rounds the corner at equal temperatures and the one at water's greatest density, each by less than 1e-4 of h when
    // the difference is above 3 K and the film above 8 degC.
    const KELVIN: f64 = 0.1;
    const PER_KELVIN: f64 = 5e-6;
    let difference = state.surface - state.medium;
    let squared =
        (difference * difference + KELVIN * KELVIN) * (fluid.expansion * fluid.expansion + PER_KELVIN * PER_KELVIN);
    let d = state.diameter;
    let rayleigh = GRAVITY * squared.sqrt() * d * d * d / (fluid.kinematic_viscosity() * fluid.diffusivity());
    let numbers = Numbers { rayleigh, prandtl: fluid.prandtl, ..Numbers::default() };
    nusselt_free_horizontal_churchill_chu(&numbers) * fluid.conductivity / d
}

/// The boundary layer on the moving product, local coefficient.
fn forced(fluid: &Fluid, state: &FilmState, turbulent: bool) -> f64 {
    let x = state.distance + ENTRY_OFFSET;
    let root_reynolds = (state.speed * x / fluid.kinematic_viscosity()).sqrt();
    let curvature = match state.shape {
        Shape::Round => 4.0 * x / (root_reynolds * state.diameter),
        Shape::Flat => 0.0,
    };
    let reynolds = root_reynolds * root_reynolds;
    let numbers = Numbers { reynolds, prandtl: fluid.prandtl, curvature, ..Numbers::default() };
    let mut nusselt = nusselt_moving_laminar_sakiadis(&numbers);
    if turbulent {
        let ratio = (TRANSITION / reynolds) * (TRANSITION / reynolds);
        nusselt += (nusselt_moving_turbulent_colburn(&numbers) - nusselt) / (1.0 + ratio * ratio);
    }
    nusselt * fluid.conductivity / x
}

/// Forced and free convection together.
fn cube_sum(forced: f64, free: f64) -> f64 {
    cbrt(forced * forced * forced + free * free * free)
}

/// `h` bent into a band: h itself well inside, the ends far outside, 4 % inside of an end that h just reaches; smooth and
/// rising with h everywhere.
fn within([low, high]: [f64; 2], h: f64) -> f64 {
    let square = |x: f64| x * x;
    let power_16 = |x: f64| square(square(square(square(x))));
    let root_16 = |x: f64| x.sqrt().sqrt().sqrt().sqrt();
    let below_high = h / root_16(1.0 + power_16(h / high));
    low * root_16(1.0 + power_16(below_high / low))
}

/// Speed, diameter, distance, surface, medium, and the film coefficient.
const fn moving(speed: f64, diameter: f64, distance: f64, surface: f64, medium: f64, coefficient: f64) -> WorkedFilm {
    let state = FilmState { shape: Shape::Round, speed, diameter, distance, surface, medium };
    let source = "the same formulas worked by a second program, CoolProp 8.0.0 and scipy 1.17.1, in no publication; the \
                  accuracy of the table of the moving cylinder";
    WorkedFilm { state, coefficient, within: 2e-4, source }
}

/// Diameter, surface, medium, and the film coefficient.
const fn still(diameter: f64, surface: f64, medium: f64, coefficient: f64) -> WorkedFilm {
    let state = FilmState { shape: Shape::Round, speed: 0.0, diameter, distance: 0.0, surface, medium };
    let source = "Python packages ht 1.2.0 (Churchill and Chu) and CoolProp 8.0.0 (properties at the film temperature); \
                  the rounded corners at equal temperatures and at 4 degC";
    WorkedFilm { state, coefficient, within: 1e-4, source }
}

static LAWS: [Law; 4] = [
    Law {
        name: "moving-water",
        medium: Medium::Water,
        describes: "product moving through still water: boundary layer from the section's entry, free convection",
        coefficient: moving_water,
        range: "speed above 0, water 0 to 100 degC, no boiling; laminar part for any curvature, turbulent part flat",
        source: "laminar: Sakiadis 1961 and Tsou, Sparrow, Goldstein 1967, solved again; turbulent: Colburn 1933; free: \
                 Churchill, Chu 1975; transition and blend: this program; band 1000 to 6000 W/(m2 K): common practice, no \
                 source",
        doubt: "good to a factor of two: real troughs are stirred, and the turbulent part has no theory on a thin wire",
        examples: &[
            moving(2.5, 3.42e-3, 1.0, 60.0, 16.0, 5418.957),
            moving(2.5, 3.42e-3, 10.0, 30.0, 16.0, 2938.612),
            moving(0.5, 20e-3, 5.0, 40.0, 20.0, 1161.620),
            moving(0.05, 10e-3, 2.0, 70.0, 20.0, 1383.539),
            moving(20.0, 0.9e-3, 5.0, 50.0, 30.0, 6000.0),
        ],
    },
    Law {
        name: "moving-air",
        medium: Medium::Air,
        describes: "product moving through still air: laminar boundary layer from the section's entry, free convection",
        coefficient: moving_air,
        range: "speed above 0, air -20 to 250 degC, no draught",
        source: "laminar: Sakiadis 1961 and Tsou, Sparrow, Goldstein 1967, solved again; free: Churchill, Chu 1975",
        doubt: "draughts, fans and a fast product's turbulence add to it; radiation comes on top and is often as large",
        examples: &[
            moving(2.5, 3.42e-3, 0.4, 188.0, 28.0, 19.30258),
            moving(0.2, 20e-3, 2.0, 80.0, 25.0, 7.965697),
            moving(15.0, 0.9e-3, 20.0, 100.0, 25.0, 32.73153),
        ],
    },
    Law {
        name: "still-water",
        medium: Medium::Water,
        describes: "product standing in still water: free convection about a horizontal cylinder",
        coefficient: still_water,
        range: "Ra 1e-5 to 1e12, water 0 to 100 degC",
        source: "Churchill, Chu 1975",
        doubt: "the least that water can do: any movement adds to it",
        examples: &[
            still(3e-3, 60.0, 20.0, 1521.17),
            still(3e-3, 30.0, 20.0, 897.06),
            still(10e-3, 60.0, 20.0, 1230.22),
        ],
    },
    Law {
        name: "still-air",
        medium: Medium::Air,
        describes: "product standing in still air: free convection about a horizontal cylinder",
        coefficient: still_air,
        range: "Ra 1e-5 to 1e12, air -20 to 250 degC",
        source: "Churchill, Chu 1975",
        doubt: "the least that air can do; radiation comes on top and is often as large",
        examples: &[still(3e-3, 150.0, 25.0, 18.0607), still(3e-3, 60.0, 25.0, 14.3788)],
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_band_bends_and_never_falls() {
        let bent = |h| within([1000.0, 6000.0], h);
        let mut last = 0.0;
        for i in 0..4000 {
            let h = bent(10f64.powf(2.0 + 0.001 * i as f64));
            // Far outside the band only rounding is left between neighbours.
            assert!(h >= last * (1.0 - 1e-15), "falls at {i}");
            last = h;
        }
        // 2^(1/16) at the ends; (1/2)^16/16 = 1e-6 an octave inside.
        for (h, expected, within) in [
            (1000.0, 1000.0 * 2f64.powf(0.0625), 1e-6),
            (6000.0, 6000.0 / 2f64.powf(0.0625), 1e-6),
            (2500.0, 2500.0, 2e-6),
            (1e-3, 1000.0, 1e-12),
            (1e6, 6000.0, 1e-12),
        ] {
            assert!((bent(h) / expected - 1.0).abs() < within, "{h}: {}", bent(h));
        }
    }
}
